"""Reads about links between lots: what went where, the lots before and after one, what is left to go."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from records.batches.models import Dispatch, Lot
from records.batches.queries import NOTHING, Quantity, effective_events, made
from records.deviations.affected import GONE, disposed_of, lines_of
from records.deviations.models import AffectedLot, Disposition, Outcome
from records.deviations.queries import DeviationState, deviations, states
from records.links.models import LinkKind, LotLink
from safetyplan.calculation.units import convert
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, until

BY_VOLUME = (LinkKind.WHEY, LinkKind.MILK)


def links(establishment: Establishment, as_of: int | None = None) -> "QuerySet[LotLink]":
    """Give the links that stand: not corrected, not withdrawn."""
    rows: QuerySet[LotLink] = latest(LotLink.objects.of(establishment), as_of).filter(withdrawn=False)
    return rows.select_related("from_lot", "to_lot", "author").order_by("linked_at", "entry__sequence")


def links_of(establishment: Establishment, lot: Lot, as_of: int | None = None) -> list[LotLink]:
    """Give the standing links of a lot, both ways."""
    return list(links(establishment, as_of).filter(Q(from_lot=lot) | Q(to_lot=lot)))


def every_link_of(establishment: Establishment, lot: Lot, as_of: int | None = None) -> list[LotLink]:
    """Give every record of the links of a lot, corrected and withdrawn ones too, in the order of records."""
    rows = until(LotLink.objects.of(establishment), as_of).filter(Q(from_lot=lot) | Q(to_lot=lot))
    return list(rows.select_related("from_lot", "to_lot", "author").order_by("entry__sequence"))


def lots_after(establishment: Establishment, lots: Iterable[UUID], as_of: int | None = None) -> set[UUID]:
    """Give the lots into which something of some lots went, directly or through others."""
    return _reach(links(establishment, as_of), lots, "from_lot", "to_lot")


def lots_before(establishment: Establishment, lots: Iterable[UUID], as_of: int | None = None) -> set[UUID]:
    """Give the lots of which something went into some lots, directly or through others."""
    return _reach(links(establishment, as_of), lots, "to_lot", "from_lot")


def _reach(rows: "QuerySet[LotLink]", lots: Iterable[UUID], near: str, far: str) -> set[UUID]:
    """Follow the links step by step; a chain of lots is short, so each step is one query."""
    found: set[UUID] = set()
    edge = set(lots)
    while edge:
        edge = set(rows.filter(**{f"{near}__in": edge}).values_list(far, flat=True)) - found
        found |= edge
    return found


def deviations_of(
    establishment: Establishment, lots: Iterable[UUID], as_of: int | None = None
) -> list[DeviationState]:
    """Give every deviation that concerns any of some lots, alone or with others."""
    keys = list(lots)
    named = until(AffectedLot.objects.of(establishment), as_of).filter(lot__in=keys).values("deviation")
    chosen = deviations(establishment, as_of).filter(Q(lot__in=keys) | Q(pk__in=named))
    return sorted(states(establishment, chosen, as_of), key=lambda state: state.deviation.number)


@dataclass(frozen=True)
class LinkedDeviation:
    """A deviation of a lot that is linked with this one.

    before: this lot was made with some of that one. held: that lot has to be held.
    """

    state: DeviationState
    lot_code: str
    before: bool
    held: bool


def linked_deviations(
    establishment: Establishment, lot: Lot, as_of: int | None = None
) -> list[LinkedDeviation]:
    """Give the open deviations of the lots linked with a lot, but for those that concern the lot itself."""
    before = lots_before(establishment, [lot.pk], as_of)
    near = before | lots_after(establishment, [lot.pk], as_of)
    if not near:
        return []
    return [
        LinkedDeviation(state, one.lot.code, one.lot.pk in before, one.hold_required)
        for state in deviations_of(establishment, near, as_of)
        if state.is_open and state.of(lot) is None
        for one in state.affected
        if one.lot is not None and one.lot.pk in near
    ]


def dispositions_of(establishment: Establishment, lot: Lot, as_of: int | None = None) -> list[Disposition]:
    """Give every disposition of a lot."""
    found = [state.of(lot) for state in deviations_of(establishment, [lot.pk], as_of)]
    return [disposition for one in found if one is not None for disposition in one.dispositions]


def moved(rows: Sequence[LotLink]) -> Quantity:
    """Add up what went over by mass without a disposition; what has one is counted there."""
    counted = [r for r in rows if r.kind not in BY_VOLUME and r.disposition_id is None]
    return Quantity(
        sum(r.pieces or 0 for r in counted), sum((Decimal(r.quantity_text) for r in counted), Decimal(0))
    )


def moved_by_lot(
    establishment: Establishment, lots: Iterable[UUID], as_of: int | None = None
) -> dict[Any, Quantity]:
    """Give how much of each lot went into others by mass without a disposition."""
    by_lot: dict[Any, list[LotLink]] = defaultdict(list)
    for row in latest(LotLink.objects.of(establishment), as_of).filter(
        from_lot__in=list(lots), withdrawn=False
    ):
        by_lot[row.from_lot_id].append(row)
    return {lot: moved(rows) for lot, rows in by_lot.items()}


def volume_left(establishment: Establishment, lot: Lot, without: LotLink | None = None) -> Decimal | None:
    """Give how many litres of a lot's milk did not go into another lot as milk or whey; None if not known."""
    if not lot.milk_text:
        return None
    gone = [
        convert(Decimal(row.quantity_text), row.quantity_unit, "L")
        for row in _from(establishment, lot, without)
        if row.kind in BY_VOLUME
    ]
    return convert(Decimal(lot.milk_text), lot.milk_unit, "L") - sum(gone, Decimal(0))


def mass_left(establishment: Establishment, lot: Lot, without: LotLink | None = None) -> Quantity | None:
    """Give what is still here of a lot that could go into another; None while it was not counted."""
    counted = made(effective_events(establishment, [lot.pk]))
    if counted is None:
        return None
    gone = disposed_of(dispositions_of(establishment, lot), GONE)
    over = moved(_from(establishment, lot, without))
    sent = _sent(establishment, lot)
    return Quantity(
        counted.pieces - gone.pieces - over.pieces - sent.pieces,
        counted.mass - gone.mass - over.mass - sent.mass,
    )


def _sent(establishment: Establishment, lot: Lot) -> Quantity:
    rows = list(Dispatch.objects.of(establishment).filter(lot=lot))
    weights = (Decimal(row.mass_text or "0") for row in rows)
    return Quantity(sum(row.pieces for row in rows), sum(weights, Decimal(0)))


def _from(establishment: Establishment, lot: Lot, without: LotLink | None) -> list[LotLink]:
    rows = links(establishment).filter(from_lot=lot)
    return list(rows.exclude(pk=without.pk) if without is not None else rows)


def rework_left(
    establishment: Establishment, disposition: Disposition, without: LotLink | None = None
) -> Quantity:
    """Give how much a disposition allows to be reworked that did not go into a lot yet."""
    allowed = [line for line in lines_of(disposition) if line["outcome"] == Outcome.REWORK]
    rows = links(establishment).filter(disposition=disposition)
    used = list(rows.exclude(pk=without.pk) if without is not None else rows)
    return Quantity(
        sum(int(line["pieces"]) for line in allowed) - sum(row.pieces or 0 for row in used),
        sum((Decimal(line["mass"]) for line in allowed), Decimal(0))
        - sum((Decimal(row.quantity_text) for row in used), Decimal(0)),
    )


def reworks(establishment: Establishment, lot: Lot) -> list[Disposition]:
    """Give the dispositions of a lot that allow rework of which something is left."""
    found = dispositions_of(establishment, lot)
    return [disposition for disposition in found if rework_left(establishment, disposition) != NOTHING]
