"""A plan is not approved with a limit that nobody can show."""

import json
from typing import Any

import pytest

from safetyplan.calculation.limits.catalogue import KINDS
from safetyplan.integrity.refusals import Refused
from safetyplan.plans.document import read
from safetyplan.plans.plan_check import NOT_RECORDED, check
from safetyplan.plans.services import approve_plan, save_draft
from tests.builders import T0, at, confirm_all
from tests.calculation.kind_cases import CASES, MILK
from tests.cast import Cast
from tests.records.rules.limits import document, prerequisite

SAMPLES: dict[str, Any] = {case.kind: case.document for case in CASES}


def plan_with(limit: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """Write the demonstration's plan with one more check of this limit."""
    found = document()
    return {**found, "controls": [*found["controls"], {**prerequisite("NEW", limit), **changes}]}


def found_in(plan: dict[str, Any]) -> list[tuple[str, str, str]]:
    """Give what the check of a plan finds about the new control."""
    return [(f.id, f.level, f.where) for f in check(read(plan)) if f.where == "NEW"]


COUNTED = {**SAMPLES["not_before"], "part": "days_at_temperature", "counted": True}


@pytest.mark.parametrize("kind", sorted((NOT_RECORDED | {"not_before"}) & KINDS))
def test_a_limit_whose_evidence_nobody_records_is_an_error(kind: str) -> None:
    found = [found for found in found_in(plan_with(SAMPLES[kind])) if found[0] == "P013"]
    assert found == [("P013", "error", "NEW")]


@pytest.mark.parametrize("outer", ["all_of", "any_of"])
def test_such_a_limit_is_found_inside_another(outer: str) -> None:
    nested = {"kind": outer, "members": [MILK, SAMPLES["not_before"]]}
    assert ("P013", "error", "NEW") in found_in(plan_with(nested))


@pytest.mark.parametrize(
    "kind", ["bound", "attribute", "difference", "any_of", "all_of", "sampling_plan", "held_for", "in_order"]
)
def test_a_limit_that_a_check_can_show_is_not(kind: str) -> None:
    assert found_in(plan_with(SAMPLES[kind])) == []


def test_days_of_ageing_can_be_shown_when_they_are_counted() -> None:
    lot = {**after_event("starter_added"), "products": ["TF", "TL"]}
    since_starter = {"event": "starter_added"}
    assert found_in(plan_with({**COUNTED, **since_starter}, **lot)) == []
    assert found_in(plan_with({**SAMPLES["not_before"], **since_starter}, **lot)) == [
        ("P013", "error", "NEW")
    ]


def test_every_kind_is_recorded_or_refused() -> None:
    assert {"last_of", "rolling_geometric_mean"} <= NOT_RECORDED
    assert {"exposure"} >= NOT_RECORDED - KINDS


@pytest.mark.parametrize("kind", ["not_before", "bound"])
def test_a_plan_is_approved_only_when_every_limit_can_be_shown(cast: Cast, kind: str) -> None:
    text = json.dumps(plan_with(SAMPLES[kind]))
    with at(cast.dairy, T0.replace(day=13)):
        draft = save_draft(establishment=cast.dairy, by=cast.owner, text=text, reason="first", revision=None)
        confirm_all(cast)
        proof, revision = cast.proof(cast.owner), draft.revision
        if kind == "bound":
            assert approve_plan(establishment=cast.dairy, proof=proof, revision=revision, reason="First plan")
            return
        with pytest.raises(Refused, match="cannot be approved"):
            approve_plan(establishment=cast.dairy, proof=proof, revision=revision, reason="First plan")


def after_event(event: str) -> dict[str, Any]:
    """Write a check of a lot that is due an hour after an event."""
    when = {"kind": "after_event", "event": event, "after_minutes": 60}
    monitoring = {**prerequisite("NEW", MILK)["monitoring"], "when": when}
    return {"class": "oprp", "products": ["TF"], "monitoring": monitoring}


def since(event: str) -> dict[str, Any]:
    """Write an age since an event, beside a bound."""
    age = {"kind": "not_after", "part": "used", "event": event, "hours": "2"}
    return {"kind": "any_of", "members": [age, MILK]}


def test_an_age_since_an_event_needs_a_lot_that_has_the_event() -> None:
    assert found_in(plan_with(since("starter_added"), **after_event("started"))) == []
    assert found_in(plan_with(since("never_planned"), **after_event("started"))) == [("P006", "error", "NEW")]
    assert found_in(plan_with(since("starter_added"))) == [("P012", "error", "NEW")]
