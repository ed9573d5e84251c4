"""Water activity: of salt solutions from their molality, and the published estimates for cheese.

An estimate is an estimate: none of them is ever the only ground for saying that something cannot grow.
Left out on purpose: a recalled table of water activity against percent of salt, which above 12 % is off by up
to 0.025; and a printed column for Danish cheese (0.82 to 0.88), which every equation here contradicts.
"""

from bisect import bisect_right
from collections.abc import Sequence
from decimal import Decimal
from math import exp

from safetyplan.calculation import rounding
from safetyplan.calculation.composition_tables import (
    OSMOTIC,
    OSMOTIC_SOURCE,
    SHIFT,
    SHIFT_MOLALITIES,
    SHIFT_SOURCE,
    SHIFT_TEMPERATURES,
)
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.sentences import say

GRAMS_PER_MOLE = Decimal("58.443")
KG_WATER_PER_MOLE = 0.0180153
# Saturated at 25 °C: 6.15 mol/kg; the percents are the last tenths below it.
SATURATION_MOLALITY = Decimal("6.15")
MOST_PERCENT_WW, MOST_SALT_IN_MOISTURE = Decimal("26.4"), Decimal("35.9")
LOWEST_C, ROOM_C, HIGHEST_C = Decimal(4), Decimal(25), Decimal(30)
_MOLAR = "molar mass of sodium chloride 58.443; up to a saturated brine at 25 °C"

MARCOS_LOWEST_MOISTURE = Decimal(40)
MARCOS_SOURCE = (
    "Marcos 1981, Water activity and chemical composition of cheese (its abstract): moisture above about "
    "40 %, no figure for the error"
)
UNRIPE_SOURCE = (
    "New equation for prediction of water activity in unripe cheese, Journal of Dairy Research 1990 (its "
    "abstract): within 0.005 in 86.7 % and 0.002 in 53.3 % of 30 samples"
)
MOULD_SOURCE = (
    "Estimation of water activity in mould ripened cheese from chemical composition (its abstract), 20 °C: "
    "soft cheese within 0.005 in 73 % and 0.010 in 97 % of 30 samples, blue cheese within 0.01 in 73 % and "
    "0.02 in 98 % of 40"
)
PROCESSED_SOURCE = (
    "Chemical prediction of water activity in processed cheese (its abstract): within 0.005 in 75 % of 40 "
    "samples, at most 0.01"
)
_RANGE = "range in which cheese is found, common practice, no source; equation: "


def _from_mass_percent(percent: Decimal, quantity: str, unit: str, field: str) -> Decimal:
    require_within(
        percent, Decimal(0), MOST_PERCENT_WW, quantity=quantity, unit=unit, source=_MOLAR, field=field
    )
    return 1000 * percent / (GRAMS_PER_MOLE * (100 - percent))


def molality_from_percent(percent_ww: Decimal, *, field: str = "") -> Decimal:
    """Mol of salt per kg of water from % w/w of a brine: 1000 x w / (58.443 x (100 - w)). Not rounded.

    Validity: 0 to 26.4 % w/w, saturated brine. Raises Refusal. Source: molar mass of sodium chloride.
    """
    return _from_mass_percent(percent_ww, "brine_strength", "percent_ww", field)


def molality_from_water_phase_salt(water_phase_salt_percent: Decimal) -> Decimal:
    """Mol of salt per kg of water from the water-phase salt of a cheese, S/(S+M), %. Not rounded.

    The water phase is taken for plain brine, so formula, validity and errors are those of
    molality_from_percent. Source: molar mass of sodium chloride.
    """
    return _from_mass_percent(water_phase_salt_percent, "water_phase_salt", "percent", "salt_content")


def molality_from_salt_in_moisture(salt_in_moisture_percent: Decimal) -> Decimal:
    """Mol of salt per kg of water from salt in moisture, S/M, g to 100 g of water: 10 x g / 58.443.

    Not rounded. Validity: 0 to 35.9 g per 100 g of water. Raises Refusal. Source: molar mass of sodium
    chloride.
    """
    require_within(
        salt_in_moisture_percent,
        Decimal(0),
        MOST_SALT_IN_MOISTURE,
        quantity="salt_in_moisture",
        unit="percent",
        source=_MOLAR,
        field="salt_content",
    )
    return 10 * salt_in_moisture_percent / GRAMS_PER_MOLE


def _between(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    """Linear interpolation; beyond the last of xs the last stretch goes on."""
    n = min(max(bisect_right(xs, x), 1), len(xs) - 1)
    return ys[n - 1] + (ys[n] - ys[n - 1]) * (x - xs[n - 1]) / (xs[n] - xs[n - 1])


def _osmotic(molality: Decimal) -> float:
    require_within(
        molality,
        Decimal(0),
        SATURATION_MOLALITY,
        quantity="molality",
        unit="mol_per_kg",
        source=OSMOTIC_SOURCE,
    )
    return _between([row.molality for row in OSMOTIC], [row.phi for row in OSMOTIC], float(molality))


def osmotic_coefficient(*, molality: Decimal) -> Decimal:
    """Osmotic coefficient (phi) of sodium chloride at 25 °C, no unit, from mol per kg of water.

    Interpolated in OSMOTIC; from 6 to 6.15 mol/kg, saturation, the last stretch goes on. Floats inside, 12
    significant digits. Validity: 0 to 6.15 mol/kg. Raises Refusal. Source: OSMOTIC_SOURCE.
    """
    return rounding.from_float(_osmotic(molality))


def of_solution(*, molality: Decimal, temperature_c: Decimal = ROOM_C) -> Decimal:
    """Water activity of a sodium chloride solution: exp(-2 x m x phi x 0.0180153), shifted from 25 °C.

    Floats inside, 12 significant digits. Error within 0.0004 up to 5 mol/kg and 0.001 above. Validity: 0 to
    6.15 mol per kg of water, saturation at 25 °C; 4 to 30 °C. Between 4 and 25 °C it moves by less than
    0.0045. Raises Refusal. Source: OSMOTIC_SOURCE, SHIFT_SOURCE.
    """
    phi, m = _osmotic(molality), float(molality)
    require_within(
        temperature_c, LOWEST_C, HIGHEST_C, quantity="temperature", unit="degC", source=SHIFT_SOURCE
    )
    by_temperature = [_between(SHIFT_MOLALITIES, row, m) for row in SHIFT]
    shift = _between(SHIFT_TEMPERATURES, by_temperature, float(temperature_c)) / 10_000
    return _possible(rounding.from_float(exp(-2 * m * phi * KG_WATER_PER_MOLE) + shift))


def of_brine(*, percent_ww: Decimal, temperature_c: Decimal = ROOM_C) -> Decimal:
    """Water activity of a brine from its % w/w, 0 to 26.4; the rest as molality_from_percent, of_solution."""
    return of_solution(molality=molality_from_percent(percent_ww), temperature_c=temperature_c)


def of_water_phase(*, water_phase_salt_percent: Decimal, temperature_c: Decimal = ROOM_C) -> Decimal:
    """Water activity of a cheese as if its water phase, of S/(S+M) in %, were plain brine.

    The other solutes of a cheese lower it further. Validity, errors and source as
    molality_from_water_phase_salt and of_solution.
    """
    molality = molality_from_water_phase_salt(water_phase_salt_percent)
    return of_solution(molality=molality, temperature_c=temperature_c)


def of_saturated_brine() -> Decimal:
    """Water activity of a saturated brine at 25 °C: of_solution at 6.15 mol/kg. Source: as there."""
    return of_solution(molality=SATURATION_MOLALITY)


def _possible(value: Decimal) -> Decimal:
    if not 0 < value <= 1:
        raise Refusal(say("water_activity_impossible", value=rounding.significant_text(value, 6)))
    return value


def by_marcos(*, salt_in_moisture_percent: Decimal, moisture_percent: Decimal) -> Decimal:
    """Water activity of cheese from its salt: 1 - 0.033 x m, m in mol of salt per kg of its water.

    salt_in_moisture_percent: S/M in %. Not rounded; its error is not stated. Validity: moisture 40 to 100 %,
    because below about 40 % salt alone is not enough. Raises Refusal. Source: MARCOS_SOURCE.
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
    return _possible(1 - Decimal("0.033") * molality_from_salt_in_moisture(salt_in_moisture_percent))


def of_unripe_cheese(*, salt_in_moisture_percent: Decimal, ph: Decimal) -> Decimal:
    """Water activity of unripe cheese: 0.9719 - 0.0044 x g salt per 100 g moisture + 0.0041 x pH.

    Not rounded; within 0.005 for 87 % of the samples. Validity: 0 to 12 g salt per 100 g, pH 4 to 7. Raises
    Refusal, also where the line leaves 1. Source: UNRIPE_SOURCE; the range is common practice.
    """
    _within(salt_in_moisture_percent, "0", "12", "salt_in_moisture", UNRIPE_SOURCE, "salt_content")
    _within(ph, "4", "7", "ph", UNRIPE_SOURCE, "ph")
    return _possible(
        Decimal("0.9719") - Decimal("0.0044") * salt_in_moisture_percent + Decimal("0.0041") * ph
    )


def of_mould_ripened_cheese(*, ash_in_moisture: Decimal, npn_in_moisture: Decimal) -> Decimal:
    """Water activity of mould-ripened cheese: 1.0058 - 0.0045 x ash - 0.0107 x non-protein nitrogen.

    Both in g per 100 g of moisture; not rounded; within 0.01 for 97 % of soft and 73 % of blue cheeses.
    Validity: ash 2 to 20, nitrogen 0 to 5. Raises Refusal. Source: MOULD_SOURCE; the range is common
    practice.
    """
    _within(ash_in_moisture, "2", "20", "ash_in_moisture", MOULD_SOURCE, "ash_in_moisture")
    _within(npn_in_moisture, "0", "5", "npn_in_moisture", MOULD_SOURCE, "npn_in_moisture")
    value = Decimal("1.0058") - Decimal("0.0045") * ash_in_moisture - Decimal("0.0107") * npn_in_moisture
    return _possible(value)


def of_processed_cheese(*, ash_in_moisture: Decimal) -> Decimal:
    """Water activity of processed cheese: 0.9951 - 0.0032 x ash in g per 100 g of moisture. Not rounded.

    Within 0.005 for 75 % of the samples. Validity: ash 2 to 20. Raises Refusal. Source: PROCESSED_SOURCE; the
    range is common practice.
    """
    _within(ash_in_moisture, "2", "20", "ash_in_moisture", PROCESSED_SOURCE, "ash_in_moisture")
    return _possible(Decimal("0.9951") - Decimal("0.0032") * ash_in_moisture)


def _within(value: Decimal, low: str, high: str, quantity: str, equation: str, field: str) -> None:
    unit = "pH" if quantity == "ph" else "percent"
    require_within(
        value,
        Decimal(low),
        Decimal(high),
        quantity=quantity,
        unit=unit,
        source=_RANGE + equation,
        field=field,
    )
