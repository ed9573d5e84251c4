"""The flow diagram: symbols, arrows, branches, marks, and what happens where paper ends.

The symbols are those of ISO 5807 and of the process charts of ASME as they are commonly drawn (from memory;
the standards were not read).
"""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.printing import document as doc
from safetyplan.printing import typeset
from safetyplan.printing.chart import LABEL_SIZE, Box, Item, Label, Line, Poly, Scene, Shape, to_svg
from safetyplan.printing.flow_layout import FlowStep, Mark
from safetyplan.printing.flow_scene import flow_scenes, flow_words, legend
from safetyplan.printing.render import render
from tests.safetyplan.printing import reading
from tests.safetyplan.printing.samples import only

WIDTH = 500.0
KINDS = ("start", "operation", "inspection", "storage", "transport", "end")
LONG = "Starter, rennet and setting of the curd in the vat until it is firm enough to be cut with the harp"


def chain(count: int, *, kind: str = "operation", **at: FlowStep) -> list[FlowStep]:
    """Make steps that follow each other; `s3=...` puts another in the place of step 3."""
    steps = [
        FlowStep(str(n), f"Step number {n}", kind, follows=(n,) if n < count else ())
        for n in range(1, count + 1)
    ]
    for name, step in at.items():
        steps[int(name[1:]) - 1] = step
    return steps


def whole(steps: list[FlowStep], width: float = WIDTH) -> Scene:
    (scene,) = flow_scenes(steps, width=width)
    return scene


def words(*scenes: Scene) -> str:
    return " ".join(item.text for scene in scenes for item in scene.items if isinstance(item, Label))


def points(item: Item) -> list[tuple[float, float]]:
    """Every corner of an item; of a text both ends of its line."""
    if isinstance(item, Line):
        return [(item.x1, item.y1), (item.x2, item.y2)]
    if isinstance(item, Poly | Shape):
        return list(item.points)
    if isinstance(item, Label):
        long = typeset.text_width(typeset.printable(item.text), LABEL_SIZE, bold=item.strong)
        start = item.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor] * long
        return [(start, item.y - LABEL_SIZE * 0.8), (start + long, item.y + 2)]
    return [(item.x, item.y), (item.x + item.width, item.y + item.height)]


def inside(scene: Scene) -> bool:
    return all(
        -0.01 <= x <= scene.width + 0.01 and -0.01 <= y <= scene.height + 0.01
        for item in scene.items
        for x, y in points(item)
    )


def test_every_step_stands_in_its_order_with_its_number() -> None:
    texts = [item for item in whole(chain(5)).items if isinstance(item, Label)]
    assert [label.text for label in texts] == [f"{n}. Step number {n}" for n in range(1, 6)]
    assert [label.y for label in texts] == sorted(label.y for label in texts)


@pytest.mark.parametrize(
    ("kind", "corners", "radius"),
    [
        ("start", 0, True),
        ("end", 0, True),
        ("operation", 0, False),
        ("inspection", 4, None),
        ("transport", 5, None),
        ("storage", 3, False),
    ],
)
def test_the_shape_tells_the_kind_of_a_step(kind: str, corners: int, radius: bool | None) -> None:
    items = whole([FlowStep("1", "A step", kind)]).items
    assert [len(item.points) for item in items if isinstance(item, Shape)] == ([corners] if corners else [])
    assert [item.radius > 0 for item in items if isinstance(item, Box)] == (
        [] if radius is None else [radius]
    )


def test_one_arrow_leads_down_between_two_steps() -> None:
    scene = whole(chain(3))
    heads = [item for item in scene.items if isinstance(item, Shape) and item.role == "head"]
    assert len(heads) == 2
    assert all(item.x1 == item.x2 for item in scene.items if isinstance(item, Line))


def test_no_arrow_leads_on_from_an_end() -> None:
    scene = whole(chain(3, s2=FlowStep("2", "Whey goes to the pigs", "end")))
    assert len([item for item in scene.items if isinstance(item, Shape) and item.role == "head"]) == 1


def test_what_goes_in_stands_on_the_left_with_one_arrow() -> None:
    scene = whole([FlowStep("1", "Setting", inputs=("starter", "rennet"))])
    box = next(item for item in scene.items if isinstance(item, Box))
    inputs = [item for item in scene.items if isinstance(item, Label) and item.anchor == "end"]
    assert [label.text for label in inputs] == ["starter", "rennet"]
    assert all(label.x < box.x for label in inputs)
    assert len([item for item in scene.items if isinstance(item, Shape)]) == 1


def test_a_branch_passes_other_steps_on_the_right_in_a_full_line() -> None:
    scene = whole(chain(4, s1=FlowStep("1", "Sorting", "inspection", follows=(1, 3))))
    (branch,) = [item for item in scene.items if isinstance(item, Poly)]
    right = max(item.x + item.width for item in scene.items if isinstance(item, Box))
    assert branch.role == "flow"
    assert branch.points[-1][0] > right
    assert branch.points[-1][1] > branch.points[0][1]


def test_a_way_back_is_dashed_and_goes_up() -> None:
    scene = whole(chain(4, s3=FlowStep("3", "Firm enough?", "inspection", follows=(3, 1))))
    (back,) = [item for item in scene.items if isinstance(item, Poly)]
    assert back.role == "rework"
    assert back.points[-1][1] < back.points[0][1]


def test_a_step_may_lead_back_to_itself() -> None:
    scene = whole(chain(3, s2=FlowStep("2", "Turn", follows=(2, 1))))
    assert [item.role for item in scene.items if isinstance(item, Poly)] == ["rework"]
    assert inside(scene)


def test_lines_side_by_side_have_lanes_of_their_own() -> None:
    steps = chain(
        6,
        s1=FlowStep("1", "One", follows=(1, 3)),
        s2=FlowStep("2", "Two", follows=(2, 4)),
        s5=FlowStep("5", "Five", follows=(5, 2)),
    )
    lanes = [item.points[-1][0] for item in whole(steps).items if isinstance(item, Poly)]
    assert len(set(lanes)) == len(lanes) == 3


def test_where_no_lane_is_left_the_numbers_of_the_steps_stand_at_both_ends() -> None:
    crowded = chain(9, s9=FlowStep("9", "Sorting", "inspection", follows=tuple(range(7))))
    scene = whole(crowded, width=240.0)
    assert "from 9" in words(scene)
    assert inside(scene)


def test_codes_of_controls_stand_beside_the_box_in_two_kinds_of_frame() -> None:
    marks = (Mark("CCP1", critical=True), Mark("OPRP2", critical=False))
    scene = whole([FlowStep("1", "Heat", marks=marks)])
    step, critical, operational = [item for item in scene.items if isinstance(item, Box)]
    assert (critical.role, critical.radius, operational.role) == ("critical", 0, "operational")
    assert operational.radius > 0
    assert min(critical.x, operational.x) > step.x + step.width
    assert [i.text for i in scene.items if isinstance(i, Label) and i.strong] == ["CCP1", "OPRP2"]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("width", [240.0, 500.0])
def test_long_names_wrap_and_stay_inside_their_shape(kind: str, width: float) -> None:
    scene = whole([FlowStep("1", LONG, kind)], width=width)
    assert words(scene) == f"1. {LONG}"
    assert inside(scene)
    shape = next(item for item in scene.items if isinstance(item, Box | Shape))
    (left, top), (right, bottom) = min(points(shape)), max(points(shape))
    tall = max(y for _x, y in points(shape)), min(y for _x, y in points(shape))
    for label in (item for item in scene.items if isinstance(item, Label)):
        (start, upper), (end, lower) = points(label)
        assert left <= start <= end <= right
        assert tall[1] - 0.5 <= upper <= lower <= tall[0] + 0.5
    assert (top, bottom) != (0, 0)


def test_forty_steps_break_over_parts_no_higher_than_asked_and_say_where_they_go_on() -> None:
    parts = flow_scenes(chain(40), width=WIDTH, height=400.0)
    assert len(parts) > 2
    assert all(part.height <= 400.0 for part in parts)
    assert all(inside(part) for part in parts)
    found = words(*parts)
    assert all(f"{n}. Step number {n}" in found for n in range(1, 41))
    assert "to step" in words(parts[0])
    assert "from step" in words(parts[1])
    assert "to step" not in words(parts[-1])


def test_a_line_to_another_part_names_the_step_at_both_ends() -> None:
    steps = chain(40, s2=FlowStep("2", "Sorting", "inspection", follows=(2, 38)))
    parts = flow_scenes(steps, width=WIDTH, height=400.0)
    assert "to 39" in words(parts[0])
    assert "from 2" in words(parts[-1])


def test_a_step_too_high_for_a_part_is_cut_visibly_and_never_runs_over() -> None:
    steps = [FlowStep("1", "curd " * 3000, "inspection", inputs=("salt " * 2000, "more"))]
    (part,) = flow_scenes(steps, width=WIDTH, height=400.0)
    assert part.height <= 400.0
    assert typeset.ELLIPSIS in words(part)


def test_more_controls_than_a_part_has_room_for_are_cut_visibly() -> None:
    marks = tuple(Mark(f"CCP{n}", critical=True) for n in range(60))
    (part,) = flow_scenes([FlowStep("1", "Heat", marks=marks)], width=WIDTH, height=400.0)
    assert part.height <= 400.0
    assert typeset.ELLIPSIS.strip() in words(part)


def test_a_flow_on_paper_keeps_every_word() -> None:
    steps = chain(40, s7=FlowStep("7", LONG, "inspection", ("milk",), (Mark("CCP1", critical=True),), (7, 2)))
    charts = [doc.Chart(scene) for scene in flow_scenes(steps, width=WIDTH, height=480.0)]
    found = reading.squeezed(reading.text(render(only(*charts))))
    assert reading.squeezed(LONG) in found
    assert all(f"{n}.Stepnumber{n}" in found for n in range(1, 41) if n != 7)
    assert "CCP1" in found


def test_the_picture_on_the_page_has_a_name_and_says_in_words_what_it_shows() -> None:
    steps = chain(
        3, s2=FlowStep("2", "Heat", "inspection", ("milk",), (Mark("CCP1", critical=True),), (2, 0))
    )
    root = ElementTree.fromstring(to_svg(whole(steps), "Flow diagram", flow_words(steps)))
    assert root.get("role") == "img"
    assert [child.text for child in root][:2] == [
        "Flow diagram",
        "1. Step number 1 (operation). 2. Heat (inspection); with milk; CCP1; goes on to 3, 1. "
        "3. Step number 3 (operation).",
    ]


def test_shapes_without_a_style_sheet_hide_no_words() -> None:
    steps = [FlowStep(str(n), "A step", kind) for n, kind in enumerate(KINDS)]
    root = ElementTree.fromstring(to_svg(whole(steps), "a", "b"))
    for shape in root:
        if shape.tag.endswith(("rect", "polygon", "polyline")) and shape.get("class") != "chart-head":
            assert shape.get("fill") == "none"


def test_the_legend_names_only_what_is_drawn() -> None:
    plain = legend(chain(2))
    rich = legend(
        chain(3, s2=FlowStep("2", "Firm?", "inspection", ("salt",), (Mark("CCP1", critical=True),), (2, 0)))
    )
    assert "Rectangle" in plain
    assert "Diamond" not in plain
    assert "Dashed" not in plain
    for said in ("Diamond", "Dashed", "Thick frame", "On the left"):
        assert said in rich


def test_the_same_steps_give_the_same_scenes() -> None:
    steps = chain(20, s9=FlowStep("9", "Nine", follows=(9, 1, 4)))
    assert flow_scenes(steps, width=WIDTH, height=400) == flow_scenes(steps, width=WIDTH, height=400)


FLOWS = st.integers(1, 12).flatmap(
    lambda count: st.lists(
        st.builds(
            FlowStep,
            number=st.integers(1, 99).map(str),
            name=st.text(min_size=1, max_size=60),
            kind=st.sampled_from(KINDS),
            inputs=st.lists(st.text(min_size=1, max_size=30), max_size=3).map(tuple),
            marks=st.lists(st.builds(Mark, st.text(min_size=1, max_size=12), st.booleans()), max_size=3).map(
                tuple
            ),
            follows=st.lists(st.integers(0, count - 1), unique=True, max_size=4).map(tuple),
        ),
        min_size=count,
        max_size=count,
    )
)


@given(FLOWS, st.sampled_from([240.0, 500.0]), st.sampled_from([0.0, 520.0]))
def test_whatever_the_steps_everything_lies_inside_the_scene(
    steps: list[FlowStep], width: float, height: float
) -> None:
    for scene in flow_scenes(steps, width=width, height=height):
        assert inside(scene)
        assert not height or scene.height <= height
        ElementTree.fromstring(to_svg(scene, "a", flow_words(steps)))
