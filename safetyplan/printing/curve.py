"""The curve of one quantity over elapsed time, with its limit and target, as a chart scene."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from safetyplan.printing import typeset
from safetyplan.printing.chart import LABEL_SIZE, Item, Label, Line, Point, Poly, Rect, Role, Scene, decimate

_LEFT, _RIGHT, _TOP, _BOTTOM = 34.0, 8.0, 22.0, 32.0
_MOST_MARKED = 60
_POINT = 3.6


@dataclass(frozen=True, slots=True)
class Words:
    """The texts on a chart, already in the reader's language. `decimal_mark` is "." or ","."""

    x_label: str
    y_label: str
    trace: str
    limit: str
    target: str
    nothing: str
    band: str = ""
    earlier: str = ""
    decimal_mark: str = "."


@dataclass(frozen=True, slots=True)
class _Axis:
    """One axis: its range in data units, its first and last place on paper, its ticks."""

    low: float
    high: float
    first: float
    last: float
    step: float

    def place(self, value: float) -> float:
        return self.first + (value - self.low) / (self.high - self.low) * (self.last - self.first)

    def ticks(self) -> list[float]:
        start = math.ceil(self.low / self.step - 1e-9)
        stop = math.floor(self.high / self.step + 1e-9)
        return [number * self.step for number in range(start, stop + 1)]

    def words(self, value: float, mark: str) -> str:
        digits = max(0, -math.floor(math.log10(self.step) + 1e-9))
        if round(self.step, digits) != round(self.step, 9):
            digits += 1
        return f"{value + 0.0:.{digits}f}".replace(".", mark)


def curve_scene(
    points: Sequence[Point],
    limit_steps: Sequence[Point],
    target_steps: Sequence[Point],
    words: Words,
    *,
    bands: Sequence[Point] = (),
    more_target_steps: Sequence[Sequence[Point]] = (),
    earlier: Sequence[Point] = (),
    more_limit_steps: Sequence[Sequence[Point]] = (),
    width: float = 500.0,
    height: float = 165.0,
    x_step: float | None = None,
) -> Scene:
    """Draw measured points (x, y) with a limit and a target.

    A step (x, y) says: from x on, the level is y, until the next step or the right edge; "5.8 within 6 h and
    5.4 within 24 h" is ((6, 5.8), (24, 5.4)), a bound from the start is ((0, 7),). `more_target_steps` are
    further lines drawn as the target is, `more_limit_steps` as the limit is. `earlier` are points to compare
    with, drawn as a dotted line with crosses. `bands` are shaded (from, to) stretches of x. Points need not
    be sorted; up to 60 are marked one by one, beyond that only the line is drawn, thinned by `decimate`. The
    line between marks guides the eye and is no measured value.

    `x_step` sets the distance of the marks on the x axis, such as 4 for hours of a day.

    Raises ValueError for a number that is not finite.
    """
    trace, before = decimate(_floats(points)), decimate(_floats(earlier))
    limits, targets = _floats(limit_steps), _floats(target_steps)
    more = [_floats(steps) for steps in more_target_steps]
    more_limits = [_floats(steps) for steps in more_limit_steps]
    levels = [*limits, *targets, *(point for steps in (*more, *more_limits) for point in steps)]
    across, up = _axes([*trace, *before, *levels], _floats(bands), (width, height), x_step)
    items: list[Item] = [*_bands(_floats(bands), across, up), *_frame(across, up, words)]
    for steps in (limits, *more_limits):
        items += _steps("limit", steps, across, up)
    for steps in (targets, *more):
        items += _steps("target", steps, across, up)
    items += _earlier(before, across, up)
    items += _trace(trace, across, up)
    if not trace:
        items.append(
            Label("axis", (across.first + across.last) / 2, (up.first + up.last) / 2, words.nothing, "middle")
        )
    items += _legend(words, bool(trace), bool(limits), bool(targets), bool(bands), bool(before))
    return Scene(width, height, tuple(items))


def _floats(pairs: Sequence[Point]) -> list[Point]:
    return sorted(((float(a), float(b)) for a, b in pairs), key=lambda pair: pair[0])


def _axes(
    points: Sequence[Point], bands: Sequence[Point], size: Point, x_step: float | None
) -> tuple[_Axis, _Axis]:
    xs = [x for x, _ in points] + [x for band in bands for x in band] or [0.0, 1.0]
    ys = [y for _, y in points] or [0.0, 1.0]
    if not all(map(math.isfinite, [*xs, *ys])):
        raise ValueError("a chart needs finite numbers")
    low, high = min(0.0, *xs) if min(xs) < 0 else 0.0, max(xs)
    # A last step that begins at the right edge would have no length: leave it some room.
    high += 0.06 * ((high - low) or 1.0)
    across = _Axis(low, high, _LEFT, size[0] - _RIGHT, x_step or _nice((high - low) / 8))
    step = _nice(((max(ys) - min(ys)) or 1.0) / 5)
    bottom, top = math.floor(min(ys) / step - 0.2) * step, math.ceil(max(ys) / step + 0.2) * step
    return across, _Axis(bottom, top, size[1] - _BOTTOM, _TOP, step)


def _nice(step: float) -> float:
    """The next of 1, 2, 2.5, 5, 10 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(step))
    return next(factor * power for factor in (1, 2, 2.5, 5, 10) if factor * power >= step * (1 - 1e-9))


def _bands(bands: Sequence[Point], across: _Axis, up: _Axis) -> list[Item]:
    return [
        Rect(
            "band", across.place(start), up.last, across.place(end) - across.place(start), up.first - up.last
        )
        for start, end in bands
    ]


def _frame(across: _Axis, up: _Axis, words: Words) -> list[Item]:
    items: list[Item] = []
    for value in up.ticks():
        y = up.place(value)
        items.append(Line("grid", across.first, y, across.last, y))
        items.append(Label("axis", across.first - 4, y + 2.8, up.words(value, words.decimal_mark), "end"))
    for value in across.ticks():
        x = across.place(value)
        items.append(Line("axis", x, up.first, x, up.first + 3))
        items.append(Label("axis", x, up.first + 12, across.words(value, words.decimal_mark), "middle"))
    items.append(Line("axis", across.first, up.first, across.last, up.first))
    items.append(Line("axis", across.first, up.first, across.first, up.last))
    items.append(Label("axis", across.last, up.first + 25, words.x_label, "end"))
    items.append(Label("axis", 2, LABEL_SIZE + 1, words.y_label))
    return items


def _steps(role: Role, steps: Sequence[Point], across: _Axis, up: _Axis) -> list[Item]:
    if not steps:
        return []
    corners = [steps[0]]
    for (_, level), (x, lower) in pairwise(steps):
        corners += [(x, level), (x, lower)]
    corners.append((across.high, steps[-1][1]))
    return [Poly(role, tuple((across.place(x), up.place(y)) for x, y in corners))]


def _trace(points: Sequence[Point], across: _Axis, up: _Axis) -> list[Item]:
    places = tuple((across.place(x), up.place(y)) for x, y in points)
    items: list[Item] = [Poly("trace", places)] if len(places) > 1 else []
    if len(places) <= _MOST_MARKED:
        items += [Rect("point", x - _POINT / 2, y - _POINT / 2, _POINT, _POINT) for x, y in places]
    return items


def _earlier(points: Sequence[Point], across: _Axis, up: _Axis) -> list[Item]:
    places = tuple((across.place(x), up.place(y)) for x, y in points)
    items: list[Item] = [Poly("earlier", places)] if len(places) > 1 else []
    if len(places) <= _MOST_MARKED:
        for place in places:
            items += _cross(*place)
    return items


def _cross(x: float, y: float) -> list[Item]:
    half = _POINT / 2
    return [
        Line("axis", x - half, y - half, x + half, y + half),
        Line("axis", x - half, y + half, x + half, y - half),
    ]


def _legend(words: Words, trace: bool, limit: bool, target: bool, band: bool, earlier: bool) -> list[Item]:
    """Samples of each line with its name, set from the right edge of the y label."""
    items: list[Item] = []
    x = 2 + 1.2 * typeset.text_width(typeset.printable(words.y_label).replace("\n", " "), LABEL_SIZE) + 24
    y = LABEL_SIZE - 2
    entries: tuple[tuple[Role, str, bool], ...] = (
        ("trace", words.trace, trace),
        ("earlier", words.earlier, earlier and bool(words.earlier)),
        ("limit", words.limit, limit),
        ("target", words.target, target),
        ("band", words.band, band and bool(words.band)),
    )
    for role, name, shown in entries:
        if not shown:
            continue
        items.append(Rect(role, x, y - 4, 20, 8) if role == "band" else Line(role, x, y, x + 20, y))
        if role == "earlier":
            items += _cross(x + 10, y)
        if role == "trace":
            items.append(Rect("point", x + 10 - _POINT / 2, y - _POINT / 2, _POINT, _POINT))
        items.append(Label("axis", x + 24, y + 3, name))
        x += 24 + 1.2 * typeset.text_width(typeset.printable(name).replace("\n", " "), LABEL_SIZE) + 16
    return items
