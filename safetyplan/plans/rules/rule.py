"""What a rule of the plan check is, what it finds, and what several rules ask of a plan. Pure."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.utils.functional import Promise

from safetyplan.plans.around import Around
from safetyplan.plans.parts import Control, Hazard, Plan, Product

ERROR, WARNING = "error", "warning"
UNPASTEURISED = ("raw", "thermised")


@dataclass(frozen=True)
class Finding:
    """One finding: a stable id, how grave it is, where, and what, in words."""

    id: str
    level: str
    where: str
    message: str


@dataclass(frozen=True)
class Found:
    """What a rule says of one place of the plan; level: where it differs from that of the rule."""

    where: str
    message: str
    level: str = ""


Look = Callable[[Plan, Around], Iterator[Found]]


@dataclass(frozen=True)
class Rule:
    """One rule: its id, how grave a finding is, what it demands in one sentence, and how it looks."""

    id: str
    level: str
    title: Promise
    look: Look

    def check(self, plan: Plan, around: Around) -> Iterator[Finding]:
        """Give the findings of this rule."""
        for found in self.look(plan, around):
            yield Finding(self.id, found.level or self.level, found.where, found.message)


def rule(id: str, level: str, title: Promise) -> Callable[[Look], Rule]:
    """Make a rule of the function that looks for its findings."""
    return lambda look: Rule(id, level, title, look)


def products_of(plan: Plan, item: Control | Hazard) -> tuple[Product, ...]:
    """Give the products of the plan that a control or a hazard is about; all where it names none."""
    return tuple(p for p in plan.products if not item.products or p.code in item.products)


def may_be_raw(product: Product) -> bool:
    """Tell whether the milk of a product was not pasteurised, or may not have been: nobody said."""
    return product.treatment != "pasteurised"
