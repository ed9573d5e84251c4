"""Tables: column widths, the repeated head, and what the state of a row looks like."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from django.utils.translation import gettext

from safetyplan.printing import typeset
from safetyplan.printing.document import Cell, Column, Grid, Row
from safetyplan.printing.pieces import HAIR, PAD, Line, Look, Slot, Strip, set_lines

SMALL = 6.8
_MM = 72 / 25.4
_STATE_SIZE = 7.0


def state_word(row: Row) -> str:
    """The state of a row in words, in the active language; "" for an ordinary row."""
    words = {
        "corrected": gettext("corrected"),
        "late": gettext("late entry"),
        "missing": gettext("not recorded"),
        "void": gettext("void"),
    }
    if row.state:
        return words[row.state]
    return gettext("struck out") if any(cell.struck for cell in row.cells) else ""


def grid_pieces(grid: Grid, width: float) -> Iterator[Strip]:
    """The strips of a grid; each row carries the head to repeat at the top of a new page.

    A last column with the state in words appears when any row has one.
    """
    states = [state_word(row) for row in grid.rows]
    places = _places(grid.columns, width, _state_width(states))
    head = _head(grid, places, width, stated=any(states))
    yield replace(head, gap=6.0)
    if not grid.rows:
        line = Line(typeset.printable(gettext("no records")), grid.size)
        yield Strip(width, (Slot(PAD, width - 2 * PAD, (line,)),), Look(below=0.8), head=head)
    last = len(grid.rows) - 1
    for number, (row, word) in enumerate(zip(grid.rows, states, strict=True)):
        below = 0.8 if number == last else HAIR
        bar, between = 1.6 if word else 0.0, HAIR if grid.row_height or grid.ruled else 0.0
        look = Look(below=below, bar=bar, between=between, least=grid.row_height * _MM)
        yield Strip(width, _row_slots(grid, row, word, places, width), look, head=head)


def _state_width(states: list[str]) -> float:
    words = {typeset.printable(word) for word in states if word}
    if not words:
        return 0.0
    title = typeset.printable(gettext("State"))
    wanted = max(typeset.text_width(word, _STATE_SIZE, bold=True) for word in {*words, title})
    return min(wanted, 80.0) + 2 * PAD + 0.1


def _places(columns: tuple[Column, ...], width: float, state: float) -> list[tuple[float, float]]:
    """x and text width of each column, and of the state column when there is one."""
    whole = sum(column.share for column in columns)
    places, x = [], 0.0
    for column in columns:
        part = (width - state) * column.share / whole
        places.append((x + PAD, max(part - 2 * PAD, 1.0)))
        x += part
    if state:
        places.append((x + PAD, state - 2 * PAD))
    return places


def _head(grid: Grid, places: list[tuple[float, float]], width: float, *, stated: bool) -> Strip:
    titles = [(column.title, column.unit, column.align) for column in grid.columns]
    if stated:
        titles.append((gettext("State"), "", "left"))
    slots = tuple(
        Slot(x, room, _title_lines(title, unit, room), align)
        for (title, unit, align), (x, room) in zip(titles, places, strict=True)
    )
    return Strip(width, slots, Look(above=0.8, below=0.8, fill=0.94, pad_bottom=3.0), keep=True)


def _title_lines(title: str, unit: str, room: float) -> tuple[Line, ...]:
    longest = max(title.split(), key=len, default="")
    size = typeset.largest_size(longest, width=room - 0.1, most=7.2, least=5.5, bold=True)
    lines = set_lines(title, room, size, bold=True, most=6)
    return (*lines, *set_lines(unit, room, SMALL, most=4)) if unit else lines


def _row_slots(
    grid: Grid, row: Row, word: str, places: list[tuple[float, float]], width: float
) -> tuple[Slot, ...]:
    slots = [
        _cell_slot(column, cell, place, row.state, grid.size)
        for column, cell, place in zip(grid.columns, row.cells, places, strict=False)
    ]
    if word:
        x, room = places[-1]
        slots.append(Slot(x, room, set_lines(word, room, _STATE_SIZE, bold=True), repeat=True))
    return tuple(slots)


def _cell_slot(column: Column, cell: Cell, place: tuple[float, float], state: str, size: float) -> Slot:
    x, room = place
    blank = state in ("missing", "void") and not cell.text
    lines = set_lines(
        cell.text, room, size, bold=cell.strong, struck=cell.struck or state == "void", mark=cell.mark
    )
    return Slot(x, room, lines, column.align, blank, repeat=column.again)
