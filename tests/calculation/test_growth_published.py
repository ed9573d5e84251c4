"""Growth models, exposure table and Listeria criteria against every published row."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation import growth, listeria
from safetyplan.calculation.exposure import within_summary
from safetyplan.calculation.exposure_tables import EXPOSURES
from safetyplan.calculation.growth_tables import (
    CARDINALS,
    LISTERIA_PH,
    SQUARE_ROOTS,
    Cardinal,
    CardinalPh,
    SquareRoot,
)
from tests.calculation.published import assert_near, published, rows_of

NAMES = {
    "L. monocytogenes": "listeria_monocytogenes",
    "S. aureus (growth and toxin)": "staphylococcus_aureus",
    "Salmonella": "salmonella",
    "pathogenic E. coli": "escherichia_coli",
    "B. cereus": "bacillus_cereus",
}


def measured_rate(inputs: dict[str, Any]) -> Decimal:
    if "generation_time_h" in inputs:
        per_day = growth.log10_per_day_from_doubling(inputs["generation_time_h"])
    else:
        per_day = inputs["log10_increase"] / inputs["days"]
    return growth.log10_rate_at_5_per_day(
        log10_per_day=per_day, temperature_c=inputs["T_C"], lowest_c=inputs["Tmin_C"]
    )


def listeria_model(inputs: dict[str, Any]) -> SquareRoot:
    return SquareRoot("row", inputs["Tmin_C"], Decimal(35), "row", rate_at_5=inputs["EGR5"])


def cardinal(inputs: dict[str, Any]) -> Decimal:
    model = Cardinal("row", inputs["Tmin"], inputs["Topt"], inputs["Tmax"], inputs["mu_opt_per_h"], "row")
    return growth.ln_rate_cardinal(model, temperature_c=inputs["T_C"])


def table_hours(inputs: dict[str, Any]) -> Decimal:
    """The hours of the band that holds the warmest temperature printed in a row."""
    first = inputs["product_T"].split(" F")[0]
    warmest = Decimal(first.split("-")[-1].lstrip("> "))
    value = warmest + (1 if first.startswith(">") else 0)
    bands = EXPOSURES[NAMES[inputs["organism"]]].bands
    return next(band.hours for band in reversed(bands) if value > band.above_f)


def excluded(inputs: dict[str, Any]) -> bool:
    cheese = listeria.Cheese(
        inputs["pH"],
        inputs.get("aw"),
        inputs.get("moisture_pct"),
        inputs.get("shelf_life_d"),
    )
    wording = listeria.EUROPE if "rule" in inputs else listeria.AUSTRALIA
    return bool(listeria.clauses_met(cheese, wording=wording))


COMPUTED: list[tuple[str, Callable[[dict[str, Any]], Any]]] = [
    ("GR-EGR5", measured_rate),
    (
        "GR-MILK",
        lambda i: 24 * growth.log10_rate_square_root(listeria_model(i), temperature_c=i["T_C"]),
    ),
    (
        "GR-EXC",
        lambda i: growth.increase_over_steps(
            [(hours, at) for hours, at in i["steps_h_C"]],
            lambda at: growth.log10_rate_square_root(listeria_model(i), temperature_c=at),
        ),
    ),
    ("GR-SALAG", lambda i: growth.lag_hours(temperature_c=i["T_C"])),
    ("GR-SACTM", cardinal),
    ("GR-ECTM", cardinal),
    (
        "GR-CPM",
        lambda i: growth.gamma_ph(i["pH"], CardinalPh(i["pHmin"], i["pHopt"], i["pHmax"], "row")),
    ),
    ("GR-DT", lambda i: growth.doubling_hours(i["rate_log10_per_h"])),
    ("GR-A2", table_hours),
    (
        "GR-RTE",
        lambda i: within_summary(
            hours_50_to_70=i["h_50_70F"], hours_above_70=i["h_70_135F"], only_aureus=i["S_aureus_only"]
        ),
    ),
    ("GR-LM", excluded),
    (
        "GR-ECCH",
        lambda i: growth.log10_rate_square_root(
            SquareRoot("row", i["Tmin_C"], Decimal(35), "row", slope=i["b"]), temperature_c=i["T_C"]
        ),
    ),
]


@pytest.mark.parametrize("row", rows_of("growth"))
def test_a_published_figure_is_reproduced(row: dict[str, Any]) -> None:
    compute = next(compute for start, compute in COMPUTED if row["id"].startswith(start))
    assert_near(compute(row["inputs"]), row)


def test_every_published_row_is_computed() -> None:
    starts = tuple(start for start, _compute in COMPUTED)
    assert [row["id"] for row in published("growth") if not row["id"].startswith(starts)] == []


def test_the_sets_of_the_tables_are_those_of_the_published_rows() -> None:
    rows = {row["id"]: row["inputs"] for row in published("growth")}
    aureus, meat = CARDINALS["staphylococcus_aureus"], CARDINALS["escherichia_coli_o157_meat"]
    assert (aureus.lowest_c, aureus.highest_c) == (
        rows["GR-SACTM-OPT"]["Tmin"],
        rows["GR-SACTM-OPT"]["Tmax"],
    )
    assert meat.optimum_rate == rows["GR-ECTM-OPT"]["mu_opt_per_h"]
    assert SQUARE_ROOTS["escherichia_coli"].slope == rows["GR-ECCH-15"]["b"]
    assert SQUARE_ROOTS["listeria_monocytogenes"].rate_at_5 == rows["GR-MILK-10"]["EGR5"]
    assert LISTERIA_PH.lowest == rows["GR-CPM-5.5"]["pHmin"]
