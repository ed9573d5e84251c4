"""The flow of a product as a diagram: one scene for a page, several where paper ends.

Symbols as they are common in flow charts (ISO 5807 and the process charts of ASME, from memory): an oval
starts and ends, a rectangle is an operation, a diamond an inspection, a triangle storage, an arrow a
transport; a dashed line leads back. The code of a critical control point stands in a thick frame, that of an
operational prerequisite in a thin rounded one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext

from safetyplan.printing.chart import Box, Item, Label, Line, Point, Poly, Role, Scene, Shape
from safetyplan.printing.flow_layout import (
    GAP,
    HEAD,
    LEADING,
    MARK_GAP,
    TRIANGLE,
    Columns,
    FlowStep,
    Row,
    beyond,
    caption_height,
    from_words,
    inputs_height,
    mark_height,
    marks_height,
    measured,
    pages,
    to_words,
)

_BASE = 7.6
_TIP = 12.0


def flow_scenes(steps: Sequence[FlowStep], *, width: float, height: float = 0.0) -> tuple[Scene, ...]:
    """Draw the steps in their order, `width` points wide; with a `height`, in parts at most so high.

    An arrow leads down to the next step. A line that passes other steps runs on the right; where it would
    leave the part, or no room is left for it, the numbers of the steps stand at its ends instead.
    """
    rows = measured(steps, width, height)
    parts = pages(rows, height)
    return tuple(_Part(steps, part, Columns(width)).scene() for part in parts)


def flow_words(steps: Sequence[FlowStep]) -> str:
    """Say what the diagram shows, for readers who cannot see it."""
    return " ".join(_step_words(steps, place) for place in range(len(steps)))


def kind_word(kind: str) -> str:
    """Name the kind of a step."""
    return {
        "start": gettext("start"),
        "inspection": gettext("inspection"),
        "storage": gettext("storage"),
        "transport": gettext("transport"),
        "end": gettext("end"),
    }.get(kind, gettext("operation"))


def _step_words(steps: Sequence[FlowStep], place: int) -> str:
    step = steps[place]
    said = [f"{step.number}. {step.name} ({kind_word(step.kind)})"]
    if step.inputs:
        said.append(gettext("with %(inputs)s") % {"inputs": ", ".join(step.inputs)})
    if step.marks:
        said.append(", ".join(mark.code for mark in step.marks))
    if beyond(steps, place):
        after = ", ".join(steps[number].number for number in step.follows)
        said.append(gettext("goes on to %(steps)s") % {"steps": after})
    return "; ".join(said) + "."


def legend(steps: Sequence[FlowStep]) -> str:
    """Explain the symbols that the diagram of these steps uses."""
    kinds = {step.kind for step in steps}
    marks = {mark.critical for step in steps for mark in step.marks}
    places = range(len(steps))
    words = (
        (kinds & {"start", "end"}, gettext("Oval: start or end.")),
        (kinds - {"start", "end", "inspection", "storage", "transport"}, gettext("Rectangle: operation.")),
        ("inspection" in kinds, gettext("Diamond: inspection.")),
        ("storage" in kinds, gettext("Triangle: storage.")),
        ("transport" in kinds, gettext("Pointed box: transport.")),
        (any(step.inputs for step in steps), gettext("On the left: what goes in.")),
        (True in marks, gettext("Thick frame: critical control point.")),
        (False in marks, gettext("Thin rounded frame: operational prerequisite.")),
        (
            any(after <= place for place in places for after in beyond(steps, place)),
            gettext("Dashed line: back to an earlier step."),
        ),
    )
    return " ".join(text for shown, text in words if shown)


@dataclass(frozen=True, slots=True)
class _Link:
    """A line from one step to another that does not stand below it."""

    start: int
    end: int

    @property
    def role(self) -> Role:
        return "rework" if self.end <= self.start else "flow"


class _Part:
    """One diagram: some of the steps, and what leads in and out of it."""

    def __init__(self, steps: Sequence[FlowStep], rows: Sequence[Row], columns: Columns) -> None:
        self.steps, self.rows, self.columns = steps, rows, columns
        self.first, self.last = rows[0].place, rows[-1].place
        self.tops: dict[int, float] = {}
        y = caption_height() - GAP if self._comes_from_above() else 0.0
        for row in rows:
            y += row.gap if row.place > self.first or self._comes_from_above() or row.comes else 2.0
            self.tops[row.place] = y
            y += row.height
        self.bottom = y

    def _comes_from_above(self) -> bool:
        return self.first > 0 and self.first in self.steps[self.first - 1].follows

    def _goes_on_below(self) -> bool:
        return self.last + 1 < len(self.steps) and self.last + 1 in self.steps[self.last].follows

    def scene(self) -> Scene:
        items: list[Item] = []
        for row in self.rows:
            items += self._row(row)
        items += self._around()
        items += self._links()
        below = caption_height() if self._goes_on_below() else 3.0
        return Scene(self.columns.width, self.bottom + below, tuple(items))

    def _middle(self, row: Row) -> float:
        return self.tops[row.place] + row.height / 2

    def _box_top(self, row: Row) -> float:
        return self._middle(row) - row.box_height / 2

    def _row(self, row: Row) -> Iterator[Item]:
        yield from self._step(row)
        yield from self._inputs(row)
        yield from self._marks(row)
        following = next((other for other in self.rows if other.place == row.place + 1), None)
        if following is not None and following.place in row.step.follows:
            x = self.columns.middle
            yield from _arrow(
                "flow", (x, self._middle(row) + row.box_height / 2), (x, self._box_top(following))
            )

    def _step(self, row: Row) -> Iterator[Item]:
        left, width, top = self.columns.box_left, self.columns.box_width, self._box_top(row)
        right, middle, bottom = left + width, self._middle(row), top + row.box_height
        kind, centre = row.step.kind, self.columns.middle
        if kind == "inspection":
            yield Shape("step", ((centre, top), (right, middle), (centre, bottom), (left, middle)))
        elif kind == "transport":
            tip = right - _TIP
            yield Shape("step", ((left, top), (tip, top), (right, middle), (tip, bottom), (left, bottom)))
            centre -= _TIP / 2
        else:
            round_ended = kind in ("start", "end")
            radius = min(row.box_height / 2, 14.0) if round_ended else 0.0
            yield Box("step", left, top, width, row.box_height, radius)
        if kind == "storage":
            x, y = left + 4.0, middle - TRIANGLE / 2
            yield Shape("step", ((x, y), (x + TRIANGLE, y), (x + TRIANGLE / 2, y + TRIANGLE)))
        start = middle - LEADING * len(row.words) / 2 + _BASE
        for number, words in enumerate(row.words):
            yield Label("words", centre, start + LEADING * number, words, "middle")

    def _inputs(self, row: Row) -> Iterator[Item]:
        if not row.inputs:
            return
        columns, middle = self.columns, self._middle(row)
        high = inputs_height(row.inputs)
        y = middle - high / 2
        for lines in row.inputs:
            for words in lines:
                yield Label("words", columns.inputs_right - 2, y + _BASE, words, "end")
                y += LEADING
            y += 2.0
        if len(row.inputs) > 1:
            x = columns.inputs_right
            yield Line("flow", x, middle - high / 2 + 1, x, middle + high / 2 - 1)
        yield from _arrow("flow", (columns.inputs_right, middle), (columns.box_left, middle))

    def _marks(self, row: Row) -> Iterator[Item]:
        high, leaving = marks_height(row.marks), bool(row.leaves)
        y = self._middle(row) - (high + 2.0 if leaving else high / 2)
        x, width = self.columns.marks_left, self.columns.marks_right - self.columns.marks_left
        for mark, lines in zip(row.step.marks, row.marks, strict=False):
            tall = mark_height(lines)
            role: Role = "critical" if mark.critical else "operational"
            yield Box(role, x + 1, y, width - 2, tall, 0.0 if mark.critical else 5.0)
            for number, words in enumerate(lines):
                place = y + _BASE + 2.0 + LEADING * number
                yield Label("words", x + width / 2, place, words, "middle", strong=True)
            y += tall + MARK_GAP

    def _around(self) -> Iterator[Item]:
        """The arrows in from the part before and on to the part after."""
        x, first, last = self.columns.middle, self.rows[0], self.rows[-1]
        if self._comes_from_above():
            words = gettext("from step %(number)s") % {"number": self.steps[self.first - 1].number}
            yield Label("words", x + 6.0, _BASE + 2.0, words)
            yield from _arrow("flow", (x, 2.0), (x, self._box_top(first)))
        if self._goes_on_below():
            words = gettext("to step %(number)s") % {"number": self.steps[self.last + 1].number}
            start, end = self._middle(last) + last.box_height / 2, self.bottom + caption_height() - 2.0
            yield Label("words", x + 6.0, end - 4.0, words)
            yield from _arrow("flow", (x, start), (x, end))

    def _links(self) -> Iterator[Item]:
        within, outside = self._links_of_part()
        lanes = _lanes(within, self.columns.lanes)
        for link, lane in lanes.items():
            yield from self._lane(link, self.columns.lane(lane))
        outside |= {link for link in within if link not in lanes}
        for row in self.rows:
            leaving = sorted(link.end for link in outside if link.start == row.place)
            coming = sorted(link.start for link in outside if link.end == row.place)
            if leaving:
                yield from self._leaves(row, leaving)
            if coming:
                yield from self._comes(row, coming)

    def _links_of_part(self) -> tuple[set[_Link], set[_Link]]:
        every = {_Link(place, end) for place in range(len(self.steps)) for end in beyond(self.steps, place)}
        within = {link for link in every if link.start in self.tops and link.end in self.tops}
        touching = {link for link in every if link.start in self.tops or link.end in self.tops}
        return within, touching - within

    def _row_at(self, place: int) -> Row:
        return self.rows[place - self.first]

    def _lane(self, link: _Link, x: float) -> Iterator[Item]:
        start = (self.columns.box_right, self._middle(self._row_at(link.start)))
        y = self._join(link.end)
        yield Poly(link.role, (start, (x, start[1]), (x, y)))
        yield from self._joined(link.role, link.end, x)

    def _join(self, place: int) -> float:
        """The height at which lines come into the flow above a step."""
        return self.tops[place] - HEAD - 3.0

    def _joined(self, role: Role, place: int, x: float) -> Iterator[Item]:
        """The end of a line: to the flow above a step, and where there is none, down into the step."""
        y, centre = self._join(place), self.columns.middle
        meets = place in self.steps[place - 1].follows if place else False
        if meets:
            yield from _arrow(role, (x, y), (centre, y))
        else:
            yield Line(role, x, y, centre, y)
            yield from _arrow(role, (centre, y), (centre, self._box_top(self._row_at(place))))

    def _leaves(self, row: Row, places: list[int]) -> Iterator[Item]:
        columns, y = self.columns, self._middle(row)
        back = all(place <= row.place for place in places)
        yield from _arrow("rework" if back else "flow", (columns.box_right, y), (columns.marks_right, y))
        for number, words in enumerate(to_words(self.steps, places, columns.width - columns.marks_left)):
            yield Label("words", columns.marks_left, y + 9.0 + LEADING * number, words)

    def _comes(self, row: Row, places: list[int]) -> Iterator[Item]:
        columns, y = self.columns, self._join(row.place)
        back = all(place >= row.place for place in places)
        yield from self._joined("rework" if back else "flow", row.place, columns.marks_right)
        lines = from_words(self.steps, places, columns.width - columns.marks_left)
        start = y - 2.5 - LEADING * (len(lines) - 1)
        for number, words in enumerate(lines):
            yield Label("words", columns.marks_left, start + LEADING * number, words)


def _lanes(links: set[_Link], most: int) -> dict[_Link, int]:
    """Give each line a lane of its own where lines run side by side, the shortest nearest to the steps."""
    ordered = sorted(links, key=lambda link: (abs(link.end - link.start), link.start, link.end))
    given: dict[_Link, int] = {}
    for link in ordered:
        low, high = sorted((link.start, link.end))
        taken = {
            lane
            for other, lane in given.items()
            if max(low, min(other.start, other.end)) <= min(high, max(other.start, other.end))
        }
        free = next((lane for lane in range(most) if lane not in taken), None)
        if free is not None:
            given[link] = free
    return given


def _arrow(role: Role, start: Point, end: Point) -> Iterator[Item]:
    """A straight line with a head at its end."""
    (x1, y1), (x2, y2) = start, end
    across = (x2 > x1) - (x2 < x1)
    down = (y2 > y1) - (y2 < y1)
    back_x, back_y = x2 - HEAD * across, y2 - HEAD * down
    yield Line(role, x1, y1, back_x, back_y)
    side = HEAD * 0.45
    corners = ((back_x + side * down, back_y + side * across), (back_x - side * down, back_y - side * across))
    yield Shape("head", ((x2, y2), *corners), filled=True)
