"""The list of rules: whole, visible, each with what it demands; a plan without findings stays one."""

import pytest
from django.utils import translation

from safetyplan.plans.document import read
from safetyplan.plans.plan_check import RULES, check, rules_list
from safetyplan.reference.profiles import profiles
from tests.safetyplan.plans.rules import plans


def test_the_list_has_every_rule_once_in_the_order_of_the_ids() -> None:
    ids = [rule.id for rule in rules_list()]

    assert ids == [f"P{number:03}" for number in range(1, 57)]


def test_every_rule_says_in_one_sentence_what_it_demands() -> None:
    titles = [str(rule.title) for rule in RULES]

    assert len(set(titles)) == len(titles)
    assert all(title.endswith(".") and title.count(".") == 1 for title in titles)


def test_every_rule_is_an_error_or_a_warning() -> None:
    warnings = {rule.id for rule in RULES if rule.level == "warning"}

    assert {rule.level for rule in RULES} == {"error", "warning"}
    assert warnings == {
        "P011", "P025", "P032", "P035", "P037", "P038", "P039", "P041", "P042", "P043", "P044", "P048",
        "P052", "P055", "P056"
    }  # fmt: skip


@pytest.mark.parametrize("profile", profiles())
@pytest.mark.parametrize("base", [plans.fresh, plans.aged])
def test_the_whole_plan_has_no_finding(base: plans.Callable[[str], plans.Data], profile: str) -> None:
    assert plans.findings(base(profile)) == []


def test_a_finding_is_written_in_the_language_of_the_reader() -> None:
    plan = read(plans.changed(plans.fresh(), plans.put("CCP1", record="")))

    with translation.override("en"):
        found = [finding for finding in check(plan, plans.confirmed(plan)) if finding.id == "P017"]

    assert [finding.message for finding in found] == [
        "A critical control point does not say where it is recorded."
    ]


def test_looking_changes_nothing() -> None:
    document = plans.fresh()
    plan = read(document)

    assert check(plan) == check(plan)
    assert document == plans.fresh()
