"""The overview of the draft: what is left part by part, where each finding is mended, the approval."""

import json
from datetime import UTC, datetime
from typing import Any

import pytest

from safetyplan.plans import plan_check
from safetyplan.plans.document import read
from safetyplan.plans.editing.frame import PARTS
from safetyplan.plans.editing.places import MENDED, SCREENS, address, place_of
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.plan_check import Finding
from safetyplan.reference.model_plans import instantiate, model_plans
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
from tests.web import text_of


def washed() -> dict[str, Any]:
    """Give the draft that a new user has after the first page."""
    return instantiate(model_plans()["washed_rind"], profile="gb", code="TW", name="Tarrow Washed")


def with_a_warning() -> str:
    """Give the plan with a shelf life for which nothing speaks."""
    data = json.loads(PLAN)
    data["products"][0]["shelf_life_evidence"] = ""
    return json.dumps(data)


def test_every_rule_of_the_plan_check_has_a_place_where_it_is_mended() -> None:
    assert set(MENDED) == {rule.id for rule in plan_check.rules_list()}


def test_every_place_belongs_to_a_part_of_the_editor() -> None:
    parts = {name for name, _title in PARTS}
    named = {name for names in MENDED.values() for name in names}

    assert {SCREENS[name].part if name in SCREENS else name for name in named} <= parts


@pytest.mark.parametrize(
    ("id", "where", "place"),
    [
        ("P001", "products", ("plan_products",)),
        ("P005", "CCP1", ("plan_control", "CCP1")),
        ("P005", "HAZARD", ("plan_hazard", "HAZARD")),
        ("P015", "CCP2", ("plan_limit", "CCP2")),
        ("P018", "limit:CCP1", ("plan_confirm",)),
        ("P027", "TW", ("plan_product", "TW")),
        ("P028", "recall", ("plan_recall",)),
        ("P039", "HAZARD", ("plan_determination", "HAZARD")),
        ("P044", "hazards", ("plan_hazards",)),
        ("P045", "legal:review_days", ("plan_parameter", "review_days")),
        ("P046", "TW", ("plan_steps", "TW")),
        ("P002", "gone", ("plan_hazards",)),
        ("P999", "anything", ("plan_text",)),
    ],
)
def test_a_finding_leads_to_the_screen_where_it_is_mended(
    id: str, where: str, place: tuple[str, ...]
) -> None:
    data = washed()
    data["hazards"][0]["code"] = "HAZARD"

    assert place_of(Finding(id, "error", where, ""), read(data)) == place


def test_a_code_that_fits_into_no_address_has_none_and_breaks_no_page(cast: Cast) -> None:
    data = washed()
    data["products"][0]["code"] = "T/W"
    for item in (*data["hazards"], *data["controls"]):
        item["products"] = ["T/W" if code == "TW" else code for code in item["products"]]
    write(cast, json.dumps(data))

    assert address("near", "plan_product", "T/W") == ""
    for page in ("plan_draft", "plan_products"):
        assert get(cast, cast.owner, page).status_code == 200


def test_the_overview_counts_what_is_left_in_each_part(cast: Cast) -> None:
    write(cast, json.dumps(washed()))
    found = plan_check.check(read(washed()))
    figures = sum(finding.id == "P018" for finding in found)

    page = text_of(get(cast, cast.owner, "plan_draft"))

    assert f"Confirm {figures} figures, each on its source." in page
    assert "Sign the table of operating targets." in page
    assert "Walk the process and confirm its flow." in page
    assert "Set the limit that is still open." in page
    errors = sum(finding.level == "error" for finding in found)
    assert f"until the {errors} findings marked" in page
    for name, title in PARTS[1:-1]:
        assert f'<a href="{address(cast.dairy.slug, name)}">{title}</a>' in page


def test_the_next_step_is_the_first_finding_that_blocks_approval(cast: Cast) -> None:
    data = washed()
    data["products"][0]["label"] = "nothing"
    write(cast, json.dumps(data))

    page = text_of(get(cast, cast.owner, "plan_draft"))

    step = page.split('class="next-step"')[1].split("</div>")[0]
    assert "Next step" in step
    assert f'href="{url(cast, "plan_product", "TW")}"' in step


def test_the_overview_lists_every_rule(cast: Cast) -> None:
    write(cast)

    page = text_of(get(cast, cast.inspector, "plan_draft"))

    for rule in plan_check.rules_list():
        assert f"<dt>{rule.id} " in page


def test_without_a_draft_the_overview_leads_to_the_beginning(cast: Cast) -> None:
    owner = text_of(get(cast, cast.owner, "plan_draft"))
    maker = text_of(get(cast, cast.maker, "plan_draft"))

    assert url(cast, "plan_begin") in owner
    assert url(cast, "plan_begin") not in maker
    assert url(cast, "plan_hazards") not in owner


def test_approval_is_not_offered_while_something_blocks_it(cast: Cast) -> None:
    draft = write(cast)

    page = text_of(get(cast, cast.owner, "plan_draft"))
    answer = post(cast, cast.owner, "plan_approve", **signed(draft))

    assert 'action="' + url(cast, "plan_approve") not in page
    assert answer.status_code == 409
    assert "The plan cannot be approved yet" in text_of(answer)
    assert not PlanApproved.objects.of(cast.dairy).exists()


def test_when_all_is_confirmed_the_plan_can_be_approved(cast: Cast) -> None:
    draft = confirmed(cast)

    page = text_of(get(cast, cast.owner, "plan_draft"))
    answer = post(cast, cast.owner, "plan_approve", **signed(draft))

    assert "Nothing blocks approval." in page
    assert 'action="' + url(cast, "plan_approve") in page
    assert "Why the warnings are accepted" not in page
    assert answer.status_code == 302
    assert draft_of(cast) is None


def test_a_reason_for_the_warnings_is_asked_only_where_there_are_some(cast: Cast) -> None:
    draft = confirmed(cast, with_a_warning())
    page = text_of(get(cast, cast.owner, "plan_draft"))

    refused = post(cast, cast.owner, "plan_approve", **signed(draft))
    taken = post(cast, cast.owner, "plan_approve", **signed(draft, warnings_reason="Tests end in July"))

    assert "Why the warnings are accepted" in page
    assert "One warning is left." in page
    assert refused.status_code == 422
    assert "Give a reason for the warnings you accept." in text_of(refused)
    assert taken.status_code == 302
    assert PlanApproved.objects.of(cast.dairy).get().warnings_reason == "Tests end in July"


def test_a_plan_takes_effect_at_the_stated_time_of_the_dairy(cast: Cast) -> None:
    draft = confirmed(cast)

    answer = post(
        cast,
        cast.owner,
        "plan_approve",
        **signed(draft, takes_effect="at", from_date="2026-05-18", from_time="06:00"),
    )

    version = PlanApproved.objects.of(cast.dairy).get()
    assert version.in_force_from == datetime(2026, 5, 18, 5, 0, tzinfo=UTC)  # Dublin is an hour ahead in May
    assert answer["Location"] == url(cast, "plan_version", 1)
    assert "Version 1 is approved and takes effect on 2026-05-18 06:00." in text_of(
        get(cast, cast.owner, "plan")
    )


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"from_date": ""}, "Give the day from which it holds."),
        ({"from_time": ""}, "Give the time from which it holds."),
        ({"from_date": "18.5.2026"}, "year-month-day"),
        ({"from_time": "6 am"}, "24"),
        ({"from_date": "2026-02-30"}, "2026-02-30"),
        ({"from_date": "2026-05-14", "from_time": "08:59"}, "A plan cannot take effect in the past."),
        ({"from_date": "2027-05-16"}, "A plan takes effect within a year of being signed."),
        ({"from_date": "9999-01-01"}, "year"),
        ({"takes_effect": "someday"}, "Select a valid choice"),
        ({"capacity": ""}, "Say as whom you sign."),
        ({"capacity": "king"}, "Select a valid choice"),
        ({"password": "wrong"}, "The password does not match. Nothing was signed."),
    ],
)
def test_an_approval_that_cannot_be_taken_keeps_everything_typed(
    cast: Cast, changed: dict[str, str], message: str
) -> None:
    draft = confirmed(cast, with_a_warning())
    typed = signed(
        draft,
        reason="A new press",
        warnings_reason="Tests end in July",
        takes_effect="at",
        from_date="2026-05-18",
        from_time="06:00",
        capacity="operator",
    )

    answer = post(cast, cast.owner, "plan_approve", **{**typed, **changed})

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert "A new press" in page
    assert "Tests end in July" in page
    if "takes_effect" not in changed:
        assert 'value="at"' in page.split(" checked")[0].rsplit("<input", 1)[1]
    if "from_time" not in changed:
        assert 'value="06:00"' in page
    assert "curd-and-whey-9" not in page
    assert not PlanApproved.objects.of(cast.dairy).exists()


@pytest.mark.parametrize(
    ("capacity", "words"),
    [("owner", "the owner"), ("operator", "the operator"), ("agent", "the agent in charge")],
)
def test_the_signature_says_as_whom_it_was_given(cast: Cast, capacity: str, words: str) -> None:
    """Owner, operator or agent in charge: 21 CFR 117.310."""
    draft = confirmed(cast)

    post(cast, cast.owner, "plan_approve", **signed(draft, capacity=capacity))

    meaning = PlanApproved.objects.of(cast.dairy).get().signed_meaning
    assert meaning == f"Approves the food-safety plan, as {words}"
    assert meaning in text_of(get(cast, cast.inspector, "plan"))


def test_an_hour_that_comes_twice_is_asked_about(cast: Cast) -> None:
    """On 25 October 2026 the clocks of Dublin go back from 02:00 to 01:00 (IANA tz data)."""
    draft = confirmed(cast)
    typed = signed(draft, takes_effect="at", from_date="2026-10-25", from_time="01:30")

    asked = post(cast, cast.owner, "plan_approve", **typed)
    taken = post(cast, cast.owner, "plan_approve", **typed, from_time_offer="1")

    assert asked.status_code == 422
    assert 'name="from_time_offer"' in text_of(asked)
    assert taken.status_code == 302
    begins = PlanApproved.objects.of(cast.dairy).get().in_force_from
    assert begins == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


def test_who_prepared_the_draft_stands_beside_the_signature(cast: Cast) -> None:
    write(cast)

    page = text_of(get(cast, cast.owner, "plan_draft"))

    assert "Prepared by Owner Person (qualified individual)." in page


def test_the_differences_to_the_newest_version_are_shown(working: Cast) -> None:
    write(working, changed_plan(title="Second plan"))

    page = text_of(get(working, working.inspector, "plan_draft"))

    assert "What changes from the newest version" in page
    assert "Second plan" in page
    assert "The responsible person signs it." in page


@pytest.mark.parametrize("name", ["plan_begin", "plan_draft", "plan_text"])
def test_reading_changes_nothing(cast: Cast, name: str) -> None:
    draft = write(cast)

    get(cast, cast.owner, name)

    present = draft_of(cast)
    assert present is not None
    assert (present.revision, present.text) == (draft.revision, draft.text)


def test_the_overview_takes_no_text(cast: Cast) -> None:
    assert post(cast, cast.owner, "plan_draft", text=PLAN).status_code == 405
    assert draft_of(cast) is None
