"""Text on paper: the two embedded fonts, what may be drawn, line breaking.

All widths and sizes are in points (1/72 inch).
"""

from __future__ import annotations

import re
import threading
import unicodedata
from functools import lru_cache
from pathlib import Path
from typing import Any

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR = "RecordSans"
BOLD = "RecordSans-Bold"
ELLIPSIS = " …"

# The font subsetter keeps its reading position in the shared font, so two threads must not draw at once.
DRAWING = threading.RLock()

_FOLDER = Path(__file__).parent / "fonts"
# A line may end at a space, except between a number and its unit and after "pH".
_BREAK = re.compile(
    r" (?!(?<=\d )(?:°\w*|%|‰|kg|g|L|l|mL|hL|t|h|min|s|d|ppm|mm|cm|m|CFU|cfu)(?!\w))(?!(?<=pH )\d)"
)
_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})


@lru_cache(maxsize=1)
def widths() -> tuple[dict[str, float], dict[str, float]]:
    """Register the fonts once; return the advance width per character at size 1, regular and bold.

    Only characters that both fonts can draw are listed.
    """
    with DRAWING:
        faces: list[Any] = []
        for name, file in ((REGULAR, "DejaVuSans.ttf"), (BOLD, "DejaVuSans-Bold.ttf")):
            font = TTFont(name, str(_FOLDER / file))
            pdfmetrics.registerFont(font)
            faces.append(font.face)
        common = sorted(set(faces[0].charToGlyph) & set(faces[1].charToGlyph))
        regular, bold = ({chr(code): face.charWidths[code] / 1000 for code in common} for face in faces)
        return regular, bold


def visible(text: str) -> str:
    """Make what has no shape visible: control, direction and unassigned characters become "[U+202E]".

    Line ends become a newline, a tab a space, and the text is composed (NFC).
    """
    if text.isascii() and text.isprintable():
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    return "".join(
        _code(char) if char != "\n" and unicodedata.category(char) in _HIDDEN else char
        for char in unicodedata.normalize("NFC", text)
    )


@lru_cache(maxsize=4096)
def printable(text: str) -> str:
    """`visible`, and characters without a glyph in both fonts become their code, such as "[U+4E2D]"."""
    if text.isascii() and text.isprintable():
        return text
    known = widths()[0]
    return "".join(char if char == "\n" or char in known else _code(char) for char in visible(text))


def _code(char: str) -> str:
    return f"[U+{ord(char):04X}]"


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width in points of one line that has passed `printable`."""
    return sum(map(widths()[bold].__getitem__, text)) * size


def wrap(text: str, *, width: float, size: float, bold: bool = False) -> tuple[str, ...]:
    """Break any text into lines no wider than `width`; a word wider than a line is broken between characters.

    Nothing is dropped except the space at which a line is broken. Always at least one line, perhaps empty.
    """
    table = widths()[bold]
    limit = width / size
    lines: list[str] = []
    for paragraph in printable(text).split("\n"):
        if sum(map(table.__getitem__, paragraph)) <= limit:
            lines.append(paragraph)
        else:
            lines.extend(_broken(paragraph, table, limit))
    return tuple(lines)


def _broken(paragraph: str, table: dict[str, float], limit: float) -> list[str]:
    lines: list[str] = []
    line, used, space = "", 0.0, table[" "]
    for number, word in enumerate(_BREAK.split(paragraph)):
        length = sum(map(table.__getitem__, word))
        if number and used + space + length <= limit:
            line, used = f"{line} {word}", used + space + length
            continue
        if number:
            lines.append(line)
        line, used = word, length
        if length > limit:
            *full, line = _chopped(word, table, limit)
            lines.extend(full)
            used = sum(map(table.__getitem__, line))
    return [*lines, line]


def _chopped(word: str, table: dict[str, float], limit: float) -> list[str]:
    """Break one word between characters, at least one to a line."""
    parts: list[str] = []
    start, used = 0, 0.0
    for index, char in enumerate(word):
        used += table[char]
        if used > limit and index > start:
            parts.append(word[start:index])
            start, used = index, table[char]
    return [*parts, word[start:]]


def clamp(
    lines: tuple[str, ...], most: int, *, width: float, size: float, bold: bool = False
) -> tuple[str, ...]:
    """Keep at most `most` lines; where some are left out the last one ends with an ellipsis."""
    if len(lines) <= most:
        return lines
    last = lines[most - 1]
    while last and text_width(last + ELLIPSIS, size, bold=bold) > width:
        last = last[:-1]
    return (*lines[: most - 1], last + ELLIPSIS)


def largest_size(text: str, *, width: float, most: float, least: float, bold: bool = False) -> float:
    """The largest size between `least` and `most` at which the text fits on one line of `width`."""
    at_one = text_width(printable(text).replace("\n", " "), 1, bold=bold)
    return most if at_one == 0 else max(least, min(most, width / at_one))
