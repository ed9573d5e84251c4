"""What the page of today shows, composed in a number of queries that does not grow with the records."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from records.batches.course import Happened, course
from records.batches.models import Lot
from records.batches.queries import events_by_lot, open_lots, versions_of
from records.checks.corrections import CorrectionState, open_readings, states_of
from records.checks.due import (
    SlotState,
    Status,
    day_states,
    load_states,
    lot_states,
    thing_states,
    urgency,
)
from records.deviations.queries import DeviationState, open_deviations, states
from records.inspection.beside import taken_at
from records.instruments import standing
from records.instruments.standing import InstrumentState
from records.receiving.known import known
from records.receiving.queries import loads_between
from records.receiving.reminders import Reminder, reminders
from records.signoff.models import DaySigned, NoProductionDay
from records.signoff.queries import no_production_on
from records.signoff.unchanged import changed_days
from safetyplan.establishments.localtime import LocalTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest
from safetyplan.plans.document import Event
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.queries import in_force, versions

DAYS_BACK = 7
AHEAD = timedelta(hours=24)
LOADS_BACK = timedelta(days=4)
IN_TIME = (Status.OVERDUE, Status.DUE)


@dataclass(frozen=True)
class OpenLot:
    """A lot that has not wholly left, and the events that are still to be recorded, the next one first."""

    lot: Lot
    to_record: Sequence[Event]
    version: PlanApproved

    @property
    def next_event(self) -> Event | None:
        """Give the event that comes next."""
        return self.to_record[0] if self.to_record else None


@dataclass(frozen=True)
class DayMark:
    """A day that wants a signature; `again` when it was signed and has changed since."""

    day: date
    again: bool


@dataclass(frozen=True)
class ToPutRight:
    """A prerequisite check outside its limit, and where it was made."""

    state: CorrectionState
    place: str


@dataclass(frozen=True)
class Today:
    """Everything the page of today shows."""

    now: datetime
    day: date
    planned: bool
    checks_now: Sequence[SlotState]
    checks_missed: Sequence[SlotState]
    checks_later: Sequence[SlotState]
    holds: Sequence[DeviationState]
    deviations: Sequence[DeviationState]
    days: Sequence[DayMark]
    lots: Sequence[OpenLot]
    no_make: NoProductionDay | None
    may_rest: bool
    corrections: Sequence[ToPutRight]
    door: Sequence[Reminder]
    instruments: Sequence[InstrumentState] = ()


def checks_at(
    establishment: Establishment, lots: Sequence[Lot], clock: LocalTime, now: datetime, ahead: int = 0
) -> list[SlotState]:
    """Give the checks of the open lots, of the loads of the last days, and of yesterday and today.

    `ahead` adds that many days to come.
    """
    found = [s for of_lot in lot_states(establishment, lots, now).values() for s in of_lot]
    loads = loads_between(establishment, now - LOADS_BACK, now + AHEAD)
    found += [s for of_load in load_states(establishment, loads, now).values() for s in of_load]
    today = clock.local(now).date()
    for offset in range(-1, ahead + 1):
        day = today + timedelta(days=offset)
        found += day_states(establishment, day, clock, now)
        found += thing_states(establishment, day, clock, now)
    return found


def _missed(found: Iterable[SlotState]) -> list[SlotState]:
    """Give what was not made in its window; where a deviation is open for it, the work goes on there."""
    chosen = [s for s in found if s.status == Status.MISSING and not s.covered]
    return sorted(chosen, key=urgency)


def _wanted_now(found: Iterable[SlotState]) -> list[SlotState]:
    """Give what can still be made in time, the window that closes first on top; before it a critical miss."""
    critical = [s for s in _missed(found) if s.slot.control.is_ccp]
    open_ones = [s for s in found if s.status in IN_TIME]
    return [*critical, *sorted(open_ones, key=lambda s: s.slot.closes_at or s.now)]


def _later(found: Iterable[SlotState], now: datetime) -> list[SlotState]:
    chosen = [s for s in found if s.status == Status.LATER and s.slot.due_at and s.slot.due_at <= now + AHEAD]
    return sorted(chosen, key=urgency)


def lots_to_record(establishment: Establishment, lots: Sequence[Lot]) -> list[OpenLot]:
    """Give the lots with the events of their plan that are still to be recorded, what comes next first.

    What was passed over in the course of a make comes after all that is still ahead, what repeats last.
    """
    recorded = events_by_lot(establishment, [lot.pk for lot in lots])
    followed = versions_of(establishment, lots)
    found = []
    for lot in lots:
        happened = [Happened(event.event, event.observed_at) for event in recorded[lot.pk]]
        planned = followed[lot.pk].plan().product(lot.product_code).events
        stands = course(planned, lot.started_at, happened)
        ahead = [stands.next, *stands.later] if stands.next else []
        coming = [*ahead, *stands.earlier, *stands.repeating]
        found.append(OpenLot(lot, [one.event for one in coming], followed[lot.pk]))
    return found


def days_to_sign(establishment: Establishment, clock: LocalTime, now: datetime) -> list[DayMark]:
    """Give the days of the last week that nobody has signed, or that have changed since."""
    first = versions(establishment).last()
    if first is None:
        return []
    today = clock.local(now).date()
    begins = max(clock.local(first.in_force_from).date(), today - timedelta(days=DAYS_BACK))
    rows = latest(DaySigned.objects.of(establishment)).filter(day__gte=begins, day__lt=today)
    signed = {row.day: row for row in rows}
    changed = changed_days(establishment, signed, clock, now)
    past = [begins + timedelta(days=offset) for offset in range((today - begins).days)]
    return [DayMark(day, again=day in signed) for day in past if day not in signed or day in changed]


def _to_put_right(establishment: Establishment) -> list[ToPutRight]:
    readings = open_readings(establishment)
    places = taken_at(establishment, readings)
    return [ToPutRight(state, places[state.reading.pk]) for state in states_of(establishment, readings)]


def today(establishment: Establishment, clock: LocalTime, now: datetime) -> Today:
    """Compose the page of today."""
    lots = open_lots(establishment)
    open_ones = states(establishment, open_deviations(establishment))
    holds = [s for s in open_ones if s.on_hold]
    day = clock.local(now).date()
    no_make = no_production_on(establishment, day)
    checks = checks_at(establishment, lots, clock, now)
    if no_make is not None:
        checks = [s for s in checks if not (s.wants_make and s.slot.day == day)]
    return Today(
        now=now,
        day=day,
        planned=in_force(establishment, now) is not None,
        checks_now=_wanted_now(checks),
        checks_missed=[s for s in _missed(checks) if not s.slot.control.is_ccp],
        checks_later=_later(checks, now),
        holds=sorted(holds, key=lambda s: (not s.hold_missing, -s.deviation.number)),
        deviations=[s for s in open_ones if not s.on_hold],
        days=days_to_sign(establishment, clock, now),
        lots=lots_to_record(establishment, lots),
        instruments=standing.to_check(standing.states(establishment, now, clock=clock)),
        corrections=_to_put_right(establishment),
        door=reminders(establishment, known(establishment), now),
        no_make=no_make,
        may_rest=not any(clock.local(lot.started_at).date() == day for lot in lots),
    )
