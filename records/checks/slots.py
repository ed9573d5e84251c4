"""Due checks: a pure function of plan, lot, events and calendar. No database, no clock.

A slot's id comes from what is checked, control and ordinal, never from its instant:
    lot:<uuid>:<control>:<ordinal>          a lot
    load:<uuid>:<control>:<ordinal>         a load of milk
    day:<date>:<control>:<ordinal>          the establishment on a day
    thing:<uuid>:<control>:<date>.<ordinal> a shared thing (brine, preparation, room, vat) on a day
With `extra` for the ordinal: a reading beyond those the plan asks for; at one of several points, counted from
nought, `extra-<point>`.
Where a daily check has several points, the ordinal counts them time by time: time x points + point. On a day
on which a plan asks for it at other times or points than the plan before it, it counts on (first_ordinals).
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from types import MappingProxyType
from uuid import UUID

from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.times import FIRST_YEAR
from safetyplan.establishments.localtime import LocalTime, day_bounds
from safetyplan.plans.document import STARTED, Control, Plan

EXTRA = "extra"
NOT_SHIFTED: Mapping[str, int] = MappingProxyType({})
LAST_YEAR = 9000  # a day's bounds must stay within the calendar


@dataclass(frozen=True)
class LotFacts:
    """What the due checks of a lot depend on."""

    id: UUID
    product: str
    started_at: datetime
    events: Mapping[str, datetime]


@dataclass(frozen=True)
class LoadFacts:
    """What the due checks of a load of milk depend on."""

    id: UUID
    received_at: datetime


@dataclass(frozen=True)
class ThingFacts:
    """What the due checks of a shared thing depend on; it is there from `begun_at` up to `ended_at`."""

    id: UUID
    kind: str
    begun_at: datetime
    ended_at: datetime | None = None


@dataclass(frozen=True)
class Slot:
    """One check that is due. Without times it waits for an event that is not recorded yet.

    point: the name of the point at which it is measured, where the check has several.
    """

    id: str
    control: Control
    ordinal: int
    lot: UUID | None
    day: date | None
    opens_at: datetime | None
    due_at: datetime | None
    closes_at: datetime | None
    waits_for: str = ""
    load: UUID | None = None
    thing: UUID | None = None
    point: str = ""


@dataclass(frozen=True)
class SlotName:
    """A slot's id taken apart. point: that of a further reading of a daily check with several."""

    lot: UUID | None
    day: date | None
    control: str
    ordinal: int | None
    load: UUID | None = None
    thing: UUID | None = None
    point: int | None = None


def lot_slot_id(lot: UUID, control: str, ordinal: int | str) -> str:
    """Make the id of a lot's slot."""
    return f"lot:{lot}:{control}:{ordinal}"


def load_slot_id(load: UUID, control: str, ordinal: int | str) -> str:
    """Make the id of a load's slot."""
    return f"load:{load}:{control}:{ordinal}"


def day_slot_id(day: date, control: str, ordinal: int | str) -> str:
    """Make the id of a day's slot."""
    return f"day:{day.isoformat()}:{control}:{ordinal}"


def thing_slot_id(thing: UUID, control: str, day: date, ordinal: int | str) -> str:
    """Make the id of the slot of a shared thing on a day."""
    return f"thing:{thing}:{control}:{day.isoformat()}.{ordinal}"


def parse_slot(text: str) -> SlotName:
    """Take a slot's id apart; ValueError when it is none."""
    kind, subject, control, last = text.split(":")
    on, dot, ordinal = last.rpartition(".")
    number, point = _counted(ordinal)
    if kind == "lot":
        found = SlotName(UUID(subject), None, control, number)
    elif kind == "load":
        found = SlotName(None, None, control, number, load=UUID(subject))
    elif kind == "day":
        found = SlotName(None, _day(subject), control, number, point=point)
    elif kind == "thing" and dot:
        found = SlotName(None, _day(on), control, number, thing=UUID(subject), point=point)
    else:
        raise ValueError(f"no slot: {text}")
    if slot_id(found) != text or min(number or 0, point or 0) < 0:
        raise ValueError(f"no slot: {text}")  # one slot has one spelling, or its readings would not meet
    return found


def _counted(ordinal: str) -> tuple[int | None, int | None]:
    """Give the ordinal of a slot; of a further reading None, with its point."""
    extra, dash, point = ordinal.partition("-")
    if extra != EXTRA:
        return int(ordinal), None
    return None, int(point) if dash else None


def _day(text: str) -> date:
    found = date.fromisoformat(text)
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise ValueError(f"no day of work: {text}")
    return found


def slot_order(slot: str) -> tuple[str, int]:
    """Give what puts the slots of a check in the order of its times and points, the tenth after the ninth."""
    before = slot.rstrip("0123456789")
    return before, int(slot[len(before) :] or 0)


def slot_id(name: SlotName) -> str:
    """Put a slot's id together again."""
    further = EXTRA if name.point is None else f"{EXTRA}-{name.point}"
    ordinal = further if name.ordinal is None else name.ordinal
    if name.lot is not None:
        return lot_slot_id(name.lot, name.control, ordinal)
    if name.load is not None:
        return load_slot_id(name.load, name.control, ordinal)
    assert name.day is not None
    if name.thing is not None:
        return thing_slot_id(name.thing, name.control, name.day, ordinal)
    return day_slot_id(name.day, name.control, ordinal)


def point_number(name: SlotName, control: Control) -> int | None:
    """Tell at which of its points, counted from nought, a check is made; None where it has none."""
    if not control.points or name.day is None:
        return None
    return name.point if name.ordinal is None else name.ordinal % len(control.points)


def point_name(name: SlotName, control: Control) -> str:
    """Name the point at which a check is made; "" where it has none."""
    number = point_number(name, control)
    return "" if number is None or number >= len(control.points) else control.points[number]


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


def load_slots(plan: Plan, load: LoadFacts) -> Iterator[Slot]:
    """Give the checks due for a load of milk."""
    for control in plan.controls:
        if control.of_load:
            when, identity = control.when, load_slot_id(load.id, control.code, 0)
            due = load.received_at + _minutes(when.after_minutes)
            opens, closes = due - _minutes(when.before), due + _minutes(when.after)
            yield Slot(identity, control, 0, None, None, opens, due, closes, load=load.id)


def first_ordinals(plans: Iterable[Plan]) -> list[Mapping[str, int]]:
    """Give where the ordinals of the daily checks begin in each of the plans of one day, in their order.

    What a plan asks at other times or points than the one before it is another check: it gets ordinals of its
    own, or what was recorded for the earlier one would answer it. They begin at a multiple of its points.
    """
    known: dict[str, tuple[object, int, int]] = {}
    found: list[Mapping[str, int]] = []
    for plan in plans:
        for control in plan.controls:
            asked = (control.when.times, control.when.each, control.points)
            points = len(control.points) or 1
            before, first, count = known.get(control.code, (asked, 0, 0))
            if before != asked:
                first = -(-(first + count) // points) * points
            known[control.code] = asked, first, len(control.when.times) * points
        found.append({control.code: known[control.code][1] for control in plan.controls})
    return found


def day_slots(
    plan: Plan,
    day: date,
    clock: LocalTime,
    *,
    first: Mapping[str, int] = NOT_SHIFTED,
) -> Iterator[Slot]:
    """Give the checks due on a day of the establishment, also those of days of production only."""
    for control in plan.controls:
        if control.of_day:
            for ordinal, point, due in _times(control, day, clock, first.get(control.code, 0)):
                identity = day_slot_id(day, control.code, ordinal)
                yield _daily(identity, control, ordinal, day, due, point=point)


def thing_slots(
    plan: Plan,
    thing: ThingFacts,
    day: date,
    clock: LocalTime,
    *,
    first: Mapping[str, int] = NOT_SHIFTED,
) -> Iterator[Slot]:
    """Give the checks due on a shared thing on a day: those whose instant falls into its life."""
    for control in plan.controls:
        if control.of_thing and control.when.each == thing.kind:
            for ordinal, point, due in _times(control, day, clock, first.get(control.code, 0)):
                if thing.begun_at <= due and (thing.ended_at is None or due < thing.ended_at):
                    identity = thing_slot_id(thing.id, control.code, day, ordinal)
                    yield _daily(identity, control, ordinal, day, due, point=point, thing=thing.id)


def _times(
    control: Control, day: date, clock: LocalTime, first: int = 0
) -> Iterator[tuple[int, str, datetime]]:
    """Give ordinal, point and instant of each check of a daily control; none on a day no calendar there has.

    A time of day that comes twice is due the first time, one that the clocks leave out once, past the gap.
    """
    start, end = day_bounds(clock, day)
    if start >= end:
        return  # Apia had no 30 December 2011
    points = control.points or ("",)
    for at, text in enumerate(control.when.times):
        due = clock.instant(day, time.fromisoformat(text))
        for number, point in enumerate(points):
            yield first + at * len(points) + number, point, due


def _daily(
    identity: str,
    control: Control,
    ordinal: int,
    day: date,
    due: datetime,
    *,
    point: str,
    thing: UUID | None = None,
) -> Slot:
    opens, closes = due - _minutes(control.when.before), due + _minutes(control.when.after)
    return Slot(identity, control, ordinal, None, day, opens, due, closes, thing=thing, point=point)


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
