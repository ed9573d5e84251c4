"""Lethal rates, equivalent times, D and z: how much a heat treatment kills by the log-linear model.

    L(T) = 10 ** ((T - Tref) / z)          lethal rate, minutes at Tref per minute
    F    = integral of L dt                equivalent time at Tref
    D(T) = Dref * 10 ** ((Tref - T) / z)   time for one log10
    log10 reduction = F / Dref

Valid for log-linear death, a product mixed through and measured at its coldest point, within the temperatures
of the study behind D and z. Floats inside, Decimals of 12 digits out, nothing rounded for display. All of it
is supporting evidence: no figure from here makes a hold legal (`heat.py` judges by the table alone).
Source: the general method of thermal death time, as in the guidance named with `heat_tables.ORGANISMS`.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from math import expm1, fsum, log, log10

from safetyplan.calculation import rounding
from safetyplan.calculation.heat_tables import (
    ORGANISMS,
    PASTEURISATION_EFFECT_C,
    PASTEURISATION_EFFECT_SECONDS,
    PASTEURISATION_EFFECT_Z_C,
    Organism,
)
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import convert

COLDEST_C, HOTTEST_C = Decimal(-50), Decimal(150)
LEAST_REFERENCE_C, GREATEST_REFERENCE_C = Decimal(40), Decimal(130)
LEAST_Z_C, GREATEST_Z_C = Decimal(2), Decimal(20)
LONGEST_SECONDS = Decimal(10_000_000)
MOST_LOG10 = Decimal(6)
_LN10 = log(10)
_LEAST_FALL = 1e-9
_BOUNDS = "bounds of this calculation, wide of every published figure"


def _require_model(reference_c: Decimal, z_c: Decimal) -> None:
    require_within(
        reference_c,
        LEAST_REFERENCE_C,
        GREATEST_REFERENCE_C,
        quantity="reference_temperature",
        unit="degC",
        source=_BOUNDS,
        field="reference_temperature",
    )
    require_within(
        z_c, LEAST_Z_C, GREATEST_Z_C, quantity="z_value", unit="degC", source=_BOUNDS, field="z_value"
    )


def _require_temperature(temperature_c: Decimal, field: str = "temperature") -> None:
    require_within(
        temperature_c,
        COLDEST_C,
        HOTTEST_C,
        quantity="temperature",
        unit="degC",
        source=_BOUNDS,
        field=field,
    )


def _require_time(value: Decimal, quantity: str, unit: str = "s") -> None:
    least = Decimal("0.000001")
    require_within(
        value, least, LONGEST_SECONDS, quantity=quantity, unit=unit, source=_BOUNDS, field=quantity
    )


def lethal_rate(*, temperature_c: Decimal, reference_c: Decimal, z_c: Decimal) -> Decimal:
    """L = 10 ** ((T - Tref) / z): seconds at Tref that one second at T is worth; no unit.

    T -50 to 150 °C, Tref 40 to 130 °C, z 2 to 20 °C; raises Refusal outside. 12 significant digits.
    """
    _require_model(reference_c, z_c)
    _require_temperature(temperature_c)
    return rounding.from_float(_rate(float(temperature_c), float(reference_c), float(z_c)))


def _rate(temperature: float, reference: float, z_c: float) -> float:
    return float(10.0 ** ((temperature - reference) / z_c))


def equivalent_hold(*, hold: Decimal, hold_at_c: Decimal, temperature_c: Decimal, z_c: Decimal) -> Decimal:
    """The hold at T worth as much as `hold` at another temperature: t = hold * 10 ** ((Thold - T) / z).

    In the unit of `hold` (0 up to 10 000 000 of it). Also D at T from D at one temperature. Same bounds as
    `lethal_rate`; raises Refusal outside. 12 significant digits.
    """
    _require_model(hold_at_c, z_c)
    _require_temperature(temperature_c)
    _require_time(hold, "hold_asked")
    return rounding.from_float(float(hold) * _rate(float(hold_at_c), float(temperature_c), float(z_c)))


def organism_named(name: str) -> Organism:
    """An organism of the table. Raises Refusal when there is none of that name."""
    if name not in ORGANISMS:
        raise Refusal(say("heat_organism_unknown", organism=name), "heat_organism")
    return ORGANISMS[name]


def decimal_reduction_time(organism: str, *, temperature_c: Decimal) -> Decimal:
    """D of an organism in seconds at T: D = Dref * 10 ** ((Tref - T) / z), within the range of its study.

    Raises Refusal outside that range, with the range and the source; where z is not known the range is one
    temperature. Even inside, the D measured can be twice that of the line (`Organism.above_line`).
    """
    found = organism_named(organism)
    require_within(
        temperature_c,
        found.low_c,
        found.high_c,
        quantity="temperature",
        unit="degC",
        source=found.source,
        field="temperature",
    )
    if found.z_c is None:
        return found.d_s
    return equivalent_hold(hold=found.d_s, hold_at_c=found.at_c, temperature_c=temperature_c, z_c=found.z_c)


def log_reduction(*, equivalent_seconds: Decimal, d_seconds: Decimal) -> Decimal:
    """log10 reduction = F / D, both at one temperature and in one unit. No cap: show it by `log10_text`.

    F 0 to 10 000 000, D above 0; raises Refusal outside. 12 significant digits.
    """
    require_within(
        equivalent_seconds,
        Decimal(0),
        LONGEST_SECONDS,
        quantity="equivalent_time",
        unit="s",
        source=_BOUNDS,
        field="equivalent_time",
    )
    _require_time(d_seconds, "d_value")
    return rounding.from_float(float(equivalent_seconds) / float(d_seconds))


def kill_sentence(organism: str, log10_reduction: Decimal) -> Sentence:
    """A log10 reduction in words, capped: beyond 6 it is "more than 6", for nothing beyond was ever measured.

    Source of the cap: pilot-plant studies end at 6.7 to 6.9 log10 (Pearce 2012).
    """
    if log10_reduction > MOST_LOG10:
        return say("heat_kill_more_than", organism=organism, most=rounding.trim(MOST_LOG10))
    return say("heat_kill_about", organism=organism, log10=rounding.decimal_text(log10_reduction, 1))


def pasteurisation_effect(*, temperature_c: Decimal, hold_seconds: Decimal) -> Decimal:
    """p* = t / 15 s * 10 ** ((T - 72 °C) / 8 °C): 1 for 15 s at 72 °C. No unit, 12 significant digits.

    A way to compare heat treatments, not a limit: the legal pair 63 °C for 30 min scores 9. Bounds as in
    `lethal_rate`. Source: `heat_tables.PASTEURISATION_EFFECT_SOURCE`.
    """
    _require_temperature(temperature_c)
    _require_time(hold_seconds, "hold_asked")
    reference, z_c = float(PASTEURISATION_EFFECT_C), float(PASTEURISATION_EFFECT_Z_C)
    rate = _rate(float(temperature_c), reference, z_c)
    return rounding.from_float(float(hold_seconds) / float(PASTEURISATION_EFFECT_SECONDS) * rate)


def pasteurisation_effect_of(series: Series) -> Decimal:
    """p* of a log of the product: its straight-line F at 72 °C with z of 8 °C, over 15 s. As above."""
    time = equivalent_time(series, reference_c=PASTEURISATION_EFFECT_C, z_c=PASTEURISATION_EFFECT_Z_C)
    return rounding.from_float(float(time.straight_seconds) / float(PASTEURISATION_EFFECT_SECONDS))


Point = tuple[Decimal, Decimal]


def z_of_two(first: Point, second: Point) -> Decimal:
    """z = (T2 - T1) / log10(t1 / t2) from two points (T, t): D at two temperatures, or two holds of one rule.

    In the unit of the temperatures (-100 to 400; z in °F is 1.8 times z in °C); the times in one unit, any.
    Raises Refusal when the hotter point is not the shorter one, or a time is not above zero. 12 digits.
    """
    _require_points((first, second))
    (cold, long), (hot, short) = sorted((first, second))
    decades = log10(long) - log10(short)
    if hot == cold or decades < _LEAST_FALL:
        raise Refusal(say("heat_z_not_falling"), "z_value")
    return rounding.from_float(float(hot - cold) / decades)


def _require_points(points: Iterable[Point]) -> None:
    for temperature, time in points:
        _require_time(time, "d_value")
        require_within(
            temperature,
            Decimal(-100),
            Decimal(400),
            quantity="temperature",
            unit="degC",
            source=_BOUNDS,
            field="temperature",
        )


def z_by_regression(points: Sequence[Point]) -> Decimal:
    """z = -1 / slope of the least-squares line of log10 D on T, from three or more points (T, D).

    In the unit of T. Raises Refusal with fewer, when all T are one, or when D does not fall with T. A z from
    printed, rounded D differs from the authors' own by some 5 %. 12 significant digits.
    """
    if len(points) < 3:
        raise Refusal(say("heat_z_needs_three"), "z_value")
    _require_points(points)
    xs, ys = [float(t) for t, _ in points], [log10(d) for _, d in points]
    middle_x, middle_y = fsum(xs) / len(xs), fsum(ys) / len(ys)
    spread = fsum((x - middle_x) ** 2 for x in xs)
    falling = -fsum((x - middle_x) * (y - middle_y) for x, y in zip(xs, ys, strict=True))
    if len(set(xs)) < 2 or falling < _LEAST_FALL:
        raise Refusal(say("heat_z_not_falling"), "z_value")
    return rounding.from_float(spread / falling)


def ramp_time(
    *, seconds: Decimal, from_c: Decimal, to_c: Decimal, reference_c: Decimal, z_c: Decimal
) -> Decimal:
    """The exact F in seconds at Tref of a temperature that goes straight from one value to another.

    z / (r * ln 10) * (L(T2) - L(T1)) with r = (T2 - T1) / t, or L * t when it stays. Bounds as in
    `lethal_rate`; raises Refusal outside. 12 significant digits.
    """
    _require_model(reference_c, z_c)
    _require_temperature(from_c)
    _require_temperature(to_c)
    _require_time(seconds, "duration")
    return rounding.from_float(
        float(seconds) * _straight(float(from_c), float(to_c), float(reference_c), float(z_c))
    )


def _straight(first: float, last: float, reference: float, z_c: float) -> float:
    """The mean rate along a straight line of temperature; written so that a short step loses no digits."""
    rise = (last - first) / z_c * _LN10
    mean = expm1(rise) / rise if rise else 1.0
    return _rate(first, reference, z_c) * mean


@dataclass(frozen=True)
class Share:
    """What the time between two readings adds: (from, to) in milliseconds, both rates, F in seconds."""

    start_ms: int
    end_ms: int
    rate_before: float
    rate_after: float
    seconds: float
    straight_seconds: float


@dataclass(frozen=True)
class EquivalentTime:
    """F in seconds at Tref. Supporting evidence only: it has no verdict, and `standing` says so.

    seconds: by trapezoid. straight_seconds: exactly, were the temperature straight between the readings; the
    trapezoid is never below it, and far above it when the log is coarse. gaps: pauses that added nothing.
    """

    seconds: Decimal
    straight_seconds: Decimal
    reference_c: Decimal
    z_c: Decimal
    gaps: int

    @property
    def standing(self) -> Sentence:
        """What this figure is worth: supporting evidence, never a legal hold."""
        return say("heat_support_only")


def shares(series: Series, *, reference_c: Decimal, z_c: Decimal) -> list[Share]:
    """What each pair of neighbouring readings adds to F; a gap adds nothing and has no share.

    The RATE is averaged, never the temperature. Bounds as in `lethal_rate`, for every reading; raises
    Refusal outside.
    """
    _require_model(reference_c, z_c)
    return list(_shares(series, _degrees_c(series), float(reference_c), float(z_c)))


def _shares(series: Series, degrees: Mapping[int, float], reference: float, z_c: float) -> Iterator[Share]:
    """The shares of a series; a value without degrees is outside the study, and no share touches it."""
    rates = {value: _rate(celsius, reference, z_c) for value, celsius in degrees.items()}
    for part in series.parts():
        for (start, a), (end, b) in pairwise(zip(part.times, part.values, strict=True)):
            if a not in degrees or b not in degrees:
                continue
            seconds = (end - start) / 1000
            trapezoid = (rates[a] + rates[b]) / 2 * seconds
            straight = _straight(degrees[a], degrees[b], reference, z_c) * seconds
            yield Share(start, end, rates[a], rates[b], trapezoid, min(straight, trapezoid))


def _degrees_c(series: Series) -> dict[int, float]:
    """Each value of the series, in thousandths of its unit, in °C. Raises Refusal outside the bounds."""
    found = {}
    for value in set(series.values):
        celsius = convert(Decimal(value).scaleb(-3), series.unit, "degC")
        _require_temperature(celsius, "heat_log")
        found[value] = float(celsius)
    return found


def equivalent_time(series: Series, *, reference_c: Decimal, z_c: Decimal) -> EquivalentTime:
    """F of a log of the product, in seconds at Tref, by trapezoid over its irregular readings.

    F = sum of (L1 + L2) / 2 * (t2 - t1). Parts separated by gaps are integrated apart; a gap adds nothing,
    and a single reading has no time. Correct the probe before (`heat.corrected_for_error`): 0.5 °C is 20 %
    of F at a z of 6.3 °C. Bounds as in `lethal_rate`; raises Refusal outside. 12 significant digits.
    """
    return _summed(shares(series, reference_c=reference_c, z_c=z_c), reference_c, z_c, len(series.gaps()))


def _summed(found: Sequence[Share], reference_c: Decimal, z_c: Decimal, gaps: int) -> EquivalentTime:
    trapezoid = rounding.from_float(fsum(share.seconds for share in found))
    straight = rounding.from_float(fsum(share.straight_seconds for share in found))
    return EquivalentTime(trapezoid, straight, reference_c, z_c, gaps)


@dataclass(frozen=True)
class Kill:
    """A log and an organism: F, D and log10 reduction, with the readings outside the range of the study.

    d_seconds: D of the line times what the single D measured lie above it (`Organism.above_line`).
    colder: readings below the range; the time up to their neighbours adds nothing. hotter: readings above
    it, counted as its upper end.
    """

    organism: Organism
    shares: tuple[Share, ...]
    time: EquivalentTime
    d_seconds: Decimal
    log10_reduction: Decimal
    colder: int
    hotter: int

    @property
    def sentence(self) -> Sentence:
        """The reduction in words, capped."""
        return kill_sentence(self.organism.name, self.log10_reduction)


def kill_of(organism: str, series: Series) -> Kill:
    """The log10 reduction of an organism over a log of the product, counted low where it is not known.

    Only stretches of readings within the temperatures of its study count: colder readings and the time next
    to them add nothing, hotter ones count as the upper end. The reduction is the straight-line F, the lower
    of the two, over the D of the line times what the measured D lie above it. Raises Refusal when z is not
    known, when no reading lies in the range (with the range and the source), and beyond the bounds of
    `lethal_rate`.
    """
    found = organism_named(organism)
    if found.z_c is None:
        raise Refusal(say("heat_z_unknown", organism=organism, source=found.source), "heat_organism")
    degrees = _degrees_c(series)
    low, high = series.lowest_at_least(found.low_c, "degC"), series.highest_at_most(found.high_c, "degC")
    colder, hotter = sum(value < low for value in series.values), sum(value > high for value in series.values)
    if colder == len(series):
        _refuse_too_cold(series, found)
    top = float(found.high_c)
    studied = {value: min(celsius, top) for value, celsius in degrees.items() if value >= low}
    parts = tuple(_shares(series, studied, float(found.at_c), float(found.z_c)))
    time = _summed(parts, found.at_c, found.z_c, len(series.gaps()))
    d_seconds = found.d_s * found.above_line
    reduction = log_reduction(equivalent_seconds=time.straight_seconds, d_seconds=d_seconds)
    return Kill(found, parts, time, d_seconds, reduction, colder, hotter)


def _refuse_too_cold(series: Series, organism: Organism) -> None:
    if not len(series):
        raise Refusal(say("series_empty"), "heat_log")
    hottest = convert(max(series.decimals()), series.unit, "degC")
    require_within(
        rounding.from_float(float(hottest)),
        organism.low_c,
        organism.high_c,
        quantity="temperature",
        unit="degC",
        source=organism.source,
        field="heat_log",
    )
