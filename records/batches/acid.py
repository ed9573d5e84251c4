"""The acid curve of a make: what was measured, the forecast, what the plan says next, and an earlier make.

A forecast is a hint for the person and never passes anything; what it is drawn from is the measured values.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.batches.queries import OPEN_LOT, effective_events, events_by_lot, first_times
from records.checks.due import SlotState
from records.checks.judging import kept_parts
from records.checks.models import Reading
from records.checks.page_data import measure_next
from records.deviations.models import AffectedLot, Deviation
from safetyplan.calculation.acidification import Hint, PhLog, PhReading, forecast_crossing
from safetyplan.calculation.judgement import State
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.refusal import Refusal
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest
from safetyplan.integrity.models import OpenItem
from safetyplan.plans.document import Control, Plan
from safetyplan.printing.chart import Scene
from safetyplan.printing.curve import Words, curve_scene
from safetyplan.words import render

LOOKED_THROUGH = 12
HOUR = Decimal(3600)
MISSED = (State.OUTSIDE_LIMIT, State.OUTSIDE_TARGET, State.NOT_SHOWN)


@dataclass(frozen=True)
class Measured:
    """One measured pH of a lot, in hours after the event that the limits count from."""

    hours: Decimal
    ph: Decimal
    at: datetime
    reading: Reading


@dataclass(frozen=True)
class Curve:
    """The measured pH of one lot since its event, in the order of time."""

    lot: Lot
    began_at: datetime
    points: tuple[Measured, ...]


def acid_controls(plan: Plan, product: str) -> list[tuple[Control, ReachedBy]]:
    """Give the controls of a product whose limit is a pH reached by an elapsed time."""
    found = [(c, c.limit) for c in plan.controls if product in c.products]
    return [(c, limit) for c, limit in found if isinstance(limit, ReachedBy) and limit.part == "ph"]


def curve_of(lot: Lot, event: str, events: Iterable[LotEvent], readings: Iterable[Reading]) -> Curve | None:
    """Give the curve of a lot from standing events and readings; None before the event."""
    began = first_times(events).get(event)
    if began is None:
        return None
    points = [
        Measured(_hours(reading.observed_at - began), Decimal(part["value"]), reading.observed_at, reading)
        for reading in readings
        for part in kept_parts(reading)
        if part["name"] == "ph" and part["entry"] == "number" and reading.observed_at >= began
    ]
    return Curve(lot, began, tuple(sorted(points, key=lambda point: point.at)))


def _hours(elapsed: timedelta) -> Decimal:
    return Decimal(elapsed // timedelta(seconds=1)) / HOUR


def standing_readings(establishment: Establishment, lots: Sequence[Lot]) -> list[Reading]:
    """Give the readings of some lots that were neither corrected nor voided."""
    keys = [lot.pk for lot in lots]
    rows = latest(Reading.objects.of(establishment).filter(lot__in=keys, voided=False))
    return list(rows.select_related("author").order_by("observed_at", "entry__sequence"))


def last_good_curve(establishment: Establishment, lot: Lot, event: str) -> Curve | None:
    """Give the curve of the last lot of the product, begun before this one, that went as planned.

    It has wholly left, no deviation was ever opened of it, and its pH was measured. Only the newest lots of
    the product are looked through, in a constant number of queries.
    """
    still_here = OpenItem.objects.of(establishment).filter(what=OPEN_LOT).values("subject")
    before = Lot.objects.of(establishment).filter(
        product_code=lot.product_code, started_at__lt=lot.started_at
    )
    lots = list(before.exclude(pk__in=still_here).order_by("-started_at")[:LOOKED_THROUGH])
    blamed = set(Deviation.objects.of(establishment).filter(lot__in=lots).values_list("lot", flat=True))
    blamed |= set(AffectedLot.objects.of(establishment).filter(lot__in=lots).values_list("lot", flat=True))
    good = [one for one in lots if one.pk not in blamed]
    events, readings = (
        events_by_lot(establishment, [one.pk for one in good]),
        standing_readings(establishment, good),
    )
    for one in good:
        curve = curve_of(one, event, events[one.pk], [r for r in readings if r.lot_id == one.pk])
        if curve is not None and len(curve.points) > 1:
            return curve
    return None


def own_curve(establishment: Establishment, lot: Lot, event: str) -> Curve | None:
    """Give the curve of a lot."""
    return curve_of(
        lot, event, effective_events(establishment, [lot.pk]), standing_readings(establishment, [lot])
    )


@dataclass(frozen=True)
class Forecast:
    """What the last falling readings hint at for one point of a limit: words, and whether it may be late.

    shown: there is a hint; else the words say why there is none.
    """

    control: str
    words: str
    shown: bool
    late: bool


def forecasts(plan: Plan, curve: Curve) -> list[Forecast]:
    """Give a forecast for each pH that is still to be reached in time; none without a reading."""
    try:
        log = PhLog.of((point.hours, point.ph) for point in curve.points)
    except Refusal:
        return []
    found = []
    for control, limit in acid_controls(plan, curve.lot.product_code):
        for point in limit.due:
            level = point.limit if point.limit is not None else point.target
            if level is not None and point.hours > log.last.hours and log.last.ph > level:
                found.append(_forecast(control, log, level, point.hours))
    return found


def _forecast(control: Control, log: PhLog, level: Decimal, hours: Decimal) -> Forecast:
    found = forecast_crossing(log, target_ph=level)
    late = isinstance(found, Hint) and found.latest_hours > hours
    name = f"{control.code} {control.name}"
    return Forecast(name, str(render(found.sentence)), isinstance(found, Hint), late)


def last_measured(curve: Curve) -> PhReading | None:
    """Give the newest measured value."""
    return PhReading(curve.points[-1].hours, curve.points[-1].ph) if curve.points else None


@dataclass(frozen=True)
class Advice:
    """What the plan says after the newest pH: what to do, and when to measure next."""

    heading: str
    actions: tuple[str, ...]
    words: str
    next_at: datetime | None


def advice(plan: Plan, curve: Curve, states: Sequence[SlotState]) -> Advice | None:
    """Give what to do after the newest pH: by the plan where it missed, else the next check of the curve."""
    if not curve.points:
        return None
    newest = curve.points[-1]
    of_lot = [state for state in states if state.slot.lot == curve.lot.pk]
    state = next((s for s in of_lot if newest.reading in s.effective), None)
    result = state.state_of(newest.reading) if state else State(newest.reading.state)
    control = plan.control(newest.reading.control)
    if result in MISSED and control is not None:
        after = timedelta(minutes=control.measure_next_minutes)
        return Advice(
            _("What the plan says to do now"),
            tuple(text for _code, text in control.corrective_actions),
            measure_next(control.measure_next_minutes),
            newest.at + after if control.measure_next_minutes else None,
        )
    coming = _next_check(plan, curve, of_lot, newest.at)
    if coming is None or coming.slot.due_at is None:
        return None
    name = f"{coming.slot.control.code} {coming.slot.control.name}"
    return Advice(_("Next check of the curve"), (), name, coming.slot.due_at)


def _next_check(plan: Plan, curve: Curve, states: Sequence[SlotState], after: datetime) -> SlotState | None:
    codes = {control.code for control, _limit in acid_controls(plan, curve.lot.product_code)}
    waiting = [
        s for s in states if s.slot.control.code in codes and not s.answering and s.slot.due_at is not None
    ]
    return min((s for s in waiting if s.slot.due_at and s.slot.due_at > after), key=_due, default=None)


def _due(state: SlotState) -> datetime:
    assert state.slot.due_at is not None
    return state.slot.due_at


def both_scene(plan: Plan, curve: Curve, earlier: Curve | None) -> Scene:
    """Draw this make's measured points against its limits, with those of an earlier make beside them."""
    due = [point for _control, limit in acid_controls(plan, curve.lot.product_code) for point in limit.due]
    words = Words(
        x_label=_("hours after the starter"),
        y_label="pH",
        trace=curve.lot.code,
        limit=_("limit"),
        target=_("target"),
        nothing=_("no readings yet"),
        earlier=earlier.lot.code if earlier else "",
    )
    return curve_scene(
        _pairs(curve),
        [(float(p.hours), float(p.limit)) for p in due if p.limit is not None],
        [(float(p.hours), float(p.target)) for p in due if p.target is not None],
        words,
        earlier=_pairs(earlier) if earlier else (),
        width=380.0,
        height=220.0,
    )


def _pairs(curve: Curve) -> list[tuple[float, float]]:
    return [(float(point.hours), float(point.ph)) for point in curve.points]


def point_rows(curve: Curve, earlier: Curve | None) -> list[dict[str, Any]]:
    """Give the measured values of both makes in the order of the hours, for a table."""
    points = [(point, one) for one in (curve, earlier) if one is not None for point in one.points]
    return [
        {"hours": f"{point.hours:.1f}", "lot": one.lot.code, "ph": str(point.ph), "at": point.at}
        for point, one in sorted(points, key=lambda pair: (pair[0].hours, pair[1].lot.code))
    ]
