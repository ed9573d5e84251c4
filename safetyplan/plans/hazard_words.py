"""A hazard of the plan in words: its kind, what happens to it at its step, where it is controlled.

The same words stand on the screen and in print.
"""

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.plans.decision_tree import RESULTS, TREES, walk
from safetyplan.plans.described import rank_words
from safetyplan.plans.parts import Control, Hazard, Plan, Step

KINDS: Mapping[str, Promise] = {
    "biological": gettext_lazy("Biological"),
    "chemical": gettext_lazy("Chemical"),
    "physical": gettext_lazy("Physical"),
    "radiological": gettext_lazy("Radiological"),
}
GROUPS: Mapping[str, Promise] = {
    "allergen": gettext_lazy("allergen"),
    "drug_residue": gettext_lazy("drug residue"),
    "toxin": gettext_lazy("toxin"),
    "environmental_pathogen": gettext_lazy("pathogen of the environment"),
}
EFFECTS: Mapping[str, Promise] = {
    "introduced": gettext_lazy("It can come in at this step."),
    "increased": gettext_lazy("It can grow or increase at this step."),
    "controlled": gettext_lazy("It is controlled at this step."),
}


def kind_and_group_words(kind: str, group: str) -> str:
    """Name a kind with its group: "Chemical: allergen". Old plans may have other kinds."""
    named = str(KINDS.get(kind, kind))
    return f"{named}: {GROUPS.get(group, group)}" if group else named


def kind_words(hazard: Hazard) -> str:
    """Name the kind and the group of a hazard."""
    return kind_and_group_words(hazard.kind, hazard.group)


def reheated_words(*, removed: bool) -> str:
    """Say whether heating again removes a hazard."""
    return _("Heating again removes it.") if removed else _("Heating again does not remove it.")


def step_named(plan: Plan, products: tuple[str, ...], code: str) -> Step | None:
    """Find a step in the flow of some products, of any product when none is named."""
    for product in plan.products:
        found = product.step(code) if not products or product.code in products else None
        if found is not None:
            return found
    return None


def step_words(plan: Plan, products: tuple[str, ...], code: str) -> str:
    """Name a step of some products; the whole site for none, the code itself for one that is not there."""
    found = step_named(plan, products, code)
    return found.name if found else code or _("the whole site")


def controlled_by_words(plan: Plan, hazard: Hazard) -> str:
    """Name what controls a hazard, with its class and its step; empty when nothing is named."""
    control = plan.control(hazard.controlled_by)
    if control is not None:
        said = {"name": f"{control.code} {control.name}", "rank": rank_words(control.rank)}
        if not control.step:
            return _("%(name)s (%(rank)s)") % said
        at = step_words(plan, control.products, control.step)
        return _("%(name)s (%(rank)s, at the step %(step)s)") % {**said, "step": at}
    programme = plan.prerequisite(hazard.controlled_by)
    if programme is not None:
        return _("%(name)s (Prerequisite programme)") % {"name": f"{programme.code} {programme.name}"}
    return hazard.controlled_by


def where_words(plan: Plan, hazard: Hazard) -> str:
    """Say where a hazard is controlled; empty when nobody has said it."""
    if hazard.where == "this_step":
        return _("At this step") if hazard.step else _("On the whole site")
    if hazard.where == "prerequisite":
        return _("By a prerequisite programme")
    if hazard.where != "later_step":
        return ""
    if not hazard.controlled_step:
        return _("At a later step that is not named yet")
    step = step_words(plan, hazard.products, hazard.controlled_step)
    return _("At a later step: %(step)s") % {"step": step}


def determination_words(hazard: Hazard) -> str:
    """Say what the decision tree gave; empty when nobody walked it."""
    found = hazard.determination
    if found is None:
        return ""
    tree = TREES[found.tree]
    result = walk(tree, found.answers).result
    if result is None:
        return _("%(tree)s: begun, a question is still open.") % {"tree": tree.name}
    return f"{tree.name}: {RESULTS[result]}"


def choice_words(plan: Plan, hazard: Hazard) -> str:
    """Say what the plan does about a hazard now: where, by what, and of which class that is."""
    control = plan.control(hazard.controlled_by)
    programme = plan.prerequisite(hazard.controlled_by)
    if hazard.where == "later_step":
        return _later(plan, hazard, control)
    if control is not None:
        return f"{rank_words(control.rank)}: {control.code} {control.name}"
    if programme is not None:
        return _("Prerequisite programme: %(name)s") % {"name": f"{programme.code} {programme.name}"}
    if hazard.where == "prerequisite":
        return _("A prerequisite programme that is not named yet")
    return _("Nothing is named yet")


def _later(plan: Plan, hazard: Hazard, control: Control | None) -> str:
    code = hazard.controlled_step
    step = step_words(plan, hazard.products, code) if code else _("not named yet")
    if control is None:
        return _("A later step: %(step)s") % {"step": step}
    said = {"step": step, "name": f"{control.code} {control.name}", "rank": rank_words(control.rank)}
    return _("A later step: %(step)s, by %(name)s (%(rank)s)") % said
