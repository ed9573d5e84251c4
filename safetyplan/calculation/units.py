"""Conversion between the units of the trade. The only file of the project that imports pint.

Linear units (°C/°F, volumes, masses, times, lengths, pressures) go through one pint registry with Decimal
numbers; acidity, salt and density scales are small declared functions here.
Conversion works with 60 digits and returns 28: a finite result is exact ("50 °C" is exactly "122 °F"), an
endless one is off by less than one part in 10**27. Nothing here rounds for display.
"""

from decimal import Context, Decimal, localcontext
from functools import lru_cache
from typing import TYPE_CHECKING

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import say
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS, Quantity, Range, Unit

if TYPE_CHECKING:
    import pint

__all__ = [
    "QUANTITIES",
    "UNITS",
    "Quantity",
    "Range",
    "Unit",
    "UnitError",
    "baume_from_specific_gravity",
    "convert",
    "convert_difference",
    "convert_exactly",
    "specific_gravity_from_baume",
]

WORKING_DIGITS = 60
RETURNED = Context(prec=28)

# 1 °SH = 2.25 °D = 2.5 °Th = 0.0225 % lactic acid; °SH per 100 ml with 0.25 N sodium hydroxide. Source:
# acidity factors printed by makers of titration sets (longchangextracts.com, tkkg.ch, Hanna HI84429 manual).
PER_SOXHLET_HENKEL = {
    "soxhlet_henkel": Decimal(1),
    "dornic": Decimal("2.25"),
    "thorner": Decimal("2.5"),
    "percent_lactic": Decimal("0.0225"),
}
# 100 ° salometer is saturated brine: 26.395 % w/w sodium chloride at 60 °F. Source: brine tables, from
# memory.
PERCENT_AT_100_SALOMETER = Decimal("26.395")
# Degrees Baumé of liquids heavier than water, °Bé = m - m/SG: m = 145 at 60 °F/60 °F, and the older m =
# 144.3.
BAUME_MODULUS = {"baume": Decimal(145), "baume_144_3": Decimal("144.3")}


class UnitError(Refusal):
    """Two units that cannot be converted into each other, or a unit nobody declared."""


@lru_cache(maxsize=1)
def _registry() -> "pint.UnitRegistry[Decimal]":
    import pint  # here, not above: building on pint costs a quarter of a second that most commands never need

    return pint.UnitRegistry(non_int_type=Decimal)


def _unit(code: str) -> Unit:
    try:
        return UNITS[code]
    except KeyError:
        raise UnitError(say("unit_unknown", unit=code)) from None


def _linear(value: Decimal, source: str, target: str) -> Decimal:
    quantity = _registry().Quantity(value, source)
    return quantity.to(target).magnitude


def _declared(value: Decimal, source: str, target: str) -> Decimal | None:
    if source in PER_SOXHLET_HENKEL and target in PER_SOXHLET_HENKEL:
        return value / PER_SOXHLET_HENKEL[source] * PER_SOXHLET_HENKEL[target]
    if (source, target) == ("salometer", "percent_ww"):
        return value * PERCENT_AT_100_SALOMETER / 100
    if (source, target) == ("percent_ww", "salometer"):
        return value * 100 / PERCENT_AT_100_SALOMETER
    if source in BAUME_MODULUS and target in BAUME_MODULUS:
        gravity = BAUME_MODULUS[source] / (BAUME_MODULUS[source] - value)
        return BAUME_MODULUS[target] - BAUME_MODULUS[target] / gravity
    return None


def _returned(value: Decimal) -> Decimal:
    """28 digits, without the trailing zeros the working precision left behind, and without an exponent."""
    return Decimal(format(RETURNED.plus(value).normalize(RETURNED), "f"))


def convert(value: Decimal, from_unit: str, to_unit: str) -> Decimal:
    """Convert a value; the same unit returns it untouched, with its typed precision.

    Temperatures are points on the scale (5 °C is 41 °F). Exact when the result is finite, else 28 digits,
    half even. Salometer and % w/w: % = ° x 0.26395 at 60 °F. Acidity: see PER_SOXHLET_HENKEL.
    Raises UnitError for a unit not declared or a pair without a conversion.
    Source: pint's definitions of the linear units (NIST Handbook 44); °F = °C x 9/5 + 32.
    """
    source, target = _unit(from_unit), _unit(to_unit)
    if source.code == target.code:
        return value
    if source.quantity == target.quantity:
        with localcontext(prec=WORKING_DIGITS):
            if source.pint and target.pint:
                return _returned(_linear(value, source.pint, target.pint))
            result = _declared(value, from_unit, to_unit)
        if result is not None:
            return _returned(result)
    raise UnitError(
        say("unit_no_conversion", unit=source.symbol or source.code, into=target.symbol or target.code)
    )


def convert_exactly(value: Decimal, from_unit: str, to_unit: str) -> Decimal | None:
    """Convert, but None when the result has no finite decimal form or the units have no conversion.

    161 °F is 71.666... °C, so None; 7 °C is exactly 44.6 °F.
    """
    try:
        result = convert(value, from_unit, to_unit)
    except UnitError:
        return None
    return result if len(result.as_tuple().digits) < RETURNED.prec else None


def convert_difference(value: Decimal, from_unit: str, to_unit: str) -> Decimal:
    """Convert a difference: 5 °F of difference are 2.777... °C (x 5/9, without the 32).

    Rounding and errors as in `convert`.
    """
    source, target = _unit(from_unit), _unit(to_unit)
    if source.quantity == target.quantity == "temperature" and source.code != target.code:
        with localcontext(prec=WORKING_DIGITS):
            return _returned(_linear(value, f"delta_{source.pint}", f"delta_{target.pint}"))
    return convert(value, from_unit, to_unit)


def specific_gravity_from_baume(degrees: Decimal, unit: str = "baume") -> Decimal:
    """Specific gravity (60 °F/60 °F, no unit) from degrees Baumé, heavier than water: SG = m / (m - °Bé).

    m is 145 for `baume`, 144.3 for `baume_144_3`. 28 digits. Raises UnitError for another unit or °Bé >= m.
    Source: definition of the scale, from memory.
    """
    modulus = BAUME_MODULUS.get(unit)
    if modulus is None or degrees >= modulus:
        raise UnitError(say("unit_unknown", unit=unit))
    with localcontext(prec=WORKING_DIGITS):
        return _returned(modulus / (modulus - degrees))


def baume_from_specific_gravity(gravity: Decimal, unit: str = "baume") -> Decimal:
    """Degrees Baumé from specific gravity (60 °F/60 °F): °Bé = m - m / SG. The rest as above."""
    modulus = BAUME_MODULUS.get(unit)
    if modulus is None or gravity <= 0:
        raise UnitError(say("unit_unknown", unit=unit))
    with localcontext(prec=WORKING_DIGITS):
        return _returned(modulus - modulus / gravity)
