"""Scales of the hydrometers for brine: Baumé by its modulus, and the salometer.

A stem shows the density of the brine it floats in, whatever the scale printed on it. So a reading becomes a
density first, and the density a strength at the brine's own temperature (`brine.percent_from_density`).
Decimal arithmetic of up to 28 digits, nothing is rounded.
"""

from decimal import Decimal

from safetyplan.calculation.brine import (
    brine_density,
    percent_from_density,
    require_temperature,
    water_density,
)
from safetyplan.calculation.brine_tables import (
    BAUME_SCALES,
    FIELD_REFERENCE_C,
    FIELD_SOURCE,
    FIELD_STEP_C,
    SALOMETER_SOURCE,
    SIXTY_F_IN_C,
)
from safetyplan.calculation.refusal import require_within
from safetyplan.calculation.sentences import say
from safetyplan.calculation.units import (
    BAUME_MODULUS,
    UnitError,
    baume_from_specific_gravity,
    convert,
    specific_gravity_from_baume,
)

_ZERO = Decimal(0)


def density_from_baume(*, degrees: Decimal, scale: str, field: str = "") -> Decimal:
    """Density in kg/m³ that a Baumé stem shows: water at its reference temperature x m / (m - °Bé).

    The stem weighs the brine as it is, so this is the density at the brine's own temperature (the widening of
    the glass, 0.03 kg/m³ per °C, is left out). The specific gravity is relative to water at the reference of
    the scale: 60 °F (999.0 kg/m³) for m = 145, 15 °C (999.1 kg/m³) for 144.3 and 146.78. Not rounded.
    Validity: 0 to 30 °Bé; scale is a key of BAUME_SCALES. Raises Refusal outside, UnitError for another
    scale. Source: BAUME_SOURCE.
    """
    reference = reference_density(scale, field)
    require_within(
        degrees,
        _ZERO,
        Decimal(30),
        quantity=scale,
        unit="baume",
        source="denser than any brine; common practice, no source",
        field=field,
    )
    return specific_gravity_from_baume(degrees * _to_145(scale), "baume") * reference


def reference_density(scale: str, field: str = "") -> Decimal:
    """Density in kg/m³ of the water in which a Baumé scale reads 0. Raises UnitError for another scale."""
    if scale not in BAUME_SCALES:
        raise UnitError(say("unit_unknown", unit=scale), field)
    return water_density(BAUME_SCALES[scale].reference_c)


def _to_145(scale: str) -> Decimal:
    """At one gravity the degrees of two scales are in the ratio of their moduli."""
    return BAUME_MODULUS["baume"] / BAUME_SCALES[scale].modulus


def percent_from_baume(*, degrees: Decimal, scale: str, temperature_c: Decimal, field: str = "") -> Decimal:
    """Strength in % w/w from degrees Baumé read in brine of so many °C; `density_from_baume` says how.

    Not rounded. Validity: 0 to 30 °C, 0 to 26.3 % w/w. Raises Refusal outside. Source: BAUME_SOURCE.
    """
    density = density_from_baume(degrees=degrees, scale=scale, field=field)
    return percent_from_density(density_kg_m3=density, temperature_c=temperature_c, field=field)


def baume_from_percent(*, percent_ww: Decimal, scale: str, temperature_c: Decimal) -> Decimal:
    """Degrees Baumé a stem shows in brine of % w/w at °C: m - m / (density / water at the reference).

    Below zero in water warmer than the reference. Not rounded. Validity and errors as `percent_from_baume`.
    """
    reference = reference_density(scale)
    gravity = brine_density(percent_ww=percent_ww, temperature_c=temperature_c) / reference
    return baume_from_specific_gravity(gravity, "baume") / _to_145(scale)


def density_from_salometer(*, degrees: Decimal, field: str = "") -> Decimal:
    """Density in kg/m³ that a salometer for 60 °F shows: that of brine of ° x 0.26395 % w/w at 60 °F.

    Not rounded. Validity: 0 to 99.6 °Sal, which is 26.3 % w/w. Raises Refusal outside. Source:
    SALOMETER_SOURCE; instruments made for 38 °F or with 25 % at 100 are others and give other densities.
    """
    require_within(
        degrees,
        _ZERO,
        Decimal(110),
        quantity="salometer",
        unit="salometer",
        source=SALOMETER_SOURCE,
        field=field,
    )
    percent = convert(degrees, "salometer", "percent_ww")
    return brine_density(percent_ww=percent, temperature_c=SIXTY_F_IN_C, field=field)


def percent_from_salometer(*, degrees: Decimal, temperature_c: Decimal, field: str = "") -> Decimal:
    """Strength in % w/w from degrees salometer read in brine of so many °C: by the density the stem shows.

    At 60 °F it is ° x 0.26395. Not rounded. Validity: 0 to 30 °C, 0 to 26.3 % w/w. Raises Refusal outside.
    Source: SALOMETER_SOURCE.
    """
    density = density_from_salometer(degrees=degrees, field=field)
    return percent_from_density(density_kg_m3=density, temperature_c=temperature_c, field=field)


def salometer_from_percent(*, percent_ww: Decimal, temperature_c: Decimal) -> Decimal:
    """Degrees salometer that a stem for 60 °F shows in brine of % w/w at °C; at 60 °F w / 0.26395.

    Not rounded. Validity: 0 to 30 °C, 0 to 26.3 % w/w, as far as the scale reaches. Raises Refusal outside.
    Source: SALOMETER_SOURCE.
    """
    density = brine_density(percent_ww=percent_ww, temperature_c=temperature_c)
    at_sixty = percent_from_density(density_kg_m3=density, temperature_c=SIXTY_F_IN_C)
    return convert(at_sixty, "percent_ww", "salometer")


def salometer_field_corrected(*, degrees: Decimal, temperature_c: Decimal) -> Decimal:
    """Degrees salometer at 15.6 °C by the rule of thumb: reading + (°C - 15.6) / 5.6.

    Good for a look at the tank; a record goes by density (`percent_from_salometer`), which makes it 1.2
    degrees for 5.6 °C at 60 °Sal. Not rounded. Validity: 0 to 100 °Sal, 0 to 30 °C. Raises Refusal outside.
    Source: FIELD_SOURCE.
    """
    require_temperature(temperature_c)
    require_within(degrees, _ZERO, Decimal(100), quantity="salometer", unit="salometer", source=FIELD_SOURCE)
    return degrees + (temperature_c - FIELD_REFERENCE_C) / FIELD_STEP_C
