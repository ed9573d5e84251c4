"""The flow of a product as a diagram: its steps with the critical and operational controls beside them."""

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from safetyplan.plans.parts import Control, Plan, Product, Step
from safetyplan.printing.chart import to_svg
from safetyplan.printing.flow_layout import FlowStep, Mark
from safetyplan.printing.flow_scene import flow_scenes, flow_words

PAGE_WIDTH = 240.0
"""Width of the diagram on a page: narrow, so that its words can be read on a phone."""


def step_number(product: Product, code: str) -> str:
    """Give the number of a step in the flow of a product; "" for a step that it does not have."""
    step = product.step(code)
    return str(product.steps.index(step) + 1) if step is not None else ""


def controls_at(plan: Plan, product: Product, step: Step) -> list[Control]:
    """Give the controls at a step of a product, critical ones first."""
    order = ("ccp", "oprp", "prp")
    found = [c for c in plan.controls if c.step == step.code and c.stands_in(product.code)]
    return sorted(found, key=lambda control: order.index(control.rank))


def flow_steps(plan: Plan, product: Product) -> tuple[FlowStep, ...]:
    """Give the steps of a product as they are drawn."""
    places = {step.code: place for place, step in enumerate(product.steps)}
    return tuple(
        FlowStep(
            number=str(place + 1),
            name=step.name,
            kind=step.kind,
            inputs=step.inputs,
            marks=tuple(_mark(c) for c in controls_at(plan, product, step) if c.rank != "prp"),
            follows=tuple(places[code] for code in product.follows(step) if code in places),
        )
        for place, step in enumerate(product.steps)
    )


def _mark(control: Control) -> Mark:
    """The code of a control; the class is said in words too, where the code does not say it."""
    word = _("CCP") if control.is_ccp else _("OPRP")
    said = control.code.upper().startswith(word.upper())
    return Mark(control.code if said else f"{word} {control.code}", control.is_ccp)


def flow_svg(plan: Plan, product: Product) -> SafeString:
    """Draw the flow of a product for a page; nothing where no step is written yet."""
    steps = flow_steps(plan, product)
    if not steps:
        return mark_safe("")
    title = _("Flow diagram of %(product)s") % {"product": product.name}
    scene = flow_scenes(steps, width=PAGE_WIDTH)[0]
    return mark_safe(to_svg(scene, title, flow_words(steps)))
