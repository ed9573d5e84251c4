"""Cumulative exposure: time in each band of warmth over a log, against a published table.

Between two readings the warmer end decides. Exactly on an edge between two bands is the cooler band; exactly
on the lowest edge is already in. Each band has its own limit; the shares of all are also added up, and more
than the whole is too long: our own choice, which errs towards the eater. Curd in process is refused: its pH
falls and the starter competes, so the table does not apply to it.
"""

from bisect import bisect_left
from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation.exposure_tables import EXPOSURES, SOURCE, SUMMARY_SOURCE, Exposure
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import say
from safetyplan.calculation.series import Series

FOODS = ("milk_before_starter", "finished_cheese")
CURD = "curd_in_process"
_HOUR = 3_600_000


def require_food(food: str) -> None:
    """Refuse curd in process, and a state of food nobody declared."""
    if food == CURD:
        raise Refusal(say("exposure_curd", source=SOURCE), "food_state")
    if food not in FOODS:
        raise Refusal(say("exposure_unknown_food"), "food_state")


@dataclass(frozen=True)
class BandTime:
    """Time in one band against its limit, in hours; share: of the limit."""

    above_f: Decimal
    hours: Decimal
    limit_hours: Decimal

    @property
    def share(self) -> Decimal:
        """Which part of the limit is used up."""
        return self.hours / self.limit_hours


@dataclass(frozen=True)
class Exposed:
    """The exposure of one organism over a log; gaps: how many pauses nobody looked into."""

    organism: str
    bands: tuple[BandTime, ...]
    gaps: int

    @property
    def combined(self) -> Decimal:
        """The shares of all bands together: more than 1 is too long."""
        return sum((band.share for band in self.bands), Decimal(0))

    @property
    def exceeded(self) -> bool:
        """Whether a band, or all of them together, is beyond its limit; exactly on it is not."""
        return self.combined > 1


def exposure_of(series: Series, organism: str, *, food: str) -> Exposed:
    """Hours in each band of an organism's table, over a log in any unit of temperature.

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
    bands = tuple(
        BandTime(band.above_f, Decimal(ms) / _HOUR, band.hours)
        for band, ms in zip(table.bands, times, strict=True)
    )
    return Exposed(organism, bands, len(series.gaps()))


def _time_by_band(series: Series, table: Exposure) -> list[int]:
    """Milliseconds in each band: a value is in band n when it is above n of the edges."""
    first, *others = (band.above_f for band in table.bands)
    edges = [series.lowest_at_least(first, "degF") - 1]
    edges += [series.highest_at_most(edge, "degF") for edge in others]
    totals = [0] * (len(edges) + 1)
    longest = series.longest_gap_ms
    before, warm_before = 0, 0
    for number, (time, value) in enumerate(zip(series.times, series.values, strict=True)):
        band = bisect_left(edges, value)
        if number and time - before <= longest:
            totals[band if band > warm_before else warm_before] += time - before
        before, warm_before = time, band
    return totals[1:]


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


__all__ = [
    "CURD",
    "FOODS",
    "SUMMARY_SOURCE",
    "BandTime",
    "Exposed",
    "exposure_of",
    "require_food",
    "within_summary",
]
