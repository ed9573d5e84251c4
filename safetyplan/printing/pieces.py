"""The pieces a page is filled with: measured once, drawn at a place, split between two pages.

A `Strip` is one horizontal band of text slots; every block of a document becomes strips, pictures and gaps.
`keep` ties a piece to the next for good, `tied` as long as the whole group fits on one page. All lengths
are points; `top` is the canvas height of a piece's upper edge.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from io import BytesIO
from typing import Any, TypeAlias

from reportlab.lib.utils import ImageReader

from safetyplan.printing import chart, typeset
from safetyplan.printing.document import Align, Photo

LEADING = 1.28
RULE = 0.4
HAIR = 0.3
HAIR_GREY = 0.6
PAD = 3.5


@dataclass(frozen=True, slots=True)
class Line:
    """One line of text, already broken to its slot."""

    text: str
    size: float = 8.0
    bold: bool = False
    struck: bool = False
    mark: str = ""

    @property
    def height(self) -> float:
        return self.size * LEADING


@dataclass(frozen=True, slots=True)
class Slot:
    """Lines at a place within a strip.

    `blank` draws a line through an entry that was never made, `write_on` one to write on; `repeat` shows the
    lines again where the strip continues on the next page.
    """

    x: float
    width: float
    lines: tuple[Line, ...]
    align: Align = "left"
    blank: bool = False
    write_on: bool = False
    repeat: bool = False


@dataclass(frozen=True, slots=True)
class Look:
    """Rules and spacing around a strip; rule weights of 0 draw nothing, `fill` is a grey from 0 to 1."""

    above: float = 0.0
    below: float = 0.0
    sides: float = 0.0
    fill: float = 1.0
    bar: float = 0.0
    between: float = 0.0
    pad_top: float = 2.0
    pad_bottom: float = 2.4
    least: float = 0.0


PLAIN = Look()


@dataclass(frozen=True, slots=True)
class Strip:
    """A band of text across `width` points, as high as its tallest slot."""

    width: float
    slots: tuple[Slot, ...]
    look: Look = PLAIN
    gap: float = 0.0
    keep: bool = False
    tied: bool = False
    head: Strip | None = None
    height: float = -1.0
    anchor: str = ""

    def __post_init__(self) -> None:
        tallest = max((sum(line.height for line in slot.lines) for slot in self.slots), default=0.0)
        full = max(self.look.least, tallest + self.look.pad_top + self.look.pad_bottom)
        object.__setattr__(self, "height", full)

    def split(self, room: float) -> tuple[Strip, Strip] | None:
        """Divide the text so that the first part is at most `room` high; None when not one line fits."""
        free = room - self.look.pad_top - self.look.pad_bottom
        counts = [_fitting(slot.lines, free) for slot in self.slots]
        if not any(count for count, slot in zip(counts, self.slots, strict=True) if not slot.repeat):
            return None
        first, rest = [], []
        for slot, count in zip(self.slots, counts, strict=True):
            first.append(replace(slot, lines=slot.lines[:count]))
            left = slot.lines if slot.repeat else slot.lines[count:]
            rest.append(replace(slot, lines=left, blank=False, write_on=False))
        open_ended, continued = replace(self.look, below=0.0), replace(self.look, above=0.0, least=0.0)
        return (
            replace(self, slots=tuple(first), look=open_ended),
            replace(self, slots=tuple(rest), look=continued, gap=0.0),
        )

    def draw(self, canvas: Any, x: float, top: float) -> None:
        self._draw_frame(canvas, x, top)
        canvas.setFillGray(0)
        for slot in self.slots:
            _draw_slot(canvas, slot, x + slot.x, top - self.look.pad_top, top - self.height)

    def _draw_frame(self, canvas: Any, x: float, top: float) -> None:
        look, bottom, right = self.look, top - self.height, x + self.width
        if look.fill < 1:
            canvas.setFillGray(look.fill)
            canvas.rect(x, bottom, self.width, self.height, stroke=0, fill=1)
        if look.bar:
            canvas.setFillGray(0)
            canvas.rect(x - look.bar - 2, bottom + 1, look.bar, self.height - 2, stroke=0, fill=1)
        columns = [x + slot.x - PAD for slot in self.slots[1:]] if look.between else []
        for weight, ends in (
            (look.above, (x, top, right, top)),
            (look.below, (x, bottom, right, bottom)),
            (look.sides, (x, bottom, x, top)),
            (look.sides, (right, bottom, right, top)),
            *((look.between, (place, bottom, place, top)) for place in columns),
        ):
            if weight:
                canvas.setStrokeGray(HAIR_GREY if weight == HAIR else 0)
                canvas.setLineWidth(weight)
                canvas.line(*ends)
        canvas.setStrokeGray(0)


@dataclass(frozen=True, slots=True)
class Picture:
    """A chart across the page."""

    scene: chart.Scene
    width: float
    gap: float = 0.0
    keep: bool = False
    tied: bool = False
    head: None = None

    @property
    def height(self) -> float:
        return self.width * self.scene.height / self.scene.width

    def split(self, room: float) -> None:
        """A picture is never divided."""

    def draw(self, canvas: Any, x: float, top: float) -> None:
        chart.draw(canvas, self.scene, x, top, self.width)


@dataclass(frozen=True, slots=True)
class PhotoRow:
    """Photos side by side in equal parts, each fitted into `most` points of height, captions below."""

    photos: tuple[Photo, ...]
    captions: tuple[tuple[Line, ...], ...]
    part: float
    most: float
    gap: float = 0.0
    keep: bool = False
    tied: bool = False
    head: None = None

    @property
    def height(self) -> float:
        tallest = max(sum(line.height for line in lines) for lines in self.captions)
        return max(self._size(photo)[1] for photo in self.photos) + 2 + tallest

    def _size(self, photo: Photo) -> tuple[float, float]:
        scale = min((self.part - 8) / photo.width, self.most / photo.height)
        return photo.width * scale, photo.height * scale

    def split(self, room: float) -> None:
        """A row of photos is never divided."""

    def draw(self, canvas: Any, x: float, top: float) -> None:
        level = top - max(self._size(photo)[1] for photo in self.photos)
        for place, (photo, lines) in enumerate(zip(self.photos, self.captions, strict=True)):
            left, (width, height) = x + place * self.part, self._size(photo)
            canvas.drawImage(ImageReader(BytesIO(photo.content)), left, level, width, height)
            _draw_slot(canvas, Slot(0, self.part - 8, lines), left, level - 2, 0)


@dataclass(frozen=True, slots=True)
class Space:
    """Free height, or, when `ends_page`, the end of the page."""

    gap: float = 0.0
    ends_page: bool = False
    keep: bool = False
    tied: bool = False
    head: None = None
    height: float = 0.0

    def split(self, room: float) -> None:
        """Nothing to divide."""

    def draw(self, canvas: Any, x: float, top: float) -> None:
        """Nothing to draw."""


Piece: TypeAlias = Strip | Picture | PhotoRow | Space


def _fitting(lines: tuple[Line, ...], room: float) -> int:
    used, count = 0.0, 0
    for line in lines:
        used += line.height
        if used > room + 0.01:
            break
        count += 1
    return count


def _draw_slot(canvas: Any, slot: Slot, x: float, top: float, bottom: float) -> None:
    y = top
    for line in slot.lines:
        y -= line.height
        if line.text or line.mark:
            _draw_line(canvas, line, x, y + line.size * 0.32, slot)
    if slot.blank or slot.write_on:
        level = bottom + 2 if slot.write_on else (top + bottom) / 2
        canvas.setLineWidth(RULE)
        canvas.line(x, level, x + slot.width, level)


def _draw_line(canvas: Any, line: Line, x: float, base: float, slot: Slot) -> None:
    plain = slot.align == "left" and not (line.struck or line.mark)
    long = 0.0 if plain else typeset.text_width(line.text, line.size, bold=line.bold)
    mark_size = line.size * 0.75
    mark_width = typeset.text_width(line.mark, mark_size, bold=True) + 1.5 if line.mark else 0.0
    if slot.align != "left":
        free = slot.width - long - mark_width
        x += free if slot.align == "right" else free / 2
    canvas.setFont(typeset.BOLD if line.bold else typeset.REGULAR, line.size)
    canvas.drawString(x, base, line.text)
    if line.struck and line.text:
        canvas.setLineWidth(0.7)
        canvas.line(x - 1, base + line.size * 0.3, x + long + 1, base + line.size * 0.3)
    if line.mark:
        canvas.setFont(typeset.BOLD, mark_size)
        canvas.drawString(x + long + 1.5, base + line.size * 0.28, line.mark)


@lru_cache(maxsize=1024)
def set_lines(
    text: str,
    width: float,
    size: float,
    *,
    bold: bool = False,
    struck: bool = False,
    mark: str = "",
    most: int = 0,
) -> tuple[Line, ...]:
    """Break a text into lines for a slot; `most` > 0 limits their number with a visible ellipsis."""
    broken = typeset.wrap(text, width=width, size=size, bold=bold)
    if most:
        broken = typeset.clamp(broken, most, width=width, size=size, bold=bold)
    lines = [Line(part, size, bold, struck) for part in broken]
    if mark:
        lines = _marked(lines, mark, width)
    return tuple(lines)


def _marked(lines: list[Line], mark: str, width: float) -> list[Line]:
    """Hang the mark on the last line, or under it where it does not fit."""
    last = lines[-1]
    shown = typeset.wrap(mark, width=width, size=last.size * 0.75, bold=True)
    needed = typeset.text_width(last.text, last.size, bold=last.bold)
    needed += typeset.text_width(shown[0], last.size * 0.75, bold=True) + 1.5
    if len(shown) == 1 and needed <= width:
        return [*lines[:-1], replace(last, mark=shown[0])]
    return [*lines, *(Line(part, last.size * 0.75, True) for part in shown)]
