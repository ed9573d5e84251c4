"""What was confirmed counts for the value it was given for, and for no other."""

from dataclasses import replace

import pytest

from safetyplan.plans.document import read
from safetyplan.plans.figures import figures
from safetyplan.plans.plan_check import check
from tests.safetyplan.plans.rules.plans import (
    Change,
    acid,
    changed,
    confirmed,
    findings,
    fresh,
    put,
    put_parameter,
    warmth,
    with_limit,
)

PLAN = read(fresh("eu"))
AROUND = confirmed(PLAN)


def found(id: str, *changes: Change) -> list[str]:
    """Give where a rule finds something in a changed plan that was confirmed before it changed."""
    plan = read(changed(fresh("eu"), *changes))
    return [finding.where for finding in check(plan, AROUND) if finding.id == id]


def test_each_figure_that_nobody_confirmed_is_a_finding_of_its_own() -> None:
    missing = replace(AROUND, confirmed=frozenset())

    wheres = [finding.where for finding in check(PLAN, missing) if finding.id == "P018"]

    assert wheres == [figure.what for figure in figures(PLAN)]
    assert {"limit:CCP1", "limit:CCP2", "legal:milk_temperature_most", "legal:heat_rule"} <= set(wheres)


@pytest.mark.parametrize("what", ["limit:CCP2", "legal:milk_at_dairy_most"])
def test_one_figure_left_out_is_found_and_the_others_are_not(what: str) -> None:
    rest = frozenset(pair for pair in AROUND.confirmed if pair[0] != what)

    wheres = [f.where for f in check(PLAN, replace(AROUND, confirmed=rest)) if f.id == "P018"]

    assert wheres == [what]


def test_a_limit_that_changed_after_its_confirmation_is_not_confirmed() -> None:
    assert found("P018", with_limit("CCP2", acid(("24", "4.55")))) == ["limit:CCP2"]
    assert found("P018", put("CCP2", name="Sour")) == []


def test_a_figure_of_the_profile_that_changed_is_not_confirmed() -> None:
    assert found("P018", put_parameter("milk_at_dairy_most", value="5")) == ["legal:milk_at_dairy_most"]
    assert found("P018", put_parameter("milk_at_dairy_most", note="Read again")) == []


def test_a_target_changed_after_the_table_was_signed_asks_for_a_signature() -> None:
    warmer = warmth(at_most="4", target_at_most="3")

    assert found("P019", with_limit("PRP1", warmer)) == ["targets"]
    assert found("P019", put("PRP1", name="Cold room")) == []


def test_a_plan_without_controls_has_no_table_to_sign() -> None:
    bare = read({**fresh(), "controls": [], "hazards": []})

    assert "P019" not in {finding.id for finding in check(bare)}


def test_a_step_changed_after_the_flow_was_walked_asks_for_another_walk() -> None:
    more = {"code": "wrap", "name": "Wrapping", "inputs": []}

    assert found("P020", put("P", steps=[*fresh()["products"][0]["steps"], more])) == ["P"]
    assert found("P020", put("P", storage="Cold")) == []


def test_the_message_names_the_figure_with_its_value() -> None:
    nothing = replace(AROUND, confirmed=frozenset())
    told = {finding.where: finding.message for finding in findings(fresh("eu"), lambda plan: nothing)}

    assert "milk in the dairy at most: 6 °C" in told["legal:milk_at_dairy_most"]
    assert "pH at most 4.60" in told["limit:CCP2"]
