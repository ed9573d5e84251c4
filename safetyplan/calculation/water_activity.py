"""Water activity: of salt solutions from their molality, and the published estimates for cheese.

An estimate is an estimate: none of them is ever the only ground for saying that something cannot grow.
A recalled table of water activity against percent of salt was tried and is not here: above 12 % it is off by
up to 0.025.
"""

from bisect import bisect_right
from collections.abc import Sequence
from decimal import Decimal
from math import exp

from safetyplan.calculation import rounding
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.sentences import say

GRAMS_PER_MOLE = Decimal("58.443")
KG_WATER_PER_MOLE = 0.0180153
# Osmotic coefficients of sodium chloride at 25 °C against mol per kg of water. Source: Robinson and Stokes,
# Electrolyte Solutions (from memory; 6 mol/kg read in a manual of a water activity meter).
MOLALITIES = (0.0, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.2, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
OSMOTIC = (
    1.0,
    0.9324,
    0.9245,
    0.9215,
    0.9209,
    0.9257,
    0.9355,
    0.9428,
    0.9833,
    1.0108,
    1.0453,
    1.1158,
    1.1916,
    1.271,
)
OSMOTIC_SOURCE = "Robinson and Stokes, Electrolyte Solutions, osmotic coefficients at 25 °C (from memory)"
# Water activity minus that at 25 °C, in 1/10000, by temperature (rows) and molality (columns). Source:
# Pitzer equations as computed by PHREEQC with its data base pitzer.dat.
TEMPERATURES = (4.0, 10.0, 15.0, 20.0, 25.0, 30.0)
SHIFT_MOLALITIES = (0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
SHIFT = (
    (0.0, 5.34, 17.54, 30.38, 38.49, 37.41, 23.86),
    (0.0, 3.35, 11.07, 19.03, 23.64, 21.93, 11.77),
    (0.0, 2.00, 6.65, 11.35, 13.85, 12.27, 5.29),
    (0.0, 0.89, 2.99, 5.07, 6.06, 5.09, 1.51),
    (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.0, -0.70, -2.41, -4.02, -4.58, -3.29, 0.41),
)
SHIFT_SOURCE = "Pitzer equations, PHREEQC with pitzer.dat (computed)"
HIGHEST_MOLALITY = Decimal(6)
LOWEST_C, HIGHEST_C = Decimal(4), Decimal(30)
# Saturated sodium chloride at 25 °C. Source: humidity of saturated salt solutions, 75.3 %.
SATURATED = Decimal("0.753")

MARCOS_LOWEST_MOISTURE = Decimal(40)
MARCOS_SOURCE = "Marcos 1981, cheese of more than about 40 % moisture; error not printed where it was read"
UNRIPE_SOURCE = "published equation for unripe cheese, within 0.005 for 87 % of the samples"
MOULD_SOURCE = "published equation for mould-ripened cheese; error not printed where it was read"
PROCESSED_SOURCE = "published equation for processed cheese; error not printed where it was read"
_COMMON = "range in which cheese is found; common practice, no source"


def molality_from_percent(percent_ww: Decimal, *, field: str = "") -> Decimal:
    """Mol of salt per kg of water from % w/w: 1000 x w / (58.443 x (100 - w)). 28 digits, not rounded.

    Validity: 0 to 26.4 % w/w, saturated brine. Raises Refusal. Source: molar mass of sodium chloride.
    """
    require_within(
        percent_ww,
        Decimal(0),
        Decimal("26.4"),
        quantity="brine_strength",
        unit="percent_ww",
        source="saturated brine",
        field=field,
    )
    return 1000 * percent_ww / (GRAMS_PER_MOLE * (100 - percent_ww))


def molality_from_salt_in_moisture(salt_in_moisture_percent: Decimal) -> Decimal:
    """Mol of salt per kg of water from grams of salt to 100 g of water: 10 x g / 58.443. Not rounded.

    Validity: 0 to 36 g per 100 g of water. Raises Refusal. Source: molar mass of sodium chloride.
    """
    require_within(
        salt_in_moisture_percent,
        Decimal(0),
        Decimal(36),
        quantity="salt_in_moisture",
        unit="percent",
        source="saturated brine",
        field="salt_content",
    )
    return 10 * salt_in_moisture_percent / GRAMS_PER_MOLE


def _between(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    """Linear interpolation; x lies within xs."""
    n = min(max(bisect_right(xs, x), 1), len(xs) - 1)
    return ys[n - 1] + (ys[n] - ys[n - 1]) * (x - xs[n - 1]) / (xs[n] - xs[n - 1])


def of_solution(*, molality: Decimal, temperature_c: Decimal = Decimal(25)) -> Decimal:
    """Water activity of a sodium chloride solution: exp(-2 x m x phi x 0.0180153), shifted from 25 °C.

    phi interpolated in a table of osmotic coefficients; computed in floats, 12 significant digits. Error
    within 0.0004 up to 5 mol/kg and 0.001 at 6. Validity: 0 to 6 mol per kg of water, 4 to 30 °C; between
    4 and 25 °C it moves by less than 0.0045. Raises Refusal. Source: OSMOTIC_SOURCE, SHIFT_SOURCE.
    """
    require_within(
        molality, Decimal(0), HIGHEST_MOLALITY, quantity="molality", unit="mol_per_kg", source=OSMOTIC_SOURCE
    )
    require_within(
        temperature_c, LOWEST_C, HIGHEST_C, quantity="temperature", unit="degC", source=SHIFT_SOURCE
    )
    m = float(molality)
    at_25 = exp(-2 * m * _between(MOLALITIES, OSMOTIC, m) * KG_WATER_PER_MOLE)
    by_temperature = [_between(SHIFT_MOLALITIES, row, m) for row in SHIFT]
    return rounding.from_float(at_25 + _between(TEMPERATURES, by_temperature, float(temperature_c)) / 10_000)


def of_brine(*, percent_ww: Decimal, temperature_c: Decimal = Decimal(25)) -> Decimal:
    """Water activity of a brine from its % w/w; the rest as of_solution. Validity: up to 25.9 % w/w."""
    return of_solution(molality=molality_from_percent(percent_ww), temperature_c=temperature_c)


def _estimate(value: Decimal) -> Decimal:
    if not 0 < value <= 1:
        raise Refusal(say("water_activity_impossible", value=rounding.decimal_text(value, 4)))
    return value


def by_marcos(*, salt_in_moisture_percent: Decimal, moisture_percent: Decimal) -> Decimal:
    """Water activity of cheese from its salt: 1 - 0.033 x m, m in mol of salt per kg of its water.

    Not rounded. Validity: moisture 40 to 100 %: below about 40 % salt alone is not enough. Raises Refusal.
    Source: Marcos 1981 (abstract read).
    """
    require_within(
        moisture_percent,
        MARCOS_LOWEST_MOISTURE,
        Decimal(100),
        quantity="moisture",
        unit="percent",
        source=MARCOS_SOURCE,
        field="moisture",
    )
    return _estimate(1 - Decimal("0.033") * molality_from_salt_in_moisture(salt_in_moisture_percent))


def of_unripe_cheese(*, salt_in_moisture_percent: Decimal, ph: Decimal) -> Decimal:
    """Water activity of unripe cheese: 0.9719 - 0.0044 x g salt per 100 g moisture + 0.0041 x pH.

    Not rounded; within 0.005 for 87 % of the samples. Validity: 0 to 12 g salt per 100 g, pH 4 to 7. Raises
    Refusal, also where the line leaves 1. Source: UNRIPE_SOURCE.
    """
    _within(salt_in_moisture_percent, "0", "12", "salt_in_moisture", "percent", "salt_content")
    _within(ph, "4", "7", "ph", "pH", "ph")
    return _estimate(
        Decimal("0.9719") - Decimal("0.0044") * salt_in_moisture_percent + Decimal("0.0041") * ph
    )


def of_mould_ripened_cheese(*, ash_in_moisture: Decimal, npn_in_moisture: Decimal) -> Decimal:
    """Water activity of mould-ripened cheese: 1.0058 - 0.0045 x ash - 0.0107 x non-protein nitrogen.

    Both in g per 100 g of moisture; not rounded. Validity: ash 2 to 20, nitrogen 0 to 5. Raises Refusal.
    Source: MOULD_SOURCE.
    """
    _within(ash_in_moisture, "2", "20", "ash_in_moisture", "percent", "ash_in_moisture")
    _within(npn_in_moisture, "0", "5", "npn_in_moisture", "percent", "npn_in_moisture")
    value = Decimal("1.0058") - Decimal("0.0045") * ash_in_moisture - Decimal("0.0107") * npn_in_moisture
    return _estimate(value)


def of_processed_cheese(*, ash_in_moisture: Decimal) -> Decimal:
    """Water activity of processed cheese: 0.9951 - 0.0032 x ash in g per 100 g of moisture. Not rounded.

    Validity: ash 2 to 20. Raises Refusal. Source: PROCESSED_SOURCE.
    """
    _within(ash_in_moisture, "2", "20", "ash_in_moisture", "percent", "ash_in_moisture")
    return _estimate(Decimal("0.9951") - Decimal("0.0032") * ash_in_moisture)


def _within(value: Decimal, low: str, high: str, quantity: str, unit: str, field: str) -> None:
    require_within(
        value, Decimal(low), Decimal(high), quantity=quantity, unit=unit, source=_COMMON, field=field
    )
