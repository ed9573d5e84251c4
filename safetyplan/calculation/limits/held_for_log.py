"""How long a log shows a heat hold: the longest stretch in which every quantity kept its limit.

Every reading of a stretch is at or above its limit; the time on the way there, between a reading below and
one above, counts for nothing. A dip of either quantity starts the clock again, a gap in either log breaks it.
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import reduce

from safetyplan.calculation import rounding
from safetyplan.calculation.judgement import Judgement, State
from safetyplan.calculation.limits.band import text_of
from safetyplan.calculation.sentences import say
from safetyplan.calculation.series import Series, Stretch, overlap
from safetyplan.calculation.units import UnitError

_MINUTE_MS = 60_000


@dataclass(frozen=True)
class Kept:
    """One quantity of a hold: its part, the least it may read, and the target it should."""

    part: str
    at_least: Decimal | None
    target: Decimal | None


def judge_log(minutes: Decimal, unit: str, kept: Sequence[Kept], series: Mapping[str, Series]) -> Judgement:
    """Judge the length of a hold by the logs of its quantities; limits in `unit`, the logs in any.

    Exactly as long as asked is long enough. Too short is outside the limit, unless the hold would be long
    enough without a gap: then it is not shown. A quantity without a log, or with one in a unit that does not
    fit, is not shown either; a log whose instrument is not valid shows nothing. The margin is in minutes,
    thousandths, away from zero.
    """
    for one in kept:
        log = series.get(one.part)
        if log is None or not log.times:
            return Judgement(State.NOT_SHOWN, say("hold_log_missing", part=one.part))
        if not log.valid:
            return Judgement(State.INSTRUMENT_NOT_VALID, say("instrument_failed", part=one.part))
    limits = [(series[one.part], one.at_least) for one in kept if one.at_least is not None]
    targets = [(series[one.part], one.target) for one in kept if one.target is not None]
    try:
        return _judge_length(minutes, unit, limits, targets)
    except UnitError:
        wrong = next(one.part for one in kept if not _comparable(series[one.part], unit))
        return Judgement(State.NOT_SHOWN, say("unit_not_comparable", part=wrong))


Bounds = Sequence[tuple[Series, Decimal]]


def _judge_length(asked: Decimal, unit: str, limits: Bounds, targets: Bounds) -> Judgement:
    needed = rounding.thousandths_at_least(asked * 60)
    warm = [(log, log.stretches_at_least(bound, unit)) for log, bound in limits]
    kept = reduce(overlap, (stretches for _, stretches in warm))
    longest = _longest(kept)
    minutes = Decimal(longest) / _MINUTE_MS
    margin = rounding.margin(minutes - asked)
    held = rounding.amount(rounding.shown_against(minutes, asked, "duration", "min"), "min")
    limit, by = text_of(asked, "min"), text_of(abs(margin), "min")
    if longest < needed:
        if _longest(reduce(overlap, (_bridged(log, stretches) for log, stretches in warm))) >= needed:
            return Judgement(State.NOT_SHOWN, say("hold_log_gap", held=held, limit=limit), margin, "min")
        sentence = say("hold_log_short", held=held, limit=limit, by=by)
        return Judgement(State.OUTSIDE_LIMIT, sentence, margin, "min")
    aimed = [log.stretches_at_least(bound, unit) for log, bound in targets]
    if _longest(reduce(overlap, aimed, kept)) < needed:
        sentence = say("hold_log_below_target", held=held, limit=limit)
        return Judgement(State.OUTSIDE_TARGET, sentence, margin, "min")
    return Judgement(State.WITHIN, say("hold_log_within", held=held, limit=limit), margin, "min")


def _longest(stretches: Sequence[Stretch]) -> int:
    return max((end - start for start, end in stretches), default=0)


def _bridged(log: Series, stretches: Sequence[Stretch]) -> list[Stretch]:
    """The stretches of a log as if nothing were a gap in it: those that meet without a reading between."""
    found = list(stretches[:1])
    for start, end in stretches[1:]:
        before = found[-1][1]
        if log.times[bisect_left(log.times, before) + 1] == start:
            found[-1] = (found[-1][0], end)
        else:
            found.append((start, end))
    return found


def _comparable(log: Series, unit: str) -> bool:
    try:
        log.lowest_at_least(Decimal(0), unit)
    except UnitError:
        return False
    return True
