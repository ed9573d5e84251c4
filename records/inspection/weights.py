"""Weights of a lot: yield and loss at each weighing, what is usual, and where the pieces are.

Information only: nothing is judged by it, and a usual range is that of earlier makes, never a limit.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.utils.translation import gettext as _

from records.batches.details import rows_of
from records.batches.models import Lot, LotEvent
from records.batches.queries import Quantity, events_by_lot
from records.deviations.affected import disposed_of
from records.deviations.models import Outcome
from records.links.queries import dispositions_of
from records.signoff.release import Balance, balance
from safetyplan.calculation.ageing import weight_loss
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.units import convert
from safetyplan.calculation.yields import Usual, usual, yield_per_100_l, yield_percent
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until

EARLIER_MAKES = 12
OTHERWISE = (Outcome.REWORK, Outcome.DIVERT, Outcome.RETURNED)


@dataclass(frozen=True)
class Weighing:
    """One weighing of a lot: its event, pieces and kilograms, and what follows from them.

    per_100_l, percent: the yield, None where milk or density is not known. loss_percent: lost since the
    weighing before, by the mean piece where the pieces were counted both times. usual: of the yield of
    earlier makes.
    """

    event: str
    name: str
    at: datetime
    pieces: int | None
    mass: Decimal
    per_100_l: Decimal | None
    percent: Decimal | None
    loss_percent: Decimal | None
    usual: Usual | None


def _milk(lot: Lot) -> Decimal | None:
    return convert(Decimal(lot.milk_text), lot.milk_unit, "L") if lot.milk_text else None


def _density(events: Sequence[LotEvent]) -> Decimal | None:
    """Give the density of the milk in g/ml where an event recorded one."""
    for event in events:
        for row in rows_of(event):
            if row["unit"] in ("g_per_ml", "kg_per_m3"):
                return convert(Decimal(row["value"]), row["unit"], "g_per_ml")
    return None


def _yield(mass: Decimal, milk: Decimal | None) -> Decimal | None:
    try:
        return None if milk is None else yield_per_100_l(cheese_kg=mass, milk_l=milk)
    except Refusal:
        return None


def _percent(mass: Decimal, milk: Decimal | None, density: Decimal | None) -> Decimal | None:
    if milk is None or density is None:
        return None
    try:
        return yield_percent(cheese_kg=mass, milk_l=milk, density_g_per_ml=density)
    except Refusal:
        return None


def _loss(before: LotEvent | None, event: LotEvent) -> Decimal | None:
    """Give the weight lost between two weighings; by the mean piece where both were counted."""
    if before is None:
        return None
    start, now = Decimal(before.mass_text), Decimal(event.mass_text)
    if before.pieces and event.pieces and before.pieces != event.pieces:
        start, now = start / before.pieces, now / event.pieces
    try:
        return weight_loss(start_kg=start, now_kg=now).loss_percent
    except Refusal:
        return None


def weighings(
    establishment: Establishment, lot: Lot, standing: Sequence[LotEvent], as_of: int | None = None
) -> list[Weighing]:
    """Give the weighings of a lot, the first one first, with what was usual when the lot was made."""
    weighed = sorted((e for e in standing if e.mass_text), key=lambda event: event.observed_at)
    if not weighed:
        return []
    milk, density = _milk(lot), _density(standing)
    known = _earlier_yields(establishment, lot, as_of)
    found: list[Weighing] = []
    before: LotEvent | None = None
    for event in weighed:
        mass = Decimal(event.mass_text)
        found.append(
            Weighing(
                event=event.event,
                name=event.event_name,
                at=event.observed_at,
                pieces=event.pieces,
                mass=mass,
                per_100_l=_yield(mass, milk),
                percent=_percent(mass, milk, density),
                loss_percent=_loss(before, event),
                usual=usual(known.get(event.event, [])),
            )
        )
        before = event
    return found


def _earlier_yields(establishment: Establishment, lot: Lot, as_of: int | None) -> Mapping[str, list[Decimal]]:
    """Give, by event, the yields of the last makes of the product that began before this one."""
    rows = until(Lot.objects.of(establishment), as_of).filter(
        product_code=lot.product_code, started_at__lt=lot.started_at
    )
    lots: dict[UUID, Lot] = {one.pk: one for one in rows.order_by("-started_at")[:EARLIER_MAKES]}
    found: dict[str, list[Decimal]] = {}
    for key, events in events_by_lot(establishment, lots, as_of).items():
        newest = {event.event: event for event in events if event.mass_text}
        for code, event in newest.items():
            made = _yield(Decimal(event.mass_text), _milk(lots[key]))
            if made is not None:
                found.setdefault(code, []).append(made)
    return found


# Words ---------------------------------------------------------------------------------------------


def yield_words(weighing: Weighing) -> str:
    """Write the yield of a weighing; empty where the milk is not known."""
    if weighing.per_100_l is None:
        return ""
    words = _("%(kg)s kg per 100 L") % {"kg": decimal_text(weighing.per_100_l, 2)}
    if weighing.percent is not None:
        share = amount(decimal_text(weighing.percent, 2), "percent")
        words = _("%(words)s, %(share)s of the mass of the milk") % {"words": words, "share": share}
    return words


def loss_words(weighing: Weighing) -> str:
    """Write the loss since the weighing before; a gain asks to check the scale."""
    loss = weighing.loss_percent
    if loss is None:
        return ""
    if loss < 0:
        return _("%(percent)s gained: check the scale") % {
            "percent": amount(decimal_text(-loss, 2), "percent")
        }
    return amount(decimal_text(loss, 2), "percent")


def usual_words(weighing: Weighing) -> str:
    """Write what is usual, and whether this make lies outside the range of the earlier ones."""
    found = weighing.usual
    if found is None or weighing.per_100_l is None:
        return ""
    words = _("usual %(median)s, from %(low)s to %(high)s in the last %(count)d makes") % {
        "median": decimal_text(found.median, 2),
        "low": decimal_text(found.lowest, 2),
        "high": decimal_text(found.highest, 2),
        "count": found.count,
    }
    return (
        words if found.holds(weighing.per_100_l) else _("%(words)s: this one lies outside") % {"words": words}
    )


# Where the pieces are ------------------------------------------------------------------------------


@dataclass(frozen=True)
class PieceBalance:
    """Where the pieces of a lot are: made = sampled + destroyed + otherwise + moved + left + still here."""

    found: Balance
    sampled: Quantity
    destroyed: Quantity
    otherwise: Quantity

    def rows(self) -> list[tuple[str, Quantity | None]]:
        """Give each part with its name, in the order of the sum."""
        return [
            (_("Made"), self.found.made),
            (_("Used for tests"), self.sampled),
            (_("Destroyed"), self.destroyed),
            (_("Reworked, diverted or returned"), self.otherwise),
            (_("Gone into other lots"), self.found.moved),
            (_("Left"), self.found.dispatched),
            (_("Still here"), self.found.here),
        ]


def piece_balance(establishment: Establishment, lot: Lot, as_of: int | None = None) -> PieceBalance:
    """Balance the pieces of a lot as the records say at a sequence."""
    given = dispositions_of(establishment, lot, as_of)
    return PieceBalance(
        balance(establishment, lot, as_of),
        sampled=disposed_of(given, [Outcome.USED_FOR_TEST]),
        destroyed=disposed_of(given, [Outcome.DESTROY]),
        otherwise=disposed_of(given, OTHERWISE),
    )


def mass_words(weighing: Weighing) -> str:
    """Write the pieces and the mass of a weighing."""
    told = {"pieces": weighing.pieces, "kg": trim(weighing.mass)}
    if weighing.pieces is None:
        return amount(trim(weighing.mass), "kg")
    return _("%(pieces)d pieces, %(kg)s kg") % told
