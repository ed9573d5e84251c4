"""Findings about a plan document: the list of rules is visible data; errors block approval."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from safetyplan.calculation.limits.shape import events_of, nested
from safetyplan.plans.around import Around
from safetyplan.plans.document import STARTED, Control, Hazard, Plan

# Their evidence is a log, a run of results, or the dates of other lots: no check can record it yet.
NOT_RECORDED = frozenset({"not_before", "exposure", "rolling_geometric_mean", "in_order", "last_of"})


@dataclass(frozen=True)
class Finding:
    """One finding: a stable id, how grave it is, where, and what, in words."""

    id: str
    level: str
    where: str
    message: str


def no_products(plan: Plan) -> Iterator[Finding]:
    """A plan needs a product."""
    if not plan.products:
        yield Finding("P001", "error", "products", _("The plan names no product."))


def significant_hazard_without_control(plan: Plan) -> Iterator[Finding]:
    """A significant hazard needs a control that is in the plan."""
    codes = {control.code for control in plan.controls}
    for hazard in plan.hazards:
        if hazard.significant and hazard.controlled_by not in codes:
            yield Finding("P002", "error", hazard.code, _("A significant hazard has no control in the plan."))
        if not hazard.reason.strip():
            yield Finding("P003", "error", hazard.code, _("Say why the hazard is significant or not."))


def unknown_names(plan: Plan) -> Iterator[Finding]:
    """Products, steps and events that controls and hazards name must be there."""
    products = {product.code: product for product in plan.products}
    named: tuple[Control | Hazard, ...] = (*plan.controls, *plan.hazards)
    for item in named:
        for code in item.products:
            if code not in products:
                yield Finding("P004", "error", item.code, _("Names a product that is not in the plan."))
            elif item.step and item.step not in {step.code for step in products[code].steps}:
                yield Finding("P005", "error", item.code, _("Names a step that the product does not have."))


def events_of_controls(plan: Plan) -> Iterator[Finding]:
    """A check that waits for an event needs that event on each of its products."""
    products = {product.code: product for product in plan.products}
    for control in plan.controls:
        named = {*events_of(control.limit), control.when.event} - {"", STARTED}
        for product in (products[code] for code in control.products if code in products):
            if any(product.event(event) is None for event in named):
                yield Finding("P006", "error", control.code, _("Waits for an event the product lacks."))
        if events_of(control.limit) and not control.of_lot:
            message = _("Counts from an event of a lot, but the check belongs to a day.")
            yield Finding("P012", "error", control.code, message)


def limits_nobody_can_show(plan: Plan) -> Iterator[Finding]:
    """A limit whose evidence cannot be recorded would leave every lot not shown."""
    for control in plan.controls:
        for kind in dict.fromkeys(limit.kind for limit in nested(control.limit)):
            if kind in NOT_RECORDED:
                message = _(
                    "Nobody can show a limit of the kind “%(kind)s” yet: no check records what it needs."
                )
                yield Finding("P013", "error", control.code, message % {"kind": kind})


def control_without_action(plan: Plan) -> Iterator[Finding]:
    """Every control needs a planned corrective action, every critical control point a verification."""
    for control in plan.controls:
        if not control.corrective_actions:
            yield Finding("P007", "error", control.code, _("Plans no corrective action."))
        if control.is_ccp and not control.verification.strip():
            yield Finding("P008", "error", control.code, _("A critical control point needs verification."))
        if control.is_ccp and not control.of_lot:
            yield Finding("P009", "error", control.code, _("A critical control point belongs to a lot."))
        if control.of_lot and not control.products:
            yield Finding("P010", "error", control.code, _("Names no product."))


def no_critical_control_point(plan: Plan) -> Iterator[Finding]:
    """A plan without any critical control point deserves a second look."""
    if not any(control.is_ccp for control in plan.controls):
        yield Finding("P011", "warning", "controls", _("The plan has no critical control point."))


RULES: tuple[Callable[[Plan], Iterator[Finding]], ...] = (
    no_products,
    significant_hazard_without_control,
    unknown_names,
    events_of_controls,
    limits_nobody_can_show,
    control_without_action,
    no_critical_control_point,
)


def check(plan: Plan, around: Around = Around()) -> list[Finding]:  # noqa: B008, a frozen value
    """Run every rule on a document and what stands beside it, and give all findings."""
    return [finding for rule in RULES for finding in rule(plan)]
