"""The flow of a product: steps added, renamed, moved, branched, removed."""

import json
from typing import Any

import pytest

from safetyplan.plans import document
from safetyplan.plans.document import Product
from safetyplan.plans.editing.flow_data import place_after, take_out, without_way
from tests.cast import Cast
from tests.safetyplan.plans.stage import PLAN, document_of, get, post, revision_of, url, write
from tests.web import text_of


def flow_of(cast: Cast) -> list[dict[str, Any]]:
    """Give the steps in the draft."""
    steps: list[dict[str, Any]] = document_of(cast)["products"][0]["steps"]
    return steps


def names_of(cast: Cast) -> list[str]:
    """Give the codes of the steps in order."""
    return [step["code"] for step in flow_of(cast)]


def step(code: str, *next_steps: str, kind: str = "operation") -> dict[str, Any]:
    """Give a step as the document holds it."""
    return {"code": code, "name": code.title(), "inputs": [], "kind": kind, "next": list(next_steps)}


def product_of(*steps: dict[str, Any]) -> Product:
    """Give a product with these steps."""
    data = json.loads(PLAN)
    data |= {"hazards": [], "controls": [], "verifications": [], "validations": []}
    data["products"][0]["steps"] = list(steps)
    return document.read(data).products[0]


def test_the_steps_stand_in_order_with_their_branches(cast: Cast) -> None:
    data = json.loads(PLAN)
    steps = data["products"][0]["steps"]
    steps[1]["next"] = [steps[2]["code"], steps[4]["code"]]
    write(cast, json.dumps(data))

    page = text_of(get(cast, cast.inspector, "plan_steps", "TF"))

    places = [page.index(f'id="item-{one["code"]}"') for one in steps]
    assert places == sorted(places)
    assert f"leads to {steps[2]['name']} or {steps[4]['name']}" in " ".join(page.split()).replace(
        "</span> ", ""
    )
    assert "Add after" not in page


def test_a_step_is_added_after_another(cast: Cast) -> None:
    write(cast)
    first = names_of(cast)[0]

    answer = post(
        cast,
        cast.owner,
        "plan_step_add",
        "TF",
        query=f"?after={first}",
        revision="1",
        name="Filter the milk",
        kind="inspection",
        inputs="filter sock\nmilk",
        note="a new sock for each milking",
    )

    added = flow_of(cast)[1]
    assert answer["Location"] == url(cast, "plan_steps", "TF")
    assert added == {
        "code": "filter_the_milk",
        "name": "Filter the milk",
        "kind": "inspection",
        "inputs": ["filter sock", "milk"],
        "note": "a new sock for each milking",
    }


def test_a_step_is_added_before_the_first(cast: Cast) -> None:
    write(cast)

    post(
        cast,
        cast.owner,
        "plan_step_add",
        "TF",
        revision="1",
        name="Milking",
        kind="start",
        inputs="",
        note="",
    )

    assert names_of(cast)[0] == "milking"


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"name": " "}, "Give the step a name."),
        ({"kind": "magic"}, "Select a valid choice"),
        ({"name": "x" * 121}, "at most 120 characters"),
        ({"inputs": "x" * 201}, "At most 200 characters"),
    ],
)
def test_a_step_that_cannot_be_taken_is_refused_and_stays(
    cast: Cast, typed: dict[str, str], message: str
) -> None:
    write(cast)
    whole = {"revision": "1", "name": "Filter", "kind": "operation", "inputs": "sock", "note": "keep this"}

    answer = post(cast, cast.owner, "plan_step_add", "TF", **{**whole, **typed})

    assert answer.status_code == 422
    assert message in text_of(answer)
    assert "keep this" in text_of(answer)
    assert revision_of(cast) == "1"


def test_a_renamed_step_keeps_its_code_so_that_hazards_still_find_it(cast: Cast) -> None:
    write(cast)
    code = names_of(cast)[0]

    post(
        cast,
        cast.owner,
        "plan_step",
        "TF",
        code,
        revision="1",
        name="Milk comes in",
        kind="start",
        inputs="milk",
        note="",
    )

    assert (flow_of(cast)[0]["code"], flow_of(cast)[0]["name"]) == (code, "Milk comes in")


def test_a_step_leads_to_several_and_to_none_chosen_means_the_next(cast: Cast) -> None:
    write(cast)
    codes = names_of(cast)
    whole = {"name": "Milk", "kind": "operation", "inputs": "", "note": ""}

    post(cast, cast.owner, "plan_step", "TF", codes[0], revision="1", next=[codes[1], codes[3]], **whole)
    branched = document.read(document_of(cast)).products[0]
    post(cast, cast.owner, "plan_step", "TF", codes[0], revision="2", **whole)
    plain = document.read(document_of(cast)).products[0]

    assert branched.follows(branched.steps[0]) == (codes[1], codes[3])
    assert plain.follows(plain.steps[0]) == (codes[1],)


@pytest.mark.parametrize("wrong", ["itself", "nowhere"])
def test_a_step_leads_neither_to_itself_nor_to_what_is_not_there(cast: Cast, wrong: str) -> None:
    write(cast)
    code = names_of(cast)[0]

    answer = post(
        cast,
        cast.owner,
        "plan_step",
        "TF",
        code,
        revision="1",
        name="Milk",
        kind="operation",
        inputs="",
        note="",
        next=[code if wrong == "itself" else "gone"],
    )

    assert answer.status_code == 422
    assert "Select a valid choice" in text_of(answer)


def test_nothing_follows_an_end(cast: Cast) -> None:
    write(cast)
    codes = names_of(cast)

    answer = post(
        cast,
        cast.owner,
        "plan_step",
        "TF",
        codes[0],
        revision="1",
        name="Milk",
        kind="end",
        inputs="",
        note="",
        next=[codes[1]],
    )

    assert answer.status_code == 422
    assert "Nothing follows an end" in text_of(answer)
    assert revision_of(cast) == "1"


def test_a_step_moves_up_and_down(cast: Cast) -> None:
    write(cast)
    codes = names_of(cast)

    down = post(cast, cast.owner, "plan_steps", "TF", revision="1", down=codes[0])
    moved = names_of(cast)
    post(cast, cast.owner, "plan_steps", "TF", revision="2", up=codes[0])

    assert moved[:2] == [codes[1], codes[0]]
    assert names_of(cast) == codes
    assert down["Location"] == url(cast, "plan_steps", "TF") + f"#item-{codes[0]}"


def test_the_first_step_moved_up_stays(cast: Cast) -> None:
    write(cast)
    codes = names_of(cast)

    post(cast, cast.owner, "plan_steps", "TF", revision="1", up=codes[0])

    assert names_of(cast) == codes


@pytest.mark.parametrize("typed", [{}, {"up": "gone"}, {"sideways": "heat"}])
def test_a_move_of_nothing_is_refused(cast: Cast, typed: dict[str, str]) -> None:
    write(cast)

    answer = post(cast, cast.owner, "plan_steps", "TF", revision="1", **typed)

    assert answer.status_code in (409, 422)
    assert "Choose what is moved" in text_of(answer)
    assert revision_of(cast) == "1"


def test_a_move_upon_a_draft_that_changed_is_refused(cast: Cast) -> None:
    write(cast)
    write(cast)

    answer = post(cast, cast.owner, "plan_steps", "TF", revision="1", down=names_of(cast)[0])

    assert answer.status_code == 409
    assert "Somebody changed the draft meanwhile." in text_of(answer)


def test_a_step_that_a_hazard_or_control_names_is_kept(cast: Cast) -> None:
    write(cast)
    named = document_of(cast)["controls"][0]["step"]

    asked = text_of(get(cast, cast.owner, "plan_step_remove", "TF", named))
    answer = post(cast, cast.owner, "plan_step_remove", "TF", named, revision="1")

    assert "Remove it from the draft" not in asked
    assert answer.status_code == 409
    assert "is still named by" in text_of(answer)
    assert named in names_of(cast)


def test_a_step_to_which_a_hazard_is_carried_is_kept(cast: Cast) -> None:
    data = json.loads(PLAN)
    data["products"][0]["steps"].append(step("rest"))
    data["hazards"][0] |= {"where": "later_step", "controlled_step": "rest"}
    write(cast, json.dumps(data))

    answer = post(cast, cast.owner, "plan_step_remove", "TF", "rest", revision="1")

    assert answer.status_code == 409
    assert data["hazards"][0]["code"] in text_of(answer)


def test_a_step_that_nothing_names_is_removed(cast: Cast) -> None:
    data = json.loads(PLAN)
    data["products"][0]["steps"].append(step("rest"))
    write(cast, json.dumps(data))

    answer = post(cast, cast.owner, "plan_step_remove", "TF", "rest", revision="1")

    assert answer.status_code == 302
    assert "rest" not in names_of(cast)


def test_a_step_after_one_that_names_its_follower_stands_between_the_two() -> None:
    steps = [step("a", "c"), step("b"), step("c")]

    place_after(steps, "a", step("n"))

    product = product_of(*steps)
    assert product.follows(product.steps[0]) == ("n",)
    assert product.follows(product.steps[1]) == ("c",)


def test_a_step_after_a_branch_is_one_more_branch() -> None:
    steps = [step("a", "b", "c"), step("b"), step("c")]

    place_after(steps, "a", step("n"))

    product = product_of(*steps)
    assert product.follows(product.steps[0]) == ("b", "c", "n")


@pytest.mark.parametrize(
    ("steps", "gone", "after"),
    [
        ([step("a", "c"), step("b"), step("c"), step("d")], "c", [("a", ["d"]), ("b", []), ("d", [])]),
        (
            [step("a", "b", "c"), step("b", "d"), step("c"), step("d")],
            "b",
            [("a", ["d", "c"]), ("c", []), ("d", [])],
        ),
        ([step("a", "b", "c"), step("b", "c"), step("c")], "b", [("a", ["c"]), ("c", [])]),
        ([step("a"), step("b", "a"), step("c")], "a", [("b", []), ("c", [])]),
        ([step("a", "e"), step("b"), step("e", kind="end")], "e", [("a", []), ("b", [])]),
    ],
)
def test_what_led_to_a_removed_step_leads_to_what_followed_it(
    steps: list[dict[str, Any]], gone: str, after: list[tuple[str, list[str]]]
) -> None:
    left = take_out(steps, gone)

    assert [(one["code"], one["next"]) for one in left] == after


def test_a_step_that_no_way_leads_to_is_pointed_out(cast: Cast) -> None:
    steps = [step("a", "c"), step("b"), step("c"), step("whey", kind="start")]
    data = json.loads(PLAN)
    data |= {"hazards": [], "controls": [], "verifications": [], "validations": []}
    data["products"][0]["steps"] = steps
    write(cast, json.dumps(data))

    page = text_of(get(cast, cast.owner, "plan_steps", "TF"))

    assert without_way(product_of(*steps)) == {"b"}
    assert page.count("No step leads here.") == 1


@pytest.mark.parametrize("name", ["plan_step", "plan_step_remove"])
def test_a_step_that_is_not_there_is_not_found(cast: Cast, name: str) -> None:
    write(cast)

    assert get(cast, cast.owner, name, "TF", "gone").status_code == 404
    assert get(cast, cast.owner, "plan_step_add", "TF", query="?after=gone").status_code == 404


@pytest.mark.parametrize(("who", "status"), [("maker", 403), ("inspector", 403), ("stranger", 404)])
def test_who_is_not_qualified_changes_no_step(cast: Cast, who: str, status: int) -> None:
    write(cast)
    code = names_of(cast)[0]

    answers = [
        post(cast, getattr(cast, who), "plan_steps", "TF", revision="1", down=code),
        post(cast, getattr(cast, who), "plan_step", "TF", code, revision="1", name="x"),
        post(cast, getattr(cast, who), "plan_step_add", "TF", revision="1", name="x"),
        post(cast, getattr(cast, who), "plan_step_remove", "TF", code, revision="1"),
    ]

    assert {answer.status_code for answer in answers} == {status}
    assert revision_of(cast) == "1"
