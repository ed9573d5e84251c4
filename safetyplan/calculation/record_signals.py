"""Signals in how records are kept: late entries, repeated values, many entries in one minute.

None of them proves anything: a refrigerator that is well set shows the same value for weeks, and a maker with
wet hands writes after the vat. They say where to look and ask.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import say
from safetyplan.calculation.trends import middle

DELAYS_PROVE = say("signals_delays_prove")
REPEATS_PROVE = say("signals_repeats_prove")
BURSTS_PROVE = say("signals_bursts_prove")


def _needed(things: Sequence[object]) -> None:
    if not things:
        raise Refusal(say("signals_nothing"))


@dataclass(frozen=True)
class Delays:
    """How long after the observation records were made, in minutes: the median and the 90th of a hundred.

    early: how many were made before their observation, which is a contradiction to be looked at.
    """

    count: int
    median_minutes: Decimal
    ninetieth_minutes: Decimal
    early: int


def entry_delays(moments: Sequence[tuple[datetime, datetime]]) -> Delays:
    """Delays of (observed, recorded) pairs, in whole minutes; one before its observation is early, delay 0.

    The 90th is the least delay that at least nine tenths of the records do not exceed. Raises Refusal for
    none. Source: definition of the median and the nearest-rank percentile.
    """
    _needed(moments)
    minute = timedelta(minutes=1)
    delays = sorted(max(0, (recorded - observed) // minute) for observed, recorded in moments)
    rank = -(-9 * len(delays) // 10)
    early = sum(recorded < observed for observed, recorded in moments)
    median = middle([Decimal(delay) for delay in delays])
    return Delays(len(delays), median, Decimal(delays[rank - 1]), early)


@dataclass(frozen=True)
class Repeats:
    """How values repeat: the longest run of one, and the commonest last digit with its share in %."""

    count: int
    longest_run: int
    value: str
    last_digit: str
    last_digit_percent: Decimal


def repeated_values(texts: Sequence[str]) -> Repeats:
    """Repetition in values as typed, in the order of time; of equals the first run and the lowest digit.

    Raises Refusal for none, or for a text without a digit. Source: definition.
    """
    _needed(texts)
    if not all(any(mark.isdigit() for mark in text) for text in texts):
        raise Refusal(say("signals_no_digit"))
    best, run, value = 1, 1, texts[0]
    for before, text in pairwise(texts):
        run = run + 1 if text == before else 1
        if run > best:
            best, value = run, text
    digits = Counter(next(mark for mark in reversed(text) if mark.isdigit()) for text in texts)
    digit, times = min(digits.items(), key=lambda pair: (-pair[1], pair[0]))
    return Repeats(len(texts), best, value, digit, Decimal(100) * times / len(texts))


@dataclass(frozen=True)
class Burst:
    """A minute in which many records were made."""

    minute: datetime
    count: int


def entries_in_one_minute(recorded: Sequence[datetime], *, least: int) -> list[Burst]:
    """The minutes of the clock with at least so many records, in order. Source: definition."""
    if least < 2:
        raise Refusal(say("signals_least"))
    counted = Counter(at.replace(second=0, microsecond=0) for at in recorded)
    return [Burst(minute, count) for minute, count in sorted(counted.items()) if count >= least]
