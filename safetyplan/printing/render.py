"""Turn a document into a PDF. The same document always gives the same bytes."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from typing import Any

from django.utils.translation import gettext, override
from reportlab.pdfgen.canvas import Canvas

from safetyplan.printing import qr, typeset
from safetyplan.printing.blocks import block_pieces
from safetyplan.printing.document import Document, Foot, Heading, KeepTogether, Text
from safetyplan.printing.flow import paginate
from safetyplan.printing.frame import make_frame
from safetyplan.printing.pieces import Piece


def render(document: Document) -> bytes:
    """Return the PDF of a document: A4 or Letter, both fonts embedded, no clock and no outside look-up.

    Long texts wrap and run over pages, nothing in the body is cut. Texts are drawn as they are, never read as
    markup; control and direction characters and characters without a glyph appear as codes: "[U+202E]".
    Right-to-left scripts are set letter by letter from left to right.
    """
    with override(document.language), typeset.DRAWING:
        frame = make_frame(document.head, document.foot, document.paper)
        pieces = _pieces(document, frame.body_width, coded=frame.code is not None)
        pages = paginate(pieces, frame.body_height)
        canvas, output = new_canvas((frame.width, frame.height), document.language)
        canvas.setTitle(typeset.printable(document.head.title))
        canvas.setAuthor(typeset.printable(document.head.establishment))
        if frame.code is not None:
            qr.define(canvas, frame.code)
        for number, page in enumerate(pages, start=1):
            frame.draw_head(canvas)
            for distance, piece in page:
                piece.draw(canvas, frame.left, frame.body_top - distance)
            frame.draw_foot(canvas, number, len(pages))
            canvas.showPage()
        canvas.save()
    return output.getvalue()


def new_canvas(size: tuple[float, float], language: str) -> tuple[Any, BytesIO]:
    """A canvas whose output depends only on what is drawn, and where its bytes will be."""
    typeset.widths()
    output = BytesIO()
    canvas = Canvas(
        output, pagesize=size, invariant=1, pageCompression=1, initialFontName=typeset.REGULAR, lang=language
    )
    return canvas, output


def _pieces(document: Document, width: float, *, coded: bool) -> Iterator[Piece]:
    for block in document.blocks:
        yield from block_pieces(block, width)
    if document.foot.seal_note and not coded:
        yield from block_pieces(_closing(document.foot), width)


def _closing(foot: Foot) -> KeepTogether:
    """The signed note as text, for a note that is too long for the code."""
    return KeepTogether(
        (Heading(gettext("Signed note of the record seal"), 3), Text(foot.seal_note, "small"))
    )
