"""Checks of instruments: ice and boiling point, correction by one or two points, a pH electrode.

An error is what the instrument shows minus what is true. A correction is computed only to show it; the
reading as typed stays the record.
"""

from bisect import bisect_left
from dataclasses import dataclass
from decimal import Decimal
from math import log, sqrt
from typing import Literal

from safetyplan.calculation import rounding
from safetyplan.calculation.instruments_tables import (
    ALTITUDE_SOURCE,
    BUFFERS,
    OTHER_SEVEN,
    SATURATION,
    SATURATION_SOURCE,
    Acceptance,
)
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.sentences import say

GAS_CONSTANT, FARADAY, KELVIN = 8.314462618, 96485.33212, Decimal("273.15")
NERNST_SOURCE = "Nernst equation, CODATA constants"
ICE_C = Decimal(0)
SEA_LEVEL_HPA = 1013.25
ISOPOTENTIAL = Decimal(7)
_CHECKS = "range of the checks of a dairy; common practice, no source"
# Beyond these a line through two points is no error of an instrument but a point taken wrongly.
SLOPES = (Decimal("0.8"), Decimal("1.25"))
# The slope of a sound electrode in food work, from memory.
SOUND_PERCENT = (Decimal(92), Decimal(102))
# Common practice, no source: a reading this near to the other buffer 7 is taken for it.
CONFUSED_WITHIN = Decimal("0.03")


def boiling_point_c(*, pressure_hpa: Decimal) -> Decimal:
    """The temperature in °C at which water boils at a station pressure in hPa, 12 significant digits.

    IAPWS-IF97 region 4 backward equation, in floats; 1013.25 hPa is 99.974 °C. Validity: 600 to 1100 hPa. The
    pressure of the place, not the one reduced to sea level that a forecast gives. Raises Refusal. Source:
    IAPWS-IF97.
    """
    require_within(
        pressure_hpa,
        Decimal(600),
        Decimal(1100),
        quantity="air_pressure",
        unit="hPa",
        source=SATURATION_SOURCE,
        field="air_pressure",
    )
    n = SATURATION
    beta = (float(pressure_hpa) / 10_000) ** 0.25
    e = beta**2 + n[2] * beta + n[5]
    f = n[0] * beta**2 + n[3] * beta + n[6]
    g = n[1] * beta**2 + n[4] * beta + n[7]
    d = 2 * g / (-f - sqrt(f**2 - 4 * e * g))
    kelvin = (n[9] + d - sqrt((n[9] + d) ** 2 - 4 * (n[8] + n[9] * d))) / 2
    return rounding.from_float(kelvin - float(KELVIN))


def pressure_at_altitude_hpa(*, altitude_m: Decimal) -> Decimal:
    """The pressure in hPa of the standard atmosphere at an altitude in m, 12 significant digits.

    p = 1013.25 x (1 - 2.25577e-5 x h)^5.25588. Validity: -100 to 3500 m. The weather moves the boiling point
    by up to 0.5 °C around it. Raises Refusal. Source: standard atmosphere.
    """
    require_within(
        altitude_m,
        Decimal(-100),
        Decimal(3500),
        quantity="altitude",
        unit="m",
        source=ALTITUDE_SOURCE,
        field="altitude",
    )
    return rounding.from_float(SEA_LEVEL_HPA * (1 - 2.25577e-5 * float(altitude_m)) ** 5.25588)


def boiling_point_at_altitude_c(*, altitude_m: Decimal) -> Decimal:
    """The boiling point in °C at an altitude in m by the standard atmosphere; validity as its two parts."""
    return boiling_point_c(pressure_hpa=pressure_at_altitude_hpa(altitude_m=altitude_m))


def error_of(*, shown: Decimal, true: Decimal) -> Decimal:
    """The error of an instrument: what it shows minus what is true. Same unit, exact. Raises Refusal."""
    if not shown.is_finite() or not true.is_finite():
        raise Refusal(say("instrument_no_number"))
    return shown - true


@dataclass(frozen=True)
class AsFound:
    """The error of an instrument as it was found, as a straight line: true = intercept + slope x shown.

    Made by `constant` or `two_points`. Exact decimals of 28 digits.
    """

    intercept: Decimal
    slope: Decimal

    @classmethod
    def constant(cls, error: Decimal) -> "AsFound":
        """One check: every reading is off by the same error."""
        if not error.is_finite():
            raise Refusal(say("instrument_no_number"))
        return cls(-error, Decimal(1))

    @classmethod
    def two_points(
        cls, *, shown_low: Decimal, true_low: Decimal, shown_high: Decimal, true_high: Decimal
    ) -> "AsFound":
        """Two checks, such as ice and boiling point: T = t0 + (r - r0) x (t1 - t0) / (r1 - r0).

        Validity: the readings at least 1 apart and rising with the truth, the slope from 0.8 to 1.25. Raises
        Refusal. Source: straight line through two points; its range is common practice, no source.
        """
        values = (shown_low, true_low, shown_high, true_high)
        if not all(value.is_finite() for value in values):
            raise Refusal(say("instrument_no_number"))
        if shown_high - shown_low < 1 or true_high <= true_low:
            raise Refusal(say("instrument_points_close"), "shown_high")
        slope = (true_high - true_low) / (shown_high - shown_low)
        low, high = SLOPES
        require_within(slope, low, high, quantity="slope", unit="ratio", source=_CHECKS, field="shown_high")
        return cls(true_low - slope * shown_low, slope)

    def corrected(self, shown: Decimal) -> Decimal:
        """What was true when the instrument showed a value: evidence for a person, never a new record."""
        return self.intercept + self.slope * shown


def within_tolerance(error: Decimal, tolerance: Decimal) -> bool:
    """Whether an error lies within ± tolerance; exactly on it is within. Same unit."""
    return abs(error) <= tolerance


def nernst_slope_mv(*, temperature_c: Decimal) -> Decimal:
    """The theoretical slope of a pH electrode in mV per pH: 1000 x ln 10 x R x T / F. 12 significant digits.

    Validity: 0 to 60 °C. Raises Refusal. Source: NERNST_SOURCE; 59.16 at 25 °C.
    """
    _temperature(temperature_c)
    return rounding.from_float(1000 * log(10) * GAS_CONSTANT * float(temperature_c + KELVIN) / FARADAY)


def _temperature(temperature_c: Decimal) -> None:
    require_within(
        temperature_c,
        Decimal(0),
        Decimal(60),
        quantity="temperature",
        unit="degC",
        source=NERNST_SOURCE,
        field="temperature",
    )


def buffer_ph(buffer: str, *, temperature_c: Decimal) -> Decimal:
    """The pH of a buffer at a temperature, linear between the values of its table; not rounded.

    buffer: a name of BUFFERS. Validity: the temperatures of its table. Raises Refusal, KeyError for an
    unknown buffer. Source: its table.
    """
    found = BUFFERS[buffer]
    low, high = found.points[0][0], found.points[-1][0]
    require_within(
        temperature_c,
        low,
        high,
        quantity="temperature",
        unit="degC",
        source=found.source,
        field="temperature",
    )
    temperatures = [at for at, _ph in found.points]
    n = max(bisect_left(temperatures, temperature_c), 1)
    (t0, ph0), (t1, ph1) = found.points[n - 1], found.points[n]
    return ph0 + (ph1 - ph0) * (temperature_c - t0) / (t1 - t0)


def phthalate_ph(*, temperature_c: Decimal) -> Decimal:
    """The pH of the phthalate buffer: 2073.44/T - 13.3270 + 0.045199 T - 3.4846e-5 T², T in K. 12 digits.

    Validity: 0 to 60 °C. Raises Refusal. Source: Hetzer, Durst, Robinson and Bates 1977, J Res NBS 81A:21.
    """
    _temperature(temperature_c)
    kelvin = float(temperature_c + KELVIN)
    return rounding.from_float(2073.44 / kelvin - 13.3270 + 0.045199 * kelvin - 3.4846e-5 * kelvin**2)


@dataclass(frozen=True)
class Electrode:
    """What two buffers tell: slope in mV per pH and in % of the theory, offset at pH 7 in mV.

    difference_mv: the acid buffer less the other one.
    """

    slope_mv: Decimal
    theory_mv: Decimal
    slope_percent: Decimal
    offset_mv: Decimal
    difference_mv: Decimal


def electrode(
    *, mv_low: Decimal, ph_low: Decimal, mv_high: Decimal, ph_high: Decimal, temperature_c: Decimal
) -> Electrode:
    """Slope and offset of an electrode from its millivolts in two buffers of known pH.

    slope = (mV1 - mV2) / (pH1 - pH2), falling with the pH; % = 100 x -slope / Nernst; offset = mV at pH 7 on
    the same line. Exact but for the Nernst slope. Validity: buffers at least 1 pH apart, ± 1000 mV, 0 to
    60 °C; the more acid buffer not below the other one. Raises Refusal. Source: Nernst equation.
    """
    for value, field in ((mv_low, "mv_low"), (mv_high, "mv_high")):
        require_within(
            value, Decimal(-1000), Decimal(1000), quantity="potential", unit="mV", source=_CHECKS, field=field
        )
    if not (ph_low.is_finite() and ph_high.is_finite()) or abs(ph_high - ph_low) < 1:
        raise Refusal(say("ph_buffers_close"), "buffer_high")
    theory = nernst_slope_mv(temperature_c=temperature_c)
    slope = (mv_high - mv_low) / (ph_high - ph_low)
    if slope > 0:
        raise Refusal(say("ph_millivolts_exchanged"), "mv_low")
    offset = mv_low + slope * (ISOPOTENTIAL - ph_low)
    difference = mv_low - mv_high if ph_low < ph_high else mv_high - mv_low
    return Electrode(slope, theory, -100 * slope / theory, offset, difference)


Verdict = Literal["accepted", "slope", "offset", "both"]


def judge_electrode(found: Electrode, acceptance: Acceptance) -> Verdict:
    """Whether an electrode meets an acceptance: "accepted", or what is outside. An edge is accepted."""
    slope = acceptance.slope_low <= found.slope_percent <= acceptance.slope_high
    offset = abs(found.offset_mv) <= acceptance.offset_mv
    if slope and offset:
        return "accepted"
    if slope:
        return "offset"
    return "both" if not offset else "slope"


def _shift(seven: str, temperature_c: Decimal) -> Decimal | None:
    """The pH of the other buffer 7 less that of this one; None for any other buffer."""
    other = OTHER_SEVEN.get(seven)
    if other is None:
        return None
    return buffer_ph(other, temperature_c=temperature_c) - buffer_ph(seven, temperature_c=temperature_c)


def looks_confused(error_ph: Decimal, *, buffer: str, temperature_c: Decimal) -> bool:
    """Whether an error in a buffer 7 is that of having the other kind of buffer 7 in the beaker (0.14 pH).

    Taken for 7.00, the buffer 6.86 reads too low; the reverse reads too high. Within 0.03 pH. A hint to read
    the label. Validity: the temperatures of the tables. Raises Refusal. Source: the tables of the buffers.
    """
    shift = _shift(buffer, temperature_c)
    return shift is not None and abs(error_ph - shift) <= CONFUSED_WITHIN


def electrode_looks_confused(
    found: Electrode, *, seven: str, other_ph: Decimal, temperature_c: Decimal
) -> bool:
    """Whether slope and offset of an electrode are those of having the other kind of buffer 7 in the beaker.

    The offset is that of the confusion, within 0.03 pH, and with the other buffer 7 the slope is one of a
    sound electrode (92 to 102 %). A slope alone is no sign of it: an electrode in use has 95 %. other_ph: of
    the second buffer. A hint to read the label. Validity and source as `looks_confused`.
    """
    shift = _shift(seven, temperature_c)
    if shift is None:
        return False
    apart = abs(buffer_ph(seven, temperature_c=temperature_c) - other_ph)
    really = abs(buffer_ph(seven, temperature_c=temperature_c) + shift - other_ph)
    matches = abs(found.offset_mv + found.theory_mv * shift) <= CONFUSED_WITHIN * found.theory_mv
    low, high = SOUND_PERCENT
    return matches and low <= found.slope_percent * apart / really <= high


def shown_without_compensation(*, true_ph: Decimal, sample_c: Decimal, assumed_c: Decimal) -> Decimal:
    """The pH a meter shows when it assumes another temperature than the sample's: 7 + (pH - 7) x T / T'.

    T in K. Not rounded. Validity: pH 0 to 14, 0 to 60 °C; isopotential point at pH 7. Raises Refusal. Source:
    ratio of Nernst slopes.
    """
    require_within(
        true_ph, Decimal(0), Decimal(14), quantity="ph", unit="pH", source=NERNST_SOURCE, field="ph"
    )
    _temperature(sample_c)
    _temperature(assumed_c)
    return ISOPOTENTIAL + (true_ph - ISOPOTENTIAL) * (sample_c + KELVIN) / (assumed_c + KELVIN)
