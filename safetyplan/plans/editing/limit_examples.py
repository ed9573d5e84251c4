"""Worked cases of the limits that one check can show: numbers, words, times. Pure."""

from datetime import datetime, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from safetyplan.calculation.judgement import Measured
from safetyplan.calculation.limits.attribute import Attribute
from safetyplan.calculation.limits.band import text_of
from safetyplan.calculation.limits.bound import Bound
from safetyplan.calculation.limits.difference import Difference
from safetyplan.calculation.limits.not_after import NotAfter
from safetyplan.calculation.limits.reached_by import Point, ReachedBy
from safetyplan.plans.editing.limit_scenes import (
    At,
    Example,
    Given,
    Reading,
    Try,
    edges,
    hours,
    label,
    missing,
    number,
    said,
)
from safetyplan.words import name_words

MINUTE = timedelta(minutes=1)


def yours() -> str:
    """What a case is that a person typed."""
    return _("Your reading")


# a number within bounds


def bound_examples(limit: Bound, at: At) -> list[Example]:
    """On each bound, just beyond it, and nothing."""
    unit = limit.band.unit
    found = [
        Example(role, said(limit.part, text_of(value, unit)), (number(limit.part, value, unit, at.now),))
        for role, value in edges(limit.band)
    ]
    return [*found, missing()]


def bound_tries(limit: Bound) -> list[Try]:
    """One reading."""
    return [Try(limit.part, label(limit.part), "number", limit.band.unit)]


def bound_tried(limit: Bound, given: Given, at: At) -> Example | None:
    """The reading."""
    typed: Reading | None = given.get(limit.part)
    if typed is None:
        return None
    return Example(yours(), said(limit.part, typed.words), (typed.of(limit.part, at.now),))


# one of a few words


def attribute_examples(limit: Attribute, at: At) -> list[Example]:
    """Every word, and none."""
    return [*(_chosen(limit, option, at, name_words(option)) for option in limit.options), missing()]


def _chosen(limit: Attribute, option: str, at: At, role: str) -> Example:
    return Example(
        role,
        said(limit.part, name_words(option)),
        (Measured(limit.part, None, "", at.now, text=option),),
    )


def attribute_tries(limit: Attribute) -> list[Try]:
    """One choice."""
    return [Try(limit.part, label(limit.part), "choice", options=limit.options)]


def attribute_tried(limit: Attribute, given: Given, at: At) -> Example | None:
    """The choice."""
    option = given.get(limit.part)
    return _chosen(limit, option, at, yours()) if option else None


# the difference of two numbers


def _second(limit: Difference) -> Decimal:
    """A value that is usual for the second of the two, large enough for the difference below it."""
    usual = {"degC": 65, "degF": 150, "pH": 5, "count": 12}.get(limit.band.unit, 10)
    return max([Decimal(usual), *(abs(edge.value) for edge in limit.band.edges("limit"))])


def _pair(limit: Difference, role: str, first: Reading, second: Reading, at: At) -> Example:
    words = f"{said(limit.first, first.words)}, {said(limit.second, second.words)}"
    return Example(role, words, (first.of(limit.first, at.now), second.of(limit.second, at.now)))


def difference_examples(limit: Difference, at: At) -> list[Example]:
    """Two numbers whose difference is on each bound or just beyond it, and nothing."""
    unit, second = limit.band.unit, _second(limit)
    pairs = [
        _pair(limit, role, Reading(second + value, unit), Reading(second, unit), at)
        for role, value in edges(limit.band, differences=True)
    ]
    return [*pairs, missing()]


def difference_tries(limit: Difference) -> list[Try]:
    """Both numbers."""
    unit = limit.band.unit
    return [Try(part, label(part), "number", unit) for part in (limit.first, limit.second)]


def difference_tried(limit: Difference, given: Given, at: At) -> Example | None:
    """Both numbers, or the one that was typed."""
    typed = [(part, given[part]) for part in (limit.first, limit.second) if given.get(part)]
    if not typed:
        return None
    words = ", ".join(said(part, reading.words) for part, reading in typed)
    return Example(yours(), words, tuple(reading.of(part, at.now) for part, reading in typed))


# a value reached within hours


def since(event: str) -> str:
    """The name under which the time since an event is tried; two limits with one event share it."""
    return f"since-{event}"


def _at_point(limit: ReachedBy, ordinal: int, role: str, value: Decimal, at: At) -> Example:
    point = limit.due[ordinal]
    words = _("%(reading)s at %(hours)s after %(event)s") % {
        "reading": said(limit.part, text_of(value, limit.unit)),
        "hours": point.hours_text,
        "event": name_words(limit.event),
    }
    taken = (number(limit.part, value, limit.unit, at.now),)
    return Example(role, words, taken, {limit.event: at.now - hours(point.hours)}, ordinal=ordinal)


def _late(limit: ReachedBy, ordinal: int, at: At) -> list[Example]:
    """A good value one minute late, and none at all."""
    point: Point = limit.due[ordinal]
    started = {limit.event: at.now - hours(point.hours) - MINUTE}
    best = point.target if point.target is not None else point.limit
    assert best is not None
    names = {"hours": point.hours_text, "event": name_words(limit.event)}
    reading = said(limit.part, text_of(best, limit.unit))
    words = _("%(reading)s one minute after %(hours)s from %(event)s") % {"reading": reading, **names}
    taken = (number(limit.part, best, limit.unit, at.now),)
    nothing = _("No reading by %(hours)s after %(event)s") % names
    return [
        Example(_("Too late"), words, taken, started, ordinal=ordinal),
        Example(_("Nothing entered"), nothing, (), started, ordinal=ordinal),
    ]


def reached_by_examples(limit: ReachedBy, at: At) -> list[Example]:
    """At each time: on the limit, just beyond, on the target, too late, nothing."""
    found: list[Example] = []
    for ordinal, point in enumerate(limit.due):
        found += [_at_point(limit, ordinal, role, value, at) for role, value in edges(limit.band(point))]
        found += _late(limit, ordinal, at)
    return found


def reached_by_tries(limit: ReachedBy) -> list[Try]:
    """A reading and its time."""
    after = _("Measured so long after %(event)s (h)") % {"event": name_words(limit.event)}
    return [
        Try(limit.part, label(limit.part), "number", limit.unit),
        Try(since(limit.event), after, "span", "h"),
    ]


def reached_by_tried(limit: ReachedBy, given: Given, at: At) -> Example | None:
    """The reading at its time, judged for the first time of the limit that is not over yet, else the last."""
    typed: Reading | None = given.get(limit.part)
    age: Decimal | None = given.get(since(limit.event))
    if typed is None or age is None:
        return None
    ordinal = next((n for n, point in enumerate(limit.due) if age <= point.hours), len(limit.due) - 1)
    words = _("%(reading)s at %(hours)s after %(event)s") % {
        "reading": said(limit.part, typed.words),
        "hours": text_of(age, "h"),
        "event": name_words(limit.event),
    }
    taken = (typed.of(limit.part, at.now),)
    return Example(yours(), words, taken, {limit.event: at.now - hours(age)}, ordinal=ordinal)


# used before it is too old


def not_after_examples(limit: NotAfter, at: At) -> list[Example]:
    """Exactly in time, a minute too late, and nothing."""
    if limit.use_by:
        roles = ((_("On the limit"), 0), (_("Just beyond the limit"), -1))
        return [*(_last_day(limit, role, days, at) for role, days in roles), missing()]
    assert limit.hours is not None
    longer = limit.hours + Decimal(1) / 60
    on, beyond = (_used(limit, age, at) for age in (limit.hours, longer))
    events = {limit.event: at.now - hours(longer)} if limit.event else {}
    exactly = text_of(limit.hours, "h")
    later = _("%(hours)s and one minute") % {"hours": exactly}
    return [
        Example(_("On the limit"), _aged(limit, exactly), *on),
        Example(_("Just beyond the limit"), _aged(limit, later), *beyond),
        missing(events),
    ]


def _used(limit: NotAfter, age: Decimal, at: At) -> tuple[tuple[Measured, ...], dict[str, datetime]]:
    """The entry for an age: the time of use after the event, or the time it was made before the check."""
    if limit.event:
        return (Measured(limit.part, None, "", at.now),), {limit.event: at.now - hours(age)}
    return (Measured(limit.part, None, "", at.now - hours(age)),), {}


def _aged(limit: NotAfter, age: str) -> str:
    names = {"part": label(limit.part), "age": age, "event": name_words(limit.event)}
    if limit.event:
        return _("%(part)s %(age)s after %(event)s") % names
    return _("%(part)s %(age)s before the check") % names


def _last_day(limit: NotAfter, role: str, days: int, at: At) -> Example:
    """A use-by date: its day counts to the end."""
    today = at.now.astimezone(at.zone).replace(hour=0, minute=0, second=0, microsecond=0)
    day = (today + timedelta(days=days)).date()
    last = today + timedelta(days=days + 1) - timedelta(milliseconds=1)
    return Example(role, said(limit.part, day.isoformat()), (Measured(limit.part, None, "", last),))


def not_after_tries(limit: NotAfter) -> list[Try]:
    """How old it is, or its last day."""
    if limit.use_by:
        options = ("today", "yesterday", "tomorrow")
        return [Try(limit.part, label(limit.part), "choice", options=options)]
    if limit.event:
        names = {"event": name_words(limit.event), "part": name_words(limit.part)}
        asked = _("From %(event)s to %(part)s (h)") % names
    else:
        asked = _("From %(part)s to the check (h)") % {"part": name_words(limit.part)}
    return [Try(limit.part, asked, "span", "h")]


def not_after_tried(limit: NotAfter, given: Given, at: At) -> Example | None:
    """The age or the day."""
    typed = given.get(limit.part)
    if typed is None:
        return None
    if limit.use_by:
        return _last_day(limit, yours(), {"yesterday": -1, "tomorrow": 1}.get(typed, 0), at)
    measured, events = _used(limit, typed, at)
    return Example(yours(), _aged(limit, text_of(typed, "h")), measured, events)
