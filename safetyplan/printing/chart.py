"""Charts and diagrams: one scene of simple shapes, drawn as SVG for a page and on a canvas for paper.

A shape names its role ("limit", "trace", ...), never a colour: the style sheet and `_INK` decide its looks.
Coordinates are points from the upper left corner, y downwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any, Literal, TypeAlias

from safetyplan.printing import typeset

Role = Literal[
    "limit", "target", "trace", "earlier", "point", "axis", "grid", "band",
    "step", "critical", "operational", "flow", "rework", "head", "words",
]  # fmt: skip
Anchor = Literal["start", "middle", "end"]
Point: TypeAlias = tuple[float, float]

LABEL_SIZE = 8.0
NO_FILL = ' fill="none"'


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    role: Role
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True)
class Poly:
    """An open line through several points."""

    role: Role
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Rect:
    """A filled rectangle; (x, y) is its upper left corner."""

    role: Role
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Label:
    """A short text on one line; y is its base line."""

    role: Role
    x: float
    y: float
    text: str
    anchor: Anchor = "start"
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """The outline of a rectangle, with rounded corners where `radius` is more than 0."""

    role: Role
    x: float
    y: float
    width: float
    height: float
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed shape: its outline, or all of it when `filled`."""

    role: Role
    points: tuple[Point, ...]
    filled: bool = False


Item: TypeAlias = Line | Poly | Rect | Label | Box | Shape


@dataclass(frozen=True, slots=True)
class Scene:
    """A finished drawing of a given size in points."""

    width: float
    height: float
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class _Ink:
    weight: float = 0.8
    grey: float = 0.0
    dash: tuple[float, ...] = ()


_INK: dict[Role, _Ink] = {
    "limit": _Ink(1.6),
    "target": _Ink(0.9, dash=(4.0, 2.5)),
    "trace": _Ink(0.8, grey=0.25),
    "earlier": _Ink(0.8, grey=0.45, dash=(1.5, 1.5)),
    "point": _Ink(0.0),
    "axis": _Ink(0.7),
    "grid": _Ink(0.3, grey=0.75),
    "band": _Ink(0.0, grey=0.9),
    "step": _Ink(0.8),
    "critical": _Ink(2.0),
    "operational": _Ink(0.8),
    "flow": _Ink(0.8),
    "rework": _Ink(0.8, dash=(3.0, 2.0)),
    "head": _Ink(0.4),
    "words": _Ink(0.0),
}


def to_svg(scene: Scene, title: str, description: str) -> str:
    """Return one SVG element with a name and a description for readers who cannot see it.

    Looks come from the style sheet by class: `chart`, and `chart-<role>` on every shape. Coordinates are
    rounded to 0.1. All texts are escaped; characters without a shape are shown as their code.
    """
    width, height = _number(scene.width), _number(scene.height)
    shapes = "".join(map(_svg_item, scene.items))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" role="img" viewBox="0 0 {width} {height}" '
        f'font-size="{_number(LABEL_SIZE)}"><title>{_text(title)}</title><desc>{_text(description)}</desc>'
        f"{shapes}</svg>"
    )


def _svg_item(item: Item) -> str:
    role = f'class="chart-{item.role}"'
    if isinstance(item, Line):
        start = f'x1="{_number(item.x1)}" y1="{_number(item.y1)}"'
        return f'<line {role} {start} x2="{_number(item.x2)}" y2="{_number(item.y2)}"/>'
    if isinstance(item, Poly):
        points = " ".join(f"{_number(x)},{_number(y)}" for x, y in item.points)
        return f'<polyline {role} points="{points}" fill="none"/>'
    if isinstance(item, Rect):
        return (
            f'<rect {role} x="{_number(item.x)}" y="{_number(item.y)}" '
            f'width="{_number(item.width)}" height="{_number(item.height)}"/>'
        )
    if isinstance(item, Box):
        corner = f' rx="{_number(item.radius)}"' if item.radius else ""
        return (
            f'<rect {role} x="{_number(item.x)}" y="{_number(item.y)}" '
            f'width="{_number(item.width)}" height="{_number(item.height)}"{corner} fill="none"/>'
        )
    if isinstance(item, Shape):
        points = " ".join(f"{_number(x)},{_number(y)}" for x, y in item.points)
        return f'<polygon {role} points="{points}"{"" if item.filled else NO_FILL}/>'
    if item.strong:
        role = f'class="chart-{item.role} chart-strong"'
    place = f'x="{_number(item.x)}" y="{_number(item.y)}" text-anchor="{item.anchor}"'
    return f"<text {role} {place}>{_text(item.text)}</text>"


def _number(value: float) -> str:
    text = f"{value:.1f}"
    return text.removesuffix(".0")


def _text(text: str) -> str:
    return escape(typeset.visible(text))


def draw(canvas: Any, scene: Scene, x: float, y: float, width: float) -> None:
    """Draw the scene `width` points wide with its upper left corner at (x, y) of the canvas (y upwards)."""
    scale = width / scene.width
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(scale, scale)
    canvas.setLineCap(0)
    canvas.setLineJoin(1)
    for item in scene.items:
        _draw_item(canvas, item)
    canvas.restoreState()


def _draw_item(canvas: Any, item: Item) -> None:
    ink = _INK[item.role]
    if isinstance(item, Rect):
        canvas.setFillGray(ink.grey)
        canvas.rect(item.x, -item.y - item.height, item.width, item.height, stroke=0, fill=1)
        return
    if isinstance(item, Label):
        _draw_label(canvas, item)
        return
    canvas.setStrokeGray(ink.grey)
    canvas.setLineWidth(ink.weight)
    canvas.setDash(list(ink.dash))
    if isinstance(item, Line):
        canvas.line(item.x1, -item.y1, item.x2, -item.y2)
    elif isinstance(item, Box):
        draw_box = canvas.roundRect if item.radius else canvas.rect
        corner = {"radius": item.radius} if item.radius else {}
        draw_box(item.x, -item.y - item.height, item.width, item.height, stroke=1, fill=0, **corner)
    else:
        _draw_path(canvas, item)


def _draw_path(canvas: Any, item: Poly | Shape) -> None:
    path = canvas.beginPath()
    for number, (x, y) in enumerate(item.points):
        (path.lineTo if number else path.moveTo)(x, -y)
    filled = isinstance(item, Shape) and item.filled
    if isinstance(item, Shape):
        path.close()
    if filled:
        canvas.setFillGray(0)
    canvas.drawPath(path, stroke=1, fill=int(filled))


def _draw_label(canvas: Any, label: Label) -> None:
    text = typeset.printable(label.text).replace("\n", " ")
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor]
    long = typeset.text_width(text, LABEL_SIZE, bold=label.strong)
    canvas.setFillGray(0)
    canvas.setFont(typeset.BOLD if label.strong else typeset.REGULAR, LABEL_SIZE)
    canvas.drawString(label.x - back * long, -label.y, text)


def decimate(points: Sequence[Point], columns: int = 700) -> list[Point]:
    """Thin a long trace without losing an excursion.

    Up to `columns` points come back unchanged. Otherwise the x range is cut into `columns` equal parts and of
    each the first, lowest, highest and last point are kept, in their order. The points must be sorted by x.
    """
    if len(points) <= columns:
        return list(points)
    start, end = points[0][0], points[-1][0]
    step = (end - start) / columns or 1.0
    kept: list[Point] = []
    column: list[Point] = []
    current = 0
    for point in points:
        place = min(int((point[0] - start) / step), columns - 1)
        if place != current:
            kept.extend(_outline(column))
            column, current = [], place
        column.append(point)
    return [*kept, *_outline(column)]


def _outline(column: Sequence[Point]) -> list[Point]:
    if len(column) <= 4:
        return list(column)
    heights = [y for _, y in column]
    chosen = {0, heights.index(min(heights)), heights.index(max(heights)), len(column) - 1}
    return [column[index] for index in sorted(chosen)]
