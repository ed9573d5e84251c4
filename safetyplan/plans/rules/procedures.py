"""Rules on what is done when something went wrong: recall, and a positive result."""

from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.plans.around import Around
from safetyplan.plans.parts import Plan
from safetyplan.plans.rules.rule import ERROR, Found, rule


@rule("P028", ERROR, gettext_lazy("The recall procedure is whole."))
def recall_procedure(plan: Plan, around: Around) -> Iterator[Found]:
    """Who leads it, who tells buyers and the public, how it is checked, what becomes of the goods.

    The parts are those of 21 CFR 117.139(b).
    """
    recall = plan.recall
    parts = (
        (recall.responsible, _("who leads it")),
        (recall.consignees, _("how buyers are told")),
        (recall.public, _("how the public is told")),
        (recall.effectiveness, _("how it is checked that the recall works")),
        (recall.disposal, _("what becomes of the goods")),
    )
    missing = [words for text, words in parts if not text.strip()]
    if missing:
        message = _("The recall procedure does not say: %(missing)s.")
        yield Found("recall", message % {"missing": ", ".join(missing)})


@rule("P030", ERROR, gettext_lazy("What is done after a positive result is written down."))
def positive_action(plan: Plan, around: Around) -> Iterator[Found]:
    """After a positive result in a product, and on a surface or in the room (21 CFR 117.150(a)(1))."""
    if not plan.positive_action.product.strip():
        yield Found("positive_action", _("Write down what is done after a positive result in a product."))
    if not plan.positive_action.environment.strip():
        message = _("Write down what is done after a positive result on a surface or in the room.")
        yield Found("positive_action", message)
