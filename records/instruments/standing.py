"""Where instruments stand by their schedule: when each has to be checked, and which are overdue.

A schedule counts local days from the last check that left the instrument good; it is due on the last of them
and overdue on the day after. An instrument for each day of use is overdue at a reading without a good check
before it on that day. One whose last check found it bad, and left it so, is not to be used until it is found
good again: it counts as overdue whatever its schedule. One never checked is due the day it gets a schedule.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from uuid import UUID

from django.db.models import OuterRef, Subquery

from records.instruments.models import EACH_DAY_OF_USE, Instrument, InstrumentCheck
from records.instruments.queries import LEFT_BAD, LEFT_GOOD, Register, checks_of, register_of
from safetyplan.establishments.localtime import LocalTime, ZoneTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, zone_of


class Standing(StrEnum):
    """Where an instrument stands by its schedule."""

    UNSCHEDULED = "unscheduled"
    IN_ORDER = "in_order"
    DUE = "due"
    OVERDUE = "overdue"
    FAILED = "failed"


LATE = (Standing.OVERDUE, Standing.FAILED)


@dataclass(frozen=True)
class InstrumentState:
    """One instrument at an instant: the row that stood, its last checks, when it is due, where it stands.

    last: the last check whatever it found. good: the last one that left it good. due_on: the last day on
    which it may be used without another check; None without a schedule.
    """

    instrument: Instrument
    last: InstrumentCheck | None
    good: InstrumentCheck | None
    due_on: date | None
    standing: Standing

    @property
    def overdue(self) -> bool:
        """Tell whether it should not be used before it is checked."""
        return self.standing in LATE


def due_on(every_days: int | None, begun: date, good: date | None) -> date | None:
    """Give the day by which a check has to be made; None without a schedule.

    every_days: 0 each day of use. begun: the day the schedule began. good: the day of the last good check.
    """
    if every_days is None:
        return None
    return good + timedelta(days=every_days) if good is not None else begun


@dataclass(frozen=True)
class Calendar:
    """The checks of all instruments, read once: where each of them stood at any instant of a period."""

    register: Register
    clock: LocalTime
    checks: dict[UUID, list[InstrumentCheck]] = field(default_factory=dict)

    def _day(self, at: datetime) -> date:
        return self.clock.local(at).date()

    def _begun(self, root: UUID, row: Instrument) -> date:
        """The day on which the present schedule of an instrument began."""
        begun = row
        for earlier in reversed(self.register.chains[root]):
            if earlier.recorded_at > row.recorded_at:
                continue
            if earlier.check_every_days is None or earlier.retired:
                break
            begun = earlier
        return self._day(begun.recorded_at)

    def state(self, key: UUID, at: datetime) -> InstrumentState:
        """Give where an instrument stood at an instant. key: of any of its rows."""
        root, row = self.register.root(key), self.register.at(key, at)
        known = [check for check in self.checks.get(root, ()) if check.checked_at <= at]
        good = next((check for check in reversed(known) if check.good_after), None)
        decided = next((check for check in reversed(known) if check.good_after is not None), None)
        by = due_on(
            row.check_every_days, self._begun(root, row), self._day(good.checked_at) if good else None
        )
        failed = decided is not None and not decided.good_after
        standing = Standing.FAILED if failed else self._standing(row, by, self._day(at), good is not None)
        return InstrumentState(row, known[-1] if known else None, good, by, standing)

    def _standing(self, row: Instrument, by: date | None, today: date, checked: bool) -> Standing:
        if by is None:
            return Standing.UNSCHEDULED
        if row.check_every_days == EACH_DAY_OF_USE:
            return Standing.IN_ORDER if checked and by == today else Standing.DUE
        if today > by:
            return Standing.OVERDUE
        return Standing.DUE if today == by else Standing.IN_ORDER

    def overdue_at(self, key: UUID, at: datetime) -> bool:
        """Tell whether a reading of this instant was taken with an instrument overdue for its check."""
        state = self.state(key, at)
        unchecked = state.standing == Standing.DUE and (state.instrument.check_every_days == EACH_DAY_OF_USE)
        return state.overdue or unchecked


def calendar(
    establishment: Establishment,
    start: datetime,
    end: datetime,
    as_of: int | None = None,
    clock: LocalTime | None = None,
) -> Calendar:
    """Read what is needed to tell where every instrument stood at any instant from start to end.

    The number of queries does not grow with instruments or checks.
    """
    register = register_of(establishment, as_of)
    keys = _before(establishment, start, as_of)
    rows = checks_of(establishment, register.rows, as_of)
    inside = rows.filter(checked_at__gt=start, checked_at__lte=end)
    found: dict[UUID, list[InstrumentCheck]] = {}
    for check in [*rows.filter(pk__in=keys), *inside]:
        found.setdefault(register.root(check.instrument_id), []).append(check)
    for checks in found.values():
        checks.sort(key=lambda check: check.checked_at)
    return Calendar(register, clock or ZoneTime(zone_of(establishment)), found)


def _before(establishment: Establishment, start: datetime, as_of: int | None) -> set[UUID]:
    """Give the checks that decide where each instrument stood at an instant: last, last good, last bad."""
    past = latest(InstrumentCheck.objects.of(establishment), as_of).filter(
        instrument=OuterRef("pk"), checked_at__lte=start
    )
    newest = past.order_by("-checked_at", "-entry__sequence").values("pk")
    rows = Instrument.objects.of(establishment).values_list(
        Subquery(newest[:1]), Subquery(newest.filter(LEFT_GOOD)[:1]), Subquery(newest.filter(LEFT_BAD)[:1])
    )
    return {key for row in rows for key in row if key is not None}


def states(
    establishment: Establishment, at: datetime, as_of: int | None = None, clock: LocalTime | None = None
) -> list[InstrumentState]:
    """Give every instrument in use with where it stands at an instant, by code."""
    known = calendar(establishment, at, at, as_of, clock)
    newest = [chain[-1] for chain in known.register.chains.values()]
    using = sorted((row for row in newest if not row.retired), key=lambda row: row.code)
    return [known.state(row.pk, at) for row in using]


def to_check(found: Iterable[InstrumentState]) -> list[InstrumentState]:
    """Keep those that have to be checked now, the most pressing first."""
    order: Sequence[Standing] = (Standing.FAILED, Standing.OVERDUE, Standing.DUE)
    return sorted((s for s in found if s.standing in order), key=lambda s: order.index(s.standing))


def overdue(establishment: Establishment, at: datetime, as_of: int | None = None) -> set[UUID]:
    """Give the keys of all rows of the instruments with which a reading at an instant is overdue."""
    known = calendar(establishment, at, at, as_of)
    return {key for key in known.register.rows if known.overdue_at(key, at)}
