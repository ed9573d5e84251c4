"""Worked cases of the limits that look at logs, at several results, or at the age of other lots. Pure."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from safetyplan.calculation.judgement import Measured
from safetyplan.calculation.limits.attribute import Attribute
from safetyplan.calculation.limits.band import text_of
from safetyplan.calculation.limits.bound import Bound
from safetyplan.calculation.limits.exposure import Exposure
from safetyplan.calculation.limits.in_order import YOUNGEST, InOrder
from safetyplan.calculation.limits.last_of import LastOf
from safetyplan.calculation.limits.not_before import NotBefore
from safetyplan.calculation.limits.rolling_geometric_mean import RollingGeometricMean
from safetyplan.calculation.limits.sampling_plan import DETECTED, NOT_DETECTED, SamplingPlan
from safetyplan.calculation.series import Series
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.editing.limit_example_counted import counted_examples, day_count
from safetyplan.plans.editing.limit_examples import yours
from safetyplan.plans.editing.limit_scenes import (
    At,
    Example,
    Given,
    Reading,
    Try,
    hours,
    label,
    minutes,
    missing,
    said,
    step,
)
from safetyplan.words import name_words

DAY = timedelta(days=1)
MOST_READINGS = 100_000
LOTS = (("LOT-1", 10), ("LOT-2", 5), ("LOT-3", 2))  # invented lots and their age in days


def _counted(readings: int) -> int:
    """Refuse a case of more readings than a page should work through."""
    if readings > MOST_READINGS:
        message = _("This would take %(count)d readings; a case of at most %(most)d is worked here.")
        raise BadInput(message % {"count": readings, "most": MOST_READINGS})
    return readings


# not before so many days


def _daily(
    limit: NotBefore, at: At, days: Decimal, value: Reading, odd: tuple[int, Reading | None] | None = None
) -> tuple[tuple[Measured, ...], dict[str, datetime]]:
    """A reading every day, or as often as one covers; `odd` changes one of them, or leaves it out."""
    start = at.now - hours(days * 24)
    apart = min(Decimal(24), limit.coverage_hours)
    count = _counted(int(days * 24 / apart) + 1)
    taken = []
    for place in range(count):
        reading = odd[1] if odd is not None and place == odd[0] else value
        if reading is not None:
            taken.append(reading.of(limit.part, start + hours(apart * place)))
    return tuple(taken), {limit.event: start}


def not_before_examples(limit: NotBefore, at: At) -> list[Example]:
    """The days complete, a day before, one reading too cold, one missing, and no reading at all."""
    if limit.counted:
        return counted_examples(limit, at)
    unit, days, limit_text = limit.unit, limit.days, text_of(limit.at_least, limit.unit)
    on = Reading(limit.at_least, unit)
    cold = Reading(limit.at_least - step(limit.at_least, unit), unit)
    names = {"days": text_of(days, "d"), "limit": limit_text, "cold": cold.words}
    every = _("%(days)s, every reading %(limit)s") % names
    early = _("A day before that, every reading %(limit)s") % names
    one_cold = _("%(days)s, one reading %(cold)s") % names
    one_missing = _("%(days)s, every reading %(limit)s, but one missing") % names
    return [
        Example(_("On the limit"), every, *_daily(limit, at, days, on)),
        Example(_("Too early"), early, *_daily(limit, at, days - 1, on)),
        Example(_("Just beyond the limit"), one_cold, *_daily(limit, at, days, on, (1, cold))),
        Example(_("A reading missing"), one_missing, *_daily(limit, at, days, on, (1, None))),
        missing({limit.event: at.now - hours(days * 24)}),
    ]


def not_before_tries(limit: NotBefore) -> list[Try]:
    """Days, and the temperature every day."""
    days = _("Days since %(event)s (d)") % {"event": name_words(limit.event)}
    if limit.counted:
        return [Try("days", days, "span", "d"), Try(limit.part, label(limit.part), "span", "d")]
    daily = _("%(part)s, every day") % {"part": label(limit.part)}
    return [Try("days", days, "span", "d"), Try(limit.part, daily, "number", limit.unit)]


def not_before_tried(limit: NotBefore, given: Given, at: At) -> Example | None:
    """The days with that temperature on each."""
    days, typed = given.get("days"), given.get(limit.part)
    if days is None or typed is None:
        return None
    if limit.counted:
        words = _("%(days)s have passed, %(counted)s counted")
        said_so = words % {"days": text_of(days, "d"), "counted": text_of(typed, "d")}
        return Example(yours(), said_so, *day_count(limit, at, days, typed))
    words = _("%(days)s, every reading %(limit)s") % {"days": text_of(days, "d"), "limit": typed.words}
    return Example(yours(), words, *_daily(limit, at, days, typed))


# time in warmth


def _warm(limit: Exposure, at: At, role: str, reading: Reading, time: Decimal) -> Example:
    """A log at one temperature for a time that ends with the check."""
    apart = min(Decimal(limit.longest_gap_minutes), max(time, Decimal(1)))
    count = _counted(int(time / apart))
    start = at.now - minutes(time)
    moments = [start + minutes(apart * place) for place in range(count + 1)]
    moments += [at.now] if moments[-1] < at.now else []
    log = Series.of(
        ((moment, reading.value) for moment in moments),
        unit=reading.unit,
        longest_gap=timedelta(minutes=limit.longest_gap_minutes),
    )
    events = {limit.event: start} | ({limit.until: at.now} if limit.until else {})
    words = _("%(reading)s for %(time)s") % {
        "reading": said(limit.part, reading.words),
        "time": text_of(time, "min"),
    }
    return Example(role, words, (), events, {limit.part: log})


def exposure_examples(limit: Exposure, at: At) -> list[Example]:
    """Above each temperature for exactly its time and a minute longer; exactly on the lowest; nothing."""
    found = []
    for edge in limit.edges:
        above = Reading(edge.above + step(edge.above, limit.unit), limit.unit)
        found.append(_warm(limit, at, _("On the limit"), above, edge.at_most_minutes))
        found.append(_warm(limit, at, _("Just beyond the limit"), above, edge.at_most_minutes + 1))
    lowest = limit.edges[0]
    long = lowest.at_most_minutes * 2 + 60
    found.append(_warm(limit, at, _("Not above"), Reading(lowest.above, limit.unit), long))
    events = {limit.event: at.now - minutes(long)} | ({limit.until: at.now} if limit.until else {})
    return [*found, missing(events)]


def exposure_tries(limit: Exposure) -> list[Try]:
    """A temperature and how long."""
    return [
        Try(limit.part, label(limit.part), "number", limit.unit),
        Try("time", _("For so long (min)"), "span", "min"),
    ]


def exposure_tried(limit: Exposure, given: Given, at: At) -> Example | None:
    """The log that was typed."""
    typed, time = given.get(limit.part), given.get("time")
    if typed is None or time is None:
        return None
    return _warm(limit, at, yours(), typed, time)


# samples of a laboratory


def _samples(limit: SamplingPlan, role: str, words: str, results: Sequence[Reading | str], at: At) -> Example:
    taken = [
        Measured(f"{limit.part}_{place}", None, "", at.now, text=result)
        if isinstance(result, str)
        else result.of(f"{limit.part}_{place}", at.now)
        for place, result in enumerate(results, 1)
    ]
    return Example(role, words, tuple(taken))


def sampling_plan_examples(limit: SamplingPlan, at: At) -> list[Example]:
    """All good, c above m, one more, one above M, one result missing."""
    n, c = limit.plan.n, limit.plan.c
    good: Reading | str = NOT_DETECTED
    poor: Reading | str = DETECTED
    if limit.plan.m is not None:
        good = Reading(limit.plan.m, limit.unit)
        poor = Reading(limit.plan.m + 1, limit.unit)

    def case(role: str, bad: int, given: int = n) -> Example:
        words = _results_words(good, given - bad) + (f", {_results_words(poor, bad)}" if bad else "")
        return _samples(limit, role, words, [poor] * bad + [good] * (given - bad), at)

    found = [case(_("On the limit"), 0)]
    if c:
        found.append(case(_("As many as may be"), c))
    found.append(case(_("One too many"), c + 1))
    if limit.plan.upper is not None:
        above = Reading(limit.plan.upper + 1, limit.unit)
        words = f"{_results_words(good, n - 1)}, {_results_words(above, 1)}"
        found.append(_samples(limit, _("One above M"), words, [above, *[good] * (n - 1)], at))
    if n > 1:
        found.append(case(_("One result missing"), 0, n - 1))
    return [*found, missing()]


def _results_words(result: Reading | str, count: int) -> str:
    words = name_words(result) if isinstance(result, str) else result.words
    return _("%(count)d × %(result)s") % {"count": count, "result": words}


def sampling_plan_tries(limit: SamplingPlan) -> list[Try]:
    """The results, one on each line."""
    words = _("The results, one on each line")
    if limit.plan.is_presence:
        return [Try(limit.part, words, "words", options=(NOT_DETECTED, DETECTED))]
    return [Try(limit.part, words, "lines", limit.unit)]


def sampling_plan_tried(limit: SamplingPlan, given: Given, at: At) -> Example | None:
    """The results that were typed."""
    results = given.get(limit.part)
    if not results:
        return None
    words = ", ".join(name_words(one) if isinstance(one, str) else one.words for one in results)
    return _samples(limit, yours(), words, results, at)


# a rolling geometric mean


def _monthly(
    limit: RollingGeometricMean, at: At, counts: Sequence[Reading], *, skip: int = 0
) -> tuple[Measured, ...]:
    """Counts dealt out over the months, the oldest first; `skip` leaves the first ones of them out."""
    local = at.now.astimezone(at.zone)
    taken = []
    for place, reading in enumerate(counts):
        back = limit.months - 1 - place * limit.months // len(counts)
        month = local.year * 12 + local.month - 1 - back
        moment = local - timedelta(seconds=1 + place)
        if back:
            moment = local.replace(year=month // 12, month=month % 12 + 1, day=15) - timedelta(minutes=place)
        if place >= skip:
            taken.append(reading.of(limit.part, moment))
    return tuple(taken)


def rolling_geometric_mean_examples(limit: RollingGeometricMean, at: At) -> list[Example]:
    """Every sample on the limit, every one just above, one sample too few, none."""
    count = limit.months * limit.least_per_month
    names = {"count": count, "months": limit.months}
    on = Reading(limit.at_most, limit.unit)
    above = Reading(limit.at_most + step(limit.at_most, limit.unit), limit.unit)
    words = _("%(count)d samples over %(months)d months, each %(value)s")
    return [
        Example(_("On the limit"), words % {**names, "value": on.words}, _monthly(limit, at, [on] * count)),
        Example(
            _("Just beyond the limit"),
            words % {**names, "value": above.words},
            _monthly(limit, at, [above] * count),
        ),
        Example(
            _("One sample too few"),
            words % {**names, "count": count - 1, "value": on.words},
            _monthly(limit, at, [on] * count, skip=1),
        ),
        missing(),
    ]


def rolling_geometric_mean_tries(limit: RollingGeometricMean) -> list[Try]:
    """The counts, the oldest first."""
    words = _("The counts, one on each line, oldest first; %(least)d for each month") % {
        "least": limit.least_per_month
    }
    return [Try(limit.part, words, "lines", limit.unit)]


def rolling_geometric_mean_tried(limit: RollingGeometricMean, given: Given, at: At) -> Example | None:
    """The counts that were typed, dealt out over the months."""
    counts = given.get(limit.part)
    if not counts:
        return None
    words = ", ".join(count.words for count in counts)
    return Example(yours(), words, _monthly(limit, at, counts))


# lots in order of their age


def _handled(limit: InOrder, role: str, codes: str, at: At) -> Example:
    made = {code: at.now - days * DAY for code, days in LOTS}
    words = _("%(codes)s (%(ages)s)") % {
        "codes": codes,
        "ages": ", ".join(_("%(code)s is %(days)d days old") % {"code": c, "days": d} for c, d in LOTS),
    }
    return Example(role, words, (Measured(limit.part, None, "", at.now, text=codes),), made)


def in_order_examples(limit: InOrder, at: At) -> list[Example]:
    """The right order, the other way round, a lot nobody knows, none."""
    oldest_first = [code for code, _days in LOTS]
    right = oldest_first[::-1] if limit.first == YOUNGEST else oldest_first
    return [
        _handled(limit, _("In order"), ", ".join(right), at),
        _handled(limit, _("Out of order"), ", ".join(right[::-1]), at),
        _handled(limit, _("A lot nobody knows"), f"{right[0]}, LOT-9", at),
        missing(),
    ]


def in_order_tries(limit: InOrder) -> list[Try]:
    """The codes in their order."""
    lots = ", ".join(_("%(code)s is %(days)d days old") % {"code": c, "days": d} for c, d in LOTS)
    return [Try(limit.part, label(limit.part), "text", help=lots)]


def in_order_tried(limit: InOrder, given: Given, at: At) -> Example | None:
    """The order that was typed."""
    codes = given.get(limit.part)
    return _handled(limit, yours(), codes, at) if codes else None


# so many of the last results


def _entry(limit: LastOf, result: Reading | str, moment: datetime) -> Measured:
    part = limit.member.parts()[0].name
    if isinstance(result, str):
        return Measured(part, None, "", moment, text=result)
    return result.of(part, moment)


def _row(limit: LastOf, results: Sequence[Reading | str], at: At) -> tuple[Measured, ...]:
    """The results an hour apart, the newest now."""
    last = len(results) - 1
    return tuple(_entry(limit, one, at.now - hours(Decimal(last - n))) for n, one in enumerate(results))


def _good_and_bad(member: Bound | Attribute) -> tuple[Reading | str, Reading | str]:
    if isinstance(member, Attribute):
        wrong = next(option for option in member.options if option not in member.accepted)
        return member.accepted[0], wrong
    unit, edge = member.band.unit, next(member.band.edges("limit"))
    away = step(edge.value, unit) * (1 if edge.side == "at_most" else -1)
    return Reading(edge.value, unit), Reading(edge.value + away, unit)


def last_of_examples(limit: LastOf, at: At) -> list[Example]:
    """None beyond the limit, as many as may be, one too many, a run that is still short."""
    assert isinstance(limit.member, Bound | Attribute)
    good, bad = _good_and_bad(limit.member)

    def case(role: str, beyond: int, of: int = limit.of) -> Example:
        words = _results_words(good, of - beyond) + (f", {_results_words(bad, beyond)}" if beyond else "")
        return Example(role, words, _row(limit, [bad] * beyond + [good] * (of - beyond), at))

    found = [case(_("On the limit"), 0)]
    if limit.most:
        found.append(case(_("As many as may be"), limit.most))
    return [
        *found,
        case(_("One too many"), limit.most + 1),
        case(_("Fewer results yet"), 0, limit.of - 1),
        missing(),
    ]


def last_of_tries(limit: LastOf) -> list[Try]:
    """The results, the oldest first."""
    words, part = _("The results, one on each line, oldest first"), limit.member.parts()[0]
    if isinstance(limit.member, Attribute):
        return [Try(part.name, words, "words", options=limit.member.options)]
    return [Try(part.name, words, "lines", part.unit)]


def last_of_tried(limit: LastOf, given: Given, at: At) -> Example | None:
    """The results that were typed."""
    results = given.get(limit.member.parts()[0].name)
    if not results:
        return None
    words = ", ".join(name_words(one) if isinstance(one, str) else one.words for one in results)
    return Example(yours(), words, _row(limit, results, at))
