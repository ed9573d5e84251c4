"""Grids that the lot's and the day's print share: readings, events, checks that were due."""

from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType
from uuid import UUID

from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.checks.due import SlotState, Status
from records.inspection.door import DoorLine, load_code
from records.inspection.frame import Frame
from records.inspection.history import EventLine, ReadingLine, event_notes, reading_notes
from records.inspection.telling import Teller, joined
from records.inspection.words import (
    control_words,
    due_words,
    event_details,
    result_words,
    state_word,
    status_word,
    value_parts,
)
from records.signoff.groups import subject
from safetyplan.printing.document import Cell, Column, Grid, Row, RowState

NO_LOADS: Mapping[UUID, str] = MappingProxyType({})


def reading_grid(frame: Frame, lines: Sequence[ReadingLine], codes: Mapping[UUID, str] = NO_LOADS) -> Grid:
    """Give the grid of readings; a corrected or void one is struck and stays readable.

    codes: the numbers of the loads of milk, by identity.
    """
    observed, recorded, check, reading, result = _reading_shares(frame)
    columns = (
        Column(_("Observed"), share=observed),
        Column(_("Recorded"), share=recorded),
        Column(_("Check"), share=check),
        Column(_("Reading with unit"), share=reading),
        Column(_("Result against the limit"), share=result),
        Column(_("By"), share=6),
        Column(_("Notes"), share=20),
    )
    return Grid(columns, tuple(_reading_row(frame, line, codes) for line in lines))


def _reading_shares(frame: Frame) -> tuple[float, float, float, float, float]:
    """Give the widths of the first five columns; on a day's sheet the times are short, from version 2 on."""
    if not frame.focus:
        return 15.5, 15.5, 15, 22, 22
    return (10.5, 10.5, 22, 19, 28) if frame.form >= 2 else (10.5, 15.5, 15, 22, 22)


def _reading_row(frame: Frame, line: ReadingLine, codes: Mapping[UUID, str]) -> Row:
    row, struck = line.row, line.later is not None
    parts = value_parts(frame, row)
    of_lot = f"\n{row.lot.code}" if frame.focus and row.lot else ""
    load = load_code(row, codes)
    of_lot = f"\n{load}" if load else of_lot
    of_lot += f"\n{line.beside.place}" if line.beside.place else ""
    state: RowState = "late" if row.late else ""
    if struck:
        state = "" if line.voided else "corrected"
    return Row(
        (
            Cell(frame.time(row.observed_at), struck=struck),
            Cell(frame.time(row.recorded_at)),
            Cell(f"{row.control} {row.control_name}{of_lot}"),
            Cell("\n".join(parts), struck=struck, strong=not struck and len(parts) == 1),
            Cell(result_words(row), struck=struck),
            Cell(frame.initials(row.author_id)),
            Cell(joined(reading_notes(frame, line))),
        ),
        state,
    )


def event_grid(
    frame: Frame,
    lots: Sequence[Lot],
    lines: Sequence[EventLine],
    own: Collection[str] = (),
) -> Grid:
    """Give the grid of what happened: each lot's start, then its events."""
    columns = (
        Column(_("Happened"), share=11 if frame.focus else 15.5),
        Column(_("Recorded"), share=15.5),
        Column(_("Event"), share=20),
        Column(_("Details"), share=30),
        Column(_("By"), share=6),
        Column(_("Notes"), share=24),
    )
    starts = [_start_row(frame, lot, own=str(lot.pk) in own) for lot in lots]
    return Grid(columns, (*starts, *(_event_row(frame, line) for line in lines)))


def _start_row(frame: Frame, lot: Lot, *, own: bool) -> Row:
    details = [
        f"{lot.product_code} {lot.product_name}",
        lot.vat,
        f"{lot.milk_text} {lot.milk_unit}".strip(),
    ]
    late = _("late: %(why)s") % {"why": lot.late_reason} if lot.late_reason else ""
    return Row(
        (
            Cell(frame.time(lot.started_at)),
            Cell(frame.time(lot.recorded_at)),
            Cell((f"{lot.code}: " if frame.focus else "") + _("Lot started"), strong=True),
            Cell(joined(details)),
            Cell(frame.initials(lot.author_id)),
            Cell(joined([_("self-reviewed") if own else "", late])),
        ),
        "late" if late else "",
    )


def _event_row(frame: Frame, line: EventLine) -> Row:
    row, struck = line.row, line.struck
    name = f"{row.lot.code}: {row.event_name}" if frame.focus else row.event_name
    state: RowState = "late" if row.late else ""
    return Row(
        (
            Cell(frame.time(row.observed_at), struck=struck),
            Cell(frame.time(row.recorded_at)),
            Cell(name, strong=not struck),
            Cell(joined(event_details(row.details)), struck=struck),
            Cell(frame.initials(row.author_id)),
            Cell(joined(event_notes(frame, line))),
        ),
        "corrected" if struck else state,
    )


def door_grid(frame: Frame, lines: Sequence[DoorLine]) -> Grid:
    """Give the grid of what came in and what was put right."""
    columns = (
        Column(_("Happened"), share=11 if frame.focus else 15.5),
        Column(_("Recorded"), share=15.5),
        Column(_("What"), share=20),
        Column(_("Details"), share=30),
        Column(_("By"), share=6),
        Column(_("Notes"), share=24),
    )
    return Grid(columns, tuple(_door_row(frame, line) for line in lines))


def _door_row(frame: Frame, line: DoorLine) -> Row:
    state: RowState = "late" if line.late else ""
    return Row(
        (
            Cell(frame.time(line.at), struck=line.struck),
            Cell(frame.time(line.row.recorded_at)),
            Cell(line.name, strong=not line.struck),
            Cell(joined(line.details), struck=line.struck),
            Cell(frame.initials(line.row.author_id)),
            Cell(joined(line.notes)),
        ),
        "corrected" if line.struck else state,
    )


def slot_grid(frame: Frame, states: Sequence[SlotState], own: Collection[str] = ()) -> Grid:
    """Give the grid of the checks that were due and where each stands; a missing one is struck through."""
    columns = [
        Column(_("Due"), share=12 if frame.focus else 17),
        Column(_("Check"), share=26),
        Column(_("Where it stands"), share=14),
        Column(_("Result"), share=14),
        Column(_("Notes"), share=30),
    ]
    if frame.focus:
        columns.insert(2, Column(_("On"), share=14))
    return Grid(tuple(columns), tuple(_slot_row(frame, state, own) for state in states))


def _slot_row(frame: Frame, state: SlotState, own: Collection[str]) -> Row:
    missing = state.status == Status.MISSING
    cells = [
        Cell(due_words(frame, state)),
        Cell(control_words(state)),
        Cell(status_word(state.status), strong=missing),
        Cell(state_word(str(state.result or ""))),
        Cell(joined(slot_notes(frame, state, own))),
    ]
    if frame.focus:
        cells.insert(2, Cell(subject(state) or "–"))
    return Row(tuple(cells), "missing" if missing else "")


def slot_notes(
    teller: Teller, state: SlotState, own: Collection[str], *, with_deviations: bool = True
) -> list[str]:
    """Say why a check was not made, and which deviations it has."""
    notes = [_("deviation %(number)d") % {"number": d.number} for d in state.deviations if with_deviations]
    if state.round is not None and not state.answering:
        seen = {"who": teller.initials(state.round.author_id), "at": teller.time(state.round.observed_at)}
        notes.append(_("seen, nothing to note (%(who)s, %(at)s)") % seen)
    said = state.explanation
    if said is None:
        return notes
    words = _("%(why)s (%(who)s, %(at)s)") % {
        "why": said.reason,
        "who": teller.initials(said.author_id),
        "at": teller.time(said.recorded_at),
    }
    return [words, *([_("self-reviewed")] if str(said.pk) in own else []), *notes]
