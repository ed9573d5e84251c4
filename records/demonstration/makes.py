"""What an ordinary make of the demonstration looks like."""

from datetime import datetime
from typing import Any

from records.batches.models import Lot
from records.demonstration.teller import WRITING, Teller
from records.signoff.release import dispatch_lot, release_lot


def morning(
    teller: Teller, day: int, story: dict[str, Any], *, production: bool, until: datetime | None = None
) -> None:
    """Record a day's store checks (and the sanitiser, when there is a make), up to a moment."""
    stores = story["store"][day % len(story["store"])]
    checks = [
        ("PRP1", 0, "06:55", {"temperature": stores[0]}),
        ("PRP1", 1, "16:50", {"temperature": stores[1]}),
    ]
    if production:
        checks.append(("PRP3", 0, "06:20", {"strength": "150"}))
    for control, ordinal, at, parts in checks:
        observed = teller.moment(day, at)
        if until is None or observed + WRITING <= until:
            teller.read(teller.of_day(day, control, ordinal), observed, parts)


def hold_parts(make: dict[str, Any]) -> dict[str, str]:
    """Give the entries of a heat treatment's chart."""
    return {**make["heat"], "agitator": "on"}


def begin(teller: Teller, start: int, make: dict[str, Any]) -> Lot:
    """Milk in, heated, starter and rennet in the evening."""
    lot = teller.start("TF", teller.moment(start, "07:30"), make["milk"])
    teller.read(teller.of_lot(lot, "OPRP3"), teller.moment(start, "07:35"), {"temperature": make["received"]})
    teller.read(teller.of_lot(lot, "CCP1"), teller.moment(start, "09:20"), hold_parts(make))
    teller.event(
        lot,
        "starter_added",
        teller.moment(start, "18:00"),
        culture=make["culture"],
        dose="0.8",
        milk_temperature="21.0",
    )
    teller.event(lot, "rennet_added", teller.moment(start, "18:40"), rennet="R 12", dose_ml="4")
    return lot


def pack(teller: Teller, lot: Lot, day: int, make: dict[str, Any]) -> None:
    """Salt and pack, check label and cooling."""
    teller.event(lot, "drained", teller.moment(day, "08:00"))
    teller.event(lot, "salted", teller.moment(day, "09:00"), salt_per_kg="15")
    teller.event(
        lot,
        "packed",
        teller.moment(day, "11:00"),
        pieces=make["pieces"],
        mass=make["mass"],
        label_version="TF label 3",
    )
    teller.read(teller.of_lot(lot, "PRP2"), teller.moment(day, "11:05"), {"label": "correct"})
    teller.read(teller.of_lot(lot, "OPRP2"), teller.moment(day, "14:30"), {"temperature": make["cooled"]})


def ordinary_lot(teller: Teller, start: int, make: dict[str, Any]) -> None:
    """Tell a lot that goes as planned, from milk to the shop."""
    lot = begin(teller, start, make)
    teller.read(teller.of_lot(lot, "OPRP1"), teller.moment(start + 1, "09:30"), {"ph": make["ph16"]})
    teller.read(teller.of_lot(lot, "CCP2"), teller.moment(start + 1, "17:30"), {"ph": make["ph24"]})
    teller.event(lot, "ladled", teller.moment(start + 1, "18:00"), pieces=make["pieces"])
    pack(teller, lot, start + 2, make)
    with teller.at(teller.moment(start + 2, "19:00")):
        release_lot(
            establishment=teller.dairy,
            proof=teller.proof(teller.owner),
            lot=lot,
            pieces=make["pieces"],
            mass_typed=make["mass"],
        )
    with teller.at(teller.moment(start + 3, "10:00")):
        dispatch_lot(
            establishment=teller.dairy,
            by=teller.maker,
            lot=lot,
            customer=make["customer"],
            pieces=make["pieces"],
            mass_typed=make["mass"],
        )
