"""Acidification of a vat: when a pH was reached, what it was at an hour, whether the vat is slow, and a hint.

A pH curve is measured at a few moments. Between two of them a straight line is drawn, which tells a person
about when; it never passes anything. Beyond the last reading nothing is computed except a hint, which is of a
type of its own and never a judgement. Counts of hours and degrees made for fermented meat are not offered.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise

from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.trade_units import lactic_from_titration
from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.calculation.units import UnitError, convert

LOWEST_PH, HIGHEST_PH = QUANTITIES["ph"].physical["pH"]
# A make and its first days; beyond it the pH moves for other reasons. Common practice, no source.
LONGEST_HOURS = Decimal(720)
FALLING_READINGS = 3
FLATTENING = Decimal("0.5")
_ELECTRODE = "span of an ordinary glass electrode"
_MAKE = "a make and its first month; common practice, no source"
_DECIMALS = 3


def hours_text(hours: Decimal) -> str:
    """Hours with their unit, as given up to thousandths, else half up to thousandths: "4 h", "3.183 h"."""
    exponent = hours.as_tuple().exponent
    fine = isinstance(exponent, int) and exponent < -_DECIMALS
    return amount(decimal_text(hours, _DECIMALS) if fine else trim(hours), "h")


def ph_text(ph: Decimal) -> str:
    """A measured or target pH as it was given: "pH 5.40"."""
    return amount(trim(ph), "pH")


def require_ph(ph: Decimal, *, field: str = "") -> None:
    """Refuse a pH outside 0 to 14, the span of an ordinary glass electrode, and what is no number."""
    require_within(ph, LOWEST_PH, HIGHEST_PH, quantity="ph", unit="pH", source=_ELECTRODE, field=field)


def require_hours(hours: Decimal, *, field: str = "") -> None:
    """Refuse hours after the starter outside 0 to 720, and what is no number."""
    require_within(
        hours, Decimal(0), LONGEST_HOURS, quantity="hours_since_starter", unit="h", source=_MAKE, field=field
    )


@dataclass(frozen=True)
class PhReading:
    """One measured pH, so many hours after the starter."""

    hours: Decimal
    ph: Decimal


@dataclass(frozen=True)
class PhLog:
    """The measured pH of one vat in the order of time, at least one reading. Made by `of`."""

    readings: tuple[PhReading, ...]

    @classmethod
    def of(cls, readings: Iterable[tuple[Decimal, Decimal]], *, field: str = "") -> "PhLog":
        """Make a log of (hours since the starter, pH) in any order; the same reading twice counts once.

        Validity: 0 to 720 h, pH 0 to 14. Raises Refusal outside it, for no reading at all, and for two
        different values of one moment; `field` names the input in it.
        """
        found: dict[Decimal, Decimal] = {}
        for hours, ph in readings:
            require_hours(hours, field=field)
            require_ph(ph, field=field)
            if found.setdefault(hours, ph) != ph:
                raise Refusal(say("acidification_two_values", hours=hours_text(hours)), field)
        if not found:
            raise Refusal(say("series_empty"), field)
        return cls(tuple(PhReading(hours, found[hours]) for hours in sorted(found)))

    @property
    def first(self) -> PhReading:
        """The earliest reading."""
        return self.readings[0]

    @property
    def last(self) -> PhReading:
        """The latest reading."""
        return self.readings[-1]


@dataclass(frozen=True)
class Reached:
    """The first time the pH was at or below a target, in hours after the starter.

    after: the first reading there. before: the reading ahead of it; None when the first reading of the log
    was already there, so that the time of reaching it is not known. rise: the first later reading above the
    target, a contradiction for a person to resolve.
    """

    target_ph: Decimal
    hours: Decimal
    before: PhReading | None
    after: PhReading
    rise: PhReading | None

    @property
    def measured(self) -> bool:
        """Whether the time is that of a reading and not interpolated."""
        return self.hours == self.after.hours


@dataclass(frozen=True)
class NotReached:
    """No reading of the log is at or below the target; nothing is said about later."""

    target_ph: Decimal
    lowest: PhReading
    last: PhReading


def time_to_target(log: PhLog, *, target_ph: Decimal) -> Reached | NotReached:
    """When the pH first came to a target, by a straight line between two readings; never extrapolated.

    Formula: t = t0 + (pH0 - target) x (t1 - t0) / (pH0 - pH1), of the first reading (t1, pH1) at or below the
    target and the one before it; exactly on the target is reached. Hours after the starter, 28 digits, not
    rounded. Validity: as PhLog, target pH 0 to 14; a smooth (monotone cubic) curve through hourly readings
    differs by minutes. Raises Refusal for a target outside. Source: definition of linear interpolation.
    """
    require_ph(target_ph)
    there = next((n for n, reading in enumerate(log.readings) if reading.ph <= target_ph), None)
    if there is None:
        return NotReached(target_ph, min(log.readings, key=lambda reading: reading.ph), log.last)
    after, rise = log.readings[there], _rise(log.readings[there:], target_ph)
    if there == 0:
        return Reached(target_ph, after.hours, None, after, rise)
    before = log.readings[there - 1]
    hours = after.hours
    if after.ph < target_ph:
        fallen = (before.ph - target_ph) * (after.hours - before.hours) / (before.ph - after.ph)
        hours = min(before.hours + fallen, after.hours)
    return Reached(target_ph, hours, before, after, rise)


def _rise(readings: Iterable[PhReading], target_ph: Decimal) -> PhReading | None:
    """The first reading above the target that follows one at or below it."""
    reached = False
    for reading in readings:
        if reached and reading.ph > target_ph:
            return reading
        reached = reached or reading.ph <= target_ph
    return None


def readings_around(log: PhLog, hours: Decimal, *, field: str = "") -> tuple[PhReading, PhReading]:
    """The readings at or before and at or after a time; the same one twice when measured just then.

    Raises Refusal outside the log: nothing is extrapolated.
    """
    if not hours.is_finite() or not log.first.hours <= hours <= log.last.hours:
        sentence = say(
            "acidification_outside_log",
            hours=hours_text(hours) if hours.is_finite() else str(hours),
            low=hours_text(log.first.hours),
            high=hours_text(log.last.hours),
            source="first and last reading of the log",
        )
        raise Refusal(sentence, field)
    before = [reading for reading in log.readings if reading.hours <= hours]
    after = next(reading for reading in log.readings if reading.hours >= hours)
    return before[-1], after


def ph_at(log: PhLog, *, hours: Decimal) -> Decimal:
    """The pH so many hours after the starter, by a straight line between two readings.

    Formula: pH = pH0 + (pH1 - pH0) x (t - t0) / (t1 - t0); a measured value is given as it is. 28 digits,
    not rounded. Validity: from the first to the last reading. Raises Refusal outside. Source: definition of
    linear interpolation.
    """
    before, after = readings_around(log, hours)
    if before == after:
        return before.ph
    return before.ph + (after.ph - before.ph) * (hours - before.hours) / (after.hours - before.hours)


class Pace(StrEnum):
    """How a vat stands against the recipe at one hour. None of these passes or releases anything."""

    SLOW = "slow"
    IN_TIME = "in_time"
    NOT_SHOWN = "not_shown"


@dataclass(frozen=True)
class PaceFinding:
    """A vat against the recipe at one hour: `reading` is the measured value that decided, if one did.

    rise: the first reading above the target after one at or below it, in the whole log.
    """

    pace: Pace
    sentence: Sentence
    reading: PhReading | None
    rise: PhReading | None


def pace_at(log: PhLog, *, target_ph: Decimal, hours: Decimal) -> PaceFinding:
    """Whether a vat is slow, by measured values only: the recipe's pH against what was measured by its hour.

    In time: the last reading at or before the hour is at or below the target, and none before it had gone
    back above the target after reaching it. Slow: the reading exactly at the hour is above the target, or the
    target was not measured by then and a later reading is above it. Everything else is not shown: no
    interpolated value takes part. Target in pH, hours after the starter; nothing is rounded.
    Validity: pH 0 to 14, 0 to 720 h. Raises Refusal outside. Source: definition; the target is the recipe's.
    """
    require_ph(target_ph)
    require_hours(hours)
    by_then = [reading for reading in log.readings if reading.hours <= hours]
    later = [reading for reading in log.readings if reading.hours > hours]
    rise = _rise(log.readings, target_ph)
    latest = by_then[-1] if by_then else None
    reached = latest is not None and latest.ph <= target_ph
    missed = next((reading for reading in later if reading.ph > target_ph), None)
    if latest is not None and latest.hours == hours and not reached:
        missed = latest
    if missed is not None and not reached:
        return PaceFinding(Pace.SLOW, _slow(missed, target_ph, hours), missed, rise)
    contradiction = _rise(by_then, target_ph)
    if contradiction is not None:
        return PaceFinding(Pace.NOT_SHOWN, rise_sentence(contradiction, target_ph), None, rise)
    if latest is not None and reached:
        return PaceFinding(Pace.IN_TIME, _in_time(latest, target_ph, hours), latest, rise)
    sentence = say("acidification_not_shown", target=ph_text(target_ph), hours=hours_text(hours))
    return PaceFinding(Pace.NOT_SHOWN, sentence, None, rise)


def _slow(reading: PhReading, target_ph: Decimal, hours: Decimal) -> Sentence:
    return say(
        "acidification_slow",
        value=ph_text(reading.ph),
        measured=hours_text(reading.hours),
        target=ph_text(target_ph),
        hours=hours_text(hours),
        by=trim(reading.ph - target_ph),
    )


def _in_time(reading: PhReading, target_ph: Decimal, hours: Decimal) -> Sentence:
    return say(
        "acidification_in_time",
        value=ph_text(reading.ph),
        measured=hours_text(reading.hours),
        target=ph_text(target_ph),
        hours=hours_text(hours),
    )


def rise_sentence(rise: PhReading, target_ph: Decimal) -> Sentence:
    """The words for a pH that was at its target and was then measured above it."""
    value, hours = ph_text(rise.ph), hours_text(rise.hours)
    return say("acidification_rise", value=value, hours=hours, target=ph_text(target_ph))


@dataclass(frozen=True)
class Hint:
    """A guess at when the target will be reached: a hint, not evidence, and by its type no judgement.

    The time lies between earliest and latest (hours after the starter). run: the falling readings at the end
    of the log. slope_before, slope_latest: fall in pH per hour over the last two steps of it.
    """

    earliest_hours: Decimal
    latest_hours: Decimal
    run: tuple[PhReading, ...]
    slope_before: Decimal
    slope_latest: Decimal
    sentence: Sentence


@dataclass(frozen=True)
class NoHint:
    """Why there is no hint."""

    sentence: Sentence


def _falling_run(log: PhLog) -> tuple[PhReading, ...]:
    """The readings at the end of the log of which each is lower than the one before it."""
    start = len(log.readings) - 1
    while start > 0 and log.readings[start].ph < log.readings[start - 1].ph:
        start -= 1
    return log.readings[start:]


def forecast_crossing(log: PhLog, *, target_ph: Decimal) -> Hint | NoHint:
    """A hint of when the target will be reached, from the last falling readings; never evidence.

    Rule: (1) the target has not been reached; (2) the log ends with at least three readings, each lower than
    the one before; (3) the fall per hour over the last step is at least half of that over the step before,
    else the curve flattens; (4) the later end of the hint is no further ahead of the last reading than the
    falling readings reach back. Otherwise there is none, and why is said.
    Formula: last time + (last pH - target) / fall per hour, with the faster and the slower of the last two
    steps. Hours after the starter, 28 digits, not rounded. Validity: pH 0 to 14. Raises Refusal outside.
    Source: straight-line continuation; the rule is common practice, no source.
    """
    if isinstance(time_to_target(log, target_ph=target_ph), Reached):
        return NoHint(say("acidification_no_hint_reached", target=ph_text(target_ph)))
    run = _falling_run(log)
    if len(run) < FALLING_READINGS:
        least = str(FALLING_READINGS)
        return NoHint(say("acidification_no_hint_few", count=str(len(run)), least=least))
    slope_before, slope_latest = (
        (a.ph - b.ph) / (b.hours - a.hours) for a, b in pairwise(run[-FALLING_READINGS:])
    )
    if slope_latest < slope_before * FLATTENING:
        before, latest = slope_text(slope_before), slope_text(slope_latest)
        return NoHint(say("acidification_no_hint_flat", before=before, latest=latest))
    still = log.last.ph - target_ph
    soonest, longest = (
        still / slope for slope in (max(slope_before, slope_latest), min(slope_before, slope_latest))
    )
    reach = run[-1].hours - run[0].hours
    if longest > reach:
        ahead, back = hours_text(longest), hours_text(reach)
        return NoHint(say("acidification_no_hint_far", ahead=ahead, back=back))
    earliest, latest_hours = log.last.hours + soonest, log.last.hours + longest
    sentence = _hint(target_ph, earliest, latest_hours)
    return Hint(earliest, latest_hours, run, slope_before, slope_latest, sentence)


def slope_text(slope: Decimal) -> str:
    """A fall in pH per hour, half up to four decimals."""
    return decimal_text(slope, 4)


def _hint(target_ph: Decimal, earliest: Decimal, latest: Decimal) -> Sentence:
    first, last = (amount(decimal_text(hours, 1), "h") for hours in (earliest, latest))
    if first == last:
        return say("acidification_hint_time", target=ph_text(target_ph), time=first)
    return say("acidification_hint", target=ph_text(target_ph), first=first, last=last)


def titratable_acidity(*, titre_ml: Decimal, normality: Decimal, sample_ml: Decimal, unit: str) -> Decimal:
    """Titratable acidity in any of its scales (°D, °SH, °Th, % lactic acid w/v) from a titration.

    Formula: % = titre (ml) x normality x 0.09 x 100 / sample (ml), then the scales of `units.convert` (°SH
    per 100 ml with 0.25 N). 28 digits, not rounded. Validity: titre 0 to 100 ml, normality 0.001 to 1, sample
    0.1 to 1000 ml. Raises Refusal outside, UnitError for a unit that is no acidity.
    Source: 1 ml of 0.1 N sodium hydroxide is 0.009 g lactic acid (mantech-inc.com); see `units`.
    """
    for name, value, least, most in (
        ("titre", titre_ml, Decimal(0), Decimal(100)),
        ("normality", normality, Decimal("0.001"), Decimal(1)),
        ("sample_volume", sample_ml, Decimal("0.1"), Decimal(1000)),
    ):
        shown_unit = "ratio" if name == "normality" else "mL"
        source = "titration of milk or whey; common practice, no source"
        require_within(value, least, most, quantity=name, unit=shown_unit, source=source, field=name)
    if unit not in QUANTITIES["acidity"].units:
        raise UnitError(say("unit_unknown", unit=unit))
    percent = lactic_from_titration(titre_ml=titre_ml, normality=normality, sample_ml=sample_ml)
    return convert(percent, "percent_lactic", unit)


def lactic_by_weight(*, percent_by_volume: Decimal, density_g_per_ml: Decimal) -> Decimal:
    """% lactic acid w/w from % w/v: divide by the density (g/ml) of what was titrated, milk about 1.03.

    28 digits, not rounded. Validity: 0 to 3 %, density 0.95 to 1.25 g/ml. Raises Refusal outside.
    Source: definition of density; ranges are those of the units of the trade (common practice, no source).
    """
    low, high = QUANTITIES["acidity"].physical["percent_lactic"]
    least, most = QUANTITIES["density"].plausible["g_per_ml"]
    source = "range of milk, whey and brine; common practice, no source"
    require_within(percent_by_volume, low, high, quantity="acidity", unit="percent_lactic", source=source)
    require_within(density_g_per_ml, least, most, quantity="density", unit="g_per_ml", source=source)
    return percent_by_volume / density_g_per_ml
