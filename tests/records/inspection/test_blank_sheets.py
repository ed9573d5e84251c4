"""Blank sheets: limits printed, units in the heads, room for handwriting, signatures; and the addresses."""

import re
from itertools import pairwise
from typing import Any

import pytest

from records.inspection import blank_sheet
from records.inspection.compose import render_issue
from records.inspection.frame import Frame
from records.inspection.models import PrintIssue
from records.inspection.queries import kept_bytes, version_printed
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.models import PlanDraft
from safetyplan.printing.document import Grid, Sideways
from tests.builders import at, hours
from tests.cast import Cast
from tests.records.inspection.browsing import address, as_person, words
from tests.records.inspection.long_plan import demonstration_plan
from tests.records.inspection.plan_stage import BEFORE, approved, issued, use_paper
from tests.safetyplan.printing.reading import pages, rules, squeezed, text

pytestmark = pytest.mark.django_db

CODES = [control["code"] for control in demonstration_plan()["controls"]]
MM = 72 / 25.4


def sheet(cast: Cast, code: str) -> bytes:
    return kept_bytes(issued(cast, "sheet", f"1/{code}"))


def grid_of(cast: Cast, code: str) -> Grid:
    """Give the table to be filled in: the one with the most rows."""
    issue = issued(cast, "sheet", f"1/{code}")
    document = blank_sheet.document(Frame.of(issue), version_printed(cast.dairy, "1"), code)
    blocks = document.blocks[0].blocks if isinstance(document.blocks[0], Sideways) else document.blocks
    return max((b for b in blocks if isinstance(b, Grid)), key=lambda grid: len(grid.rows))


def heads(grid: Grid) -> list[str]:
    return [f"{column.title} {column.unit}".strip() for column in grid.columns]


@pytest.mark.parametrize("code", CODES)
def test_every_check_has_a_sheet_with_its_limits_actions_and_signatures(working: Cast, code: str) -> None:
    found = " ".join(text(sheet(working, code)).split())
    control = next(c for c in demonstration_plan()["controls"] if c["code"] == code)
    for said in (
        f"Monitoring: {code} {control['name']}",
        f"TG-1 / {code}",
        "plan version 1",
        control["monitoring"]["what"],
        control["corrective_actions"][0]["text"],
        "Reviewed by",
        "Entered later into the records, by",
        "Signature",
        "Printed name",
        "Date and time",
    ):
        assert squeezed(said) in squeezed(found), said
    for title in ("Date", "Time", "Instrument", "Initials", "Result against the limit", "Action taken"):
        assert squeezed(title) in squeezed(found), title


def test_the_limit_is_printed_in_words(working: Cast) -> None:
    found = " ".join(text(sheet(working, "CCP2")).split())
    assert "Limit: pH at most 4.60 within 24 h of starter added." in found
    assert "Target: pH at most 4.50" in found


def test_each_part_of_a_check_has_a_column_with_its_unit(working: Cast) -> None:
    assert heads(grid_of(working, "CCP1"))[4:13] == [
        "Start of hold time",
        "End of hold time",
        "Lowest product temperature °C",
        "Air space temperature at start °C",
        "Air space temperature at end °C",
        "Indicating thermometer °C",
        "Recorder °C",
        "Chart number",
        "Agitator on / off",
    ]


def test_a_limit_that_counts_from_an_event_has_a_column_for_its_time(working: Cast) -> None:
    titles = heads(grid_of(working, "CCP2"))
    assert "“Starter added” date and time" in titles
    assert "pH" in titles


def test_a_check_of_a_lot_has_a_column_for_the_lot_and_one_of_a_day_has_none(working: Cast) -> None:
    assert "Lot" in heads(grid_of(working, "OPRP2"))
    assert "Lot" not in heads(grid_of(working, "PRP1"))


def test_a_choice_prints_its_answers_in_the_head(working: Cast) -> None:
    assert "Label correct / wrong" in heads(grid_of(working, "PRP2"))


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("code", ["CCP1", "CCP2", "PRP1"])
def test_rows_are_high_enough_to_write_in_and_fill_the_sheet(working: Cast, paper: str, code: str) -> None:
    with at(working.dairy, hours(0.1)):
        use_paper(working, paper)
    pdf = sheet(working, code)
    levels = sorted({y for x1, y, x2, end in rules(pdf) if y == end and x2 - x1 > 400}, reverse=True)
    steps = [upper - lower for upper, lower in pairwise(levels)]
    assert len([step for step in steps if abs(step - blank_sheet.ROW_HEIGHT * MM) < 0.01]) >= 3
    assert blank_sheet.ROW_HEIGHT >= 8
    assert len(grid_of(working, code).rows) >= blank_sheet.LEAST_ROWS
    assert len(pages(pdf)) <= 2


def test_a_check_with_many_parts_goes_on_in_a_second_table(cast: Cast) -> None:
    plan = demonstration_plan()
    control = next(c for c in plan["controls"] if c["code"] == "OPRP3")
    control["limit"] = {
        "kind": "all_of",
        "members": [{**control["limit"], "part": f"place_{n}"} for n in range(12)],
    }
    with at(cast.dairy, BEFORE):
        approved(cast, plan)
    found = text(sheet(cast, "OPRP3"))
    assert "The same checks, continued" in found
    assert all(squeezed(f"lace {n}") in squeezed(found) for n in range(12))


DAILY = {"kind": "daily", "times": ["07:00"]}
SHELVES = [f"Shelf {number}" for number in range(1, 13)]


def grid_with(cast: Cast, when: dict[str, Any], **more: Any) -> Grid:
    """Give the table of the cold store's sheet in a plan that asks for something more of it."""
    plan = demonstration_plan()
    control = next(c for c in plan["controls"] if c["code"] == "PRP1")
    control["monitoring"]["when"] = when
    control |= more
    with at(cast.dairy, BEFORE):
        approved(cast, plan)
    return grid_of(cast, "PRP1")


def column(grid: Grid, title: str) -> list[str]:
    place = [c.title for c in grid.columns].index(title)
    return [row.cells[place].text for row in grid.rows]


def test_a_check_at_several_points_has_a_line_for_each_in_whole_rounds(cast: Cast) -> None:
    points = column(grid_with(cast, DAILY, points=SHELVES), "Point")

    assert points[:12] == SHELVES
    assert points == SHELVES * (len(points) // 12)


def test_a_check_of_a_load_has_a_line_for_each_load(cast: Cast) -> None:
    grid = grid_with(cast, {"kind": "load"})

    assert squeezed("every load") in squeezed(text(sheet(cast, "PRP1")))
    assert "Load of milk number, from whom" in heads(grid)
    assert "Lot" not in heads(grid)


@pytest.mark.parametrize("kind", ["brine", "preparation", "room", "vat"])
def test_a_check_of_a_shared_thing_has_a_line_for_each_thing(cast: Cast, kind: str) -> None:
    assert kind.capitalize() in heads(grid_with(cast, {**DAILY, "each": kind}))


@pytest.mark.parametrize(("photo", "there"), [("required", True), ("asked", True), ("", False)])
def test_a_check_with_a_photo_has_a_place_to_say_that_it_was_taken(
    cast: Cast, photo: str, there: bool
) -> None:
    assert ("Photo taken" in heads(grid_with(cast, DAILY, photo=photo))) is there


def test_a_sheet_with_points_and_things_fits_its_pages(cast: Cast) -> None:
    grid_with(cast, {**DAILY, "each": "room"}, points=SHELVES, photo="required", before_event="")

    found = text(sheet(cast, "PRP1"))
    assert all(squeezed(shelf) in squeezed(found) for shelf in SHELVES)
    assert squeezed("A photo is required.") in squeezed(found)


def test_the_same_sheet_gives_the_same_bytes(working: Cast) -> None:
    issue = issued(working, "sheet", "1/CCP1")
    assert render_issue(issue) == kept_bytes(issue)


@pytest.mark.parametrize(
    ("subject", "message"),
    [
        ("1/CCP9", "no such check in the plan"),
        ("1/", "no such check in the plan"),
        ("2/CCP1", "no such version of the plan"),
        ("CCP1", "no such version of the plan"),
    ],
)
def test_a_sheet_of_what_is_not_in_the_plan_is_refused(working: Cast, subject: str, message: str) -> None:
    with pytest.raises(BadInput, match=message):
        issued(working, "sheet", subject)


def send(cast: Cast, person: Any, name: str, **typed: str) -> Any:
    with at(cast.dairy, hours(1)):
        return as_person(person).post(address(name), typed)


def test_the_plan_is_printed_with_one_button_and_its_file_opens(working: Cast) -> None:
    sent = send(working, working.maker, "plan_print")
    assert sent["Location"] == address("print_file", 1)
    with at(working.dairy, hours(1)):
        file = as_person(working.inspector).get(sent["Location"])
    assert file["Content-Disposition"] == 'inline; filename="plan-version-1-print-1.pdf"'
    assert file.content == kept_bytes(PrintIssue.objects.of(working.dairy).get())


def test_an_older_version_is_printed_when_it_is_asked_for(working: Cast) -> None:
    with at(working.dairy, hours(0.2)):
        approved(working, demonstration_plan())
    send(working, working.owner, "plan_print", version="1")
    send(working, working.owner, "plan_print")
    assert [i.subject for i in PrintIssue.objects.of(working.dairy).order_by("number")] == ["1", "2"]


def test_a_blank_sheet_is_printed_for_the_check_that_was_chosen(working: Cast) -> None:
    sent = send(working, working.maker, "plan_blank_sheet", control="CCP2")
    assert sent.status_code == 302
    assert PrintIssue.objects.of(working.dairy).get().subject == "1/CCP2"


@pytest.mark.parametrize("name", ["plan_print", "plan_blank_sheet"])
def test_who_may_not_print_prints_nothing(working: Cast, name: str) -> None:
    assert send(working, working.inspector, name, control="CCP1").status_code == 403
    assert send(working, working.stranger, name, control="CCP1").status_code == 404
    assert PrintIssue.objects.of(working.dairy).count() == 0


@pytest.mark.parametrize(
    ("name", "typed", "message"),
    [
        ("plan_print", {"version": "7"}, "There is no such version of the plan to print."),
        ("plan_print", {"version": "two"}, "There is no such version of the plan to print."),
        ("plan_blank_sheet", {"control": "CCP9"}, "There is no such check in the plan to print a sheet for."),
        ("plan_blank_sheet", {}, "There is no such check in the plan to print a sheet for."),
    ],
)
def test_what_cannot_be_printed_is_refused_in_words(
    working: Cast, name: str, typed: dict[str, str], message: str
) -> None:
    answered = send(working, working.owner, name, **typed)
    assert answered.status_code == 422
    assert message in words(answered)


@pytest.mark.parametrize("name", ["plan_print", "plan_blank_sheet"])
def test_before_a_plan_is_approved_there_is_nothing_to_print(cast: Cast, name: str) -> None:
    answered = send(cast, cast.owner, name, control="CCP1")
    assert answered.status_code == 422
    assert "There is no approved plan to print yet." in words(answered)
    assert PlanDraft.objects.of(cast.dairy).count() == 0


def test_the_visit_page_offers_the_plan_first_and_lists_what_was_printed(working: Cast) -> None:
    send(working, working.owner, "plan_print")
    send(working, working.owner, "plan_blank_sheet", control="CCP1")
    with at(working.dairy, hours(1)):
        response = as_person(working.owner).get(address("visit"))
    page = words(response)
    assert page.index("The food-safety plan") < page.index("The record of a lot")
    assert "Plan, version 1" in page
    assert "Blank sheet CCP1, plan version 1" in page
    actions = re.findall(r'<form[^>]*action="([^"]+)"', response.content.decode())
    assert actions.index(address("plan_print")) < actions.index(address("print_issue"))
