"""QR codes, of a signed note or a lot, as the horizontal runs of dark modules to draw."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from itertools import groupby
from typing import Any

from reportlab.graphics.barcode.qrencoder import QR8bitByte, QRCode, QRErrorCorrectLevel

QUIET_MODULES = 4
"""Free modules around the symbol (ISO/IEC 18004, quiet zone)."""

SMALLEST_MODULE = 0.33
"""Millimetres. Common practice for office printers and telephone cameras, no source."""

_FORM = "seal-code"
_LEVELS = (("M", QRErrorCorrectLevel.M), ("L", QRErrorCorrectLevel.L))


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR code: side in modules, error correction level, dark runs as (row, first column, length)."""

    side: int
    level: str
    runs: tuple[tuple[int, int, int], ...]


@lru_cache(maxsize=8)
def symbol(text: str, side_mm: float) -> Symbol | None:
    """Encode the UTF-8 bytes of `text` for a square of `side_mm` millimetres, without the quiet zone.

    The stronger error correction M is used when its modules stay at least `SMALLEST_MODULE` wide, else L.
    None when even those would be too small to scan: the caller then says so in words.
    """
    for name, level in _LEVELS:
        code = _encode(text.encode(), level)
        if code is not None and side_mm / code.moduleCount >= SMALLEST_MODULE:
            return Symbol(code.moduleCount, name, tuple(_runs(code.modules)))
    return None


def _encode(data: bytes, level: int) -> Any:
    code = QRCode(None, level)
    code.addData(QR8bitByte(data))
    # Longer notes would need modules far below the smallest; the encoder itself fails above version 39.
    if len(data) > 1000:
        return None
    code.make()
    return code


def _runs(modules: list[list[bool]]) -> Iterator[tuple[int, int, int]]:
    for row, line in enumerate(modules):
        column = 0
        for dark, same in groupby(line, key=bool):
            length = len(list(same))
            if dark:
                yield row, column, length
            column += length


def to_svg(code: Symbol, title: str) -> str:
    """Return one SVG element of the symbol with its quiet zone, black on white, named for screen readers."""
    side, quiet = code.side + 2 * QUIET_MODULES, QUIET_MODULES
    path = "".join(
        f"M{column + quiet} {row + quiet}h{length}v1h-{length}z" for row, column, length in code.runs
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="qr" role="img" viewBox="0 0 {side} {side}" '
        f'shape-rendering="crispEdges"><title>{escape(title)}</title>'
        f'<rect width="{side}" height="{side}" fill="#fff"/><path d="{path}" fill="#000"/></svg>'
    )


def define(canvas: Any, code: Symbol) -> None:
    """Store the symbol in the file once, one point to a module, for `draw` on any page."""
    canvas.beginForm(_FORM, 0, 0, code.side, code.side)
    path = canvas.beginPath()
    for row, column, length in code.runs:
        path.rect(column, code.side - 1 - row, length, 1)
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.endForm()


def draw(canvas: Any, code: Symbol, x: float, y: float, side: float) -> None:
    """Draw the defined symbol with its lower left corner at (x, y), `side` points wide."""
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(side / code.side, side / code.side)
    canvas.doForm(_FORM)
    canvas.restoreState()
