"""Turn a document into a PDF. The same document always gives the same bytes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from io import BytesIO
from typing import Any, TypeAlias

from django.utils.translation import gettext, override
from reportlab.pdfgen.canvas import Canvas

from safetyplan.printing import qr, typeset
from safetyplan.printing.blocks import block_pieces
from safetyplan.printing.document import (
    Block,
    Contents,
    Document,
    Foot,
    Heading,
    KeepTogether,
    Sideways,
    Text,
)
from safetyplan.printing.flow import Page, paginate
from safetyplan.printing.frame import Frame, make_frame
from safetyplan.printing.pieces import Piece, Strip

Sheets: TypeAlias = list[tuple[Frame, Page]]


def render(document: Document) -> bytes:
    """Return the PDF of a document: A4 or Letter, both fonts embedded, no clock and no outside look-up.

    Long texts wrap and run over pages, nothing in the body is cut. Texts are drawn as they are, never read as
    markup; control and direction characters and characters without a glyph appear as codes: "[U+202E]".
    Right-to-left scripts are set letter by letter from left to right.
    """
    with override(document.language), typeset.DRAWING:
        sheets = _sheets(document)
        canvas, output = new_canvas((sheets[0][0].width, sheets[0][0].height), document.language)
        canvas.setTitle(typeset.printable(document.head.title))
        canvas.setAuthor(typeset.printable(document.head.establishment))
        if sheets[0][0].code is not None:
            qr.define(canvas, sheets[0][0].code)
        marked: set[str] = set()
        for number, (frame, page) in enumerate(sheets, start=1):
            canvas.setPageSize((frame.width, frame.height))
            frame.draw_head(canvas)
            for distance, piece in page:
                _bookmark(canvas, piece, marked)
                piece.draw(canvas, frame.left, frame.body_top - distance)
            frame.draw_foot(canvas, number, len(sheets))
            canvas.showPage()
        canvas.save()
    return output.getvalue()


def page_count(document: Document) -> int:
    """Count the pages that a document fills."""
    with override(document.language), typeset.DRAWING:
        return len(_sheets(document))


def new_canvas(size: tuple[float, float], language: str) -> tuple[Any, BytesIO]:
    """A canvas whose output depends only on what is drawn, and where its bytes will be."""
    typeset.widths()
    output = BytesIO()
    canvas = Canvas(
        output, pagesize=size, invariant=1, pageCompression=1, initialFontName=typeset.REGULAR, lang=language
    )
    return canvas, output


def _sheets(document: Document) -> Sheets:
    """Fill the pages; a second time where the contents must name pages that are known only then."""
    sheets = _filled(document, {})
    if not any(isinstance(block, Contents) for block in document.blocks):
        return sheets
    places: dict[str, str] = {}
    for number, (_frame, page) in enumerate(sheets, start=1):
        for _distance, piece in page:
            if isinstance(piece, Strip) and piece.anchor:
                places.setdefault(piece.anchor, str(number))
    return _filled(document, places)


def _filled(document: Document, places: Mapping[str, str]) -> Sheets:
    sheets: Sheets = []
    runs = list(_runs(document.blocks))
    for number, (sideways, blocks) in enumerate(runs, start=1):
        frame = make_frame(document.head, document.foot, document.paper, sideways=sideways)
        last = number == len(runs) and bool(document.foot.seal_note) and frame.code is None
        pieces = _pieces(blocks, frame.body_width, places, document.foot if last else None)
        sheets += [(frame, page) for page in paginate(pieces, frame.body_height)]
    return sheets


def _runs(blocks: tuple[Block, ...]) -> Iterator[tuple[bool, tuple[Block, ...]]]:
    """Divide the blocks where the paper is turned."""
    upright: list[Block] = []
    for block in blocks:
        if not isinstance(block, Sideways):
            upright.append(block)
            continue
        if upright:
            yield False, tuple(upright)
            upright = []
        yield True, block.blocks
    if upright or not blocks:
        yield False, tuple(upright)


def _pieces(
    blocks: tuple[Block, ...], width: float, places: Mapping[str, str], closing: Foot | None
) -> Iterator[Piece]:
    for block in blocks:
        shown = _with_pages(block, places) if isinstance(block, Contents) else block
        yield from block_pieces(shown, width)
    if closing is not None:
        yield from block_pieces(_closing(closing), width)


def _with_pages(contents: Contents, places: Mapping[str, str]) -> Contents:
    return Contents(tuple(replace(entry, page=places.get(entry.anchor, "")) for entry in contents.entries))


def _bookmark(canvas: Any, piece: Piece, marked: set[str]) -> None:
    if not isinstance(piece, Strip) or not piece.anchor or piece.anchor in marked:
        return
    marked.add(piece.anchor)
    canvas.bookmarkPage(piece.anchor)
    words = " ".join(line.text for slot in piece.slots for line in slot.lines)
    canvas.addOutlineEntry(words, piece.anchor, 0)


def _closing(foot: Foot) -> KeepTogether:
    """The signed note as text, for a note that is too long for the code."""
    return KeepTogether(
        (Heading(gettext("Signed note of the record seal"), 3), Text(foot.seal_note, "small"))
    )
