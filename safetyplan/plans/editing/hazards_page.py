"""The hazard analysis for the screen: the hazards of a product step by step, each in words. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from safetyplan.plans import hazard_words
from safetyplan.plans.measure_words import measure_type_words
from safetyplan.plans.parts import Hazard, Plan, Product, Step
from safetyplan.plans.plan_check import Finding

CHOICE_UNEXPLAINED = "P040"


@dataclass(frozen=True)
class Card:
    """One hazard in words, with what the plan check finds about it."""

    hazard: Hazard
    kind: str
    step: str
    products: str
    effect: str
    reheating: str
    measure_type: str
    where: str
    controlled_by: str
    control: str
    programme: str
    determination: str
    findings: tuple[Finding, ...]

    @property
    def asks_for_tree(self) -> bool:
        """Tell whether a determination belongs here: a significant hazard that its own step controls."""
        return self.hazard.significant and self.hazard.where in ("", "this_step")

    @property
    def unexplained(self) -> bool:
        """Tell whether the plan differs from the decision tree and nobody says why."""
        return any(finding.id == CHOICE_UNEXPLAINED for finding in self.findings)


@dataclass(frozen=True)
class StepRows:
    """A step of the flow with its hazards; number: its place in the flow."""

    number: int
    step: Step
    cards: tuple[Card, ...]


@dataclass(frozen=True)
class Sheet:
    """The analysis of one product, and the rows that belong to the whole site.

    astray: hazards whose step no product has; they are on every sheet, so that nothing is hidden.
    """

    product: Product | None
    steps: tuple[StepRows, ...]
    site: tuple[Card, ...]
    astray: tuple[Card, ...]


def card(plan: Plan, hazard: Hazard, findings: Iterable[Finding] = ()) -> Card:
    """Write one hazard in words."""
    names = [p.name for p in plan.products if p.code in hazard.products]
    unknown = [code for code in hazard.products if code not in {p.code for p in plan.products}]
    return Card(
        hazard=hazard,
        kind=hazard_words.kind_words(hazard),
        step=hazard_words.step_words(plan, hazard.products, hazard.step),
        products=", ".join(names + unknown),
        effect=str(hazard_words.EFFECTS.get(hazard.effect, "")),
        reheating=hazard_words.reheated_words(removed=hazard.removed_by_reheating),
        measure_type=measure_type_words(plan, hazard.measure_type),
        where=hazard_words.where_words(plan, hazard),
        controlled_by=hazard_words.controlled_by_words(plan, hazard),
        control=hazard.controlled_by if plan.control(hazard.controlled_by) else "",
        programme=hazard.controlled_by if plan.prerequisite(hazard.controlled_by) else "",
        determination=hazard_words.determination_words(hazard),
        findings=tuple(finding for finding in findings if finding.where == hazard.code),
    )


def product_named(plan: Plan, code: str) -> Product | None:
    """Find the product whose sheet is asked for; the first when none or an unknown one is."""
    found = next((product for product in plan.products if product.code == code), None)
    return found or (plan.products[0] if plan.products else None)


def sheet(plan: Plan, product: Product | None, findings: Sequence[Finding]) -> Sheet:
    """Give the analysis of one product in the order of its flow."""
    cards = [card(plan, hazard, findings) for hazard in plan.hazards]
    steps = product.steps if product else ()
    return Sheet(
        product=product,
        steps=tuple(
            StepRows(number, step, tuple(c for c in cards if _stands_at(c.hazard, product, step)))
            for number, step in enumerate(steps, start=1)
        ),
        site=tuple(c for c in cards if not c.hazard.step),
        astray=tuple(c for c in cards if c.hazard.step and not _has_place(plan, c.hazard)),
    )


def _stands_at(hazard: Hazard, product: Product | None, step: Step) -> bool:
    if product is None or hazard.step != step.code:
        return False
    return not hazard.products or product.code in hazard.products


def _has_place(plan: Plan, hazard: Hazard) -> bool:
    return any(_stands_at(hazard, product, step) for product in plan.products for step in product.steps)
