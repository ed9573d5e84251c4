"""The due list: slots from the plan, filled with what was recorded. Computed at read time, never stored."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from records.batches.models import Lot, LotEvent
from records.batches.queries import events_by_lot, first_times, versions_of
from records.checks.again import Again, judged_again, state_of
from records.checks.models import CheckExplained, Reading, RoundConfirmed
from records.checks.rounds_seen import rounds_by_slot
from records.checks.slots import (
    EXTRA,
    NOT_SHIFTED,
    LoadFacts,
    LotFacts,
    Slot,
    ThingFacts,
    day_slots,
    first_ordinals,
    load_slot_id,
    load_slots,
    lot_slots,
    thing_slots,
)
from records.deviations.models import Deviation
from records.deviations.queries import deviations, with_acquittal
from records.receiving.models import MilkLoad
from records.receiving.queries import balances
from records.things.queries import Life, living
from safetyplan.calculation.judgement import State, severity
from safetyplan.establishments.localtime import LocalTime, day_bounds
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.queries import versions

SETTLE = timedelta(minutes=10)
PRODUCTION = "production"
GOOD = (State.WITHIN, State.OUTSIDE_TARGET)


class Status(StrEnum):
    """Where a check stands."""

    WAITING = "waiting"
    LATER = "later"
    DUE = "due"
    OVERDUE = "overdue"
    MISSING = "missing"
    RECORDED = "recorded"
    EXPLAINED = "explained"
    BY_EXCEPTION = "by_exception"


@dataclass
class SlotState:
    """A slot with everything recorded for it."""

    slot: Slot
    lot: Lot | None
    plan_version: PlanApproved
    now: datetime
    readings: list[Reading] = field(default_factory=list)
    rejudged: dict[UUID, list[Again]] = field(default_factory=dict)
    explanation: CheckExplained | None = None
    deviations: list[Deviation] = field(default_factory=list)
    load: MilkLoad | None = None
    thing: Life | None = None
    round: RoundConfirmed | None = None

    @property
    def effective(self) -> list[Reading]:
        """Give the readings that were neither corrected nor voided."""
        replaced = {reading.supersedes_id for reading in self.readings}
        return [r for r in self.readings if r.pk not in replaced and not r.voided]

    def state_of(self, reading: Reading) -> State:
        """Give a reading's result against the limit, the newest where it was judged again."""
        return State(state_of(reading, self.rejudged.get(reading.pk, ())))

    @property
    def answering(self) -> list[Reading]:
        """Give the readings that answer the check: not those taken before its window, unless they are bad."""
        return [r for r in self.effective if self.state_of(r) != State.NOT_YET_DUE and not self._too_early(r)]

    def _too_early(self, reading: Reading) -> bool:
        opens = self.slot.opens_at
        early = opens is not None and reading.observed_at < opens
        return early and self.slot.control.is_ccp and self.state_of(reading) in GOOD

    @property
    def result(self) -> State | None:
        """Give the worst result of the readings that stand; one taken before the window counts only alone."""
        if not self.answering:
            return State.NOT_YET_DUE if self.effective else None
        return max((self.state_of(reading) for reading in self.answering), key=severity)

    def answers(self, deviation: Deviation) -> bool:
        """Tell whether a deviation answers for the check; one closed as a recording error does not."""
        return not getattr(deviation, "acquitted", False)

    @property
    def covered(self) -> bool:
        """Tell whether any deviation answers for the check."""
        return any(self.answers(deviation) for deviation in self.deviations)

    @property
    def status(self) -> Status:
        """Tell where the check stands now; a value taken before its window leaves the check to be made."""
        if self.answering:
            return Status.RECORDED
        if self.explanation is not None:
            return Status.EXPLAINED
        if self.round is not None:
            return Status.BY_EXCEPTION
        slot = self.slot
        if slot.closes_at is not None and self.now > slot.closes_at:
            return Status.MISSING
        if slot.opens_at is None or slot.due_at is None:
            return Status.WAITING
        if self.now < slot.opens_at:
            return Status.LATER
        return Status.OVERDUE if self.now > slot.due_at else Status.DUE

    @property
    def settled_missing(self) -> bool:
        """Tell whether nothing was observed in the window, and no save of it can still be on its way."""
        closes = self.slot.closes_at
        answered = self.explanation is not None or self.round is not None
        if closes is None or answered or self.now <= closes + SETTLE:
            return False
        return not any(reading.observed_at <= closes for reading in self.answering)

    @property
    def shown(self) -> bool:
        """Tell whether the check shows control: recorded, and within the limit."""
        return self.result in GOOD

    @property
    def wants_make(self) -> bool:
        """Tell whether the check is asked for on days of production only, and nothing was said of it yet."""
        said = self.readings or self.explanation or self.round or self.deviations
        return self.slot.control.when.days == PRODUCTION and not said


def facts(lot: Lot, events: Iterable[LotEvent]) -> LotFacts:
    """Give what the due checks of a lot depend on."""
    return LotFacts(lot.pk, lot.product_code, lot.started_at, first_times(events))


def lot_states(
    establishment: Establishment,
    lots: Sequence[Lot],
    now: datetime,
    as_of: int | None = None,
    by: Mapping[UUID, PlanApproved] | None = None,
) -> dict[UUID, list[SlotState]]:
    """Give the checks of several lots with their state, in a constant number of queries.

    Each lot is asked for the checks of the plan version it follows; `by` gives others to try.
    """
    events = events_by_lot(establishment, [lot.pk for lot in lots], as_of)
    followed = by if by is not None else versions_of(establishment, lots, as_of)
    states = {
        lot.pk: [
            SlotState(slot, lot, followed[lot.pk], now)
            for slot in lot_slots(followed[lot.pk].plan(), facts(lot, events[lot.pk]))
        ]
        for lot in lots
    }
    _fill(establishment, [s for of_lot in states.values() for s in of_lot], as_of)
    return states


def versions_at(
    establishment: Establishment, moments: Iterable[datetime], as_of: int | None = None
) -> dict[datetime, PlanApproved]:
    """Give the plan version in force at each of some instants; those before the first plan are left out."""
    listed = list(versions(establishment, as_of))
    found = {}
    for at in moments:
        version = next((v for v in listed if v.in_force_from <= at), None)
        if version is not None:
            found[at] = version
    return found


def load_states(
    establishment: Establishment, loads: Sequence[MilkLoad], now: datetime, as_of: int | None = None
) -> dict[UUID, list[SlotState]]:
    """Give the checks of several loads of milk, by their identity, in a constant number of queries.

    Each load is asked for the checks of the plan version in force when it was received. Of a load that was
    refused wholly, only what was recorded or missed before stays.
    """
    followed = versions_at(establishment, (load.received_at for load in loads), as_of)
    states = {
        load.identity: [
            SlotState(slot, None, version, now, load=load)
            for version in [followed.get(load.received_at)]
            if version is not None
            for slot in load_slots(version.plan(), LoadFacts(load.identity, load.received_at))
        ]
        for load in loads
        if not load.voided
    }
    _fill(establishment, [s for of_load in states.values() for s in of_load], as_of)
    for identity, balance in balances(establishment, loads, as_of).items():
        if balance.wholly_refused:
            states[identity] = [s for s in states[identity] if s.readings or s.deviations]
    return states


def production_days(establishment: Establishment, start: datetime, end: datetime, as_of: int | None) -> bool:
    """Tell whether a lot was started or worked on between two instants."""
    started = until(Lot.objects.of(establishment), as_of).filter(started_at__gte=start, started_at__lt=end)
    return started.exists()


def day_states(
    establishment: Establishment,
    day: date,
    clock: LocalTime,
    now: datetime,
    as_of: int | None = None,
    *,
    production: bool | None = None,
) -> list[SlotState]:
    """Give the checks of a day of the establishment, each by the plan version in force when it is due.

    production: whether a lot is started that day, where it is known beforehand. What opens the work comes
    before the first lot: until its window is over it can be made, whether a lot follows or not.
    """
    bounds = day_bounds(clock, day)
    if production is None:
        production = production_days(establishment, *bounds, as_of)
    states = [
        SlotState(slot, None, version, now)
        for version, ends, first in _in_force(establishment, bounds, as_of)
        for slot in day_slots(version.plan(), day, clock, first=first)
        if _asked(slot, version, ends)
    ]
    _fill(establishment, states, as_of)
    return states if production else [state for state in states if _without_lot(state)]


def _without_lot(state: SlotState) -> bool:
    """Tell whether a check of a day stays while no lot was started on it."""
    return not state.wants_make or state.status in (Status.LATER, Status.DUE, Status.OVERDUE)


def _in_force(
    establishment: Establishment, bounds: tuple[datetime, datetime], as_of: int | None
) -> Iterator[tuple[PlanApproved, datetime | None, Mapping[str, int]]]:
    """Give each plan version with the instant at which the next one came into force, newest first.

    And where the ordinals of its daily checks begin on a day on which more than one was in force.
    """
    listed = list(versions(establishment, as_of))
    if not listed:
        return
    ends = [None, *(version.in_force_from for version in listed[:-1])]
    start, end = bounds
    of_day = [
        version
        for version, until_at in zip(listed, ends, strict=True)
        if version.in_force_from < end and (until_at is None or until_at > start)
    ][::-1]
    first = first_ordinals(version.plan() for version in of_day)
    shifted = {version.pk: ordinals for version, ordinals in zip(of_day, first, strict=True)}
    for version, until_at in zip(listed, ends, strict=True):
        yield version, until_at, shifted.get(version.pk, NOT_SHIFTED)


def _asked(slot: Slot, version: PlanApproved, ends: datetime | None) -> bool:
    due = slot.due_at
    return due is not None and due >= version.in_force_from and (ends is None or due < ends)


def thing_states(
    establishment: Establishment,
    day: date,
    clock: LocalTime,
    now: datetime,
    as_of: int | None = None,
    *,
    production: bool | None = None,
) -> list[SlotState]:
    """Give the checks of a day on the shared things that are there, each by the plan in force when due."""
    start, end = day_bounds(clock, day)
    if production is None:
        production = production_days(establishment, start, end, as_of)
    there = living(establishment, start, end, as_of)
    states = [
        SlotState(slot, None, version, now, thing=life)
        for version, ends, first in _in_force(establishment, (start, end), as_of)
        for life in there
        for slot in thing_slots(version.plan(), thing_facts(life), day, clock, first=first)
        if _asked(slot, version, ends)
    ]
    _fill(establishment, states, as_of)
    return states if production else [state for state in states if _without_lot(state)]


def thing_facts(life: Life) -> ThingFacts:
    """Give what the due checks of a shared thing depend on."""
    return ThingFacts(life.id, life.kind, life.begun_at, life.ended_at)


def _fill(establishment: Establishment, states: list[SlotState], as_of: int | None) -> None:
    ids = [slot for state in states for slot in counting_slots(state)]
    readings = _group(until(Reading.objects.of(establishment), as_of).filter(slot__in=ids), "slot")
    all_readings = [r.pk for rows in readings.values() for r in rows]
    rejudged = judged_again(establishment, all_readings, as_of)
    explained = _group(until(CheckExplained.objects.of(establishment), as_of).filter(slot__in=ids), "slot")
    opened = _group(with_acquittal(deviations(establishment, as_of).filter(slot__in=ids), as_of), "slot")
    rounds = rounds_by_slot(establishment, {s.slot.day for s in states if s.slot.day is not None}, as_of)
    for state in states:
        slots = counting_slots(state)
        state.readings = [reading for slot in slots for reading in readings.get(slot, [])]
        state.rejudged = {r.pk: rejudged[r.pk] for r in state.readings if r.pk in rejudged}
        state.explanation = next(iter(explained.get(state.slot.id, [])), None)
        state.deviations = [deviation for slot in slots for deviation in opened.get(slot, [])]
        state.round = rounds.get(state.slot.id)


def counting_slots(state: SlotState) -> list[str]:
    """Give the slots whose readings count for a check: of a load, a repeated test counts with the first."""
    slot = state.slot
    if slot.load is None:
        return [slot.id]
    return [slot.id, load_slot_id(slot.load, slot.control.code, EXTRA)]


def _group(rows: "QuerySet[Any]", attribute: str) -> dict[Any, list[Any]]:
    found: dict[Any, list[Any]] = defaultdict(list)
    for row in rows.select_related("author").order_by("entry__sequence"):
        found[getattr(row, attribute)].append(row)
    return found


def urgency(state: SlotState) -> tuple[int, datetime]:
    """Order the due list: missed first, then overdue, due, later."""
    order = [Status.MISSING, Status.OVERDUE, Status.DUE, Status.LATER, Status.WAITING]
    rank = order.index(state.status) if state.status in order else len(order)
    return rank, state.slot.due_at or state.slot.closes_at or state.now
