"""Rules on the evidence behind a plan: validation, its date, its file."""

from collections.abc import Iterator
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.plans.around import Around
from safetyplan.plans.parts import Plan
from safetyplan.plans.rules.rule import WARNING, Found, rule


@rule("P037", WARNING, gettext_lazy("Every critical control point has a validation."))
def validated(plan: Plan, around: Around) -> Iterator[Found]:
    """Evidence that the control can do what the plan expects of it."""
    for control in plan.controls:
        if control.is_ccp and not plan.validations_of(control):
            yield Found(control.code, _("No validation is attached to this critical control point."))


@rule("P038", WARNING, gettext_lazy("No validation has expired."))
def validation_current(plan: Plan, around: Around) -> Iterator[Found]:
    """The last day of a validation is a day on which it still counts; without today nothing expires."""
    for validation in plan.validations:
        if around.today and validation.valid_until and _day(validation.valid_until) < around.today:
            message = _("The validation expired: it was good until %(day)s.")
            yield Found(validation.code, message % {"day": validation.valid_until})


def _day(text: str) -> date:
    """Give the day; one that no calendar has (30 February) counts as long past."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return date.min


@rule("P041", WARNING, gettext_lazy("Every file of evidence that is named is kept here."))
def file_kept(plan: Plan, around: Around) -> Iterator[Found]:
    """A plan that came from elsewhere names files that did not come with it."""
    for validation in plan.validations:
        if validation.file and validation.file not in around.files:
            name = validation.file_name or validation.code
            message = _("The file “%(name)s” is named as evidence but not kept here: bring it again.")
            yield Found(validation.code, message % {"name": name})
