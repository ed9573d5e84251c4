"""What changed between two plans, in words; the example to start from."""

import json
from copy import deepcopy
from typing import Any

from safetyplan.plans.changes import ADDED, CHANGED, REMOVED, Change, compare
from safetyplan.plans.document import read
from safetyplan.plans.page import example
from safetyplan.plans.plan_check import check
from tests.builders import PLAN_FILE

PLAN: dict[str, Any] = json.loads(PLAN_FILE.read_text())


def changes(changed: dict[str, Any]) -> list[Change]:
    """Compare the plan with a changed one."""
    return compare(read(PLAN), read(changed))


def a_copy() -> dict[str, Any]:
    """Give the plan to be changed."""
    return deepcopy(PLAN)


def test_an_unchanged_plan_has_no_changes() -> None:
    assert changes(a_copy()) == []


def test_a_changed_limit_is_told_in_the_words_of_both() -> None:
    plan = a_copy()
    plan["controls"][1]["limit"]["points"][0] |= {"limit": "4.55", "target": "4.45"}

    (change,) = changes(plan)

    assert change.kind == CHANGED
    assert change.subject == "Control CCP2 (Acid at 24 hours)"
    assert "4.60" in change.before
    assert "4.55" in change.after


def test_a_changed_target_is_not_overlooked() -> None:
    plan = a_copy()
    plan["controls"][1]["limit"]["points"][0]["target"] = "4.40"

    (change,) = changes(plan)

    assert "4.50" in change.before
    assert "4.40" in change.after


def test_an_added_and_a_removed_control_are_named() -> None:
    plan = a_copy()
    taken = plan["controls"].pop()
    plan["controls"].append({**taken, "code": "PRP9", "name": "New check"})

    found = {(change.kind, change.subject) for change in changes(plan)}

    assert found == {(ADDED, "Control PRP9 (New check)"), (REMOVED, "Control PRP3 (Sanitiser strength)")}


def test_a_hazard_that_loses_its_weight_is_named() -> None:
    plan = a_copy()
    plan["hazards"][1]["removed_by_reheating"] = True

    (change,) = changes(plan)

    assert change.subject == "Hazard H2 (Staphylococcus aureus toxin)"
    assert (change.what, change.before, change.after) == ("removed by reheating", "no", "yes")


def test_a_moved_step_is_named() -> None:
    plan = a_copy()
    steps = plan["products"][0]["steps"]
    steps[0], steps[1] = steps[1], steps[0]

    (change,) = changes(plan)

    assert change.what == "steps"
    assert change.before.startswith("Milk receipt → Heat treatment")
    assert change.after.startswith("Heat treatment → Milk receipt")


def test_a_later_check_window_is_named() -> None:
    plan = a_copy()
    plan["controls"][0]["monitoring"]["when"]["after_minutes"] = 120

    (change,) = changes(plan)

    assert change.what == "when"
    assert change.before.startswith("90 min after the start of the lot")
    assert change.after.startswith("2 h after the start of the lot")


def test_every_value_of_a_control_counts_as_a_change() -> None:
    """Change each text and number of a control in turn: none goes unnoticed."""
    unnoticed = []
    for name in ("name", "verification", "measure_next_minutes", "step"):
        plan = a_copy()
        plan["controls"][1][name] = 7 if name == "measure_next_minutes" else "changed"
        if not changes(plan):
            unnoticed.append(name)
    for name in ("what", "how", "who", "instrument"):
        plan = a_copy()
        plan["controls"][1]["monitoring"][name] = "changed"
        if not changes(plan):
            unnoticed.append(name)

    assert unnoticed == []


def test_the_example_can_be_read_and_cannot_be_approved_as_it_is() -> None:
    plan = read(json.loads(example()))

    errors = {finding.where for finding in check(plan) if finding.level == "error"}

    assert errors == {"H1", "H2", "H3"}


def test_the_example_brings_no_number_of_a_limit() -> None:
    controls = json.loads(example())["controls"]

    assert {control["limit"]["kind"] for control in controls} == {"attribute"}
