"""Chart scenes: what is drawn where, on the page and on paper."""

from __future__ import annotations

import math
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.printing import chart
from safetyplan.printing.curve import curve_scene
from tests.safetyplan.printing.samples import CURVE, CURVE_WORDS

SVG = "{http://www.w3.org/2000/svg}"
READINGS = ((0.0, 6.6), (12.0, 5.4), (24.0, 4.7))


def polys(scene: chart.Scene, role: str) -> list[chart.Poly]:
    return [item for item in scene.items if isinstance(item, chart.Poly) and item.role == role]


def label(scene: chart.Scene, text: str) -> chart.Label:
    return next(item for item in scene.items if isinstance(item, chart.Label) and item.text == text)


def test_the_svg_is_an_image_with_a_name_and_a_description() -> None:
    root = ElementTree.fromstring(chart.to_svg(CURVE, "Acid curve", "pH over 26 hours"))
    assert root.get("role") == "img"
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert [child.text for child in root][:2] == ["Acid curve", "pH over 26 hours"]


def test_every_shape_has_a_class_and_none_a_style() -> None:
    shapes = list(ElementTree.fromstring(chart.to_svg(CURVE, "a", "b")))[2:]
    assert shapes
    assert all((shape.get("class") or "").startswith("chart-") for shape in shapes)
    assert all(not {"style", "stroke", "id"} & set(shape.attrib) for shape in shapes)


@pytest.mark.parametrize("hostile", ["</title><script>alert(1)</script>", 'a "b" & <c>', "a\x00\u202eb"])
def test_hostile_words_stay_words(hostile: str) -> None:
    scene = chart.Scene(10, 10, (chart.Label("axis", 1, 1, hostile),))
    root = ElementTree.fromstring(chart.to_svg(scene, hostile, hostile))
    shown = hostile.replace("\x00", "[U+0000]").replace("\u202e", "[U+202E]")
    assert [child.text for child in root] == [shown] * 3


def test_coordinates_are_rounded_to_a_tenth() -> None:
    scene = chart.Scene(10, 10, (chart.Line("axis", 1.26, 2.0, 3.14159, 4.04),))
    assert 'x1="1.3" y1="2" x2="3.1" y2="4"' in chart.to_svg(scene, "", "")


def test_a_limit_begins_at_its_deadline_and_steps_down_at_the_next() -> None:
    scene = curve_scene(READINGS, ((6, 5.8), (24, 5.4)), (), CURVE_WORDS, x_step=6)
    (limit,) = polys(scene, "limit")
    start, before, after, end = limit.points
    assert start[0] == pytest.approx(label(scene, "6").x)
    assert before[0] == after[0] == pytest.approx(label(scene, "24").x)
    assert start[1] == before[1] < after[1] == end[1]
    assert end[0] > after[0]


def test_a_lower_value_is_drawn_lower() -> None:
    (trace,) = polys(curve_scene(READINGS, (), (), CURVE_WORDS), "trace")
    assert [y for _, y in trace.points] == sorted(y for _, y in trace.points)


def test_readings_are_drawn_in_the_order_of_their_time() -> None:
    forth = curve_scene(READINGS, (), (), CURVE_WORDS)
    assert curve_scene(tuple(reversed(READINGS)), (), (), CURVE_WORDS) == forth


@pytest.mark.parametrize(("count", "marks"), [(60, 60 + 1), (61, 0 + 1)])
def test_few_readings_are_marked_one_by_one_and_many_are_not(count: int, marks: int) -> None:
    scene = curve_scene([(float(n), 5.0) for n in range(count)], (), (), CURVE_WORDS)
    # One mark more is the sample in the legend.
    assert len([item for item in scene.items if item.role == "point"]) == marks


def test_everything_drawn_lies_inside_the_scene() -> None:
    scene = curve_scene(READINGS, ((24, 12.0),), ((6, -3.0),), CURVE_WORDS)
    drawn = [point for item in scene.items if isinstance(item, chart.Poly) for point in item.points]
    assert all(0 <= x <= scene.width and 0 <= y <= scene.height for x, y in drawn)


def test_a_chart_without_readings_says_so() -> None:
    scene = curve_scene((), ((24, 4.6),), (), CURVE_WORDS)
    assert label(scene, "no readings")
    assert polys(scene, "limit")


def test_a_chart_with_readings_does_not_say_there_are_none() -> None:
    assert not [item for item in CURVE.items if isinstance(item, chart.Label) and item.text == "no readings"]


def test_marks_on_the_axis_use_the_decimal_mark_of_the_reader() -> None:
    from dataclasses import replace

    scene = curve_scene(READINGS, (), (), replace(CURVE_WORDS, decimal_mark=","))
    assert label(scene, "5,5")


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_value_that_is_no_number_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        curve_scene(((0, value),), (), (), CURVE_WORDS)


def test_a_single_reading_is_drawn() -> None:
    scene = curve_scene(((0, 6.6),), (), (), CURVE_WORDS)
    assert [item for item in scene.items if item.role == "point"]


def test_700_points_are_all_kept() -> None:
    points = [(float(n), float(n % 7)) for n in range(700)]
    assert chart.decimate(points) == points


@given(st.lists(st.floats(-50, 150), min_size=2, max_size=200), st.integers(1, 30))
def test_thinning_keeps_the_first_lowest_highest_and_last_of_each_part(
    values: list[float], columns: int
) -> None:
    points = [(float(index), value) for index, value in enumerate(values)]

    kept = chart.decimate(points, columns)

    assert all(a[0] < b[0] for a, b in pairwise(kept))
    assert len(kept) <= max(4 * columns, len(points) if len(points) <= columns else 0)
    step = (len(points) - 1) / columns
    for number in range(columns):
        part = [point for point in points if min(int(point[0] / step), columns - 1) == number]
        heights = [y for x, y in kept if part and part[0][0] <= x <= part[-1][0]]
        if part:
            assert part[0] in kept
            assert part[-1] in kept
            assert min(heights) == min(y for _, y in part)
            assert max(heights) == max(y for _, y in part)


def test_one_short_excursion_in_a_day_of_seconds_is_still_drawn() -> None:
    points = [(float(second), 4.0) for second in range(86_400)]
    points[51_234] = (51_234.0, 9.3)
    assert (51_234.0, 9.3) in chart.decimate(points)


def test_points_at_one_moment_are_thinned_without_an_error() -> None:
    kept = chart.decimate([(1.0, float(n)) for n in range(2000)])
    assert kept == [(1.0, 0.0), (1.0, 1999.0)]
