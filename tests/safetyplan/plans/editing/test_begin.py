"""Beginning a plan: from a model plan, from nothing, as a revision; one more product for the draft."""

import json
from typing import Any

import pytest

from safetyplan.establishments.services import Details, change_details
from safetyplan.plans import document
from safetyplan.plans.editing.codes import code_from, product_code
from safetyplan.plans.models import PlanDraft
from safetyplan.reference.model_plans import model_plans
from safetyplan.reference.profiles import profiles
from tests.builders import at, hours
from tests.cast import Cast
from tests.safetyplan.plans.stage import (
    document_of,
    draft_of,
    get,
    post,
    revision_of,
    url,
    write,
)
from tests.web import entries, text_of

WASHED: dict[str, Any] = {
    "family": "washed_rind",
    "name": "Tarrow Washed",
    "code": "",
    "profile": "gb",
    "title": "Food-safety plan of Near Test Dairy",
}


def test_a_draft_is_made_from_a_model_plan(cast: Cast) -> None:
    answer = post(cast, cast.owner, "plan_begin", **WASHED)

    made = document_of(cast)
    assert answer.status_code == 302
    assert answer["Location"] == url(cast, "plan_draft")
    assert [(p["code"], p["name"]) for p in made["products"]] == [("TW", "Tarrow Washed")]
    assert made["profile"]["code"] == "gb"
    assert made["title"] == "Food-safety plan of Near Test Dairy"
    assert made["schema"] == 2
    assert "XX" not in json.dumps([item["products"] for item in (*made["hazards"], *made["controls"])])


def test_beginning_is_no_record(cast: Cast) -> None:
    before = entries(cast.dairy)

    post(cast, cast.owner, "plan_begin", **WASHED)

    assert entries(cast.dairy) == before


def test_an_empty_plan_holds_the_product_and_the_figures_of_the_profile(cast: Cast) -> None:
    post(cast, cast.owner, "plan_begin", **WASHED | {"family": "empty", "code": "W1"})

    plan = document.read(document_of(cast))
    assert [(p.code, p.name, p.steps) for p in plan.products] == [("W1", "Tarrow Washed", ())]
    assert plan.hazards == ()
    assert plan.controls == ()
    assert plan.profile is not None
    assert len(plan.profile.parameters) == len(profiles()["gb"].parameters)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"family": ""}, "Choose a model plan, or an empty plan."),
        ({"family": "smoked"}, "Select a valid choice"),
        ({"name": "  "}, "Give the product its name."),
        ({"name": "x" * 121}, "at most 120 characters"),
        ({"code": "T/W"}, "A short code has letters, digits, - and _ only"),
        ({"code": "T W"}, "A short code has letters, digits, - and _ only"),
        ({"profile": ""}, "Choose whose rules apply to you."),
        ({"profile": "moon"}, "Select a valid choice"),
        ({"title": ""}, "Give the plan a title."),
        ({"title": "a\x00b"}, "Null characters are not allowed"),
    ],
)
def test_what_is_missing_is_asked_for_and_what_was_typed_stays(
    cast: Cast, wrong: dict[str, str], message: str
) -> None:
    typed = {**WASHED, **wrong}

    answer = post(cast, cast.owner, "plan_begin", **typed)

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert "name" in wrong or 'value="Tarrow Washed"' in page
    assert draft_of(cast) is None
    assert post(cast, cast.owner, "plan_begin", **WASHED).status_code == 302


def test_the_page_says_what_a_model_plan_is_not(cast: Cast) -> None:
    page = text_of(get(cast, cast.owner, "plan_begin"))

    assert "A model plan is a draft to be worked through." in page
    assert "It is not validated." in page
    assert "your local regulator has the last word" in page
    for model in model_plans().values():
        assert f'value="{model.family}"' in page


@pytest.mark.parametrize(("named", "chosen"), [("nz", "nz"), ("our own rules", "")])
def test_the_rules_named_for_the_establishment_are_chosen_beforehand(
    cast: Cast, named: str, chosen: str
) -> None:
    with at(cast.dairy, hours(0.1)):
        change_details(
            establishment=cast.dairy,
            by=cast.owner,
            details=Details("Near Test Dairy", "1 Test Lane", "Europe/Dublin", regulatory_profile=named),
        )

    page = text_of(get(cast, cast.owner, "plan_begin"))

    assert f'<option value="{chosen}" selected>' in page
    assert 'value="Food-safety plan of Near Test Dairy"' in page


def test_a_draft_that_is_there_is_not_overwritten(cast: Cast) -> None:
    write(cast)
    before = document_of(cast)

    answer = post(cast, cast.owner, "plan_begin", **WASHED)

    page = text_of(answer)
    assert answer.status_code == 409
    assert "There is a draft already." in page
    assert 'value="Tarrow Washed"' in page
    assert document_of(cast) == before


def test_an_approved_plan_is_revised_rather_than_begun_anew(working: Cast) -> None:
    page = text_of(get(working, working.owner, "plan_begin"))

    assert "Begin a revision" in page
    assert url(working, "plan_revise") in page


def test_a_product_is_added_to_the_draft_from_a_model_plan(cast: Cast) -> None:
    write(cast)
    before = document_of(cast)

    answer = post(
        cast,
        cast.owner,
        "plan_begin",
        revision=revision_of(cast),
        family="washed_rind",
        name="Tarrow Washed",
        code="",
    )

    after = document_of(cast)
    assert answer.status_code == 302
    assert [p["code"] for p in after["products"]] == [*(p["code"] for p in before["products"]), "TW"]
    assert len(after["hazards"]) > len(before["hazards"])
    assert document.read(after).product("TW").name == "Tarrow Washed"


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"family": ""}, "Choose a model plan."),
        ({"family": "empty"}, "Select a valid choice"),
        ({"code": "TF"}, "Another product has this code already."),
        ({"name": ""}, "Give the product its name."),
    ],
)
def test_a_product_that_cannot_be_added_is_refused(cast: Cast, wrong: dict[str, str], message: str) -> None:
    write(cast)
    before = document_of(cast)
    typed = {"revision": revision_of(cast), "family": "washed_rind", "name": "Tarrow Washed", "code": ""}

    answer = post(cast, cast.owner, "plan_begin", **{**typed, **wrong})

    assert answer.status_code == 422
    assert message in text_of(answer)
    assert document_of(cast) == before


def test_a_product_for_a_draft_that_changed_meanwhile_is_refused_and_stays_typed(cast: Cast) -> None:
    seen = str(write(cast).revision)
    write(cast)

    answer = post(
        cast, cast.owner, "plan_begin", revision=seen, family="washed_rind", name="Tarrow Washed", code=""
    )

    page = text_of(answer)
    assert answer.status_code == 409
    assert "Somebody changed the draft meanwhile." in page
    assert 'value="Tarrow Washed"' in page
    assert f'name="revision" value="{revision_of(cast)}"' in page


@pytest.mark.parametrize(
    ("who", "status"),
    [("owner", 302), ("maker", 403), ("reviewer", 403), ("inspector", 403), ("stranger", 404)],
)
def test_a_qualified_individual_begins_the_plan(cast: Cast, who: str, status: int) -> None:
    answer = post(cast, getattr(cast, who), "plan_begin", **WASHED)

    assert answer.status_code == status
    assert PlanDraft.objects.of(cast.dairy).exists() is (who == "owner")


def test_who_may_not_begin_sees_who_does(cast: Cast) -> None:
    page = text_of(get(cast, cast.maker, "plan_begin"))

    assert "A qualified individual begins the plan." in page
    assert "Make the draft" not in page


@pytest.mark.parametrize(
    ("name", "taken", "code"),
    [
        ("Tarrow Washed", (), "TW"),
        ("Tarrow Washed", ("TW",), "TW2"),
        ("Écume", (), "ECU"),
        ("乳酪", (), "P"),
        ("One Two Three Four Five", (), "OTTF"),
    ],
)
def test_the_code_of_a_product_is_made_from_its_name(name: str, taken: tuple[str, ...], code: str) -> None:
    assert product_code(name, taken) == code


@pytest.mark.parametrize(
    ("name", "taken", "code"),
    [
        ("Starter added", (), "starter_added"),
        ("Starter added", ("starter_added",), "starter_added_2"),
        ("Brühen & kühlen", (), "bruhen_kuhlen"),
        ("…", (), "step"),
    ],
)
def test_the_code_of_a_step_is_made_from_its_name(name: str, taken: tuple[str, ...], code: str) -> None:
    assert code_from(name, taken, "step") == code
