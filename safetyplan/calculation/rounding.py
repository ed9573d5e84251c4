"""The only rounding in the project: numbers on their way to being shown, and the scaled integer for queries.

Display rounds half up (5 goes away from zero), the way a person does it by hand. Nothing shown is ever
computed with.
"""

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, ROUND_UP, Context, Decimal
from math import isfinite

from safetyplan.calculation.unit_tables import QUANTITIES, UNITS

TYPED_DECIMALS = 3
SCALE = 1000
MOST_DECIMALS = 27
_WIDE = Context(prec=60)
_FLOATS = Context(prec=12)


def _places(value: Decimal, decimals: int, rounding: str) -> Decimal:
    return value.quantize(Decimal(1).scaleb(-decimals), rounding, _WIDE)


def _decimals(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError(f"{value} is not a number to be shown")
    return max(0, -exponent)


def trim(value: Decimal) -> str:
    """Canonical decimal string: no exponent, no plus, typed precision kept ("4.20"), "-0" is "0".

    Does not round. Raises ValueError for NaN and infinity.
    """
    decimals = _decimals(value)
    return format(_places(abs(value) if value.is_zero() else value, decimals, ROUND_HALF_UP), "f")


def shown(value: Decimal, quantity: str, unit: str) -> str:
    """The number as displayed, without its unit: half up to the decimals of the quantity in that unit.

    Fewer decimals than that are kept as they are ("4" stays "4").
    """
    return trim(_places(value, min(_decimals(value), QUANTITIES[quantity].decimals[unit]), ROUND_HALF_UP))


def shown_against(value: Decimal, limit: Decimal, quantity: str, unit: str) -> str:
    """`shown`, with more decimals as needed for the number to stand on its true side of `limit`.

    7.04 °C against 7 °C is "7.04", not "7.0"; shown as equal only when equal. Value and limit in the same
    unit. With the two exchanged it writes a converted limit beside a typed value: 161 °F beside 71.7 °C is
    "71.67".
    """
    for decimals in range(QUANTITIES[quantity].decimals[unit], _decimals(value)):
        near = _places(value, decimals, ROUND_HALF_UP)
        if _side(near, limit) == _side(value, limit):
            return trim(near)
    return trim(value)


def _side(value: Decimal, limit: Decimal) -> int:
    return (value > limit) - (value < limit)


def amount(number: str, unit: str) -> str:
    """A number already shown, with its unit: "4.2 °C", "pH 4.71", "12". Does not round."""
    symbol = UNITS[unit].symbol
    if not symbol:
        return number
    return f"{symbol} {number}" if UNITS[unit].before else f"{number} {symbol}"


def difference(number: str, unit: str) -> str:
    """A difference already shown, with its unit after it: "+0.4 °C", "0.05 pH", "12". Does not round."""
    symbol = UNITS[unit].symbol
    return f"{number} {symbol}" if symbol else number


def margin(value: Decimal) -> Decimal:
    """A margin kept with a judgement: thousandths, rounded away from zero, so a miss never becomes zero."""
    return value if _decimals(value) <= TYPED_DECIMALS else _places(value, TYPED_DECIMALS, ROUND_UP)


def to_typed_precision(value: Decimal) -> Decimal:
    """A typed number, half up to thousandths: finer than any instrument of the trade."""
    return value if _decimals(value) <= TYPED_DECIMALS else _places(value, TYPED_DECIMALS, ROUND_HALF_UP)


def from_float(value: float) -> Decimal:
    """The result of a float computation as a Decimal of 12 significant digits, half even.

    Floats carry 15 to 17 digits; what is left of them after a formula is well above twelve. Never NaN or
    infinity: raises ValueError instead.
    """
    if not isfinite(value):
        raise ValueError(f"{value} is not a result")
    return Decimal(format(_FLOATS.create_decimal_from_float(value).normalize(_FLOATS), "f"))


def decimal_text(value: Decimal, decimals: int) -> str:
    """A computed number as displayed with so many decimals, half up, trailing zeros kept ("16.70")."""
    return trim(_places(value, decimals, ROUND_HALF_UP))


def significant_text(value: Decimal, digits: int) -> str:
    """A computed number as displayed with so many significant digits, half up, written out ("0.0046")."""
    if value.is_zero():
        return "0"
    return trim(_places(value, max(0, digits - 1 - value.adjusted()), ROUND_HALF_UP))


def scaled(value: Decimal) -> int:
    """The value in thousandths as an integer, for queries. Raises ValueError when it has finer parts."""
    thousandths = _WIDE.multiply(value, Decimal(SCALE))
    if not value.is_finite() or thousandths != thousandths.to_integral_value():
        raise ValueError(f"{value} is finer than a thousandth")
    return int(thousandths)


def thousandths_at_least(value: Decimal) -> int:
    """The least whole number of thousandths at or above the value."""
    return int(_WIDE.multiply(value, Decimal(SCALE)).to_integral_value(ROUND_CEILING))


def thousandths_at_most(value: Decimal) -> int:
    """The greatest whole number of thousandths at or below the value."""
    return int(_WIDE.multiply(value, Decimal(SCALE)).to_integral_value(ROUND_FLOOR))
