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


def _buffer(name: str, nominal: str, points: str, source: str) -> tuple[str, Buffer]:
    """A buffer from pairs "°C:pH"."""
    pairs = (pair.split(":") for pair in points.split())
    found = tuple((Decimal(at), Decimal(ph)) for at, ph in pairs)
    return name, Buffer(name, Decimal(nominal), found, source)


_JIS = "JIS Z 8802 reference solutions (horiba.com)"
_TECHNICAL = "technical buffers 4.00, 7.00 and 10.01 (Foxboro MI 611-211, table 7)"

# The phosphate buffer 6.86 and the technical buffer 7.00 are two solutions: taking one for the other is an
# error of 0.14 pH.
BUFFERS: Mapping[str, Buffer] = dict(
    (
        _buffer("technical_7", "7.00", "0:7.12 5:7.09 10:7.06 15:7.04 20:7.02 25:7.00 30:6.99", _TECHNICAL),
        _buffer("phthalate_4", "4.01", "10:4.00 20:4.00 25:4.01 30:4.01 40:4.03", _JIS),
        _buffer(
            "phosphate_6_86",
            "6.86",
            "0:6.98 5:6.95 10:6.92 15:6.90 20:6.88 25:6.86 30:6.85 35:6.84",
            _JIS,
        ),
        _buffer("borate_9_18", "9.18", "0:9.46 5:9.39 10:9.33 15:9.27 20:9.22 25:9.18 30:9.14 35:9.10", _JIS),
        _buffer(
            "technical_10",
            "10.01",
            "0:10.32 5:10.25 10:10.18 15:10.12 20:10.06 25:10.01 30:9.97",
            _TECHNICAL,
        ),
    )
)


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
