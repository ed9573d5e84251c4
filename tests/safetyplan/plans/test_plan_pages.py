"""Reading the plan, writing the draft, revising it."""

import json

import pytest

from safetyplan.plans.services import revise
from tests.builders import at, hours
from tests.cast import Cast
from tests.safetyplan.plans.stage import (
    PLAN,
    changed_plan,
    confirmed,
    draft_of,
    get,
    post,
    signed,
    url,
    write,
)
from tests.web import entries, text_of


@pytest.mark.parametrize("who", ["owner", "maker", "reviewer", "inspector"])
def test_everybody_of_the_dairy_reads_the_plan(working: Cast, who: str) -> None:
    page = text_of(get(working, getattr(working, who), "plan"))

    assert "pH at most 4.60 within 24 h" in page
    assert "Staphylococcus aureus toxin" in page
    assert "Toxin forms while acid develops slowly" in page
    assert "Tag and hold the whole lot, keep it cold" in page
    assert "Approves the food-safety plan: Owner Person" in page


def test_the_plan_shows_the_steps_in_order_with_their_controls(working: Cast) -> None:
    page = text_of(get(working, working.inspector, "plan"))

    flow = page.split('<ol class="flow">')[1].split("</ol>")[0]
    assert (
        flow.index("Milk receipt") < flow.index("OPRP3") < flow.index("Heat treatment") < flow.index("CCP1")
    )


def test_before_the_first_plan_the_page_says_what_to_do(cast: Cast) -> None:
    page = text_of(get(cast, cast.owner, "plan"))

    assert "There is no approved plan yet." in page
    assert url(cast, "plan_begin") in page


def test_an_older_version_is_shown_as_superseded(working: Cast) -> None:
    draft = confirmed(working, changed_plan(title="Second plan"))
    post(working, working.owner, "plan_approve", **signed(draft, reason="Better title"))

    old = text_of(get(working, working.inspector, "plan_version", 1))
    new = text_of(get(working, working.inspector, "plan_version", 2))

    assert "This version is not the one in force." in old
    assert "state-superseded" in old
    assert "state-approved" in new
    assert "Second plan" in new


@pytest.mark.parametrize("number", [0, 9, 10**30])
def test_a_version_that_does_not_exist_is_not_found(working: Cast, number: int) -> None:
    assert get(working, working.inspector, "plan_version", number).status_code == 404


@pytest.mark.parametrize("name", ["plan", "plan_draft"])
def test_a_stranger_is_told_nothing_and_reading_writes_nothing(working: Cast, name: str) -> None:
    before = entries(working.dairy)

    stranger = get(working, working.stranger, name)
    owner = get(working, working.owner, name)

    assert [stranger.status_code, owner.status_code] == [404, 200]
    assert entries(working.dairy) == before
    assert draft_of(working) is None


@pytest.mark.parametrize(
    ("name", "allowed"),
    [("plan_text", {"owner"}), ("plan_approve", {"owner"}), ("plan_revise", {"owner"})],
)
@pytest.mark.parametrize("who", ["owner", "maker", "reviewer", "inspector", "stranger"])
def test_the_plan_is_written_by_those_whose_role_allows(
    working: Cast, name: str, allowed: set[str], who: str
) -> None:
    write(working)

    answer = post(working, getattr(working, who), name)

    expected = 404 if who == "stranger" else 403
    assert (answer.status_code == expected) is (who not in allowed)


def test_who_may_not_write_reads_the_draft(working: Cast) -> None:
    write(working, changed_plan(title="Second plan"))

    page = text_of(get(working, working.maker, "plan_draft"))

    assert "Second plan" in page
    assert "The responsible person signs it." in page
    assert "Sign and approve" not in page


def test_a_revision_begins_as_a_copy_and_shows_what_changes(working: Cast) -> None:
    begun = post(working, working.owner, "plan_revise")
    unchanged = text_of(get(working, working.owner, "plan_draft"))
    document = json.loads(PLAN)
    document["controls"][1]["limit"]["points"][0] |= {"limit": "4.55", "target": "4.45"}
    write(working, json.dumps(document))

    changed = text_of(get(working, working.owner, "plan_draft"))

    assert begun.status_code == 302
    assert "Nothing changes." in unchanged
    assert "Control CCP2 (Acid at 24 hours)" in changed
    assert "pH at most 4.55" in changed


def test_a_second_revision_beside_a_draft_is_refused(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        revise(establishment=working.dairy, by=working.owner)

    answer = post(working, working.owner, "plan_revise")

    assert answer.status_code == 409
    assert "There is a draft already." in text_of(answer)


def test_nothing_can_be_revised_before_the_first_version(cast: Cast) -> None:
    answer = post(cast, cast.owner, "plan_revise")

    assert answer.status_code == 409
    assert "There is no approved version to revise yet." in text_of(answer)
