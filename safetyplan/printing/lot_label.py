"""The label of a lot: small enough for a shelf or a crate, its code in large letters and as a QR code.

One page of 74 x 52 mm (A8 across, ISO 216), printed on label paper or cut out. The QR code holds the lot's
code as it is written, so that any scanner types it into any field.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext, override

from safetyplan.printing import qr, typeset
from safetyplan.printing.frame import MM
from safetyplan.printing.pieces import Line, Slot, Strip, set_lines
from safetyplan.printing.render import new_canvas

WIDTH, HEIGHT = 74 * MM, 52 * MM
_MARGIN, _GAP = 4 * MM, 3 * MM
_SIDE = 22.0  # millimetres


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a lot's label; all texts ready to print."""

    establishment: str
    lot_code: str
    product: str
    started: str
    issue: str
    demonstration: bool = False
    language: str = "en"


def render_label(label: Label) -> bytes:
    """Return the PDF of one label; the same label always gives the same bytes."""
    with override(label.language), typeset.DRAWING:
        canvas, output = new_canvas((WIDTH, HEIGHT), label.language)
        canvas.setTitle(typeset.printable(f"{gettext('Lot')} {label.lot_code}"))
        canvas.setAuthor(typeset.printable(label.establishment))
        room = WIDTH - 2 * _MARGIN
        _stack(canvas, HEIGHT - _MARGIN, room, _code_lines(label, room))
        _draw_code(canvas, label)
        beside = room - _SIDE * MM - _GAP
        _stack(canvas, _MARGIN + _SIDE * MM, beside, _fact_lines(label, beside))
        canvas.showPage()
        canvas.save()
    return output.getvalue()


def _stack(canvas: Any, top: float, width: float, lines: tuple[Line, ...]) -> None:
    Strip(width, (Slot(0, width, lines),)).draw(canvas, _MARGIN, top)


def _code_lines(label: Label, width: float) -> tuple[Line, ...]:
    size = typeset.largest_size(label.lot_code, width=width, most=30, least=12, bold=True)
    return (
        *set_lines(gettext("Lot"), width, 7, most=1),
        *set_lines(label.lot_code, width, size, bold=True, most=2),
    )


def _fact_lines(label: Label, width: float) -> tuple[Line, ...]:
    strip = (gettext("Invented demonstration"),) if label.demonstration else ()
    return (
        *set_lines(label.product, width, 10, bold=True, most=2),
        *set_lines(label.started, width, 7.5, most=1),
        *set_lines(label.establishment, width, 7.5, most=2),
        *set_lines(label.issue, width, 6, most=1),
        *(line for text in strip for line in set_lines(text, width, 6.5, bold=True, most=1)),
    )


def _draw_code(canvas: Any, label: Label) -> None:
    code = qr.symbol(label.lot_code, _SIDE)
    if code is not None:
        qr.define(canvas, code)
        qr.draw(canvas, code, WIDTH - _MARGIN - _SIDE * MM, _MARGIN, _SIDE * MM)
