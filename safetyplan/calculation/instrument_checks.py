"""A check of an instrument judged: its errors at each point against its tolerance, and its line as found.

Passed is True, False, or None where the check decides nothing: the true value is itself too unsure. Only what
was passed counts as a good check. The words say the result against the tolerance and nothing more.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from safetyplan.calculation import instruments
from safetyplan.calculation.instruments import AsFound
from safetyplan.calculation.instruments_tables import ALTITUDE_SOURCE, SATURATION_SOURCE, WEATHER_C
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, difference, shown_against, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.calculation.units import convert, convert_difference

ICE, BOILING, BUFFER, REFERENCE, SCALES = "ice_point", "boiling_point", "buffers", "reference", "scales"
METHODS = (ICE, BOILING, BUFFER, REFERENCE, SCALES)
# A comparison with a reference is open to every quantity.
_OF_QUANTITY = {
    "temperature": (ICE, BOILING, REFERENCE),
    "ph": (BUFFER, REFERENCE),
    "mass": (SCALES, REFERENCE),
}
MOST_POINTS = 5
STATED = "stated_buffer"
ICE_SOURCE = "ice point: melting ice of clean water is 0.0 °C"
REPEAT_SOURCE = (
    "weighings of one load differ by no more than the error allowed: OIML R 76-1, 3.6.1 (from memory)"
)
REFERENCE_SOURCE = "comparison with a reference in order: common practice, no source"


def methods_of(quantity: str) -> tuple[str, ...]:
    """The methods by which an instrument of a quantity can be checked."""
    return _OF_QUANTITY.get(quantity, (REFERENCE,))


@dataclass(frozen=True)
class Point:
    """One point of a check: what was true and what was shown, both in the unit of the instrument."""

    true: Decimal
    shown: Decimal


@dataclass(frozen=True)
class Allowed:
    """The tolerance an instrument is judged by, either way, in its own unit of difference."""

    value: Decimal
    unit: str


@dataclass(frozen=True)
class Outcome:
    """What a check says: passed or not, the largest error, the line as found, and the words and working.

    error: shown minus true, in the unit of the instrument; None without readings in that unit. line: true =
    intercept + slope x shown; None where no line can be drawn.
    """

    passed: bool | None
    error: Decimal | None = None
    line: AsFound | None = None
    said: tuple[Sentence, ...] = ()
    steps: tuple[Sentence, ...] = ()
    sources: tuple[str, ...] = ()


def line_through(points: Sequence[Point]) -> AsFound | None:
    """The line true = intercept + slope x shown: one point a constant error, more the least squares line.

    Exact decimals of 28 digits; through two points it is the line of `AsFound.two_points`. None where that
    would refuse: the readings lie within 1 of each other, or the slope is outside 0.8 to 1.25. Source:
    straight line by least squares.
    """
    if not points:
        return None
    if len({point.true for point in points}) == 1:
        errors = [point.shown - point.true for point in points]
        return AsFound.constant(sum(errors, Decimal(0)) / len(errors))
    low, high = min(points, key=lambda p: p.shown), max(points, key=lambda p: p.shown)
    try:
        ends = AsFound.two_points(
            shown_low=low.shown, true_low=low.true, shown_high=high.shown, true_high=high.true
        )
    except Refusal:
        return None
    return ends if len(points) == 2 else _least_squares(points)


def _least_squares(points: Sequence[Point]) -> AsFound | None:
    count = len(points)
    x, y = (
        sum(values, Decimal(0)) / count for values in ([p.shown for p in points], [p.true for p in points])
    )
    products = sum(((p.shown - x) * (p.true - y) for p in points), Decimal(0))
    slope = products / sum(((p.shown - x) ** 2 for p in points), Decimal(0))
    low, high = instruments.SLOPES
    return AsFound(y - slope * x, slope) if low <= slope <= high else None


def _signed(value: Decimal, allowed: Decimal, quantity: str, unit: str) -> str:
    """An error with its sign, with decimals enough to stand on its side of the tolerance."""
    text = shown_against(abs(value), allowed, quantity, unit)
    return difference(text if Decimal(text) == 0 else f"{'-' if value < 0 else '+'}{text}", unit)


def judge_points(
    points: Sequence[Point],
    *,
    unit: str,
    allowed: Allowed,
    unsure: Decimal = Decimal(0),
    spread: Decimal | None = None,
) -> Outcome:
    """The largest error of some points against a tolerance; exactly on it is within.

    unsure: how far the true value may itself be off, in `unit`; only what holds at both of its ends is
    decided. spread: the largest difference between readings of the same load, judged by the same tolerance.
    Compared in the unit of the tolerance, exactly. Raises Refusal for what is no number.
    """
    errors = [instruments.error_of(shown=p.shown, true=p.true) for p in points]
    worst = max(errors, key=abs)
    quantity = UNITS[unit].quantity
    off, doubt = (convert_difference(value, unit, allowed.unit) for value in (worst, unsure))
    words = {
        "error": _signed(off, allowed.value, quantity, allowed.unit),
        "tolerance": difference(trim(allowed.value), allowed.unit),
    }
    steps = tuple(
        say(
            "instrument_step_error",
            shown=amount(trim(p.shown), unit),
            true=_true(p.true, quantity, unit),
            error=_signed(error, convert_difference(allowed.value, allowed.unit, unit), quantity, unit),
        )
        for p, error in zip(points, errors, strict=True)
    )
    outcome = Outcome(True, worst, line_through(points), steps=steps)
    if instruments.within_tolerance(abs(off) + doubt, allowed.value):
        said = say("instrument_within", error=words["error"], tolerance=words["tolerance"])
    elif abs(off) - doubt <= allowed.value:
        far = difference(trim(doubt), allowed.unit)
        said = say("instrument_undecided", error=words["error"], tolerance=words["tolerance"], unsure=far)
        outcome = replace(outcome, passed=None)
    else:
        said = say("instrument_outside", error=words["error"], tolerance=words["tolerance"])
        outcome = replace(outcome, passed=False)
    return _with_spread(replace(outcome, said=(said,)), spread, unit, allowed)


def _true(value: Decimal, quantity: str, unit: str) -> str:
    """What was true: as it was given, or computed to one decimal more than is shown."""
    given = trim(value)
    places = QUANTITIES[quantity].decimals[unit] + 1
    return amount(given if len(given.partition(".")[2]) <= places else decimal_text(value, places), unit)


def _with_spread(outcome: Outcome, spread: Decimal | None, unit: str, allowed: Allowed) -> Outcome:
    if spread is None:
        return outcome
    apart = convert_difference(spread, unit, allowed.unit)
    words = {
        "spread": difference(trim(apart), allowed.unit),
        "tolerance": difference(trim(allowed.value), allowed.unit),
    }
    if apart <= allowed.value:
        said = say("instrument_repeat_within", spread=words["spread"], tolerance=words["tolerance"])
        return replace(outcome, said=(*outcome.said, said))
    said = say("instrument_repeat_outside", spread=words["spread"], tolerance=words["tolerance"])
    return replace(outcome, passed=False, said=(*outcome.said, said))


# The methods ---------------------------------------------------------------------------------------


def check_ice(*, shown: Decimal, unit: str, allowed: Allowed) -> Outcome:
    """A thermometer in melting ice of clean water, which is 0.0 °C."""
    true = convert(instruments.ICE_C, "degC", unit)
    found = judge_points([Point(true, shown)], unit=unit, allowed=allowed)
    step = say("instrument_step_ice", true=amount(trim(true), unit))
    return replace(found, steps=(step, *found.steps), sources=(ICE_SOURCE,))


def boiling_truth(
    *, pressure_hpa: Decimal | None, altitude_m: Decimal | None
) -> tuple[Decimal, Decimal, tuple[Sentence, ...]]:
    """The boiling point in °C, how unsure it is in °C, and its working.

    By the pressure of the place in hPa, or by its altitude in m and the standard atmosphere, unsure by the
    weather. Raises Refusal: neither or both given, or outside the validity of the two formulas.
    """
    if (pressure_hpa is None) == (altitude_m is None):
        raise Refusal(say("instrument_pressure_or_altitude"), "air_pressure")
    if pressure_hpa is not None:
        return (
            instruments.boiling_point_c(pressure_hpa=pressure_hpa),
            Decimal(0),
            (_at_pressure(pressure_hpa),),
        )
    assert altitude_m is not None
    hpa = instruments.pressure_at_altitude_hpa(altitude_m=altitude_m)
    step = say(
        "instrument_step_altitude",
        altitude=amount(decimal_text(altitude_m, 0), "m"),
        pressure=amount(decimal_text(hpa, 1), "hPa"),
    )
    return instruments.boiling_point_c(pressure_hpa=hpa), WEATHER_C, (step, _at_pressure(hpa))


def _at_pressure(hpa: Decimal) -> Sentence:
    true = amount(decimal_text(instruments.boiling_point_c(pressure_hpa=hpa), 2), "degC")
    return say("instrument_step_pressure", pressure=amount(decimal_text(hpa, 1), "hPa"), true=true)


def check_boiling(
    *,
    shown: Decimal,
    unit: str,
    allowed: Allowed,
    pressure_hpa: Decimal | None = None,
    altitude_m: Decimal | None = None,
) -> Outcome:
    """A thermometer in boiling water, by the pressure of the place or its altitude."""
    true_c, unsure_c, steps = boiling_truth(pressure_hpa=pressure_hpa, altitude_m=altitude_m)
    found = judge_points(
        [Point(convert(true_c, "degC", unit), shown)],
        unit=unit,
        allowed=allowed,
        unsure=convert_difference(unsure_c, "degC", unit),
    )
    sources = (SATURATION_SOURCE,) if pressure_hpa is not None else (ALTITUDE_SOURCE, SATURATION_SOURCE)
    return replace(found, steps=(*steps, *found.steps), sources=sources)


def check_reference(
    points: Sequence[Point], *, unit: str, allowed: Allowed, in_order: bool = True
) -> Outcome:
    """An instrument beside a reference. One out of order (expired, overdue, failed) cannot pass anything."""
    found = replace(judge_points(points, unit=unit, allowed=allowed), sources=(REFERENCE_SOURCE,))
    if in_order:
        return found
    said = (*found.said, say("instrument_reference_not_in_order"))
    return replace(found, passed=None if found.passed else found.passed, said=said)


def check_scales(
    points: Sequence[Point], *, unit: str, allowed: Allowed, repeated: Sequence[Decimal] = ()
) -> Outcome:
    """Scales under test weights; repeated: what one and the same weight showed again and again."""
    spread = max(repeated) - min(repeated) if len(repeated) > 1 else None
    found = judge_points(points, unit=unit, allowed=allowed, spread=spread)
    return replace(found, sources=(REPEAT_SOURCE,) if spread is not None else ())
