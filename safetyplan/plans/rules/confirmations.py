"""Rules on what a person must have confirmed: figures, the table of targets, the flow on site."""

from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.plans.around import Around
from safetyplan.plans.figures import figures
from safetyplan.plans.parts import Plan
from safetyplan.plans.rules.rule import ERROR, Found, rule


@rule(
    "P018",
    ERROR,
    gettext_lazy("Every critical limit and every figure of the profile is confirmed on a source."),
)
def figures_confirmed(plan: Plan, around: Around) -> Iterator[Found]:
    """One finding for each figure that nobody confirmed as it now stands."""
    for figure in figures(plan):
        if not around.has_confirmed(figure):
            words = {"name": figure.name, "value": " ".join(figure.words)}
            yield Found(figure.what, _("Not confirmed yet: %(name)s: %(value)s") % words)


@rule("P019", ERROR, gettext_lazy("The table of operating targets is signed as it stands."))
def targets_signed(plan: Plan, around: Around) -> Iterator[Found]:
    """Targets, tolerances and limits of prerequisites are confirmed as one signed table."""
    if plan.controls and not around.has_targets(plan):
        message = _("The table of operating targets is not signed as it now stands.")
        yield Found("targets", message)


@rule("P020", ERROR, gettext_lazy("The flow of every product is confirmed on site as it stands."))
def flows_confirmed(plan: Plan, around: Around) -> Iterator[Found]:
    """Somebody walked the flow and signed that the product is made so."""
    for product in plan.products:
        if not around.has_flow(product):
            message = _("The flow of %(product)s is not confirmed on site as it now stands.")
            yield Found(product.code, message % {"product": product.name})
