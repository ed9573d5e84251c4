"""Trends for the reviewer: individuals and moving range, CUSUM, EWMA, and counts for a Pareto.

A control limit is not a critical limit: it says what the process did, not what it must do. Counts of colonies
are brought to log10 first. Computed in floats, given with 12 significant digits.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from math import log10, sqrt
from statistics import median

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import from_float
from safetyplan.calculation.sentences import say

# d2 and D4 of ranges of two values, as rounded in the tables, so that the working can be followed by hand.
# Source: NIST/SEMATECH e-Handbook 6.3.2; Montgomery and Runger, table.
D2 = 1.128
D4 = 3.267
ENOUGH_POINTS = 20
LARGEST = Decimal(10) ** 12
HANDBOOK = "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2"


def _floats(values: Sequence[Decimal], least: int) -> list[float]:
    """The values as floats; refused when there are too few, or one is no number or beyond 10^12."""
    if len(values) < least:
        raise Refusal(say("trend_too_few", least=str(least), source=HANDBOOK), "trend_values")
    if not all(value.is_finite() and abs(value) <= LARGEST for value in values):
        raise Refusal(say("trend_too_large", high="10^12", source=HANDBOOK), "trend_values")
    return [float(value) for value in values]


def log10_counts(counts: Sequence[Decimal]) -> list[Decimal]:
    """Colony counts as log10, in floats. Validity: above 0, from 10^-12 to 10^12 (write "<10" as 10 or 5 and
    say so). Raises Refusal."""
    if not all(count.is_finite() and 1 / LARGEST <= count <= LARGEST for count in counts):
        raise Refusal(say("trend_counts"), "trend_values")
    return [from_float(log10(count)) for count in counts]


@dataclass(frozen=True)
class Individuals:
    """Limits of a chart of individuals and of its moving ranges.

    sigma: mean moving range / 1.128. provisional: from fewer than 20 points. flat: every value is the same,
    so that the limits fall together and say nothing.
    """

    mean: Decimal
    moving_range: Decimal
    sigma: Decimal
    upper: Decimal
    lower: Decimal
    range_upper: Decimal
    points: int

    @property
    def provisional(self) -> bool:
        """Whether the limits rest on too few points to be frozen."""
        return self.points < ENOUGH_POINTS

    @property
    def flat(self) -> bool:
        """Whether there is no variation at all."""
        return self.moving_range == 0


def individuals(values: Sequence[Decimal]) -> Individuals:
    """Limits from values in the order of time: mean ± 3 x MR / 1.128; ranges up to 3.267 x MR, from 0.

    MR is the mean of the absolute differences of neighbours, never the sample standard deviation. Validity:
    2 values or more, each within ± 10^12; below 20 provisional. Raises Refusal. Source: HANDBOOK, 6.3.2.2.
    """
    found = _floats(values, 2)
    mean = sum(found) / len(found)
    ranges = [abs(b - a) for a, b in pairwise(found)]
    moving = sum(ranges) / len(ranges)
    sigma = moving / D2
    return Individuals(
        mean=from_float(mean),
        moving_range=from_float(moving),
        sigma=from_float(sigma),
        upper=from_float(mean + 3 * sigma),
        lower=from_float(mean - 3 * sigma),
        range_upper=from_float(D4 * moving),
        points=len(found),
    )


def z_scores(values: Sequence[Decimal], limits: Individuals) -> list[Decimal]:
    """How many sigma each value lies from the mean of (frozen) limits. Raises Refusal when sigma is 0."""
    if limits.sigma == 0:
        raise Refusal(say("trend_flat"), "trend_values")
    return [from_float(value) for value in _scores(values, float(limits.mean), float(limits.sigma))]


def _scores(values: Sequence[Decimal], mean: float, sigma: float) -> list[float]:
    return [(value - mean) / sigma for value in _floats(values, 1)]


@dataclass(frozen=True)
class Cusum:
    """Tabular sums upwards and downwards at each point; signals: numbers (from 0) of points beyond H."""

    high: tuple[Decimal, ...]
    low: tuple[Decimal, ...]
    signals: tuple[int, ...]


def cusum(values: Sequence[Decimal], *, target: Decimal, slack: Decimal, decision: Decimal) -> Cusum:
    """Cumulative sums: SH = max(0, x - (target + K) + SH'), SL = max(0, (target - K) - x + SL').

    Beyond H is a signal; exactly H is not. slack is K, decision is H, in the unit of the values. The sums
    are never reset after a signal. Validity: K 0 or more, H above 0. Raises Refusal. Source: HANDBOOK,
    6.3.2.3.
    """
    if not (target.is_finite() and slack.is_finite() and decision.is_finite()) or slack < 0 or decision <= 0:
        raise Refusal(say("trend_cusum_range"), "trend_values")
    _floats(values, 1)
    _floats([target, slack, decision], 1)
    high, low = Decimal(0), Decimal(0)
    highs, lows, signals = [], [], []
    for number, value in enumerate(values):
        high = max(Decimal(0), value - (target + slack) + high)
        low = max(Decimal(0), (target - slack) - value + low)
        highs.append(high)
        lows.append(low)
        if high > decision or low > decision:
            signals.append(number)
    return Cusum(tuple(highs), tuple(lows), tuple(signals))


@dataclass(frozen=True)
class Ewma:
    """Weighted averages and their limits at each point; signals: numbers (from 0) of points beyond them."""

    values: tuple[Decimal, ...]
    upper: tuple[Decimal, ...]
    lower: tuple[Decimal, ...]
    signals: tuple[int, ...]


def ewma(
    values: Sequence[Decimal],
    *,
    target: Decimal,
    sigma: Decimal,
    weight: Decimal,
    width: Decimal = Decimal(3),
) -> Ewma:
    """Exponentially weighted moving average: z = w x + (1 - w) z', begun at the target; exact limits.

    Limits: target ± L s sqrt(w / (2 - w) x (1 - (1 - w)^(2i))), L the width. Validity: w above 0 to 1, s 0 or
    more, L above 0. Raises Refusal. Source: HANDBOOK, 6.3.2.4.
    """
    found = _floats([*values, target, sigma], 3)[:-2]
    w, s, at = _weight(weight, sigma, width), float(sigma), float(target)
    z, zs, uppers, lowers, signals = at, [], [], [], []
    for number, value in enumerate(found):
        z = w * value + (1 - w) * z
        reach = float(width) * s * sqrt(w / (2 - w) * (1 - (1 - w) ** (2 * (number + 1))))
        zs.append(from_float(z))
        uppers.append(from_float(at + reach))
        lowers.append(from_float(at - reach))
        if not lowers[-1] <= zs[-1] <= uppers[-1]:
            signals.append(number)
    return Ewma(tuple(zs), tuple(uppers), tuple(lowers), tuple(signals))


def ewma_final_limits(
    *, target: Decimal, sigma: Decimal, weight: Decimal, width: Decimal = Decimal(3)
) -> tuple[Decimal, Decimal]:
    """The limits an EWMA chart comes to in the end: target ± L s sqrt(w / (2 - w)). Lower, upper."""
    w = _weight(weight, sigma, width)
    reach = float(width) * float(sigma) * sqrt(w / (2 - w))
    return from_float(float(target) - reach), from_float(float(target) + reach)


def _weight(weight: Decimal, sigma: Decimal, width: Decimal) -> float:
    finite = weight.is_finite() and sigma.is_finite() and width.is_finite()
    if not finite or not 0 < weight <= 1 or sigma < 0 or not 0 < width <= 10:
        raise Refusal(say("trend_ewma_range"), "trend_values")
    return float(weight)


@dataclass(frozen=True)
class Share:
    """One category of a Pareto: how often, its share of all in %, and that share with those before it."""

    category: str
    count: int
    percent: Decimal
    cumulative_percent: Decimal


def pareto(categories: Iterable[str]) -> list[Share]:
    """Categories by how often they came, the most frequent first, of equals by name. None gives none."""
    counted = sorted(Counter(categories).items(), key=lambda pair: (-pair[1], pair[0]))
    total, so_far, shares = sum(count for _name, count in counted), 0, []
    for name, count in counted:
        so_far += count
        shares.append(Share(name, count, Decimal(100) * count / total, Decimal(100) * so_far / total))
    return shares


def middle(values: Sequence[Decimal]) -> Decimal:
    """The median: the middle value, of an even number the mean of the two. Raises Refusal for none."""
    if not values or not all(value.is_finite() for value in values):
        raise Refusal(say("trend_too_few", least="1", source=HANDBOOK), "trend_values")
    return median(values)
