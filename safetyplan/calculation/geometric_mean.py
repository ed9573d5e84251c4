"""Geometric means of counts, and the rolling geometric mean of raw milk over calendar months.

Two ways of taking the mean over several months are in use and differ: all samples together (pooled), or the
mean of the monthly means. Which one is meant is always named. A count below the laboratory's limit ("<10") is
replaced by that limit or by half of it, a count above its range (">1500") by the number itself, and the
replacement is part of the result; nought has no logarithm and is refused.

Source of the rule of months: Regulation (EC) No 853/2004, annex III, section IX, chapter I, part III.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from decimal import Decimal
from enum import StrEnum
from math import exp, fsum, log

from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import from_float, trim
from safetyplan.calculation.sampling import Count
from safetyplan.calculation.sentences import say

MOST_MONTHS = 24
_LOWEST, _HIGHEST = Decimal("0.001"), Decimal(1_000_000_000_000)
_RANGE = "counts of cells and colonies; common practice, no source"
_MONTHS = "two or three months in Regulation (EC) No 853/2004; longest by common practice, no source"


class Method(StrEnum):
    """How the mean over several months is taken."""

    POOLED = "pooled_samples"
    MONTHLY = "monthly_means"


class CensoredAs(StrEnum):
    """What stands for a count below the laboratory's limit."""

    LIMIT = "full_limit"
    HALF = "half_limit"


@dataclass(frozen=True, order=True)
class Month:
    """A calendar month."""

    year: int
    month: int

    @classmethod
    def of(cls, at: datetime, zone: tzinfo) -> "Month":
        """The month of an instant on the calendar of a zone."""
        local = at.astimezone(zone)
        return cls(local.year, local.month)

    @property
    def text(self) -> str:
        """Year and month: "2026-05"."""
        return f"{self.year:04}-{self.month:02}"

    def before(self, months: int) -> "Month":
        """The month so many months earlier."""
        number = self.year * 12 + self.month - 1 - months
        return Month(number // 12, number % 12 + 1)


@dataclass(frozen=True)
class Sample:
    """One count and the month in which it was taken."""

    month: Month
    count: Count


@dataclass(frozen=True)
class MonthMean:
    """The geometric mean of one month; None without a sample."""

    month: Month
    samples: int
    mean: Decimal | None


@dataclass(frozen=True)
class Replaced:
    """A count marked "<" or ">", and the number that stands for it."""

    count: Count
    used: Decimal


@dataclass(frozen=True)
class RollingMean:
    """A rolling geometric mean and what it is made of.

    mean: None while a month it needs has no sample. short: the months with fewer samples than the rule asks
    for; with any of them the mean does not answer the rule. replaced: every marked count of the window. open:
    a count above the laboratory's range is among them, so that the true mean is at or above `mean`.
    """

    mean: Decimal | None
    months: tuple[MonthMean, ...]
    short: tuple[MonthMean, ...]
    replaced: tuple[Replaced, ...]
    open: bool


def geometric_mean(values: Sequence[Decimal]) -> Decimal:
    """The geometric mean of numbers of one unit, in that unit: 10^(mean of log10 x).

    Floats inside, 12 significant digits; the order makes no difference. Validity: at least one number, each
    from 0.001 to 1 000 000 000 000; nought and less have no logarithm. Raises Refusal. Source: definition.
    """
    if not values:
        raise Refusal(say("mean_empty"))
    for value in values:
        if value.is_finite() and value <= 0:
            raise Refusal(say("mean_nought", value=trim(value)))
        require_within(value, _LOWEST, _HIGHEST, quantity="mean_count", unit="count", source=_RANGE)
    return _mean(values)


def _mean(values: Sequence[Decimal]) -> Decimal:
    return from_float(exp(fsum(log(float(value)) for value in values) / len(values)))


def number_for(count: Count, censored_as: CensoredAs) -> Decimal:
    """The number that stands for a count: itself, or for "<" the laboratory's limit or half of it.

    For ">" it is the number, which makes the mean too low; whoever uses it must say so.
    """
    return count.value / 2 if count.mark == "<" and censored_as is CensoredAs.HALF else count.value


def window(last: Month, months: int) -> tuple[Month, ...]:
    """So many calendar months in order, the last one included. Raises Refusal outside 1 to 24 months."""
    most = Decimal(MOST_MONTHS)
    require_within(Decimal(months), Decimal(1), most, quantity="mean_months", unit="count", source=_MONTHS)
    return tuple(last.before(back) for back in reversed(range(months)))


def rolling_mean(
    samples: Sequence[Sample],
    *,
    last: Month,
    months: int,
    least_per_month: int,
    method: Method,
    censored_as: CensoredAs,
) -> RollingMean:
    """The geometric mean of the samples of `months` calendar months ending with `last`, in their unit.

    pooled_samples: of all samples; monthly_means: of the geometric means of the months. Samples of other
    months are left out; the order makes no difference. Rounding, validity and errors as for `geometric_mean`
    and `window`. Sources: Regulation (EC) No 853/2004 as above; both ways in Irish Veterinary Journal 70
    (2017), article 9, table 2; a count below the limit taken at the limit: Iowa Department of Natural
    Resources; at half of it: common practice, no source.
    """
    means, numbers, marked = [], [], []
    for month in window(last, months):
        counts = [sample.count for sample in samples if sample.month == month]
        own = [number_for(count, censored_as) for count in counts]
        means.append(MonthMean(month, len(counts), geometric_mean(own) if own else None))
        numbers += own
        marked += [Replaced(count, used) for count, used in zip(counts, own, strict=True) if count.mark]
    return RollingMean(
        mean=_over(means, numbers, method),
        months=tuple(means),
        short=tuple(mean for mean in means if mean.samples < least_per_month),
        replaced=tuple(marked),
        open=any(replaced.count.mark == ">" for replaced in marked),
    )


def _over(means: Sequence[MonthMean], numbers: Sequence[Decimal], method: Method) -> Decimal | None:
    if method is Method.POOLED:
        return geometric_mean(numbers) if numbers else None
    found = [mean.mean for mean in means if mean.mean is not None]
    return geometric_mean(found) if len(found) == len(means) else None


def replaced_text(replaced: Sequence[Replaced]) -> str:
    """Which marked counts were replaced by what, equal ones together: "2 x <10 = 5, >1500 = 1500"."""
    texts = [f"{one.count.mark}{trim(one.count.value)} = {trim(one.used)}" for one in replaced]
    return ", ".join(
        f"{texts.count(text)} x {text}" if texts.count(text) > 1 else text for text in dict.fromkeys(texts)
    )
