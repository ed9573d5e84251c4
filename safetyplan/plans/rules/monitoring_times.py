"""The rule on the times of monitoring against the hours that a limit lets pass."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation import rounding
from safetyplan.calculation.limits.all_of import AllOf
from safetyplan.calculation.limits.any_of import AnyOf
from safetyplan.calculation.limits.exposure import Exposure
from safetyplan.calculation.limits.not_after import NotAfter
from safetyplan.calculation.limits.not_before import NotBefore
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.limits.shape import Limit, nested
from safetyplan.plans.around import Around
from safetyplan.plans.parts import Control, Plan, When
from safetyplan.plans.rules.rule import ERROR, Found, rule

DAY = 24 * 60
RECEIVED = "received"
"""The event from which a check of a load of milk counts: its receipt."""


@dataclass(frozen=True)
class Deadline:
    """Minutes that a limit lets pass, counted from an event, or from when a thing was made ("")."""

    event: str
    minutes: Decimal


def deadlines(limit: Limit) -> list[Deadline]:
    """Give the elapsed times inside a limit after which it is too late.

    Of limits of which one is enough, the way that leaves most time; none where one way has no deadline.
    """
    if isinstance(limit, AnyOf):
        ways = [deadlines(member) for member in limit.members]
        return max(ways, key=lambda way: min(one.minutes for one in way)) if all(ways) else []
    if isinstance(limit, AllOf):
        return [one for member in limit.members for one in deadlines(member)]
    if isinstance(limit, NotAfter) and limit.hours is not None:
        return [Deadline(limit.event, limit.hours * 60)]
    if isinstance(limit, ReachedBy):
        return [Deadline(limit.event, point.hours * 60) for point in limit.due]
    if isinstance(limit, Exposure):
        return [Deadline(limit.event, min(edge.at_most_minutes for edge in limit.edges))]
    return []


def gap_between(limit: Limit) -> list[Decimal]:
    """Give the longest times that a limit lets pass between two readings, where it says so."""
    gaps: list[Decimal] = []
    for one in nested(limit):
        if isinstance(one, NotBefore) and not one.counted:
            gaps.append(one.coverage_hours * 60)
        elif isinstance(one, Exposure):
            gaps.append(Decimal(one.longest_gap_minutes))
    return gaps


def longest_gap(when: When) -> int:
    """Give the longest time in minutes between two checks of a daily check, the night included."""
    times = sorted(int(time[:2]) * 60 + int(time[3:]) for time in when.times)
    return max(after - before for before, after in pairwise([*times, times[0] + DAY]))


def _hours(minutes: Decimal) -> str:
    if minutes < 60:
        return rounding.amount(rounding.shown(minutes, "duration", "min"), "min")
    return rounding.amount(rounding.shown(minutes / 60, "duration", "h"), "h")


@rule("P024", ERROR, gettext_lazy("Monitoring comes at least as often as the limit's own time asks."))
def often_enough(plan: Plan, around: Around) -> Iterator[Found]:
    """No interval of monitoring is longer than the deadline it guards; exactly as long is enough.

    What is compared, for each way to say when:
    after_event: the end of the window of the check with each deadline that counts from the same event (used
    at most so long after it; reached by so long after it, where that limit stands inside another; cumulative
    warmth). Later than the deadline nobody can act in time.
    load: the same with each deadline that counts from the receipt of the load.
    limit_points: nothing, since each window ends with its deadline by the way it is made.
    daily: the longest time between two checks, the night included, with each deadline that counts from when
    a thing was made (a wash at most 24 h old is looked at every 24 h), and with the time that the limit
    itself lets pass between two readings (the hours a reading of ageing covers, the longest gap of an
    exposure). Times as planned, without their windows; days of production count as if one followed the other.
    To measure again: the minutes to the next measurement with the shortest deadline, and for a value reached
    by an elapsed time with the time from one deadline to the next: later the next one is missed too.
    A deadline that counts from another event than the check has no interval to compare.
    """
    for control in plan.controls:
        yield from _window(control)
        yield from _daily(control)
        yield from _again(control)


def _window(control: Control) -> Iterator[Found]:
    event = RECEIVED if control.of_load else control.when.event
    if not event:
        return
    end = Decimal(control.when.after_minutes + control.when.after)
    same = [one.minutes for one in deadlines(control.limit) if one.event == event]
    if same and end > min(same):
        words = {"end": _hours(end), "deadline": _hours(min(same))}
        message = _("The check may come up to %(end)s after the event; the limit allows %(deadline)s.")
        yield Found(control.code, message % words)


def _daily(control: Control) -> Iterator[Found]:
    if control.when.kind != "daily":
        return
    gap = Decimal(longest_gap(control.when))
    made = [one.minutes for one in deadlines(control.limit) if not one.event]
    allowed = made + gap_between(control.limit)
    if allowed and gap > min(allowed):
        words = {"gap": _hours(gap), "deadline": _hours(min(allowed))}
        message = _("Up to %(gap)s lie between two checks; the limit allows %(deadline)s.")
        yield Found(control.code, message % words)


def _again(control: Control) -> Iterator[Found]:
    allowed = [one.minutes for one in deadlines(control.limit)]
    for one in nested(control.limit):
        if isinstance(one, ReachedBy):
            allowed += [(second.hours - first.hours) * 60 for first, second in pairwise(one.due)]
    next_after = Decimal(control.measure_next_minutes)
    if allowed and next_after > min(allowed):
        words = {"next": _hours(next_after), "deadline": _hours(min(allowed))}
        message = _("Measuring again after %(next)s is too late: the limit allows %(deadline)s.")
        yield Found(control.code, message % words)
