"""Every published value of heat treatment, computed by the public functions."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation.heat import judge_phosphatase
from safetyplan.calculation.heat_requirement import Product, required_temperature
from safetyplan.calculation.heat_tables import ORGANISMS
from safetyplan.calculation.lethality import (
    decimal_reduction_time,
    equivalent_hold,
    equivalent_time,
    lethal_rate,
    log_reduction,
    pasteurisation_effect,
    z_by_regression,
    z_of_two,
)
from safetyplan.calculation.series import Series
from tests.calculation.published import assert_near, rows_of

Inputs = dict[str, Any]
START = datetime(2026, 5, 14, tzinfo=UTC)
SECONDS = {"s": 1, "min": 60}
ORGANISM_OF = {
    "TH-LM-HTST": "listeria_whole_milk",
    "TH-LM-72": "listeria_whole_milk",
    "TH-LM-D522": "listeria_whole_milk",
    "TH-SAL-775W": "salmonella_senftenberg",
    "TH-COX-COW": "coxiella_cow_milk",
    "TH-LM87-15": "listeria_milks_and_cream",
    "TH-SAW-D": "staphylococcus_whey",
}


def rate(given: Inputs) -> Decimal:
    return lethal_rate(temperature_c=given["T_C"], reference_c=given["Tref_C"], z_c=given["z_C"])


def six_d(given: Inputs) -> Decimal:
    return equivalent_hold(
        hold=given["D6_ref_min"], hold_at_c=given["Tref_C"], temperature_c=given["T_C"], z_c=given["z_C"]
    )


def as_two_minutes_at_70(given: Inputs) -> Decimal:
    assert given["base"] == "70 C for 2 min"
    return equivalent_hold(
        hold=Decimal(2), hold_at_c=Decimal(70), temperature_c=given["T_C"], z_c=given["z_C"]
    )


def d_of(name: str, given: Inputs) -> Decimal:
    """D by the organism table, whose figures are those of the row."""
    organism = ORGANISMS[name]
    assert organism.d_s == given.get("D_s", given.get("D_min", Decimal(0)) * 60)
    assert given.get("z_C") in (None, organism.z_c)
    return decimal_reduction_time(name, temperature_c=given["T_C"])


def reduction(name: str, given: Inputs) -> Decimal:
    return log_reduction(equivalent_seconds=given["t_s"], d_seconds=d_of(name, given))


def pair(text: str) -> tuple[Decimal, Decimal]:
    temperature, _, time, unit = text.split()
    return Decimal(temperature), Decimal(time) * SECONDS[unit]


def regression(given: Inputs) -> Decimal:
    d_values = given.get("D_s") or given["D_min"]
    return z_by_regression(list(zip(given["T_C"], d_values, strict=True)))


def log_of(given: Inputs) -> Series:
    readings = [
        (START + timedelta(seconds=float(t)), value)
        for t, value in zip(given["t_s"], given["T_C"], strict=True)
    ]
    return Series.of(readings, unit="degC", longest_gap=timedelta(seconds=15))


def legal(given: Inputs) -> Decimal:
    number, unit = given["hold"].split()
    product = Product(given["fat_pct"], sweetened=given["sweetened"])
    found = required_temperature("us_milk", hold_seconds=Decimal(number) * SECONDS[unit], product=product)
    assert found.unit == "degF"
    return found.temperature


def australian(given: Inputs) -> Decimal:
    found = required_temperature(
        "australia_code", hold_seconds=given["hold_s"], product=Product(Decimal("3.8"))
    )
    assert found.unit == "degC"
    return found.temperature


def effect(given: Inputs) -> Decimal:
    return pasteurisation_effect(temperature_c=given["T_C"], hold_seconds=given["t_s"])


def trapezoid(given: Inputs) -> Decimal:
    return equivalent_time(log_of(given), reference_c=given["Tref_C"], z_c=given["z_C"]).seconds


def straight(given: Inputs) -> Decimal:
    return equivalent_time(log_of(given), reference_c=given["Tref_C"], z_c=given["z_C"]).straight_seconds


WAYS: dict[str, Callable[[Inputs], Any]] = {
    "TH-LR-": rate,
    "TH-6D-63": six_d,
    "TH-UK": as_two_minutes_at_70,
    "TH-SAL-Z": regression,
    "TH-SAW-Z": regression,
    "TH-EC-Z": regression,
    "TH-PAIR-ZF": lambda given: z_of_two(pair(given["pair1"]), pair(given["pair2"])),
    "TH-MF-Z": lambda given: z_of_two(pair(given["pair1"]), pair(given["pair2"])),
    "TH-KES-": effect,
    "TH-TRAP-1x": straight,
    "TH-TRAP-1": trapezoid,
    "TH-PMO-": legal,
    "TH-AU-": australian,
    "TH-ALP-COW": lambda given: (
        judge_phosphatase("cow_milk", milliunits_per_l=given["ALP_mU_per_L"]).negative
    ),
    "TH-LM-D522": lambda given: d_of("listeria_whole_milk", given),
}


def computed(row: dict[str, Any]) -> Any:
    """The value of a row by our functions; a row nobody knows how to compute is an error."""
    for prefix, way in WAYS.items():
        if row["id"].startswith(prefix):
            return way(row["inputs"])
    return reduction(ORGANISM_OF[row["id"]], row["inputs"])


@pytest.mark.parametrize("row", rows_of("heat"))
def test_a_published_value_is_reproduced(row: dict[str, Any]) -> None:
    assert_near(computed(row), row)
