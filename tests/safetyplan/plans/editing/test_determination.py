"""Walking a hazard through a decision tree on its screen."""

from typing import Any

import pytest
from django.http import HttpResponse

from safetyplan.plans.decision_tree import CLASSIC, CODEX_2022
from tests.cast import Cast
from tests.safetyplan.plans.editing.hazards_stage import begun, data_of, hazard, hazard_of, revision, send
from tests.safetyplan.plans.stage import get, url
from tests.web import text_of

CCP = {"q1": "no", "q2": "yes", "q3": "no", "q4": "yes"}
WALKED = {"tree": "codex_2022", "answers": CCP}


def answer(cast: Cast, code: str = "H1", **typed: Any) -> HttpResponse:
    """Send answers as the page does."""
    sent = {"revision": revision(cast), "tree": "codex_2022", **typed}
    return send(cast, cast.owner, "plan_determination", code, typed=sent)


def page_of(cast: Cast, code: str = "H1", query: str = "") -> str:
    """Open the page."""
    return text_of(get(cast, cast.owner, "plan_determination", code, query=query))


def one_hazard(cast: Cast, **more: Any) -> None:
    """Begin the plan with one hazard, controlled by the critical control point of its step."""
    begun(cast, hazards=[hazard("H1", "heat", "Spores", **{"where": "this_step", **more})])


def test_at_first_only_the_first_question_is_asked(cast: Cast) -> None:
    one_hazard(cast)

    page = page_of(cast)

    assert str(CODEX_2022.questions[0].text) in page
    assert str(CODEX_2022.questions[1].text) not in page
    assert CODEX_2022.source in page
    assert "Critical control point: CCP1 Heat treatment" in page
    assert 'id="result"' not in page


def test_each_answer_is_kept_and_asks_the_next_question(cast: Cast) -> None:
    one_hazard(cast)

    sent = answer(cast, q1="no")

    page = page_of(cast)
    assert sent.status_code == 302
    assert sent.headers["Location"] == url(cast, "plan_determination", "H1")
    assert hazard_of(cast, "H1")["determination"] == {"tree": "codex_2022", "answers": {"q1": "no"}}
    assert str(CODEX_2022.questions[1].text) in page
    assert str(CODEX_2022.questions[2].text) not in page
    assert "checked" in page.split('name="q1" value="no"')[1].split(">")[0]


def test_the_last_answer_gives_the_result_in_words_beside_what_the_plan_does(cast: Cast) -> None:
    one_hazard(cast)
    for code, given in CCP.items():
        answer(cast, **{key: CCP[key] for key in CCP if key < code}, **{code: given})

    page = page_of(cast)

    assert hazard_of(cast, "H1")["determination"] == WALKED
    assert "This step is a critical control point." in page
    assert "both are critical control points" in page
    assert "state-agrees" in page
    assert "state-differs" not in page
    assert 'name="reason"' not in page


def test_an_answer_can_be_changed_and_answers_of_the_other_way_are_dropped(cast: Cast) -> None:
    one_hazard(cast, where="prerequisite", controlled_by="PRP1", determination=WALKED | {"reason": "Ours."})

    sent = answer(cast, **{**CCP, "q1": "yes"})

    assert sent.status_code == 302
    assert hazard_of(cast, "H1")["determination"] == {"tree": "codex_2022", "answers": {"q1": "yes"}}


def test_a_result_that_contradicts_the_plan_is_shown_and_needs_a_reason(cast: Cast) -> None:
    one_hazard(cast, determination={"tree": "codex_2022", "answers": {"q1": "no"}})

    refused = answer(cast, q1="no", q2="no")
    kept = hazard_of(cast, "H1")["determination"]
    poor = answer(cast, q1="no", q2="no", reason=" - ")
    reasoned = answer(cast, q1="no", q2="no", reason="The inspector asks for it at this step.")

    page = text_of(refused)
    assert refused.status_code == 422
    assert "This step is not a critical control point for this hazard." in page
    assert "The plan does something else" in page
    assert "Critical control point: CCP1 Heat treatment" in page
    assert "Say why, or change one of the two." in page
    assert "optional" not in page.split('for="id_reason"')[1].split("</label>")[0]
    assert "checked" in page.split('name="q2" value="no"')[1].split(">")[0]
    assert kept["answers"] == {"q1": "no"}
    assert poor.status_code == 422
    assert reasoned.status_code == 302
    assert hazard_of(cast, "H1")["determination"] == {
        "tree": "codex_2022",
        "answers": {"q1": "no", "q2": "no"},
        "reason": "The inspector asks for it at this step.",
    }
    assert "The inspector asks for it at this step." in page_of(cast)


CHOICES: list[tuple[dict[str, Any], dict[str, str], bool]] = [
    ({"where": "this_step", "controlled_by": "CCP1"}, CCP, True),
    ({"where": "this_step", "controlled_by": "OPRP1"}, CCP, False),
    ({"where": "prerequisite", "controlled_by": "PRP1"}, CCP, False),
    ({"where": "later_step", "controlled_step": "pack", "controlled_by": "CCP1"}, CCP, False),
    ({"where": "this_step", "controlled_by": "CCP1"}, {"q1": "yes"}, False),
    ({"where": "prerequisite", "controlled_by": "PRP1"}, {"q1": "yes"}, True),
    ({"where": "this_step", "controlled_by": "OPRP1"}, {"q1": "yes"}, True),
    ({"where": "this_step", "controlled_by": "OPRP1"}, {"q1": "no", "q2": "no"}, True),
    ({"where": "this_step", "controlled_by": "CCP1"}, {"q1": "no", "q2": "yes", "q3": "yes"}, False),
    (
        {"where": "later_step", "controlled_step": "pack", "controlled_by": "CCP1"},
        {"q1": "no", "q2": "yes", "q3": "yes"},
        True,
    ),
    (
        {"where": "this_step", "controlled_by": "CCP1"},
        {"q1": "no", "q2": "yes", "q3": "no", "q4": "no"},
        False,
    ),
]


@pytest.mark.parametrize(("choice", "given", "agrees"), CHOICES)
def test_the_screen_and_the_plan_check_agree_on_what_contradicts(
    cast: Cast, choice: dict[str, Any], given: dict[str, str], agrees: bool
) -> None:
    """What each result asks of the plan is the published meaning of the tree (see test_decision_tree)."""
    row = hazard("H1", "heat", "Spores", products=["AA"], **choice)
    begun(cast, hazards=[row])
    sent = answer(cast, **given)
    begun(cast, hazards=[{**row, "determination": {"tree": "codex_2022", "answers": given}}])

    page = page_of(cast)

    assert sent.status_code == (302 if agrees else 422)
    assert ("P040" in page) == (not agrees)
    assert ("state-differs" in page) == (not agrees)
    assert ("state-agrees" in page) == agrees
    assert ('name="reason"' in page) == (not agrees)


def test_the_classic_tree_can_be_chosen_instead_and_takes_the_place_of_the_other(cast: Cast) -> None:
    one_hazard(cast, determination=WALKED)

    page = page_of(cast, query="?tree=classic")
    sent = answer(cast, tree="classic", q1="yes")
    sent_too = answer(cast, tree="classic", q1="yes", q2="yes")

    assert str(CLASSIC.questions[0].text) in page
    assert "answers to the “Codex decision tree of 2022”" in page
    assert CLASSIC.source in page
    assert sent.status_code == sent_too.status_code == 302
    assert hazard_of(cast, "H1")["determination"] == {
        "tree": "classic",
        "answers": {"q1": "yes", "q2": "yes"},
    }


def test_looking_at_another_tree_keeps_the_answers(cast: Cast) -> None:
    one_hazard(cast, determination=WALKED)

    odd = page_of(cast, query="?tree=oak%00")
    page_of(cast, query="?tree=classic")

    assert str(CODEX_2022.questions[3].text) in odd
    assert hazard_of(cast, "H1")["determination"] == WALKED


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({}, "Answer this question: Yes or No."),
        ({"q1": ""}, "Answer this question: Yes or No."),
        ({"q2": "yes"}, "Answer this question: Yes or No."),
        ({"q1": "perhaps"}, "perhaps is not one of the available choices"),
        ({"q1": "x" * 100_000}, "is not one of the available choices"),
        ({"q1": "no\x00"}, "is not one of the available choices"),
        ({"tree": "oak", "q1": "no"}, "Choose one of the two trees."),
        ({"tree": "", "q1": "no"}, "Choose one of the two trees."),
        ({"q1": "no", "reason": "x" * 1001}, "at most 1000 characters"),
        ({"q1": "no", "reason": "a\x00b"}, "Null characters are not allowed."),
        ({"q1": "no", "reason": "a\ufdd0b"}, "cannot be kept"),
    ],
)
def test_what_is_no_answer_is_refused_and_nothing_is_kept(
    cast: Cast, typed: dict[str, Any], message: str
) -> None:
    one_hazard(cast)

    sent = answer(cast, **typed)

    assert sent.status_code == 422
    assert message in text_of(sent)
    assert "determination" not in hazard_of(cast, "H1")
    assert answer(cast, q1="no").status_code == 302


def test_sending_the_answered_questions_again_asks_for_the_open_one(cast: Cast) -> None:
    one_hazard(cast, determination={"tree": "codex_2022", "answers": {"q1": "no"}})

    sent = answer(cast, q1="no")

    assert sent.status_code == 422
    assert "Answer this question: Yes or No." in text_of(sent)


def test_a_draft_that_somebody_changed_meanwhile_keeps_no_answer(cast: Cast) -> None:
    one_hazard(cast)
    stale = revision(cast)
    one_hazard(cast)

    sent = answer(cast, revision=stale, q1="no")

    assert sent.status_code == 409
    assert "Somebody changed the draft meanwhile." in text_of(sent)
    assert "checked" in text_of(sent).split('name="q1" value="no"')[1].split(">")[0]
    assert "determination" not in hazard_of(cast, "H1")


def test_a_hazard_that_is_not_significant_is_told_that_the_trees_are_for_others(cast: Cast) -> None:
    one_hazard(cast, significant=False)

    assert "The trees are made for significant hazards." in page_of(cast)


def test_a_reader_sees_questions_answers_and_result_but_no_form(cast: Cast) -> None:
    one_hazard(cast, determination=WALKED | {"reason": "It is our rule."})

    page = text_of(get(cast, cast.inspector, "plan_determination", "H1"))

    assert 'id="questions"' not in page
    assert str(CODEX_2022.questions[3].text) in page
    assert "This step is a critical control point." in page
    assert "It is our rule." in page


def test_the_analysis_shows_where_plan_and_tree_differ(cast: Cast) -> None:
    one_hazard(cast, determination={"tree": "codex_2022", "answers": {"q1": "yes"}})

    page = text_of(get(cast, cast.owner, "plan_hazards"))

    assert "Differs from its tree" in page
    assert "good hygiene practice controls the hazard" in page
    assert data_of(cast)["hazards"]
