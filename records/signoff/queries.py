"""The day sheet: everything due, done, late, missing, corrected, outside; and what was signed of it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from records.batches.models import Dispatch, Lot, LotEvent, LotEventVoided
from records.batches.queries import lots, voided_events
from records.checks.due import (
    SlotState,
    Status,
    day_states,
    load_states,
    lot_states,
    production_days,
    thing_states,
)
from records.checks.models import CheckExplained, Reading, RejudgedByInstrument
from records.checks.slots import slot_order
from records.deviations.models import Deviation
from records.deviations.queries import deviations
from records.receiving.queries import loads_between
from records.signoff.door import Door, door_between
from records.signoff.further import Source, further
from records.signoff.models import DaySigned, LotRelease, NoProductionDay, NoProductionUndone
from safetyplan.establishments.localtime import LocalTime, day_bounds
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, until
from safetyplan.integrity import canonical
from safetyplan.plans.queries import versions

LOOK_BACK = timedelta(days=4)


@dataclass
class DaySheet:
    """A day's checks and records."""

    day: date
    now: datetime
    start: datetime
    end: datetime
    states: list[SlotState]
    readings: list[Reading]
    events: list[LotEvent]
    voids: list[LotEventVoided]
    lots: list[Lot]
    explanations: list[CheckExplained]
    deviations: list[Deviation]
    no_production: NoProductionDay | None
    signed: list[DaySigned]
    door: Door
    further: list[tuple[Source, Any]] = field(default_factory=list)

    def expected(self) -> list[dict[str, Any]]:
        """List the checks of the day and where each stands, as frozen in a signature."""
        return [
            {
                "slot": state.slot.id,
                "control": state.slot.control.code,
                "due_at": canonical.instant(state.slot.due_at) if state.slot.due_at else "",
                "status": str(state.status),
                "result": str(state.result or ""),
                "readings": [str(reading.pk) for reading in state.readings],
                "deviations": [d.number for d in state.deviations],
                "explained": str(state.explanation.pk) if state.explanation else "",
                **({"round": str(state.round.pk)} if state.round else {}),
            }
            for state in self.states
        ]

    def records(self) -> list[Any]:
        """Give every record of the day that a reviewer's signature covers."""
        others = [row for source, row in self.further if source.covered]
        made = [*self.lots, *self.events, *self.voids, *self.readings, *self.explanations]
        return [*made, *self.door.records(), *others]

    def record_ids(self) -> list[str]:
        """Name every record that the signature covers."""
        return sorted(str(row.pk) for row in self.records())

    @property
    def newest(self) -> DaySigned | None:
        """Give the newest signature."""
        return self.signed[-1] if self.signed else None

    @property
    def needs_signing_again(self) -> bool:
        """Tell whether the day has changed since it was signed."""
        if self.newest is None:
            return False
        expected, records = (canonical.dumps(v).decode() for v in (self.expected(), self.record_ids()))
        return bool(self.newest.expected != expected or self.newest.records != records)

    def unexplained(self) -> list[SlotState]:
        """Give the prerequisite checks that are neither recorded nor explained."""
        return [s for s in self.states if s.status == Status.MISSING and not s.slot.control.is_ccp]

    def open_gaps(self) -> list[SlotState]:
        """Give the critical checks that are missing without a deviation."""
        return [
            s for s in self.states if s.status == Status.MISSING and s.slot.control.is_ccp and not s.covered
        ]

    def still_due(self) -> list[SlotState]:
        """Give the checks whose window is not over and that nobody has recorded."""
        return [s for s in self.states if s.status in (Status.DUE, Status.OVERDUE, Status.LATER)]


def _on_day(state: SlotState, start: datetime, end: datetime) -> bool:
    at = state.slot.due_at
    if at is None:  # waits for an event: it belongs to the day on which the wait is over
        at = state.slot.closes_at
    return at is not None and start <= at < end


def lots_of_day(establishment: Establishment, start: datetime, end: datetime, as_of: int | None) -> list[Lot]:
    """Give the lots whose checks can fall on a day: an event is awaited, was not long ago, or recorded."""
    recorded = until(Reading.objects.of(establishment), as_of).filter(
        observed_at__gte=start, observed_at__lt=end, lot__isnull=False
    )
    happened = until(LotEvent.objects.of(establishment), as_of).filter(
        observed_at__gte=start - LOOK_BACK, observed_at__lt=end
    )
    touched = {*recorded.values_list("lot", flat=True), *happened.values_list("lot", flat=True)}
    first = start - LOOK_BACK - _longest_wait(establishment, as_of)
    near = lots(establishment, as_of).filter(started_at__lt=end, started_at__gte=first)
    older = lots(establishment, as_of).filter(pk__in=touched).exclude(started_at__gte=first)
    return [*near, *older]


def _longest_wait(establishment: Establishment, as_of: int | None) -> timedelta:
    """Give how long after its start a lot's check may still wait for an event, by any plan version."""
    plans = [version.plan() for version in versions(establishment, as_of)]
    waits = [
        event.expected_within_hours for plan in plans for product in plan.products for event in product.events
    ]
    return timedelta(hours=max(waits, default=0))


def day_sheet(
    establishment: Establishment, day: date, clock: LocalTime, now: datetime, as_of: int | None = None
) -> DaySheet:
    """Compose the sheet of a day as things stood at a ledger sequence."""
    start, end = day_bounds(clock, day)
    states = day_states(establishment, day, clock, now, as_of)
    states += thing_states(establishment, day, clock, now, as_of)
    of_loads, door = _at_the_door(establishment, start, end, now, as_of)
    states += [*_of_lots(establishment, start, end, now, as_of), *of_loads]
    rest = no_production_on(establishment, day, as_of)
    if rest is not None and not production_days(establishment, start, end, as_of):
        states = [state for state in states if not state.wants_make]
    states.sort(key=lambda s: (s.slot.due_at or s.slot.closes_at or end, *slot_order(s.slot.id)))
    slots = [state.slot.id for state in states]

    def between(rows: "QuerySet[Any]", column: str) -> list[Any]:
        window = {f"{column}__gte": start, f"{column}__lt": end}
        chosen_rows = until(rows, as_of).filter(**window).select_related("author")
        return list(chosen_rows.order_by(column, "entry__sequence"))

    signed = until(DaySigned.objects.of(establishment), as_of).filter(day=day).order_by("entry__sequence")
    explained = until(CheckExplained.objects.of(establishment), as_of).filter(slot__in=slots)
    fallen = until(RejudgedByInstrument.objects.of(establishment), as_of).filter(reading__slot__in=slots)
    of_slots = deviations(establishment, as_of).filter(
        Q(slot__in=slots) | Q(pk__in=fallen.filter(deviation__isnull=False).values("deviation"))
    )
    events = between(LotEvent.objects.of(establishment).select_related("lot"), "observed_at")
    return DaySheet(
        day=day,
        now=now,
        start=start,
        end=end,
        states=states,
        readings=between(Reading.objects.of(establishment).select_related("lot"), "observed_at"),
        events=events,
        voids=list(voided_events(establishment, events, as_of).values()),
        lots=between(Lot.objects.of(establishment), "started_at"),
        explanations=list(explained.select_related("author").order_by("entry__sequence")),
        deviations=_distinct([*of_slots, *between(deviations(establishment), "recorded_at")]),
        no_production=rest,
        signed=list(signed.select_related("author")),
        door=door,
        further=further(establishment, day, start, end, as_of),
    )


def _of_lots(
    establishment: Establishment, start: datetime, end: datetime, now: datetime, as_of: int | None
) -> list[SlotState]:
    """Give the checks of lots that fall on a day."""
    chosen = lots_of_day(establishment, start, end, as_of)
    found = lot_states(establishment, chosen, now, as_of)
    return [state for lot in chosen for state in found[lot.pk] if _on_day(state, start, end)]


def _at_the_door(
    establishment: Establishment, start: datetime, end: datetime, now: datetime, as_of: int | None
) -> tuple[list[SlotState], Door]:
    """Give the checks of loads that fall on a day, and what came in."""
    loads = loads_between(establishment, start - LOOK_BACK, end, as_of)
    found = load_states(establishment, loads, now, as_of)
    door = door_between(establishment, start, end, as_of)
    door.codes.update({load.identity: load.code for load in loads})
    return [s for of_load in found.values() for s in of_load if _on_day(s, start, end)], door


def no_production_on(
    establishment: Establishment, day: date, as_of: int | None = None
) -> NoProductionDay | None:
    """Give the note that a day is without production, unless it was taken back."""
    undone = until(NoProductionUndone.objects.of(establishment), as_of).filter(noted=OuterRef("pk"))
    rows = until(NoProductionDay.objects.of(establishment), as_of).filter(~Exists(undone), day=day)
    found: NoProductionDay | None = rows.order_by("entry__sequence").last()
    return found


def _distinct(found: Iterable[Deviation]) -> list[Deviation]:
    return sorted({d.pk: d for d in found}.values(), key=lambda d: d.number)


def latest_signature(establishment: Establishment, day: date) -> DaySigned | None:
    """Give the signature of a day that no later one supersedes."""
    found: DaySigned | None = latest(DaySigned.objects.of(establishment)).filter(day=day).first()
    return found


def self_reviewed(establishment: Establishment, days: Iterable[date], as_of: int | None = None) -> set[str]:
    """Name the records of some days that their own author reviewed."""
    rows = until(DaySigned.objects.of(establishment), as_of).filter(day__in=list(days))
    return {record for row in rows for record in canonical.loads(row.self_reviewed.encode())}


def releases(establishment: Establishment, lot: Lot, as_of: int | None = None) -> "QuerySet[Any]":
    """Give the releases of a lot."""
    rows = until(LotRelease.objects.of(establishment), as_of).filter(lot=lot)
    return rows.select_related("author").order_by("entry__sequence")


def dispatches(establishment: Establishment, lot: Lot, as_of: int | None = None) -> "QuerySet[Any]":
    """Give what left of a lot."""
    rows = until(Dispatch.objects.of(establishment), as_of).filter(lot=lot)
    return rows.select_related("author").order_by("entry__sequence")
