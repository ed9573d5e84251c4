"""Checks of instruments as data: buffers at temperature, tolerances by use, what an electrode must show."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Buffer:
    """A buffer solution: its name, its nominal pH, and its pH at temperatures in °C."""

    name: str
    nominal: Decimal
    points: tuple[tuple[Decimal, Decimal], ...]
    source: str


def _buffer(name: str, nominal: str, values: str, source: str) -> tuple[str, Buffer]:
    """A buffer from its pH at 0, 5, 10 ... 50 °C."""
    found = tuple((Decimal(5 * n), Decimal(ph)) for n, ph in enumerate(values.split()))
    return name, Buffer(name, Decimal(nominal), found, source)


_JIS = "JIS Z 8802 reference solutions (horiba.com)"
_TECHNICAL = "technical buffers 4.00, 7.00 and 10.01 (Foxboro MI 611-211, table 7)"

# The phosphate buffer 6.86 and the technical buffer 7.00 are two solutions: taking one for the other is an
# error of 0.14 pH.
BUFFERS: Mapping[str, Buffer] = dict(
    _buffer(name, nominal, values, source)
    for name, nominal, values, source in (
        ("technical_4", "4.00", "4.00 4.00 4.00 4.00 4.00 4.00 4.01 4.02 4.03 4.04 4.06", _TECHNICAL),
        ("technical_7", "7.00", "7.12 7.09 7.06 7.04 7.02 7.00 6.99 6.99 6.98 6.98 6.97", _TECHNICAL),
        ("technical_10", "10.01", "10.32 10.25 10.18 10.12 10.06 10.01 9.97 9.93 9.89 9.86 9.83", _TECHNICAL),
        ("phthalate_4", "4.01", "4.01 4.01 4.00 4.00 4.00 4.01 4.01 4.02 4.03 4.04 4.06", _JIS),
        ("phosphate_6_86", "6.86", "6.98 6.95 6.92 6.90 6.88 6.86 6.85 6.84 6.84 6.83 6.83", _JIS),
        ("borate_9_18", "9.18", "9.46 9.39 9.33 9.27 9.22 9.18 9.14 9.10 9.07 9.04 9.01", _JIS),
    )
)
# The two kinds of "buffer 7", each with the one it is mistaken for.
OTHER_SEVEN: Mapping[str, str] = {"technical_7": "phosphate_6_86", "phosphate_6_86": "technical_7"}


@dataclass(frozen=True)
class Acceptance:
    """What a pH electrode must show: slope in % of the theory, offset at pH 7 in mV either way."""

    name: str
    slope_low: Decimal
    slope_high: Decimal
    offset_mv: Decimal
    source: str


_MAKER = "maker's criterion for electrodes: 85 to 105 %, 30 mV (studylib.net 25392327)"
ACCEPTANCES: Mapping[str, Acceptance] = {
    name: Acceptance(name, Decimal(low), Decimal(high), Decimal(30), source)
    for name, low, high, source in (
        ("electrode_usual", 85, 105, _MAKER),
        ("electrode_food", 92, 102, "stricter criterion usual in food work, 92 to 102 % (from memory)"),
        ("electrode_strict", 95, 102, "strictest criterion usual in food work, 95 to 102 % (from memory)"),
    )
}


@dataclass(frozen=True)
class Tolerance:
    """How far a thermometer may be off, in the unit of the rule."""

    name: str
    value: Decimal
    unit: str
    source: str


_CANADA = "Dairy establishment inspection manual, chapter 18 (inspection.gc.ca); New York App. 9 agrees"
_ALABAMA = "Alabama dairy code"
_PRACTICE = "food probes ± 0.5 or 1 °C: common practice (from memory)"
TOLERANCES: Mapping[str, Tolerance] = {
    name: Tolerance(name, Decimal(value), unit, source)
    for name, value, unit, source in (
        ("probe_half_degree", "0.5", "degC", _PRACTICE),
        ("probe_one_degree", "1", "degC", _PRACTICE),
        ("indicating", "0.25", "degC", _CANADA),
        ("air_space_thermometer", "0.5", "degC", _CANADA),
        ("recorder_thermometer", "1", "degF", _ALABAMA),
        ("storage_thermometer", "2", "degF", _ALABAMA),
    )
}

# Weather moves the boiling point at one place by about so much either way; deep lows and strong highs more.
WEATHER_C = Decimal("0.5")

# IAPWS-IF97, region 4, backward equation: saturation temperature from pressure.
SATURATION = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
SATURATION_SOURCE = "boiling point of water: IAPWS-IF97, region 4"
ALTITUDE_SOURCE = "standard atmosphere: p = 1013.25 hPa x (1 - 2.25577e-5 x h)^5.25588, h in m"
