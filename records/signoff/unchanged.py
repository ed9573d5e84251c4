"""Whether a signed day has changed since its signature, without composing its sheet on every look.

Composing a sheet is most of the work of the page of today, and next to nothing that is recorded now changes a
day that is signed. So the last answer is kept in memory, with the ledger it was given on. It holds while
what came into the ledger since cannot touch the sheet: readings, events and lots of later times, of other
checks and other lots. Anything else, and any kind not named here, composes the sheet anew.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from threading import Lock
from typing import Any
from uuid import UUID

from records.batches.models import Lot, LotEvent
from records.checks.due import counting_slots
from records.checks.models import Reading
from records.deviations.models import Deviation
from records.signoff.models import DaySigned
from records.signoff.queries import DaySheet, day_sheet
from safetyplan.establishments.localtime import LocalTime
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import ledger
from safetyplan.integrity.models import Entry

MOST_KEPT = 200
MOST_NEWS = 500
READ: Mapping[str, Any] = {
    "reading": Reading,
    "lot_event": LotEvent,
    "lot_started": Lot,
    "deviation": Deviation,
}
"""Kinds of which a row may be of another time, check or lot than the day's."""
BESIDE = frozenset(
    {
        "action_taken",
        "clock_noted",
        "credential",
        "day_signed",  # of another day; one of the day itself is a newer signature
        "hold_confirmed",
        "lot_addition",
        "photo_taken",
        "print_issue",
        "print_kept",
    }
)
"""Kinds that stand on no list of a day's checks and records."""


@dataclass(frozen=True)
class _Answer:
    """What was found of a day: the ledger and the time it holds for, and what could change it."""

    signature: UUID
    sequence: int
    hash: str
    since: datetime
    until: datetime | None
    again: bool
    end: datetime
    slots: frozenset[str]
    lots: frozenset[UUID]

    def holds_at(self, signature: UUID, now: datetime) -> bool:
        """Tell whether neither the signature nor the passing of time has overtaken it."""
        return self.signature == signature and self.since <= now and (self.until is None or now < self.until)

    def untouched_by(self, row: Any) -> bool:
        """Tell whether a row that was recorded later has nothing to do with the day."""
        if isinstance(row, Lot):
            return bool(row.started_at >= self.end)
        if isinstance(row, Deviation):
            return row.slot not in self.slots and row.recorded_at >= self.end
        if row.supersedes_id is not None or row.observed_at < self.end:
            return False
        return row.lot_id not in self.lots if isinstance(row, LotEvent) else row.slot not in self.slots


_answers: dict[tuple[UUID, date], _Answer] = {}
_lock = Lock()


def changed_days(
    establishment: Establishment, signed: Mapping[date, DaySigned], clock: LocalTime, now: datetime
) -> set[date]:
    """Name those of some signed days that have changed since their newest signature."""
    head = ledger.head(establishment)
    with _lock:
        known = {day: _answers.get((establishment.pk, day)) for day in signed}
    news = _News.since(establishment, [answer for answer in known.values() if answer], head)
    found = set()
    for day, signature in signed.items():
        answer = known[day]
        if answer is None or not answer.holds_at(signature.pk, now) or not news.leave(answer):
            answer = _compose(establishment, day, clock, now, head)
        answer = replace(answer, sequence=head[0], hash=head[1])
        with _lock:
            while len(_answers) >= MOST_KEPT:
                _answers.pop(next(iter(_answers)))
            _answers[establishment.pk, day] = answer
        if answer.again:
            found.add(day)
    return found


@dataclass(frozen=True)
class _News:
    """What came into the ledger since the oldest answer; None where that is too much, or of another kind."""

    head: tuple[int, str]
    hashes: Mapping[int, str]
    rows: Sequence[tuple[int, Any]] | None

    @classmethod
    def since(
        cls, establishment: Establishment, answers: Iterable[_Answer], head: tuple[int, str]
    ) -> "_News":
        """Read what is new in a constant number of queries."""
        sequences = {answer.sequence for answer in answers}
        entries = Entry.objects.of(establishment)
        hashes = dict(entries.filter(sequence__in=sequences).values_list("sequence", "hash"))
        if not sequences or min(sequences) == head[0]:
            return cls(head, hashes, ())
        newer = entries.filter(sequence__gt=min(sequences)).order_by("sequence")
        newer = newer.exclude(kind__in=BESIDE)
        listed = list(newer.values_list("sequence", "kind", "pk")[: MOST_NEWS + 1])
        if len(listed) > MOST_NEWS:
            return cls(head, hashes, None)
        found: dict[UUID, Any] = {}
        for kind, model in READ.items():
            keys = [pk for _sequence, name, pk in listed if name == kind]
            if keys:
                found |= {row.pk: row for row in model.objects.of(establishment).filter(pk__in=keys)}
        return cls(head, hashes, [(sequence, found.get(pk)) for sequence, _kind, pk in listed])

    def leave(self, answer: _Answer) -> bool:
        """Tell whether an answer still holds: the ledger it was given on goes on, and nothing touched it."""
        if self.rows is None or self.hashes.get(answer.sequence) != answer.hash:
            return False
        newer = [row for sequence, row in self.rows if sequence > answer.sequence]
        return all(row is not None and answer.untouched_by(row) for row in newer)


def _compose(
    establishment: Establishment, day: date, clock: LocalTime, now: datetime, head: tuple[int, str]
) -> _Answer:
    sheet = day_sheet(establishment, day, clock, now)
    assert sheet.newest is not None
    return _Answer(
        signature=sheet.newest.pk,
        sequence=head[0],
        hash=head[1],
        since=now,
        until=_next_change(sheet, now),
        again=sheet.needs_signing_again,
        end=sheet.end,
        slots=frozenset(slot for state in sheet.states for slot in counting_slots(state)),
        lots=frozenset(state.lot.pk for state in sheet.states if state.lot is not None),
    )


def _next_change(sheet: DaySheet, now: datetime) -> datetime | None:
    """Give the next instant at which the passing of time alone changes where a check of the day stands."""
    times = (at for s in sheet.states for at in (s.slot.opens_at, s.slot.due_at, s.slot.closes_at))
    return min((at for at in times if at is not None and at > now), default=None)
