"""Cumulative exposure: time in each band of warmth over a log, against a published table.

Between two readings the warmer end decides. Exactly on an edge between two bands is the cooler band; exactly
on the lowest edge is already in. Each band has its own limit; the shares of all are also added up, and more
than the whole is too long: our own choice, which errs towards the eater. Curd in process is refused: its pH
falls and the starter competes, so the table does not apply to it.
"""

from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from operator import sub
from typing import Literal

from safetyplan.calculation.exposure_tables import EXPOSURES, SOURCE, Exposure
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import say
from safetyplan.calculation.series import Series

FOODS = ("milk_before_starter", "finished_cheese")
CURD = "curd_in_process"
HOUR_MS = 3_600_000
_STRIDE = 16
_BEYOND = 10**30  # beyond any reading; a whole number, because comparing with infinity takes far longer
Finding = Literal["exceeded", "not_shown", "not_exceeded"]


def require_food(food: str) -> None:
    """Refuse curd in process, and a state of food nobody declared."""
    if food == CURD:
        raise Refusal(say("exposure_curd", source=SOURCE), "food_state")
    if food not in FOODS:
        raise Refusal(say("exposure_unknown_food"), "food_state")


def _decimal(share: Fraction) -> Decimal:
    return Decimal(share.numerator) / share.denominator


@dataclass(frozen=True)
class BandTime:
    """Time in one band, in milliseconds, against its limit in hours."""

    above_f: Decimal
    spent_ms: int
    limit_hours: Decimal

    @property
    def hours(self) -> Decimal:
        """The time in hours."""
        return Decimal(self.spent_ms) / HOUR_MS

    @property
    def exact_share(self) -> Fraction:
        """Which part of the limit is used up, exactly."""
        return Fraction(self.spent_ms, HOUR_MS) / Fraction(self.limit_hours)

    @property
    def share(self) -> Decimal:
        """Which part of the limit is used up; more than 1 is too long."""
        return _decimal(self.exact_share)


@dataclass(frozen=True)
class Exposed:
    """The exposure of one organism over a log; gaps: how many pauses nobody looked into."""

    organism: str
    bands: tuple[BandTime, ...]
    gaps: int

    @property
    def exact_combined(self) -> Fraction:
        """The shares of all bands together, exactly."""
        return sum((band.exact_share for band in self.bands), Fraction(0))

    @property
    def combined(self) -> Decimal:
        """The shares of all bands together: more than 1 is too long."""
        return _decimal(self.exact_combined)

    @property
    def exceeded(self) -> bool:
        """Whether a band, or all of them together, is beyond its limit; exactly on it is not."""
        return self.exact_combined > 1

    @property
    def finding(self) -> Finding:
        """Exceeded whatever the gaps hide; else not shown when there is one; else not exceeded."""
        if self.exceeded:
            return "exceeded"
        return "not_shown" if self.gaps else "not_exceeded"


def exposure_of(series: Series, organism: str, *, food: str) -> Exposed:
    """Time in each band of an organism's table, over a log in any unit of temperature.

    Milliseconds are added up exactly. Raises Refusal for curd in process, an organism without a table, an
    empty log. Source: exposure_tables.SOURCE (from memory).
    """
    require_food(food)
    table = EXPOSURES.get(organism)
    if table is None:
        raise Refusal(say("growth_unknown_organism", organism=organism), "organism")
    if not len(series):
        raise Refusal(say("series_empty"), "temperature_log")
    times = _time_by_band(series, table)
    bands = tuple(BandTime(band.above_f, ms, band.hours) for band, ms in zip(table.bands, times, strict=True))
    return Exposed(organism, bands, len(series.gaps()))


def _time_by_band(series: Series, table: Exposure) -> list[int]:
    """Milliseconds in each band: above its own edge and not above the next one."""
    first, *others = (band.above_f for band in table.bands)
    edges = [series.lowest_at_least(first, "degF") - 1]
    edges += [series.highest_at_most(edge, "degF") for edge in others]
    above = [*milliseconds_above(series, edges), 0]
    return [warmer - hotter for warmer, hotter in pairwise(above)]


def milliseconds_above(series: Series, edges: Sequence[int]) -> tuple[int, ...]:
    """Milliseconds between neighbouring readings of which at least one is above an edge, for each edge.

    edges: rising, in thousandths of the unit of the series; exactly on one is not above it. A gap counts
    nothing. One pass for all edges, which stops only where the band changes: a limit may have several edges
    over a day of seconds.
    """
    totals = [0] * len(edges)
    cuts = [0, *gap_positions(series.times, series.longest_gap_ms), len(series)]
    for first, end in pairwise(cuts):
        _add_above(totals, series.times[first:end], series.values[first:end], edges)
    return tuple(totals)


def _add_above(totals: list[int], times: Sequence[int], values: Sequence[int], edges: Sequence[int]) -> None:
    """Add the time above each edge over a stretch without a gap.

    Each passage up takes off the time of the reading before it, each passage down adds that of its own.
    """
    if not times:
        return
    bounds = [-_BEYOND, *edges, _BEYOND]
    band, low, high = 0, bounds[0], bounds[1]
    for number, value in enumerate(values):
        if low < value <= high:
            continue
        while value > high:
            totals[band] -= times[number - 1 if number else 0]
            band += 1
            low, high = high, bounds[band + 1]
        while value <= low:
            band -= 1
            totals[band] += times[number]
            low, high = bounds[band], low
    for edge in range(band):
        totals[edge] += times[-1]


def gap_positions(times: "array[int]", longest: int) -> list[int]:
    """Where a reading comes more than `longest` milliseconds after the one before.

    Sixteen spans are looked at together first: when all of them are no longer, none is.
    """
    found: list[int] = []
    for first, length in enumerate(map(sub, times[_STRIDE::_STRIDE], times[::_STRIDE])):
        if length > longest:
            found += _gaps_inside(times, first * _STRIDE, longest)
    return found + _gaps_inside(times, max(0, len(times) - 1) // _STRIDE * _STRIDE, longest)


def _gaps_inside(times: "array[int]", first: int, longest: int) -> list[int]:
    some = times[first : first + _STRIDE + 1]
    return [first + n for n, (one, other) in enumerate(pairwise(some), 1) if other - one > longest]


def within_summary(*, hours_50_to_70: Decimal, hours_above_70: Decimal, only_aureus: bool) -> bool:
    """Whether raw ready-to-eat food meets the summary of the table, by hours from 50 to 70 °F and above.

    Ever above 70 °F: above 50 °F in all at most 2 h (3 h when S. aureus is the only concern), or at most 4 h
    with at most 2 h above 70 °F. Never above 70 °F: at most 5 h above 50 °F (12 h for S. aureus only; from
    memory). Raises Refusal for negative hours. Source: exposure_tables.SUMMARY_SOURCE.
    """
    if not (hours_50_to_70.is_finite() and hours_above_70.is_finite()):
        raise Refusal(say("growth_negative_time"), "temperature_log")
    if min(hours_50_to_70, hours_above_70) < 0:
        raise Refusal(say("growth_negative_time"), "temperature_log")
    total = hours_50_to_70 + hours_above_70
    if hours_above_70 == 0:
        return total <= (12 if only_aureus else 5)
    return total <= (3 if only_aureus else 2) or (total <= 4 and hours_above_70 <= 2)
