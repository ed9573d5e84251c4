"""Conversions against published and library values; each row of the fixture names its source."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation import trade_units
from safetyplan.calculation.rounding import shown
from safetyplan.calculation.units import (
    QUANTITIES,
    UNITS,
    UnitError,
    baume_from_specific_gravity,
    convert,
    convert_difference,
    convert_exactly,
    specific_gravity_from_baume,
)
from tests.calculation.published import check_value, published, rows_of

# How a row of the fixture is computed: our unit codes for the names it uses.
CODES = {
    "US_liquid_gallon": "gal_us",
    "liter": "L",
    "pound": "lb",
    "kilogram": "kg",
    "inch": "inch",
    "millimeter": "mm",
    "teaspoon": "tsp_us",
    "tablespoon": "tbsp_us",
    "US_liquid_cup": "cup_us",
    "milliliter": "mL",
}
PAIRS = {
    ("T_C", "F"): ("degC", "degF"),
    ("T_F", "C"): ("degF", "degC"),
    ("SH", "% lactic acid"): ("soxhlet_henkel", "percent_lactic"),
    ("SH", "deg Dornic"): ("soxhlet_henkel", "dornic"),
    ("D", "deg SH"): ("dornic", "soxhlet_henkel"),
    ("Th", "% lactic acid"): ("thorner", "percent_lactic"),
    ("US_gal", "L"): ("gal_us", "L"),
    ("lb", "kg"): ("lb", "kg"),
    ("inch", "cm"): ("inch", "cm"),
}


def titration(inputs: dict[str, Decimal]) -> Decimal:
    return trade_units.lactic_from_titration(
        titre_ml=inputs["titre_mL"], normality=inputs["NaOH_N"], sample_ml=inputs["sample_mL"]
    )


def press(inputs: dict[str, Decimal]) -> Decimal:
    return trade_units.press_pressure(
        weight_lb=inputs["weight_lb"],
        advantage=inputs["mechanical_advantage"],
        mould_diameter_inch=inputs["mould_diameter_in"],
    )


def rennet_used(inputs: dict[str, Decimal]) -> Decimal:
    return trade_units.rennet_units_per_litre(
        rennet_ml=inputs["mL"], strength_imcu_per_ml=inputs["IMCU_per_mL"], milk_litres=inputs["milk_L"]
    )


def rennet_to_use(inputs: dict[str, Decimal]) -> Decimal:
    return trade_units.rennet_dose(
        imcu_per_litre=inputs["dose_IMCU_per_L"],
        milk=inputs["milk_L"],
        milk_unit="L",
        strength_imcu_per_ml=inputs["IMCU_per_mL"],
    )


FORMULAS: dict[str, Callable[[dict[str, Decimal]], Decimal]] = {
    "UN-DT": lambda inputs: convert_difference(inputs["delta_F"], "degF", "degC"),
    "UN-TA-TIT": titration,
    "UN-PRESS": press,
    "UN-IMCU-1": rennet_used,
    "UN-IMCU-2": rennet_to_use,
}


def computed(row: dict[str, Any]) -> Decimal:
    inputs = row["inputs"]
    if row["id"] in FORMULAS:
        return FORMULAS[row["id"]](inputs)
    if "quantity" in inputs:
        number, unit = inputs["quantity"].split(" ")
        return convert(Decimal(number), CODES[unit], CODES[row["unit"]])
    ((name, value),) = inputs.items()
    return convert(value, *PAIRS[(name, row["unit"])])


@pytest.mark.parametrize("row", rows_of("units"))
def test_a_published_unit_value_is_met_within_its_tolerance(row: dict[str, Any]) -> None:
    assert abs(computed(row) - row["expected"]) <= row["tolerance"]


def test_every_published_row_names_its_source() -> None:
    assert [row["id"] for row in published("units") if not row["source"] or not row["provenance"]] == []


@pytest.mark.parametrize(
    ("value", "source", "target", "expected"),
    [
        # °F = °C x 9/5 + 32 and the inch, pound and gallon by definition (NIST Handbook 44)
        ("50", "degC", "degF", "122"),
        ("71.7", "degC", "degF", "161.06"),
        ("41", "degF", "degC", "5"),
        ("-40", "degC", "degF", "-40"),
        ("1", "gal_us", "L", "3.785411784"),
        ("1", "gal_imp", "L", "4.54609"),
        ("1", "lb", "kg", "0.45359237"),
        ("90", "min", "h", "1.5"),
        ("60", "d", "h", "1440"),
        ("100", "salometer", "percent_ww", "26.395"),
        ("26.395", "percent_ww", "salometer", "100"),
    ],
)
def test_a_finite_result_is_exact_to_the_last_digit(
    value: str, source: str, target: str, expected: str
) -> None:
    assert convert(Decimal(value), source, target) == Decimal(expected)


def test_161_fahrenheit_is_not_72_celsius() -> None:
    seventy_two = Decimal(72)
    assert convert(Decimal(161), "degF", "degC") < seventy_two
    assert convert(seventy_two, "degC", "degF") > Decimal(161)


def test_an_endless_result_has_no_exact_form_and_a_finite_one_has() -> None:
    assert convert_exactly(Decimal(161), "degF", "degC") is None
    assert convert_exactly(Decimal(7), "degC", "degF") == Decimal("44.6")


def test_a_value_in_its_own_unit_keeps_its_typed_precision() -> None:
    assert str(convert(Decimal("4.20"), "degC", "degC")) == "4.20"


def test_a_difference_of_temperature_leaves_the_32_out() -> None:
    row = check_value("units", "UN-DT")
    difference = convert_difference(row["inputs"]["delta_F"], "degF", "degC")
    assert shown(difference, "temperature", "degC") == "2.8"
    assert convert_difference(Decimal(5), "degC", "degF") == 9


@pytest.mark.parametrize(
    ("source", "target"),
    [("degC", "kg"), ("baume", "percent_ww"), ("percent_ww", "dornic"), ("pH", "dornic"), ("cubit", "L")],
)
def test_units_without_a_conversion_are_refused(source: str, target: str) -> None:
    with pytest.raises(UnitError):
        convert(Decimal(1), source, target)


def test_acidity_scales_return_where_they_started() -> None:
    there = convert(Decimal(17), "thorner", "dornic")
    assert there == Decimal("15.3")
    assert convert(there, "dornic", "thorner") == 17


def test_baume_gives_the_gravity_of_its_definition_and_comes_back() -> None:
    # 145 / (145 - 24.6) from the definition of the scale
    assert abs(specific_gravity_from_baume(Decimal("24.6")) - Decimal("1.20432")) < Decimal("0.00001")
    assert baume_from_specific_gravity(specific_gravity_from_baume(Decimal(20))) == 20


def test_the_two_baume_scales_differ_by_their_modulus() -> None:
    # at one gravity the degrees are in the ratio of the moduli, 144.3 to 145
    assert convert(Decimal("14.5"), "baume", "baume_144_3") == Decimal("14.43")
    assert baume_from_specific_gravity(Decimal("1.25"), "baume") == 29


@pytest.mark.parametrize("degrees", ["145", "200"])
def test_a_baume_degree_at_or_beyond_the_modulus_has_no_gravity(degrees: str) -> None:
    with pytest.raises(UnitError):
        specific_gravity_from_baume(Decimal(degrees))


def test_a_formula_refuses_to_divide_by_nothing() -> None:
    with pytest.raises(ValueError, match="sample_ml"):
        trade_units.lactic_from_titration(
            titre_ml=Decimal("1.6"), normality=Decimal("0.1"), sample_ml=Decimal(0)
        )


def test_every_quantity_lists_known_units_of_its_own_with_sound_ranges() -> None:
    for quantity in QUANTITIES.values():
        for unit in quantity.units:
            assert UNITS[unit].quantity == quantity.name
            low, high = quantity.physical[unit]
            soft_low, soft_high = quantity.plausible[unit]
            assert low <= soft_low < soft_high <= high


def test_the_ranges_of_one_quantity_agree_between_its_units() -> None:
    celsius, fahrenheit = (QUANTITIES["temperature"].physical[unit] for unit in ("degC", "degF"))
    assert tuple(convert(end, "degC", "degF") for end in celsius) == fahrenheit
