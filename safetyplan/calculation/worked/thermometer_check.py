"""Checking a thermometer: ice point, boiling point, and readings put right by one or two points."""

from decimal import Decimal

from safetyplan.calculation import instruments
from safetyplan.calculation.instruments import AsFound
from safetyplan.calculation.instruments_tables import (
    ALTITUDE_SOURCE,
    SATURATION_SOURCE,
    TOLERANCES,
    WEATHER_C,
    Tolerance,
)
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.units import convert, convert_difference
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Number, Task, Worked

_DEGREES = ("degC", "degF")
# A correction by two points is used up to a fifth of their distance beyond them.
_BEYOND = Decimal("0.2")
_NEAR = "between and near the two points; common practice, no source"
_MOST_STEPS = 10
_ICE_SOURCE = "ice point: melting ice of clean water is 0.0 °C"
_TOLERANCE = Ask("thermometer_use", "choice", options=tuple(TOLERANCES))
_SHOWN = Ask("thermometer_shown", quantity="temperature", units=_DEGREES)


def _celsius(value: Decimal) -> str:
    return amount(decimal_text(value, 2), "degC")


def _judged(
    shown: Number, true_c: Decimal, tolerance: Tolerance, unsure_c: Decimal
) -> tuple[Sentence, Sentence]:
    """The verdict, and its step: error in the unit of the tolerance, compared with it exactly.

    Where the true temperature is itself unsure, only what holds at both of its ends is said.
    """
    true = convert(true_c, "degC", tolerance.unit)
    error = instruments.error_of(shown=shown.in_unit(tolerance.unit), true=true)
    words = {
        "error": amount(_signed(error), tolerance.unit),
        "tolerance": amount(trim(tolerance.value), tolerance.unit),
    }
    step = say(
        "instrument_step_error",
        shown=shown.text,
        true=amount(decimal_text(true, 2), tolerance.unit),
        error=words["error"],
    )
    unsure = convert_difference(unsure_c, "degC", tolerance.unit)
    if instruments.within_tolerance(abs(error) + unsure, tolerance.value):
        return say("instrument_within", error=words["error"], tolerance=words["tolerance"]), step
    if abs(error) - unsure <= tolerance.value:
        text = amount(trim(unsure), tolerance.unit)
        return say(
            "instrument_undecided", error=words["error"], tolerance=words["tolerance"], unsure=text
        ), step
    return say("instrument_outside", error=words["error"], tolerance=words["tolerance"]), step


def _signed(value: Decimal) -> str:
    text = decimal_text(value, 2)
    return text if value < 0 or Decimal(text) == 0 else f"+{text}"


def _worked(
    answers: Answers,
    true_c: Decimal,
    before: tuple[Sentence, ...],
    valid: Sentence,
    sources: tuple[str, ...],
    unsure_c: Decimal = Decimal(0),
) -> Worked:
    tolerance = TOLERANCES[answers.choice("thermometer_use")]
    verdict, step = _judged(answers.number("thermometer_shown"), true_c, tolerance, unsure_c)
    failed = verdict.code == "instrument_outside"
    cautions = (say("instrument_look_back"),) if failed else ()
    return Worked(
        result=verdict,
        steps=(*before, step),
        validity=(valid,),
        cautions=(*cautions, say("instrument_caution")),
        sources=(*sources, tolerance.source),
    )


def work_ice(answers: Answers) -> Worked:
    """The thermometer in melting ice."""
    step = say("instrument_step_ice", true=_celsius(instruments.ICE_C))
    return _worked(answers, instruments.ICE_C, (step,), say("instrument_valid_ice"), (_ICE_SOURCE,))


def work_boiling(answers: Answers) -> Worked:
    """The thermometer in boiling water, by the pressure of the place or else its altitude."""
    pressure, altitude = answers.optional("air_pressure"), answers.optional("altitude")
    if (pressure is None) == (altitude is None):
        raise Refusal(say("instrument_pressure_or_altitude"), "air_pressure")
    if pressure is not None:
        hpa = pressure.in_unit("hPa")
        true_c = instruments.boiling_point_c(pressure_hpa=hpa)
        given = amount(decimal_text(hpa, 1), "hPa")
        step = say("instrument_step_pressure", pressure=given, true=_celsius(true_c))
        return _worked(answers, true_c, (step,), say("instrument_valid_pressure"), (SATURATION_SOURCE,))
    metres = answers.number("altitude").in_unit("m")
    hpa = instruments.pressure_at_altitude_hpa(altitude_m=metres)
    true_c = instruments.boiling_point_c(pressure_hpa=hpa)
    steps = (
        say(
            "instrument_step_altitude",
            altitude=amount(decimal_text(metres, 0), "m"),
            pressure=amount(decimal_text(hpa, 1), "hPa"),
        ),
        say("instrument_step_pressure", pressure=amount(decimal_text(hpa, 1), "hPa"), true=_celsius(true_c)),
    )
    sources = (ALTITUDE_SOURCE, SATURATION_SOURCE)
    return _worked(answers, true_c, steps, say("instrument_valid_altitude"), sources, WEATHER_C)


def _readings(answers: Answers) -> tuple[Number, ...]:
    found = answers.numbers("readings")
    if not found:
        raise Refusal(say("calculator_needs", part="readings"), "readings")
    return found


def _near(shown_c: Decimal, low_c: Decimal, high_c: Decimal) -> None:
    """Refuse a reading too far beyond the two points."""
    require_within(shown_c, low_c, high_c, quantity="readings", unit="degC", source=_NEAR, field="readings")


def work_two_points(answers: Answers) -> Worked:
    """What readings would have been, by the errors found at two points."""
    unit = "degC"
    shown_low, true_low, shown_high, true_high = (
        answers.number(name).in_unit(unit) for name in ("shown_low", "true_low", "shown_high", "true_high")
    )
    found = AsFound.two_points(
        shown_low=shown_low, true_low=true_low, shown_high=shown_high, true_high=true_high
    )
    readings = _readings(answers)
    slope, cold, zero = decimal_text(found.slope, 5), _celsius(shown_low), _celsius(true_low)
    beyond = (shown_high - shown_low) * _BEYOND
    lines, steps = [], []
    for one in readings:
        shown = one.in_unit(unit)
        _near(shown, shown_low - beyond, shown_high + beyond)
        true, text = _celsius(found.corrected(shown)), _celsius(shown)
        lines.append(say("instrument_recomputed", shown=one.text, true=true))
        steps.append(
            say("instrument_step_reading", true_low=zero, slope=slope, shown=text, shown_low=cold, true=true)
        )
    step = say(
        "instrument_step_line",
        true_high=_celsius(true_high),
        true_low=zero,
        shown_high=_celsius(shown_high),
        shown_low=cold,
        slope=slope,
    )
    return Worked(
        result=lines[0],
        more=tuple(lines[1:]),
        steps=(step, *steps[:_MOST_STEPS]),
        validity=(say("instrument_valid_line"),),
        cautions=(say("instrument_recomputed_caution"), say("instrument_look_back")),
        sources=("straight line through two points: (r - r0) x (t1 - t0) / (r1 - r0) + t0",),
    )


def work_one_point(answers: Answers) -> Worked:
    """What readings would have been, by one error found."""
    error = answers.number("error_found")
    readings = _readings(answers)
    in_c = convert_difference(error.value, error.unit, "degC")
    found = AsFound.constant(in_c)
    lines = tuple(
        say("instrument_recomputed", shown=one.text, true=_celsius(found.corrected(one.in_unit("degC"))))
        for one in readings
    )
    return Worked(
        result=lines[0],
        more=lines[1:],
        steps=(say("instrument_step_constant", error=amount(_signed(in_c), "degC")),),
        validity=(say("instrument_valid_constant"),),
        cautions=(say("instrument_recomputed_caution"), say("instrument_look_back")),
        sources=("error: what the instrument shows minus what is true",),
    )


def _point(name: str) -> Ask:
    return Ask(name, quantity="temperature", units=_DEGREES)


_READINGS = Ask("readings", "numbers", "temperature", _DEGREES)

CALCULATOR = Calculator(
    "thermometer_check",
    (
        Task("ice_point", (_SHOWN, _TOLERANCE), work_ice),
        Task(
            "boiling_point",
            (
                _SHOWN,
                Ask(
                    "air_pressure",
                    quantity="air_pressure",
                    units=("hPa", "inHg"),
                    required=False,
                    help=say("instrument_pressure_help"),
                ),
                Ask(
                    "altitude",
                    quantity="altitude",
                    units=("m", "ft"),
                    required=False,
                    help=say("instrument_altitude_help"),
                ),
                _TOLERANCE,
            ),
            work_boiling,
        ),
        Task(
            "readings_two_points",
            (
                _point("shown_low"),
                _point("true_low"),
                _point("shown_high"),
                _point("true_high"),
                _READINGS,
            ),
            work_two_points,
        ),
        Task("readings_one_point", (_point("error_found"), _READINGS), work_one_point),
    ),
)
