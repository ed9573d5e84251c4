"""Rules on controls: limit, monitoring, action, verification, record, and a hazard to be there for."""

from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.plans.around import Around
from safetyplan.plans.parts import Control, Plan
from safetyplan.plans.rules.rule import ERROR, WARNING, Found, rule


@rule("P007", ERROR, gettext_lazy("Every control plans a corrective action."))
def action_planned(plan: Plan, around: Around) -> Iterator[Found]:
    """Whoever finds a value outside the limit must read what to do."""
    for control in plan.controls:
        if not control.corrective_actions:
            yield Found(control.code, _("Plans no corrective action."))


@rule("P008", ERROR, gettext_lazy("Every critical control point has verification."))
def verification_planned(plan: Plan, around: Around) -> Iterator[Found]:
    """A critical control point needs somebody who looks whether it works."""
    for control in plan.controls:
        if control.is_ccp and not control.verification.strip():
            yield Found(control.code, _("A critical control point needs verification."))


@rule("P009", ERROR, gettext_lazy("Every critical control point belongs to a lot or a load of milk."))
def critical_of_a_lot(plan: Plan, around: Around) -> Iterator[Found]:
    """What was missed must be held, and only a lot or a load can be held."""
    for control in plan.controls:
        if control.is_ccp and not (control.of_lot or control.of_load):
            yield Found(control.code, _("A critical control point belongs to a lot or a load of milk."))


@rule("P010", ERROR, gettext_lazy("Every check of a lot names its products."))
def products_of_lots(plan: Plan, around: Around) -> Iterator[Found]:
    """A check of a lot is due on the lots of the products it names."""
    for control in plan.controls:
        if control.of_lot and not control.products:
            yield Found(control.code, _("Names no product."))


@rule("P011", WARNING, gettext_lazy("The plan has at least one critical control point."))
def some_critical(plan: Plan, around: Around) -> Iterator[Found]:
    """A plan without any critical control point deserves a second look."""
    if not any(control.is_ccp for control in plan.controls):
        yield Found("controls", _("The plan has no critical control point."))


@rule("P015", ERROR, gettext_lazy("Every limit that was left open is set."))
def limit_set(plan: Plan, around: Around) -> Iterator[Found]:
    """A limit that nobody set judges nothing, so nothing is approved on it."""
    for control in plan.controls:
        if isinstance(control.limit, OpenLimit):
            message = _("No limit is set yet. Decide it, and write what it rests on.")
            yield Found(control.code, message)


def _unsaid(control: Control) -> list[str]:
    said = ((control.what, _("what")), (control.how, _("how")), (control.who, _("who")))
    return [word for text, word in said if not text.strip()]


@rule("P016", ERROR, gettext_lazy("Every critical control point says what is monitored, how and by whom."))
def monitoring_said(plan: Plan, around: Around) -> Iterator[Found]:
    """Monitoring names what is measured, how, and who does it."""
    for control in plan.controls:
        if control.is_ccp and (unsaid := _unsaid(control)):
            message = _("The monitoring of a critical control point does not say: %(unsaid)s.")
            yield Found(control.code, message % {"unsaid": ", ".join(unsaid)})


@rule("P017", ERROR, gettext_lazy("Every critical control point says where it is recorded."))
def record_named(plan: Plan, around: Around) -> Iterator[Found]:
    """What is not written down was not done, so the plan says where it is written."""
    for control in plan.controls:
        if control.is_ccp and not control.record.strip():
            yield Found(control.code, _("A critical control point does not say where it is recorded."))


@rule("P042", WARNING, gettext_lazy("Every critical control point is there for a hazard."))
def there_for_a_hazard(plan: Plan, around: Around) -> Iterator[Found]:
    """A critical control point that no hazard names has lost its reason, or its hazard has lost its row."""
    for control in plan.controls:
        if control.is_ccp and not plan.hazards_of(control):
            yield Found(control.code, _("No hazard names this critical control point."))


def _unfounded(control: Control) -> list[str]:
    said = (
        (control.justification, _("why it holds the hazard")),
        (control.figure_source, _("where its figure comes from")),
    )
    return [word for text, word in said if not text.strip()]


@rule(
    "P049",
    ERROR,
    gettext_lazy("Every critical limit says why it holds the hazard and where its figure comes from."),
)
def critical_limit_founded(plan: Plan, around: Around) -> Iterator[Found]:
    """A critical limit that rests on nothing cannot be defended; an open one is asked for as a whole."""
    for control in plan.controls:
        if not control.is_ccp or isinstance(control.limit, OpenLimit):
            continue
        if unsaid := _unfounded(control):
            message = _("The critical limit does not say: %(unsaid)s.")
            yield Found(control.code, message % {"unsaid": ", ".join(unsaid)})
