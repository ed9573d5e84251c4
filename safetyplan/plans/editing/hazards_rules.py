"""What one hazard may not say: contradictions in it, each with the field it belongs to. Pure."""

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.plans.editing.hazards_list import HEAT_STABLE
from safetyplan.plans.hazard_words import GROUPS, KINDS
from safetyplan.plans.parts import Plan, Product
from safetyplan.plans.rules.hazards import steps_after
from safetyplan.reference.hazards import hazards

Refusal = tuple[str, str]
LETTERS = 3


def refusals(plan: Plan, typed: Mapping[str, Any]) -> Iterator[Refusal]:
    """Give the field and the words of everything that a hazard as typed cannot say."""
    yield from _missing(typed)
    yield from _numbers(typed)
    yield from _place(plan, typed)
    yield from _heat(typed)
    yield from _agent(typed)
    yield from _where(plan, typed)


def letters(text: str) -> int:
    """Count the letters of a text."""
    return sum(char.isalpha() for char in text)


def _missing(typed: Mapping[str, Any]) -> Iterator[Refusal]:
    if not letters(typed.get("name", "")):
        yield "name", _("Name the hazard in words.")
    if not typed.get("kind"):
        yield "kind", _("Choose what kind of hazard it is.")
    if not typed.get("significant"):
        yield "significant", _("Say whether the hazard is significant: Yes or No.")
    if letters(typed.get("reason", "")) < LETTERS:
        yield "reason", _("Say in words why it is significant or not.")
    if not typed.get("removed_by_reheating"):
        yield "removed_by_reheating", _("Say whether heating again removes it: Yes or No.")


def _numbers(typed: Mapping[str, Any]) -> Iterator[Refusal]:
    for name in ("severity", "likelihood"):
        text = typed.get(name, "")
        if text and letters(text) < LETTERS:
            yield name, _("Write it in words, with the reason: a number alone says nothing here.")


def _products(plan: Plan, typed: Mapping[str, Any]) -> list[Product]:
    return [product for product in plan.products if product.code in typed.get("products", ())]


def _place(plan: Plan, typed: Mapping[str, Any]) -> Iterator[Refusal]:
    step = typed.get("step", "")
    if not step:
        return
    if not typed.get("products"):
        yield "products", _("Choose the products that have this hazard at this step.")
    without = [product.name for product in _products(plan, typed) if product.step(step) is None]
    if without:
        said = {"products": ", ".join(without)}
        yield "step", _("Not in the flow of %(products)s: choose another step or other products.") % said


def _heat(typed: Mapping[str, Any]) -> Iterator[Refusal]:
    if typed.get("removed_by_reheating") != "yes":
        return
    field = "removed_by_reheating"
    kind, group = typed.get("kind", ""), typed.get("group", "")
    agent = hazards().get(typed.get("agent", ""))
    if group in HEAT_STABLE:
        said = {"group": str(GROUPS[group])}
        yield field, _("Heating again does not remove a hazard of the group “%(group)s”: choose No.") % said
    elif kind and kind != "biological":
        said = {"kind": str(KINDS[kind]).lower()}
        yield field, _("Heating again does not remove a %(kind)s hazard: choose No.") % said
    elif agent is not None and not agent.removed_by_reheating:
        said = {"agent": agent.name}
        message = _("By the list of hazards heating again does not remove “%(agent)s”: choose No.")
        yield field, message % said


def _agent(typed: Mapping[str, Any]) -> Iterator[Refusal]:
    agent = hazards().get(typed.get("agent", ""))
    if agent is None:
        return
    if typed.get("kind") and typed["kind"] != agent.kind:
        said = {"agent": agent.name, "kind": str(KINDS[agent.kind]).lower()}
        message = _("The list has “%(agent)s” as a %(kind)s hazard. Choose that kind, or another entry.")
        yield "kind", message % said
    if agent.group in HEAT_STABLE and typed.get("group") != agent.group:
        said = {"agent": agent.name, "group": str(GROUPS[agent.group])}
        message = _("The list has “%(agent)s” in the group “%(group)s”. Choose that, or another entry.")
        yield "group", message % said


def _where(plan: Plan, typed: Mapping[str, Any]) -> Iterator[Refusal]:
    where, later = typed.get("where", ""), typed.get("controlled_step", "")
    control = plan.control(typed.get("controlled_by", ""))
    if where == "later_step" and not later:
        yield "controlled_step", _("Say which later step controls it.")
    elif where == "later_step" and typed.get("step"):
        yield from _not_later(plan, typed, later)
    if where == "prerequisite" and control is not None and control.is_ccp:
        said = {"control": f"{control.code} {control.name}"}
        message = _("%(control)s is a critical control point, not a prerequisite programme.")
        yield "controlled_by", message % said
    named = typed.get("controlled_by", "")
    if named and control is None and plan.prerequisite(named) is None:
        said = {"code": named}
        yield "controlled_by", _("%(code)s is not in the plan any more: choose another, or none yet.") % said


def _not_later(plan: Plan, typed: Mapping[str, Any], later: str) -> Iterator[Refusal]:
    for product in _products(plan, typed):
        if later not in steps_after(product, typed["step"]):
            said = {"product": product.name}
            message = _("In the flow of %(product)s this step does not come after the hazard's own.")
            yield "controlled_step", message % said
            return
