"""Records with what became of them: corrected, voided, judged again, reviewed by their own author."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from django.utils.translation import gettext as _

from records.batches.models import LotEvent, LotEventVoided
from records.batches.queries import voided_events
from records.checks.again import Again, judged_again, sentence_of, stands, state_of
from records.checks.device_clock import clock_notes, clock_words
from records.checks.looked_back import recomputed_words
from records.checks.models import (
    ClockNoted,
    PaperLine,
    Reading,
    RejudgedByBirth,
    RejudgedByInstrument,
    RejudgedByPlan,
    RejudgedByReceipt,
)
from records.checks.paper import lines_of_readings
from records.inspection.beside import NONE, NOTHING, Beside
from records.inspection.telling import Teller
from records.inspection.words import state_word
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until

Line = TypeVar("Line", "ReadingLine", "EventLine")


@dataclass
class ReadingLine:
    """A reading, the record that replaced it, and the later judgements of it."""

    row: Reading
    later: Reading | None = None
    again: list[Again] = field(default_factory=list)
    own: bool = False
    clock: ClockNoted | None = None
    paper: PaperLine | None = None
    beside: Beside = NOTHING

    @property
    def voided(self) -> bool:
        """Tell whether the reading was voided."""
        return self.later is not None and self.later.voided

    @property
    def state(self) -> str:
        """Give the result as it stands now."""
        return state_of(self.row, self.again)

    @property
    def sentence(self) -> str:
        """Give what is said of it as it stands now."""
        return sentence_of(self.row, self.again)


@dataclass
class EventLine:
    """An event, the record that replaced it, and the one that voided it."""

    row: LotEvent
    later: LotEvent | None = None
    own: bool = False
    clock: ClockNoted | None = None
    void: LotEventVoided | None = None

    @property
    def struck(self) -> bool:
        """Tell whether the event does not stand any more."""
        return self.later is not None or self.void is not None


def reading_lines(
    establishment: Establishment,
    readings: Sequence[Reading],
    as_of: int | None = None,
    own: Collection[str] = (),
    *,
    beside: Mapping[UUID, Beside] = NONE,
) -> list[ReadingLine]:
    """Give readings with their history; each correction follows what it corrects, a void joins it.

    beside: on what and with what each was measured, see `beside_of`.
    """
    later = _successors(establishment, Reading, readings, as_of)
    again = judged_again(establishment, [r.pk for r in readings], as_of)
    clocks = clock_notes(establishment, [r.pk for r in readings], as_of)
    paper = lines_of_readings(establishment, [r.pk for r in readings], as_of)
    lines = [
        ReadingLine(
            row=r,
            later=later.get(r.pk),
            again=again.get(r.pk, []),
            own=str(r.pk) in own,
            clock=clocks.get(r.pk),
            paper=paper.get(r.pk),
            beside=beside.get(r.pk, NOTHING),
        )
        for r in readings
        if not r.voided
    ]
    return _in_chains(lines)


def event_lines(
    establishment: Establishment,
    events: Sequence[LotEvent],
    as_of: int | None = None,
    own: Collection[str] = (),
) -> list[EventLine]:
    """Give events with their history; each correction follows what it corrects."""
    later = _successors(establishment, LotEvent, events, as_of)
    clocks = clock_notes(establishment, [e.pk for e in events], as_of)
    void = voided_events(establishment, events, as_of)
    return _in_chains(
        [EventLine(e, later.get(e.pk), str(e.pk) in own, clocks.get(e.pk), void.get(e.pk)) for e in events]
    )


def _successors(
    establishment: Establishment, model: Any, rows: Sequence[Any], as_of: int | None
) -> dict[Any, Any]:
    """Find what replaced each row, also when the correction moved it to another day."""
    found = until(model.objects.of(establishment), as_of).filter(supersedes__in=[row.pk for row in rows])
    return {row.supersedes_id: row for row in found}


def _in_chains(lines: list[Line]) -> list[Line]:
    present = {line.row.pk: line for line in lines}

    def place(line: Line) -> tuple[datetime, str, datetime]:
        root = line.row
        while root.supersedes_id in present:
            root = present[root.supersedes_id].row
        return root.observed_at, str(root.pk), line.row.recorded_at

    return sorted(lines, key=place)


def reading_notes(teller: Teller, line: ReadingLine) -> list[str]:
    """Say what has to be said of a reading besides its value."""
    row, later = line.row, line.later
    notes = [
        line.beside.tool,
        _("self-reviewed") if line.own else "",
        _("late: %(why)s") % {"why": row.late_reason or row.reason} if row.late else "",
        _clock(teller, line),
        _("replaces the struck entry: %(why)s") % {"why": row.reason} if row.supersedes_id else "",
        _paper(teller, line.paper),
        *_judgements(line),
    ]
    if later is not None:
        words = (
            _("VOID since %(at)s by %(who)s: %(why)s") if later.voided else _("corrected %(at)s by %(who)s")
        )
        notes.append(words % _who(teller, later))
    return [note for note in notes if note]


def _paper(teller: Teller, line: PaperLine | None) -> str:
    """Say that a record was entered later from a sheet, and who measured."""
    if line is None:
        return ""
    told = {"number": line.sheet.number, "initials": line.initials, "name": teller.name(line.measured_by_id)}
    return _("entered later from paper sheet %(number)s; measured by %(initials)s, %(name)s") % told


def _judgements(line: ReadingLine) -> Iterable[str]:
    for again in line.again:
        why = _("after a corrected event")
        if isinstance(again, RejudgedByPlan):
            why = _("by plan version %(number)d") % {"number": again.applied.plan_version.number}
        elif isinstance(again, RejudgedByReceipt):
            why = _("after a corrected receipt")
        elif isinstance(again, RejudgedByBirth):
            why = _("after a corrected birth")
        if isinstance(again, RejudgedByInstrument):
            yield from _by_instrument(again)
            continue
        if again.state == again.state_before:
            yield _("judged again %(why)s: unchanged, %(state)s") % {
                "why": why,
                "state": state_word(again.state),
            }
        else:
            yield _("judged again %(why)s: was %(before)s, now %(state)s. %(said)s") % {
                "why": why,
                "before": state_word(again.state_before),
                "state": state_word(again.state),
                "said": again.sentence_text,
            }


def _by_instrument(again: RejudgedByInstrument) -> Iterable[str]:
    """Say that a failed check of the instrument reached the reading, and what it would have been."""
    told = {
        "before": state_word(again.state_before),
        "state": state_word(again.state),
        "said": again.sentence_text,
    }
    words = _("judged again after a failed check of its instrument: was %(before)s, now %(state)s. %(said)s")
    yield words % told
    if recomputed_words(again):
        yield _("recomputed by the error as found, as evidence only: %(value)s, %(state)s") % {
            "value": recomputed_words(again),
            "state": state_word(again.would_state),
        }
    if again.deviation is not None:
        yield _("see deviation %(number)d") % {"number": again.deviation.number}
    if not stands(again):
        yield _("this was closed as a recording error: the earlier result counts again")


def event_notes(teller: Teller, line: EventLine) -> list[str]:
    """Say what has to be said of an event besides its time and details."""
    row, later = line.row, line.later
    why = row.late_reason or row.reason
    late = row.late and not (row.supersedes_id and why == row.reason)
    notes = [
        _("self-reviewed") if line.own else "",
        _("late: %(why)s") % {"why": why} if late else "",
        _clock(teller, line),
        _("replaces the struck entry: %(why)s") % {"why": row.reason} if row.supersedes_id else "",
        _("corrected %(at)s by %(who)s") % _who(teller, later) if later is not None else "",
        _("VOID since %(at)s by %(who)s: %(why)s") % _who(teller, line.void) if line.void else "",
    ]
    return [note for note in notes if note]


def _clock(teller: Teller, line: ReadingLine | EventLine) -> str:
    return clock_words(line.clock, teller.time(line.clock.device_captured_at)) if line.clock else ""


def _who(teller: Teller, row: Any) -> dict[str, str]:
    return {
        "at": teller.time(row.recorded_at),
        "who": teller.initials(row.author_id),
        "why": row.reason,
    }
