"""Rules on the hazard analysis: what a row must say, and who holds the hazard."""

import re
from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.plans.around import Around
from safetyplan.plans.parts import Hazard, Plan, Product
from safetyplan.plans.rules.ageing import is_ageing, says_ageing_only
from safetyplan.plans.rules.rule import ERROR, WARNING, Found, products_of, rule

NEVER_BY_AGEING = ("listeria_monocytogenes", "listeria_species", "stec")
NAMED_SO = re.compile(r"listeria|(?<!\w)stec(?!\w)|shiga|o157", re.IGNORECASE)


@rule("P002", ERROR, gettext_lazy("Every significant hazard has a control or a prerequisite in the plan."))
def significant_is_controlled(plan: Plan, around: Around) -> Iterator[Found]:
    """A significant hazard names a control or a prerequisite that is in the plan."""
    codes = {control.code for control in plan.controls} | {prp.code for prp in plan.prerequisites}
    for hazard in plan.hazards:
        if hazard.significant and hazard.controlled_by not in codes:
            yield Found(hazard.code, _("A significant hazard has no control in the plan."))


@rule("P003", ERROR, gettext_lazy("Every hazard says why it is significant or not."))
def reason_given(plan: Plan, around: Around) -> Iterator[Found]:
    """The judgement on significance needs its reason."""
    for hazard in plan.hazards:
        if not hazard.reason.strip():
            yield Found(hazard.code, _("Say why the hazard is significant or not."))


def steps_after(product: Product, code: str) -> set[str]:
    """Give the codes of all steps that come after a step on some way through the flow."""
    found: set[str] = set()
    waiting = [code]
    while waiting:
        step = product.step(waiting.pop())
        for following in product.follows(step) if step else ():
            if following not in found:
                found.add(following)
                waiting.append(following)
    return found - {code}


@rule("P026", ERROR, gettext_lazy("A hazard that is carried on is carried to a later step that exists."))
def carried_to_a_step(plan: Plan, around: Around) -> Iterator[Found]:
    """The step that controls the hazard exists on each of its products, and comes after the hazard's own."""
    for hazard in plan.hazards:
        if hazard.where != "later_step" or not hazard.controlled_step:
            continue
        for product in products_of(plan, hazard):
            words = {"step": hazard.controlled_step, "product": product.name}
            if product.step(hazard.controlled_step) is None:
                message = _("Carried to the step “%(step)s”, which %(product)s does not have.") % words
                yield Found(hazard.code, message)
            elif product.step(hazard.step) and hazard.controlled_step not in steps_after(
                product, hazard.step
            ):
                message = _("Carried to the step “%(step)s”, which does not come later in %(product)s.")
                yield Found(hazard.code, message % words)


@rule("P047", ERROR, gettext_lazy("A significant hazard that a later step controls names that step."))
def later_step_named(plan: Plan, around: Around) -> Iterator[Found]:
    """ "Later" alone is nobody's duty."""
    for hazard in plan.hazards:
        if hazard.significant and hazard.where == "later_step" and not hazard.controlled_step.strip():
            yield Found(hazard.code, _("Controlled at a later step: say at which."))


@rule("P048", WARNING, gettext_lazy("Every hazard says in words how grave and how likely it is."))
def grave_and_likely(plan: Plan, around: Around) -> Iterator[Found]:
    """Severity and likelihood are words with a reason, never a number."""
    for hazard in plan.hazards:
        if not hazard.severity.strip() and not hazard.likelihood.strip():
            yield Found(hazard.code, _("Say in words how grave and how likely the hazard is."))
        elif not hazard.severity.strip():
            yield Found(hazard.code, _("Say in words how grave the hazard is."))
        elif not hazard.likelihood.strip():
            yield Found(hazard.code, _("Say in words how likely the hazard is."))


@rule(
    "P029",
    ERROR,
    gettext_lazy(
        "Listeria from the room is evaluated for every cheese that stands open after its treatment."
    ),
)
def room_is_evaluated(plan: Plan, around: Around) -> Iterator[Found]:
    """An exposed ready-to-eat cheese needs a row on an environmental pathogen (21 CFR 117.130(c)(1)(ii))."""
    rows = [hazard for hazard in plan.hazards if hazard.group == "environmental_pathogen"]
    for product in plan.products:
        looked = any(product in products_of(plan, hazard) and hazard.reason.strip() for hazard in rows)
        if product.exposed and not looked:
            message = _(
                "%(product)s stands open to the room and is eaten as it is: evaluate Listeria from the room."
            )
            yield Found(product.code, message % {"product": product.name})


def _never_by_ageing(hazard: Hazard) -> bool:
    return hazard.agent in NEVER_BY_AGEING or bool(NAMED_SO.search(hazard.name))


@rule("P031", ERROR, gettext_lazy("Ageing is never the only control of Listeria or STEC."))
def not_by_ageing_alone(plan: Plan, around: Around) -> Iterator[Found]:
    """Days of age are a legal minimum and no measure against Listeria or STEC; each row is looked at alone.

    Found where the control that the row names is one of ageing, or its measure speaks of nothing else, be the
    hazard called significant or not.
    """
    for hazard in plan.hazards:
        if not _never_by_ageing(hazard):
            continue
        control = plan.control(hazard.controlled_by)
        if (control is not None and is_ageing(control)) or says_ageing_only(hazard.measure):
            message = _("Ageing is the only control here. It holds neither Listeria nor STEC: name another.")
            yield Found(hazard.code, message)
