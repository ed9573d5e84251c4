"""The page that compares two versions of the plan, or the draft with a version."""

import json
import re
from copy import deepcopy
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test.utils import CaptureQueriesContext

from safetyplan.plans.changes import CHANGED, Change
from safetyplan.plans.comparing import PARTS, grouped
from safetyplan.plans.services import save_draft
from tests.builders import PLAN_FILE, at, hours, plan_in_force
from tests.cast import Cast
from tests.safetyplan.plans.stage import get
from tests.web import entries, text_of

pytestmark = pytest.mark.django_db
PLAN: dict[str, Any] = json.loads(PLAN_FILE.read_text())
LIMIT = (
    "Control CCP2 (Acid at 24 hours): the critical limit was “pH at most 4.60 within 24 h of starter added” "
    "and becomes “pH at most 4.55 within 24 h of starter added”."
)


def tightened(limit: str = "4.55") -> dict[str, Any]:
    """Give the plan with another acid limit."""
    plan = deepcopy(PLAN)
    plan["controls"][1]["limit"]["points"][0]["limit"] = limit
    return plan


def second(cast: Cast, plan: dict[str, Any] | None = None) -> None:
    """Approve the next version."""
    with at(cast.dairy, hours(0.5)):
        plan_in_force(cast, plan or tightened())


def a_draft(cast: Cast, plan: dict[str, Any]) -> None:
    """Write a draft of the next version."""
    with at(cast.dairy, hours(0.7)):
        save_draft(
            establishment=cast.dairy,
            by=cast.owner,
            text=json.dumps(plan),
            reason="The vats run colder",
            revision=None,
        )


def words(response: HttpResponse) -> str:
    """Give the words of a page in one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", text_of(response)).split())


def compared(cast: Cast, query: str = "", who: str = "owner") -> HttpResponse:
    """Open the page."""
    return get(cast, getattr(cast, who), "plan_compare", query=query)


def test_two_versions_that_differ_in_one_limit_read_as_one_sentence(working: Cast) -> None:
    second(working)

    page = words(compared(working, "?old=1&new=2"))

    assert "1 change, in plain words. Controls " + LIMIT in page


def test_the_page_says_who_signed_each_version_and_why(working: Cast) -> None:
    second(working)
    second(working, tightened("4.58"))

    page = words(compared(working, "?old=1&new=3"))

    for number in (1, 2, 3):
        assert f"Version {number} , in force from" in page
    assert page.count("Why: First plan") == 3
    assert page.count("Signed by Owner Person") == 3
    assert "pH at most 4.58" in page


def test_without_a_choice_the_newest_step_of_the_plan_is_shown(working: Cast) -> None:
    second(working)

    assert "Version 1 → Version 2" in words(compared(working))
    a_draft(working, tightened("4.58"))
    assert "Version 2 → Draft" in words(compared(working))


def test_the_draft_can_be_compared_with_any_version(working: Cast) -> None:
    second(working)
    a_draft(working, tightened("4.58"))

    page = words(compared(working, "?old=1&new=draft"))

    assert "becomes “pH at most 4.58 within 24 h of starter added”." in page
    assert "Draft , signed by nobody yet Why: The vats run colder" in page


def test_backwards_is_said(working: Cast) -> None:
    second(working)

    page = words(compared(working, "?old=2&new=1"))

    assert "You compare backwards" in page
    assert "was “pH at most 4.55 within 24 h of starter added” and becomes “pH at most 4.60" in page


def test_the_same_version_twice_and_versions_alike_are_told_apart(working: Cast) -> None:
    second(working, PLAN)

    assert "Both are the same. Choose two." in words(compared(working, "?old=1&new=1"))
    assert "Nothing in the plan differs." in words(compared(working, "?old=1&new=2"))


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("?old=1&new=9", "There is no such version"),
        ("?old=x&new=2", "There is no such version"),
        ("?old=1&new=draft", "There is no draft now"),
        ("?old=1&new=" + "9" * 400, "There is no such version"),
    ],
)
def test_a_version_that_is_not_there_is_refused_in_words(working: Cast, query: str, said: str) -> None:
    second(working)

    response = compared(working, query)

    assert response.status_code == 422
    assert said in words(response)


def test_before_the_first_approval_the_page_leads_to_the_plan(cast: Cast) -> None:
    assert "There is no approved version yet" in words(compared(cast))


@pytest.mark.parametrize("who", ["owner", "maker", "reviewer", "inspector"])
def test_every_member_may_compare(working: Cast, who: str) -> None:
    assert compared(working, who=who).status_code == 200


def test_a_stranger_finds_no_page(working: Cast) -> None:
    assert compared(working, who="stranger").status_code == 404


def test_looking_records_nothing_and_needs_the_same_queries_for_many_versions(working: Cast) -> None:
    second(working)
    before = entries(working.dairy)

    def count() -> int:
        with CaptureQueriesContext(connection) as seen:
            compared(working, "?old=1&new=2")
        return len(seen)

    two = count()
    assert entries(working.dairy) == before
    for limit in ("4.58", "4.57", "4.56"):
        second(working, tightened(limit))
    assert count() == two


def test_the_version_log_links_each_version_to_what_it_changed(working: Cast) -> None:
    second(working)

    page = text_of(get(working, working.owner, "plan"))

    assert "/near/plan/compare/?old=1&amp;new=2" in page
    assert "What changed from version 1" in page


def test_every_part_of_a_change_has_its_heading() -> None:
    found = [Change(CHANGED, "x", "y", "a", "b", part=part) for part, _title in PARTS]

    assert sum(len(changes) for _title, changes in grouped(found)) == len(PARTS)
