"""Due checks: a pure function of plan, lot, events and calendar. No database, no clock.

A slot's id comes from lot (or day), control and ordinal, never from its instant:
    lot:<lot uuid>:<control>:<ordinal>      day:<date>:<control>:<ordinal>
    lot:<lot uuid>:<control>:extra          a reading beyond those the plan asks for
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from uuid import UUID

from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.times import FIRST_YEAR
from safetyplan.establishments.localtime import LocalTime
from safetyplan.plans.document import STARTED, Control, Plan

EXTRA = "extra"
LAST_YEAR = 9000  # a day's bounds must stay within the calendar


@dataclass(frozen=True)
class LotFacts:
    """What the due checks of a lot depend on."""

    id: UUID
    product: str
    started_at: datetime
    events: Mapping[str, datetime]


@dataclass(frozen=True)
class Slot:
    """One check that is due. Without times it waits for an event that is not recorded yet."""

    id: str
    control: Control
    ordinal: int
    lot: UUID | None
    day: date | None
    opens_at: datetime | None
    due_at: datetime | None
    closes_at: datetime | None
    waits_for: str = ""


@dataclass(frozen=True)
class SlotName:
    """A slot's id taken apart."""

    lot: UUID | None
    day: date | None
    control: str
    ordinal: int | None


def lot_slot_id(lot: UUID, control: str, ordinal: int | str) -> str:
    """Make the id of a lot's slot."""
    return f"lot:{lot}:{control}:{ordinal}"


def day_slot_id(day: date, control: str, ordinal: int | str) -> str:
    """Make the id of a day's slot."""
    return f"day:{day.isoformat()}:{control}:{ordinal}"


def parse_slot(text: str) -> SlotName:
    """Take a slot's id apart; ValueError when it is none."""
    kind, subject, control, ordinal = text.split(":")
    number = None if ordinal == EXTRA else int(ordinal)
    if kind == "lot":
        found = SlotName(UUID(subject), None, control, number)
    elif kind == "day":
        found = SlotName(None, _day(subject), control, number)
    else:
        raise ValueError(f"no slot: {text}")
    if slot_id(found) != text or (number is not None and number < 0):
        raise ValueError(f"no slot: {text}")  # one slot has one spelling, or its readings would not meet
    return found


def _day(text: str) -> date:
    found = date.fromisoformat(text)
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise ValueError(f"no day of work: {text}")
    return found


def slot_id(name: SlotName) -> str:
    """Put a slot's id together again."""
    ordinal = EXTRA if name.ordinal is None else name.ordinal
    if name.lot is not None:
        return lot_slot_id(name.lot, name.control, ordinal)
    assert name.day is not None
    return day_slot_id(name.day, name.control, ordinal)


def _minutes(value: int | str | Decimal) -> timedelta:
    return timedelta(minutes=float(value))


def _lot_slot(
    lot: LotFacts,
    control: Control,
    ordinal: int,
    event: str,
    after: timedelta,
    window: tuple[timedelta, timedelta],
    expected: timedelta,
) -> Slot:
    base = lot.started_at if event == STARTED else lot.events.get(event)
    identity = lot_slot_id(lot.id, control.code, ordinal)
    if base is None:
        closes = lot.started_at + expected + after + window[1]
        return Slot(identity, control, ordinal, lot.id, None, None, None, closes, waits_for=event)
    due = base + after
    return Slot(identity, control, ordinal, lot.id, None, due - window[0], due, due + window[1])


def lot_slots(plan: Plan, lot: LotFacts) -> Iterator[Slot]:
    """Give the checks due for a lot under its plan."""
    product = plan.product(lot.product)
    for control in plan.controls:
        if not control.of_lot or lot.product not in control.products:
            continue
        limit, when = control.limit, control.when
        name = limit.event if isinstance(limit, ReachedBy) else when.event
        event = product.event(name)
        expected = timedelta(hours=event.expected_within_hours if event else 24)
        if isinstance(limit, ReachedBy):
            for ordinal, point in enumerate(limit.due):
                after = _minutes(point.hours * 60)
                window = (_minutes(point.window_before_minutes), timedelta())
                yield _lot_slot(lot, control, ordinal, name, after, window, expected)
        else:
            window = (_minutes(when.before), _minutes(when.after))
            yield _lot_slot(lot, control, 0, name, _minutes(when.after_minutes), window, expected)


def day_slots(plan: Plan, day: date, clock: LocalTime, *, production: bool) -> Iterator[Slot]:
    """Give the checks due on a day of the establishment."""
    for control in plan.controls:
        when = control.when
        if control.of_lot or (when.days == "production" and not production):
            continue
        for ordinal, text in enumerate(when.times):
            due = clock.instant(day, time.fromisoformat(text))
            yield Slot(
                day_slot_id(day, control.code, ordinal),
                control,
                ordinal,
                None,
                day,
                due - _minutes(when.before),
                due,
                due + _minutes(when.after),
            )


def extra_ordinal(control: Control, lot: LotFacts | None, at: datetime) -> int:
    """Tell which point of a limit an extra reading is judged by: the next one to come, else the last."""
    limit = control.limit
    if not isinstance(limit, ReachedBy) or lot is None:
        return 0
    base = lot.events.get(limit.event)
    for ordinal, point in enumerate(limit.due):
        if base is not None and at <= base + _minutes(point.hours * 60):
            return ordinal
    return len(limit.due) - 1
