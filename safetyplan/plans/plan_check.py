"""Findings about a plan: the rules are a visible list; errors block approval, warnings need a reason.

A rule looks at the document and at what stands beside it: confirmations, files, the day.
"""

from safetyplan.plans.around import Around
from safetyplan.plans.document import Plan
from safetyplan.plans.rules import (
    confirmations,
    controls,
    determinations,
    evidence,
    hazards,
    limits,
    monitoring_times,
    procedures,
    products,
    profile_limits,
    recording,
    structure,
)
from safetyplan.plans.rules.limits import NOT_RECORDED
from safetyplan.plans.rules.rule import ERROR, WARNING, Finding, Rule

__all__ = ["ERROR", "NOT_RECORDED", "RULES", "WARNING", "Finding", "Rule", "check", "rules_list"]

RULES: tuple[Rule, ...] = (
    structure.a_product,
    hazards.significant_is_controlled,
    hazards.reason_given,
    structure.products_named,
    structure.steps_named,
    structure.events_named,
    controls.action_planned,
    controls.verification_planned,
    controls.critical_of_a_lot,
    controls.products_of_lots,
    controls.some_critical,
    structure.events_of_lots,
    limits.can_be_shown,
    structure.present_form,
    controls.limit_set,
    controls.monitoring_said,
    controls.record_named,
    confirmations.figures_confirmed,
    confirmations.targets_signed,
    confirmations.flows_confirmed,
    profile_limits.not_looser,
    limits.target_inside,
    limits.instrument_resolves,
    monitoring_times.often_enough,
    profile_limits.same_unit,
    hazards.carried_to_a_step,
    products.allergens_on_the_label,
    procedures.recall_procedure,
    hazards.room_is_evaluated,
    procedures.positive_action,
    hazards.not_by_ageing_alone,
    products.early_ph,
    products.phosphatase_tested,
    profile_limits.rich_product_raised,
    products.shelf_life_shown,
    products.raw_milk_on_the_label,
    evidence.validated,
    evidence.validation_current,
    determinations.determination_made,
    determinations.choice_explained,
    evidence.file_kept,
    controls.there_for_a_hazard,
    structure.a_profile,
    structure.every_kind,
    profile_limits.change_explained,
    structure.steps_that_follow,
    hazards.later_step_named,
    hazards.grave_and_likely,
    controls.critical_limit_founded,
    recording.each_value_recorded,
    recording.points_of_daily,
    recording.load_waits,
    recording.gate_named,
    recording.gate_in_time,
    recording.thing_used,
    recording.instrument_named,
)
# a document of form 1 has no place for what the later rules ask: it is told to become form 2 first
OF_FORM_1 = RULES[: RULES.index(structure.present_form) + 1]


def rules_list() -> tuple[Rule, ...]:
    """Give every rule, in the order of the ids: what a page lists."""
    return RULES


def check(plan: Plan, around: Around = Around()) -> list[Finding]:  # noqa: B008, a frozen value
    """Run every rule on a document and what stands beside it, and give all findings."""
    rules = OF_FORM_1 if plan.schema == 1 else RULES
    return [finding for rule in rules for finding in rule.check(plan, around)]
