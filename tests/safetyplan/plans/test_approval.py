"""Approving the plan with a signature; an approved version stays as it is."""

import json

import pytest
from django.db import DatabaseError, transaction

from safetyplan.integrity.models import SignatureProof
from safetyplan.plans.models import PlanApproved
from tests.builders import hours
from tests.cast import Cast
from tests.safetyplan.plans.stage import PLAN, changed_plan, confirmed, get, post, signed, url
from tests.web import text_of


def test_the_first_plan_leads_to_what_is_due_today(cast: Cast) -> None:
    draft = confirmed(cast)

    answer = post(cast, cast.owner, "plan_approve", **signed(draft))

    version = PlanApproved.objects.of(cast.dairy).get()
    assert answer.status_code == 302
    assert answer["Location"] == url(cast, "today")
    assert version.signed_name == "Owner Person"
    assert version.in_force_from == hours(1)


def test_a_later_version_leads_to_the_plan(working: Cast) -> None:
    draft = confirmed(working, changed_plan(title="Second plan"))

    answer = post(working, working.owner, "plan_approve", **signed(draft))

    assert answer["Location"] == url(working, "plan")
    assert "Second plan" in text_of(get(working, working.maker, "plan"))


@pytest.mark.parametrize(
    ("changed", "status", "message"),
    [
        ({"password": "wrong"}, 422, "The password does not match. Nothing was signed."),
        ({"reason": ""}, 422, "Say why the plan is made or changed."),
        ({"revision": "7"}, 409, "The draft is not the one you read."),
        ({"revision": ""}, 409, "The draft is not the one you read."),
        ({"reason": "x" * 501}, 422, "at most 500 characters"),
    ],
)
def test_an_approval_that_lacks_something_is_refused(
    cast: Cast, changed: dict[str, str], status: int, message: str
) -> None:
    draft = confirmed(cast)
    typed = signed(draft, **changed)

    answer = post(cast, cast.owner, "plan_approve", **typed)

    page = text_of(answer)
    assert answer.status_code == status
    assert message in page
    assert typed["reason"] in page
    assert not PlanApproved.objects.of(cast.dairy).exists()
    assert post(cast, cast.owner, "plan_approve", **signed(draft)).status_code == 302


def test_a_refused_approval_leaves_no_proof_behind(cast: Cast) -> None:
    draft = confirmed(cast)

    post(cast, cast.owner, "plan_approve", **signed(draft, reason=""))

    assert not SignatureProof.objects.filter(used_at__isnull=True).exists()


def test_warnings_are_accepted_with_a_reason(cast: Cast) -> None:
    document = json.loads(PLAN)
    document["products"][0]["shelf_life_evidence"] = ""
    draft = confirmed(cast, json.dumps(document))

    refused = post(cast, cast.owner, "plan_approve", **signed(draft))
    taken = post(
        cast, cast.owner, "plan_approve", **signed(draft), warnings_reason="Only aged cheese is repacked here"
    )

    assert refused.status_code == 422
    assert "Give a reason for the warnings you accept." in text_of(refused)
    assert taken.status_code == 302


def test_an_approval_sent_twice_approves_once(cast: Cast) -> None:
    draft = confirmed(cast)

    answers = [post(cast, cast.owner, "plan_approve", **signed(draft)) for _again in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert PlanApproved.objects.of(cast.dairy).count() == 1


def test_an_approved_version_stays_as_it_was_signed(working: Cast) -> None:
    version = PlanApproved.objects.of(working.dairy).get()
    text = version.text
    post(working, working.owner, "plan_revise")

    post(working, working.owner, "plan_text", text=changed_plan(title="Second plan"), reason="", revision="1")

    assert PlanApproved.objects.of(working.dairy).get().text == text
    with pytest.raises(DatabaseError), transaction.atomic():
        PlanApproved.objects.of(working.dairy).update(text=changed_plan(title="Forged"))
    assert PlanApproved.objects.of(working.dairy).get().text == text
