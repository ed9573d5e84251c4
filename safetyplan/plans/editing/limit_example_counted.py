"""Worked cases of days of ageing that are counted by a person."""

from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from safetyplan.calculation.judgement import Measured
from safetyplan.calculation.limits.band import text_of
from safetyplan.calculation.limits.not_before import NotBefore
from safetyplan.plans.editing.limit_scenes import At, Example, hours, missing

Counted = tuple[tuple[Measured, ...], dict[str, datetime]]


def day_count(limit: NotBefore, at: At, passed: Decimal, typed: Decimal) -> Counted:
    """A number of days entered so many days after the event."""
    entered = Measured(limit.part, typed, "d", at.now)
    return (entered,), {limit.event: at.now - hours(passed * 24)}


def counted_examples(limit: NotBefore, at: At) -> list[Example]:
    """All the days counted, a day before that, one day fewer counted, and none entered."""
    days = limit.days
    names = {"days": text_of(days, "d"), "fewer": text_of(days - 1, "d")}
    on = _("%(days)s have passed, %(days)s counted") % names
    early = _("%(fewer)s have passed, %(fewer)s counted") % names
    one_cold = _("%(days)s have passed, %(fewer)s counted: one was too cold") % names
    return [
        Example(_("On the limit"), on, *day_count(limit, at, days, days)),
        Example(_("Too early"), early, *day_count(limit, at, days - 1, days - 1)),
        Example(_("Just beyond the limit"), one_cold, *day_count(limit, at, days, days - 1)),
        missing({limit.event: at.now - hours(days * 24)}),
    ]
