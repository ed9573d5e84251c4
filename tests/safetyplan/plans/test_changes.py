"""What changed between two plans, in words: one sentence for each change, and no value overlooked.

The words are our own; that every value counts is checked against the list of keys of the document.
"""

import json
from copy import deepcopy
from typing import Any

from safetyplan.plans.changes import ADDED, CHANGED, REMOVED, Change, compare, compare_checks
from safetyplan.plans.document import read
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
    assert (change.before, change.after) == ("no", "yes")
    assert change.sentence() == (
        "Hazard H2 (Staphylococcus aureus toxin): the answer to “removed by reheating?” was “no” and "
        "becomes “yes”."
    )


def test_a_moved_step_is_named() -> None:
    plan = a_copy()
    steps = plan["products"][0]["steps"]
    steps[0], steps[1] = steps[1], steps[0]

    (change,) = changes(plan)

    assert change.what == "order of the steps"
    assert change.before.startswith("Milk receipt → Heat treatment")
    assert change.after.startswith("Heat treatment → Milk receipt")


def test_a_later_check_window_is_named() -> None:
    plan = a_copy()
    plan["controls"][0]["monitoring"]["when"]["after_minutes"] = 120

    (change,) = changes(plan)

    assert change.what == "time of the check"
    assert change.before.startswith("90 min after the start of the lot")
    assert change.after.startswith("2 h after the start of the lot")


def test_two_versions_that_differ_in_one_limit_read_as_one_sentence() -> None:
    plan = a_copy()
    plan["controls"][1]["limit"]["points"][0]["limit"] = "4.55"

    assert [change.sentence() for change in changes(plan)] == [
        "Control CCP2 (Acid at 24 hours): the critical limit was “pH at most 4.60 within 24 h of starter "
        "added” and becomes “pH at most 4.55 within 24 h of starter added”."
    ]


def test_a_limit_that_moves_with_its_target_is_still_one_sentence() -> None:
    plan = a_copy()
    plan["controls"][1]["limit"]["points"][0] |= {"limit": "4.50", "target": "4.40"}

    assert [change.sentence() for change in changes(plan)] == [
        "Control CCP2 (Acid at 24 hours): the critical limit was “pH at most 4.60 within 24 h of starter "
        "added; target pH at most 4.50 within 24 h of starter added” and becomes “pH at most 4.50 within "
        "24 h of starter added; target pH at most 4.40 within 24 h of starter added”."
    ]


def test_of_several_points_only_the_one_that_moves_is_told() -> None:
    old = a_copy()
    old["controls"][1]["limit"]["points"].insert(
        0, {"hours": "6", "limit": "5.80", "target": None, "window_before_minutes": 60}
    )
    new = deepcopy(old)
    new["controls"][1]["limit"]["points"][0]["limit"] = "5.70"

    (change,) = compare(read(old), read(new))

    assert (change.before, change.after) == (
        "pH at most 5.80 within 6 h of starter added",
        "pH at most 5.70 within 6 h of starter added",
    )


def test_a_limit_set_where_none_was_says_what_stood_open() -> None:
    old = a_copy()
    old["controls"][1]["limit"] = {
        "kind": "open",
        "prompt": "Which pH, by which hour?",
        "sources": [],
        "suggests": "reached_by",
    }

    (change,) = compare(read(old), read(PLAN))

    assert change.what == "critical limit"
    assert "Which pH, by which hour?" in change.before
    assert "pH at most 4.60 within 24 h of starter added" in change.after


def test_a_new_and_a_dropped_control_say_their_limit() -> None:
    plan = a_copy()
    taken = plan["controls"].pop(1)
    plan["controls"].append({**taken, "code": "CCP9", "name": "Acid"})

    told = [change.sentence() for change in changes(plan) if change.part == "controls"]

    assert told == [
        "Control CCP9 (Acid) is new: “pH at most 4.60 within 24 h of starter added”.",
        "Control CCP2 (Acid at 24 hours) is left out; it was “pH at most 4.60 within 24 h of starter added”.",
    ]


def test_a_new_corrective_action_is_told_without_the_others() -> None:
    plan = a_copy()
    plan["controls"][1]["corrective_actions"].append({"code": "CCP2-9", "text": "Tell the owner"})

    assert [change.sentence() for change in changes(plan)] == [
        "Control CCP2 (Acid at 24 hours), corrective action CCP2-9 is new: “Tell the owner”."
    ]


def test_corrective_actions_in_another_order_or_under_one_code_are_not_lost() -> None:
    turned, alike = a_copy(), a_copy()
    turned["controls"][1]["corrective_actions"].reverse()
    first = alike["controls"][1]["corrective_actions"][0]
    alike["controls"][1]["corrective_actions"].append({**first, "text": "Another"})

    (moved,), (added,) = changes(turned), changes(alike)

    assert moved.what == "order of the corrective actions"
    assert added.subject.endswith("corrective action CCP2-1 (2)")


def test_a_step_put_in_says_where_and_the_order_of_the_others_stays() -> None:
    plan = a_copy()
    plan["products"][0]["steps"].insert(1, {"code": "filter", "name": "Filter", "inputs": []})

    (change,) = changes(plan)

    assert (
        change.sentence() == "Product TF (Tarrow Fresh), step filter (Filter) is new: “after Milk receipt”."
    )


def test_a_branch_is_named_by_the_steps_that_follow() -> None:
    plan = a_copy()
    steps = plan["products"][0]["steps"]
    steps[0]["next"] = [steps[1]["code"], steps[2]["code"]]

    (change,) = changes(plan)

    assert change.what == "steps that follow"
    assert change.after == f"{steps[1]['name']}, {steps[2]['name']}"


def test_another_answer_to_a_question_of_the_tree_is_named_with_the_question() -> None:
    plan = a_copy()
    plan["hazards"][1]["determination"]["answers"]["q3"] = "yes"

    (change,) = changes(plan)

    assert change.what.startswith("answer to “Will a later step prevent or remove the hazard")
    assert (change.before, change.after) == ("no", "yes")


def test_the_checks_of_a_product_leave_out_other_products_and_what_is_checked_by_the_day() -> None:
    plan = a_copy()
    plan["controls"][1]["limit"]["points"][0]["limit"] = "4.55"
    daily = next(c for c in plan["controls"] if c["code"] == "PRP1")
    daily["name"] = "Another name"

    assert len(changes(plan)) == 2
    assert [c.subject for c in compare_checks(read(PLAN), read(plan), "TF")] == [
        "Control CCP2 (Acid at 24 hours)"
    ]
    assert compare_checks(read(PLAN), read(plan), "XX") == []


def test_a_control_taken_off_a_product_is_left_out_for_that_product() -> None:
    plan = a_copy()
    plan["controls"][1]["products"] = ["TL"]

    (change,) = compare_checks(read(PLAN), read(plan), "TF")

    assert (change.kind, change.subject) == (REMOVED, "Control CCP2 (Acid at 24 hours)")


def test_a_profile_parameter_that_moves_is_told_by_its_name_with_value_and_unit() -> None:
    plan = a_copy()
    parameter = next(p for p in plan["profile"]["parameters"] if p["code"] == "reanalysis_months")
    parameter |= {"value": "6", "reason": "We change much this year"}

    told = [change.sentence() for change in changes(plan)]

    name = "Regulatory profile, “reanalysis of the plan, at the latest after”"
    assert told == [
        f"{name}: the value was “12 months” and becomes “6 months”.",
        f"{name}: the reason for the change was empty and becomes “We change much this year”.",
    ]


def test_a_plan_of_the_first_form_can_be_compared_with_one_of_the_second() -> None:
    old = {key: PLAN[key] for key in ("title", "form_number", "products", "hazards", "controls")}

    found = compare(read({**old, "schema": 1}), read(PLAN))

    assert "Plan: the form of the document was “1” and becomes “2”." in [c.sentence() for c in found]
    assert any(change.subject.startswith("Prerequisite programme") for change in found)
