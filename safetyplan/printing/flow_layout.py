"""The flow of a product measured: where each step of it stands, and what needs how much room.

A row is one step: what goes in on the left, its box in the middle, the marks of its controls on the right,
and beyond them the lanes of lines that lead past other steps. All lengths are points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext

from safetyplan.printing import typeset
from safetyplan.printing.chart import LABEL_SIZE

LEADING = 10.0
GAP = 18.0
HEAD = 5.0
LANE = 8.0
MARK_HEIGHT = 13.0
MARK_GAP = 2.0
_CAPTION = 26.0
_PAD = 6.0
_TIP = 12.0
TRIANGLE = 11.0
_MOST_NUMBERS = 8


@dataclass(frozen=True, slots=True)
class Mark:
    """The code of a control beside a step; critical or operational."""

    code: str
    critical: bool


@dataclass(frozen=True, slots=True)
class FlowStep:
    """One step as it is drawn; `follows` holds the places (from 0) of the steps it leads to."""

    number: str
    name: str
    kind: str = "operation"
    inputs: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    follows: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Columns:
    """Where the columns of a diagram of some width begin and end."""

    width: float

    @property
    def inputs_right(self) -> float:
        return 0.25 * self.width

    @property
    def box_left(self) -> float:
        return self.inputs_right + 12.0

    @property
    def box_width(self) -> float:
        return 0.42 * self.width

    @property
    def box_right(self) -> float:
        return self.box_left + self.box_width

    @property
    def middle(self) -> float:
        return self.box_left + self.box_width / 2

    @property
    def marks_left(self) -> float:
        return self.box_right + 5.0

    @property
    def marks_right(self) -> float:
        return self.marks_left + max(0.15 * self.width, 40.0)

    @property
    def lanes(self) -> int:
        """How many lines fit side by side."""
        return max(int((self.width - self.marks_right - 4.0) / LANE), 0)

    def lane(self, number: int) -> float:
        return self.marks_right + 4.0 + number * LANE


@dataclass(frozen=True, slots=True)
class Row:
    """One step measured: its texts broken to lines, the height of its box and of the whole row.

    gap: free height above it. leaves, comes: the numbers of the steps to and from which a line leads that
    is not the plain arrow down, in words.
    """

    place: int
    step: FlowStep
    words: tuple[str, ...]
    inputs: tuple[tuple[str, ...], ...]
    marks: tuple[tuple[str, ...], ...]
    leaves: tuple[str, ...]
    comes: tuple[str, ...]
    box_height: float
    height: float
    gap: float


def beyond(steps: Sequence[FlowStep], place: int) -> list[int]:
    """The places a step leads to that do not simply stand below it."""
    return [after for after in steps[place].follows if after != place + 1]


def measured(steps: Sequence[FlowStep], width: float, most: float = 0.0) -> list[Row]:
    """Measure every step; `most` > 0 keeps a row at most so high, with a visible ellipsis where it cuts."""
    columns = Columns(width)
    room = max(most - 2 * _CAPTION - 12.0 - LEADING * _MOST_NUMBERS, 3 * LEADING) if most else 0.0
    return [_row(steps, place, columns, room) for place in range(len(steps))]


def _row(steps: Sequence[FlowStep], place: int, columns: Columns, high: float) -> Row:
    step = steps[place]
    # A diamond is up to 2.5 times as high as its words.
    most = max(int(high / LEADING / 2.5), 1) if high else 0
    room = columns.width - columns.marks_left
    leaving = beyond(steps, place)
    coming = [number for number in range(len(steps)) if place in beyond(steps, number)]
    leaves, comes = to_words(steps, leaving, room), from_words(steps, coming, room)
    words, box_height = _box(step, columns.box_width, most)
    inputs = _inputs(step, columns.inputs_right - 2, most)
    marks = _marks(step, columns.marks_right - columns.marks_left - 8, high / 2 - 4)
    right = marks_height(marks) + 4.0
    half = max(
        box_height / 2,
        inputs_height(inputs) / 2,
        right if leaving else right / 2,
        LEADING * len(leaves) + 4.0 if leaving else 0.0,
    )
    gap = max(GAP, 12.0 + LEADING * len(comes)) if coming else GAP
    return Row(place, step, words, inputs, marks, leaves, comes, box_height, 2 * half, gap)


def _broken(text: str, width: float) -> tuple[str, ...]:
    return typeset.wrap(text, width=width, size=LABEL_SIZE, bold=True)


def to_words(steps: Sequence[FlowStep], places: list[int], width: float) -> tuple[str, ...]:
    """Name the steps that a line leads to where it is not drawn out."""
    return _numbers(gettext("to %(steps)s"), steps, places, width)


def from_words(steps: Sequence[FlowStep], places: list[int], width: float) -> tuple[str, ...]:
    """Name the steps that a line comes from where it is not drawn out."""
    return _numbers(gettext("from %(steps)s"), steps, places, width)


def _numbers(text: str, steps: Sequence[FlowStep], places: list[int], width: float) -> tuple[str, ...]:
    if not places:
        return ()
    lines = _broken(text % {"steps": ", ".join(steps[place].number for place in places)}, width)
    return typeset.clamp(lines, _MOST_NUMBERS, width=width, size=LABEL_SIZE, bold=True)


def _marks(step: FlowStep, width: float, most: float) -> tuple[tuple[str, ...], ...]:
    """Break the codes of controls; with `most` > 0 those that find no room become an ellipsis."""
    kept: list[tuple[str, ...]] = []
    for mark in step.marks:
        lines = typeset.clamp(_broken(mark.code, width), 3, width=width, size=LABEL_SIZE, bold=True)
        if most > 0 and marks_height((*kept, lines)) > most - MARK_HEIGHT - MARK_GAP:
            return (*kept, (typeset.ELLIPSIS.strip(),))
        kept.append(lines)
    return tuple(kept)


def _inputs(step: FlowStep, width: float, most: int) -> tuple[tuple[str, ...], ...]:
    """Break what goes in; with `most` > 0 what finds no room ends in a visible ellipsis."""
    kept: list[tuple[str, ...]] = []
    free = most
    for text in step.inputs:
        lines = _broken(text, width)
        if most and free < len(lines):
            shown = lines if free else (*kept.pop(), "")
            room = free or len(shown) - 1
            return (*kept, typeset.clamp(shown, room, width=width, size=LABEL_SIZE, bold=True))
        kept.append(lines)
        free -= len(lines)
    return tuple(kept)


def _box(step: FlowStep, width: float, most: int) -> tuple[tuple[str, ...], float]:
    """The words of a step broken for its shape, and the height of that shape."""
    text = f"{step.number}. {step.name}"
    taken = {"inspection": 0.4 * width, "storage": 2 * TRIANGLE + 8.0, "transport": 2 * _TIP}
    room = width - max(taken.get(step.kind, 0.0), 2 * _PAD)
    words = typeset.wrap(text, width=room, size=LABEL_SIZE)
    if most:
        words = typeset.clamp(words, most, width=room, size=LABEL_SIZE)
    high = LEADING * len(words)
    if step.kind == "inspection":
        # A block of w x h fits a diamond of W x H when w / W + h / H is at most 1.
        longest = max(typeset.text_width(line, LABEL_SIZE) for line in words)
        return words, max(high / (1.0 - longest / width) + 4.0, 34.0)
    return words, high + 2 * _PAD


def inputs_height(inputs: tuple[tuple[str, ...], ...]) -> float:
    """Height of what goes in, one thing below the other."""
    return sum(LEADING * len(lines) for lines in inputs) + 2.0 * max(len(inputs) - 1, 0)


def mark_height(lines: tuple[str, ...]) -> float:
    """Height of the frame of one mark."""
    return MARK_HEIGHT + LEADING * (len(lines) - 1)


def marks_height(marks: tuple[tuple[str, ...], ...]) -> float:
    """Height of all the marks of a step."""
    return sum(mark_height(lines) + MARK_GAP for lines in marks)


def pages(rows: Sequence[Row], height: float) -> list[list[Row]]:
    """Distribute the rows over diagrams at most `height` high; 0 is any height."""
    parts: list[list[Row]] = [[]]
    used = 0.0
    for row in rows:
        needed = row.gap + row.height
        if height and parts[-1] and used + needed + 2 * _CAPTION > height:
            parts.append([])
            used = 0.0
        parts[-1].append(row)
        used += needed
    return [part for part in parts if part]


def caption_height() -> float:
    """Room for the words that say where a diagram goes on."""
    return _CAPTION
