"""The story of Tarrowby Goat Dairy, an invented place: a month of makes, one of which goes wrong."""

import json
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from records.batches.models import Lot
from records.demonstration.adopting import adopt
from records.demonstration.makes import morning, ordinary_lot
from records.demonstration.slow_vat import correct_heat, slow_vat
from records.demonstration.teller import FOLDER, Teller
from records.instruments.services import register_instrument
from records.signoff.services import sign_day
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.services import (
    Details,
    MemberSpec,
    add_person,
    open_establishment,
    record_training,
)
from safetyplan.integrity import clock
from safetyplan.integrity.seals import seal

SLUG = "tarrowby"
PASSWORD = "goat-milk-and-rennet"  # the demonstration's only; printed by the command
TELLING = "Telling the invented month ..."
NAMES = (
    ("mirren", "Mirren Oake, maker"),
    ("josse", "Josse Vanlerberg, owner: reviewer, qualified individual, responsible person"),
    ("orla", "Orla Fennick, inspector: reads only"),
)
DETAILS = Details(
    name="Tarrowby Goat Dairy",
    address="Tarrowby, an invented place",
    registration_number="invented 001",
    time_zone="Europe/Dublin",
)
FIRST_DAY = -30
SLOW_DAY = -9
MAKE_DAYS = (-28, -26, -23, -21, -19, -16, -14, -12, SLOW_DAY, -7, -5)


def load() -> dict[str, Any]:
    """Read the figures of the story."""
    found: dict[str, Any] = json.loads((FOLDER / "tarrowby_story.json").read_text())
    return found


def tell(*, now: datetime | None = None, slug: str = SLUG, suffix: str = "") -> Establishment:
    """Open the dairy and tell its month up to now; all or nothing. `suffix` keeps sign-in names apart."""
    zone = ZoneInfo(DETAILS.time_zone)
    with transaction.atomic():
        josse = Person.objects.create_person(username=f"josse{suffix}", password=PASSWORD)
        dairy = open_establishment(
            slug=slug,
            details=DETAILS,
            administrator=josse,
            member=MemberSpec(
                "Josse Vanlerberg",
                "JV",
                (Role.REVIEWER, Role.QUALIFIED, Role.RESPONSIBLE, Role.ADMINISTRATOR),
            ),
            demonstration=True,
        )
        present = now or clock.now(dairy)
        day = present.astimezone(zone).date()
        mirren = _people(dairy, josse, day, suffix)
        teller = Teller(dairy, mirren, josse, ZoneTime(zone), day)
        _plan(teller)
        story = load()
        for number, start in enumerate(MAKE_DAYS):
            if start == SLOW_DAY:
                slow = slow_vat(teller, SLOW_DAY, story)
            else:
                ordinary_lot(teller, start, story["makes"][number])
            _days_until(teller, start, _next(number), story)
        correct_heat(teller, SLOW_DAY, slow)
        _live(teller, story, present)
        seal(establishment=dairy, reason="daily")
    return dairy


def _next(number: int) -> int:
    return MAKE_DAYS[number + 1] if number + 1 < len(MAKE_DAYS) else -1


def _people(dairy: Establishment, josse: Person, today: date, suffix: str) -> Person:
    inspector = MemberSpec(
        "Orla Fennick", "OF", (Role.INSPECTOR,), inspector_until=today + timedelta(days=365)
    )
    maker = MemberSpec("Mirren Oake", "MO", (Role.MAKER,))
    mirren = add_person(
        establishment=dairy, by=josse, username=f"mirren{suffix}", password=PASSWORD, member=maker
    )
    add_person(establishment=dairy, by=josse, username=f"orla{suffix}", password=PASSWORD, member=inspector)
    record_training(
        establishment=dairy,
        by=josse,
        person=josse,
        trained_on=today - timedelta(days=400),
        training_type="Food-safety plan course, three days",
        provider="invented college",
    )
    return mirren.person


def _plan(teller: Teller) -> None:
    text = (FOLDER / "tarrowby_plan.json").read_text()
    begins = teller.moment(FIRST_DAY, "05:00")
    with teller.at(begins):
        adopt(teller, text, "Walked with Mirren through a whole make, from the milk to the cold store")
        for code, name, quantity, tolerance in load()["instruments"]:
            register_instrument(
                establishment=teller.dairy,
                by=teller.maker,
                code=code,
                name=name,
                quantity=quantity,
                tolerance=tolerance,
            )


def _days_until(teller: Teller, start: int, end: int, story: dict[str, Any]) -> None:
    """Record the stores of the days from a make to the next one, and sign each on the morning after."""
    for day in range(start, end):
        morning(teller, day, story, production=day in MAKE_DAYS)
    for day in range(start, end):
        _sign(teller, day, teller.moment(day + 1, "20:30"))


def _sign(teller: Teller, day: int, at: datetime, note: str = "") -> None:
    with teller.at(at):
        sign_day(
            establishment=teller.dairy,
            proof=teller.proof(teller.owner),
            day=teller.today + timedelta(days=day),
            note=note,
        )


def _live(teller: Teller, story: dict[str, Any], present: datetime) -> None:
    """Leave work for today: a lot near its 24 hours, and one just in the vat."""
    make = story["live"]
    starter = present - timedelta(hours=23)
    lot = teller.start("TF", max(starter - timedelta(hours=2), teller.moment(-1, "00:01")), make["milk"])
    begun = lot.started_at
    teller.read(teller.of_lot(lot, "OPRP3"), begun + timedelta(minutes=5), {"temperature": make["received"]})
    teller.read(teller.of_lot(lot, "CCP1"), begun + timedelta(minutes=58), _heat(teller, lot))
    teller.event(lot, "starter_added", starter, culture=make["culture"], dose="0.8")
    teller.event(lot, "rennet_added", starter + timedelta(minutes=40), rennet="R 12", dose_ml="4")
    teller.read(teller.of_lot(lot, "OPRP1"), starter + timedelta(hours=15, minutes=30), {"ph": make["ph16"]})
    just_begun = teller.start("TL", present - timedelta(minutes=50), "198")
    begun_today = teller.local.local(just_begun.started_at).date() == teller.today
    morning(teller, -1, story, production=True, until=present)
    morning(teller, 0, story, production=begun_today, until=present)


def _heat(teller: Teller, lot: Lot) -> dict[str, str]:
    begun = teller.local.local(lot.started_at + timedelta(minutes=20))
    ended = teller.local.local(lot.started_at + timedelta(minutes=53))
    return {
        "hold_start": f"{begun:%H:%M}",
        "hold_end": f"{ended:%H:%M}",
        "product": "64.4",
        "air_space_start": "67.8",
        "air_space_end": "67.2",
        "indicating": "64.5",
        "recorder": "64.4",
        "chart_number": "C-412",
        "agitator": "on",
    }
