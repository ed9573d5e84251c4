"""From a block of the document model to the pieces that fill the pages."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from django.utils.translation import gettext

from safetyplan.printing.document import (
    Block,
    Caution,
    Cell,
    Chart,
    Column,
    Contents,
    Facts,
    Grid,
    Heading,
    Initials,
    KeepTogether,
    Limits,
    PageBreak,
    Photos,
    Row,
    SignatureBox,
    Spacer,
    Text,
)
from safetyplan.printing.grid import grid_pieces
from safetyplan.printing.pieces import (
    HAIR,
    RULE,
    Line,
    Look,
    PhotoRow,
    Picture,
    Piece,
    Slot,
    Space,
    Strip,
    set_lines,
)

_MM = 72 / 25.4
_INSET = 6.0
PHOTOS_IN_ROW = 3
_LEAD = Line("", 2.0)
_HEADINGS = {1: (11.5, 12.0), 2: (9.5, 9.0), 3: (8.5, 7.0)}


def block_pieces(block: Block, width: float) -> Iterator[Piece]:
    """Measure one block for a page `width` points wide."""
    return _COMPOSERS[type(block)](block, width)


def _heading(block: Heading, width: float) -> Iterator[Piece]:
    size, gap = _HEADINGS[min(max(block.level, 1), 3)]
    slot = Slot(0, width, set_lines(block.text, width, size, bold=True))
    look = Look(pad_top=0, pad_bottom=1)
    yield Strip(width, (slot,), look, gap=gap, keep=True, anchor=block.anchor)


def _contents(block: Contents, width: float) -> Iterator[Piece]:
    """A line for each entry, its page at the right edge."""
    number = 34.0
    for entry in block.entries:
        words = Slot(0, width - number - 6, set_lines(entry.text, width - number - 6, 9))
        page = Slot(width - number, number, set_lines(entry.page or " ", number, 9), "right")
        yield Strip(width, (words, page), Look(below=HAIR))


def _text(block: Text, width: float) -> Iterator[Piece]:
    size = 7.5 if block.style == "small" else 9.0
    slot = Slot(0, width, set_lines(block.text, width, size, bold=block.style == "strong"))
    yield Strip(width, (slot,), Look(pad_top=1, pad_bottom=2), gap=2, keep=block.keep)


def _facts(block: Facts, width: float) -> Iterator[Piece]:
    return _paired(block.pairs, width, label_share=0.17, bold_label=False)


def _initials(block: Initials, width: float) -> Iterator[Piece]:
    pairs = [
        (person.initials, f"{person.name}, {person.roles}" if person.roles else person.name)
        for person in block.people
    ]
    return _paired(pairs, width, label_share=0.08, bold_label=True)


def _paired(
    pairs: Iterable[tuple[str, str]], width: float, *, label_share: float, bold_label: bool
) -> Iterator[Piece]:
    """Two label-value pairs to a line, with a hair rule under each line."""
    cells = list(pairs)
    half, label = width / 2, width * label_share
    for start in range(0, len(cells), 2):
        slots: list[Slot] = []
        for place, (name, value) in enumerate(cells[start : start + 2]):
            x, room = place * half, half - label - 8
            slots.append(Slot(x, label - 4, set_lines(name, label - 4, 8, bold=bold_label)))
            slots.append(Slot(x + label, room, set_lines(value, room, 8, bold=not bold_label)))
        yield Strip(width, tuple(slots), Look(below=HAIR), gap=3.0 if start == 0 else 0.0)


def _limits(block: Limits, width: float) -> Iterator[Piece]:
    columns = (
        Column(gettext("Control"), share=12),
        Column(gettext("Name"), share=30),
        Column(gettext("Limit"), share=58),
    )
    rows = tuple(
        Row((Cell(limit.code, strong=True), Cell(limit.name), Cell(limit.words, strong=True)))
        for limit in block.limits
    )
    return grid_pieces(Grid(columns, rows), width)


def _signature(block: SignatureBox, width: float) -> Iterator[Piece]:
    return _signed(block, width) if block.name else _to_sign(block, width)


def _signed(block: SignatureBox, width: float) -> Iterator[Piece]:
    room, other = width * 0.54, width * 0.46 - 3 * _INSET
    left = [*set_lines(block.meaning, room, 8), _LEAD, *set_lines(block.name, room, 11, bold=True)]
    if block.roles:
        left += set_lines(block.roles, room, 7.5)
    if block.self_reviewed:
        words = gettext("self-reviewed: this person also made records that this signature covers")
        left += set_lines(words, room, 7.5, bold=True)
    right = [*_labelled(gettext("Signed at"), block.signed_at, other), _LEAD]
    right += _labelled(gettext("Person confirmed by"), block.how_authenticated, other)
    slots = (Slot(_INSET, room, tuple(left)), Slot(room + 2 * _INSET, other, tuple(right)))
    yield Strip(width, slots, _box(), gap=6)


def _labelled(label: str, value: str, width: float) -> list[Line]:
    return [*set_lines(label, width, 6.8), *set_lines(value or "–", width, 8.5)]


def _to_sign(block: SignatureBox, width: float) -> Iterator[Piece]:
    """A box to sign by hand: a line each for signature, printed name, date and time."""
    room = width - 2 * _INSET
    meaning = [*set_lines(block.meaning, room, 8, bold=True)]
    if block.roles:
        meaning += set_lines(block.roles, room, 7.5)
    yield Strip(
        width,
        (Slot(_INSET, room, tuple(meaning)),),
        Look(above=RULE, sides=RULE, pad_top=4),
        gap=6,
        keep=True,
    )
    labels = (gettext("Signature"), gettext("Printed name"), gettext("Date and time"))
    part = room / 3
    places = [(_INSET + number * part, part - 10) for number in range(3)]
    lines = tuple(Slot(x, long, (), write_on=True) for x, long in places)
    yield Strip(width, lines, Look(sides=RULE, least=26), keep=True)
    names = tuple(
        Slot(x, long, set_lines(label, long, 6.8)) for (x, long), label in zip(places, labels, strict=True)
    )
    yield Strip(width, names, Look(below=RULE, sides=RULE, pad_top=0, pad_bottom=4))


def _box() -> Look:
    return Look(above=RULE, below=RULE, sides=RULE, pad_top=4, pad_bottom=5)


def _caution(block: Caution, width: float) -> Iterator[Piece]:
    room = width - 2 * _INSET
    label = Line(gettext("Caution"), 8, bold=True)
    slot = Slot(_INSET, room, (label, *set_lines(block.text, room, 8)))
    yield Strip(width, (slot,), replace(_box(), above=1.2, below=1.2, sides=1.2), gap=8)


def _chart(block: Chart, width: float) -> Iterator[Piece]:
    yield Picture(block.scene, width, gap=6, keep=bool(block.caption))
    if block.caption:
        yield from _text(Text(block.caption, "small"), width)


def _photos(block: Photos, width: float) -> Iterator[Piece]:
    """Three to a row, at most 42 mm high: to see what was seen; the whole photo is kept with the record."""
    part = width / PHOTOS_IN_ROW
    for start in range(0, len(block.photos), PHOTOS_IN_ROW):
        row = block.photos[start : start + PHOTOS_IN_ROW]
        captions = tuple(set_lines(photo.caption, part - 8, 7, most=4) for photo in row)
        yield PhotoRow(row, captions, part, 42 * _MM, gap=6)


def _spacer(block: Spacer, width: float) -> Iterator[Piece]:
    yield Space(gap=block.height * _MM)


def _page_break(block: PageBreak, width: float) -> Iterator[Piece]:
    yield Space(ends_page=True)


def _together(block: KeepTogether, width: float) -> Iterator[Piece]:
    pieces = [piece for inner in block.blocks for piece in block_pieces(inner, width)]
    for piece in pieces[:-1]:
        yield replace(piece, tied=True)
    yield from pieces[-1:]


_COMPOSERS: dict[type, Callable[[Any, float], Iterator[Piece]]] = {
    Heading: _heading,
    Contents: _contents,
    Text: _text,
    Facts: _facts,
    Grid: grid_pieces,
    Limits: _limits,
    Initials: _initials,
    SignatureBox: _signature,
    Caution: _caution,
    Chart: _chart,
    Photos: _photos,
    Spacer: _spacer,
    PageBreak: _page_break,
    KeepTogether: _together,
}
