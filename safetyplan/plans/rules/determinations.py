"""Rules on the determination of critical control points: answers given, and the choice against them."""

from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.plans.around import Around
from safetyplan.plans.decision_tree import RESULTS, TREES, Result, walk
from safetyplan.plans.parts import Hazard, Plan
from safetyplan.plans.rules.rule import ERROR, WARNING, Found, rule


def result_of(hazard: Hazard) -> Result | None:
    """Give what the answers of a hazard lead to; None without answers or before the end of the tree."""
    found = hazard.determination
    return walk(TREES[found.tree], found.answers).result if found else None


def is_ccp_here(plan: Plan, hazard: Hazard) -> bool:
    """Tell whether the plan holds a hazard by a critical control point at its own step."""
    control = plan.control(hazard.controlled_by)
    return control is not None and control.is_ccp and hazard.where in ("", "this_step")


def contradicts(plan: Plan, hazard: Hazard) -> bool:
    """Tell whether the answers lead to something else than the plan chose for a hazard.

    ccp: a critical control point at this step and nothing else. later_step: the hazard is carried to a later
    step. not_ccp, prerequisite: anything but a critical control point at this step. change: whatever was
    chosen, for the tree asks for another process.
    """
    result = result_of(hazard)
    if result == "ccp":
        return not is_ccp_here(plan, hazard)
    if result == "later_step":
        return hazard.where != "later_step"
    return result == "change" or (result is not None and is_ccp_here(plan, hazard))


@rule("P039", WARNING, gettext_lazy("Every significant hazard that its step controls has a determination."))
def determination_made(plan: Plan, around: Around) -> Iterator[Found]:
    """A significant hazard controlled at its own step was walked through a decision tree to a result."""
    for hazard in plan.hazards:
        if not hazard.significant or hazard.where not in ("", "this_step"):
            continue
        if hazard.determination is None:
            yield Found(hazard.code, _("Nobody walked this hazard through a decision tree yet."))
        elif result_of(hazard) is None:
            yield Found(hazard.code, _("The decision tree has a question without an answer."))


@rule("P040", ERROR, gettext_lazy("A choice that differs from the decision tree gives its reason."))
def choice_explained(plan: Plan, around: Around) -> Iterator[Found]:
    """The people who write the plan may differ from the tree, and say why."""
    for hazard in plan.hazards:
        found, result = hazard.determination, result_of(hazard)
        if found and result and not found.reason.strip() and contradicts(plan, hazard):
            message = _("The decision tree says: %(result)s The plan chose otherwise: say why.")
            yield Found(hazard.code, message % {"result": RESULTS[result]})
