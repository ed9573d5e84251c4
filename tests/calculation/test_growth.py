"""Growth models and exposure tables against published figures; logs against brute force."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation import growth, listeria
from safetyplan.calculation.exposure import exposure_of, within_summary
from safetyplan.calculation.exposure_tables import EXPOSURES
from safetyplan.calculation.growth_tables import (
    CARDINALS,
    LISTERIA_PH,
    ORGANISMS,
    SQUARE_ROOTS,
    Cardinal,
    CardinalPh,
    SquareRoot,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import convert
from tests.calculation.published import assert_near, published, rows_of

START = datetime(2026, 5, 14, 4, 0, tzinfo=UTC)
GAP = timedelta(minutes=60)
MILK = "milk_before_starter"
READING = st.tuples(st.integers(0, 1500), st.integers(-500, 4500))
LOGS = st.lists(READING, min_size=1, max_size=30, unique_by=lambda pair: pair[0])
NAMES = {
    "L. monocytogenes": "listeria_monocytogenes",
    "S. aureus (growth and toxin)": "staphylococcus_aureus",
    "Salmonella": "salmonella",
    "pathogenic E. coli": "escherichia_coli",
    "B. cereus": "bacillus_cereus",
}


def log(pairs: list[tuple[int, int]], unit: str = "degC") -> Series:
    readings = [(START + timedelta(minutes=m), Decimal(v).scaleb(-2)) for m, v in pairs]
    return Series.of(readings, unit=unit, longest_gap=GAP)


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


@given(st.decimals(-50, 150, places=2), st.sampled_from(sorted(CARDINALS)))
def test_a_cardinal_model_is_zero_outside_and_never_above_its_optimum(value: Decimal, name: str) -> None:
    model = CARDINALS[name]
    rate = growth.ln_rate_cardinal(model, temperature_c=value)
    inside = model.lowest_c < value < model.highest_c
    assert (rate > 0) is inside or rate == 0
    assert 0 <= rate <= model.optimum_rate + Decimal("1e-9")
    assert growth.ln_rate_cardinal(model, temperature_c=model.optimum_c) == model.optimum_rate


@given(st.decimals(-50, 35, places=2), st.decimals(-50, 35, places=2), st.sampled_from(sorted(SQUARE_ROOTS)))
def test_a_square_root_model_rises_with_the_temperature_and_is_zero_below_its_lowest(
    one: Decimal, other: Decimal, name: str
) -> None:
    model = SQUARE_ROOTS[name]
    low, high = sorted((one, other))
    rates = [growth.log10_rate_square_root(model, temperature_c=value) for value in (low, high)]
    assert rates[0] <= rates[1]
    assert (rates[0] == 0) is (low <= model.lowest_c)


@given(st.decimals(0, 50, places=1))
def test_the_full_model_is_zero_outside_and_close_to_the_square_root_far_below_the_optimum(
    value: Decimal,
) -> None:
    model = {
        "slope": Decimal("0.03"),
        "shape": Decimal("0.3"),
        "lowest_c": Decimal(4),
        "highest_c": Decimal(48),
    }
    rate = growth.ln_rate_ratkowsky(**model, temperature_c=value)
    assert (rate == 0) is not (4 < value < 48)
    if 4 < value < 20:
        assert abs(rate - (Decimal("0.03") * (value - 4)) ** 2) < Decimal("0.001")


@given(st.decimals(0, 14, places=2), st.decimals(0, 1, places=3), st.decimals(-5, 60, places=1))
def test_every_gamma_lies_between_nothing_and_one(ph: Decimal, aw: Decimal, value: Decimal) -> None:
    temperature = growth.gamma_temperature(temperature_c=value, lowest_c=Decimal(0), optimum_c=Decimal(37))
    assert all(0 <= share <= 1 for share in (growth.gamma_ph(ph), growth.gamma_aw(aw), temperature))


def test_natural_and_decimal_rates_are_told_apart() -> None:
    # 0.067 log10/h doubles in 4.49 h; taken as a natural rate it would be 10.3 h
    ln_rate = Decimal("0.067")
    assert growth.doubling_hours(growth.log10_rate_from_ln(ln_rate)) > 2 * growth.doubling_hours(ln_rate)


@pytest.mark.parametrize("organism", ORGANISMS)
def test_the_lowest_temperature_of_all_sources_is_the_one_that_counts(organism: str) -> None:
    lowest = growth.lowest_growth(organism)
    assert all(lowest.lowest_c <= limits.lowest_c for limits in growth.limits_of(organism))
    assert growth.may_grow(organism, temperature_c=lowest.lowest_c)
    assert not growth.may_grow(organism, temperature_c=lowest.lowest_c - Decimal("0.1"))


def test_a_condition_that_no_source_allows_excludes_growth_and_one_not_given_excludes_nothing() -> None:
    at = {"temperature_c": Decimal(20)}
    assert not growth.may_grow("listeria_monocytogenes", **at, ph=Decimal("4.1"))
    assert growth.may_grow("listeria_monocytogenes", **at, ph=Decimal("4.2"))
    assert growth.may_grow("listeria_monocytogenes", **at)


@given(LOGS)
def test_time_in_each_band_equals_brute_force_by_pairs(pairs: list[tuple[int, int]]) -> None:
    bands = EXPOSURES["listeria_monocytogenes"].bands
    edges = [convert(band.above_f, "degF", "degC") for band in bands]
    expected = [Decimal(0)] * len(bands)
    for (a, v), (b, w) in pairwise(sorted(pairs)):
        warm = Decimal(max(v, w)).scaleb(-2)
        above = [n for n, edge in enumerate(edges) if warm > edge or (n == 0 and warm == edge)]
        if b - a <= 60 and above:
            expected[above[-1]] += Decimal(b - a) / 60
    found = exposure_of(log(pairs), "listeria_monocytogenes", food=MILK)
    assert [band.hours for band in found.bands] == pytest.approx(expected)


@given(LOGS)
def test_growth_over_a_log_is_the_sum_of_two_halves_cut_at_a_reading(pairs: list[tuple[int, int]]) -> None:
    model = SQUARE_ROOTS["listeria_monocytogenes"]

    def rate(at: Decimal) -> Decimal:
        return growth.log10_rate_square_root(model, temperature_c=min(at, model.up_to_c))

    series = log(pairs)
    middle = START + timedelta(minutes=sorted(pairs)[len(pairs) // 2][0])
    halves = [series.between(START, middle), series.between(middle, START + timedelta(days=2))]
    whole = growth.potential_increase(series, rate)
    assert abs(sum(growth.potential_increase(half, rate) for half in halves) - whole) < Decimal("1e-15")
    assert growth.potential_increase(log(list(reversed(pairs))), rate) == whole
    assert whole >= 0


@given(LOGS)
def test_a_log_in_fahrenheit_is_exposed_like_the_same_log_in_celsius(pairs: list[tuple[int, int]]) -> None:
    # hundredths of a degree Celsius times five, so that the Fahrenheit value is exact too
    celsius = [(m, v * 5) for m, v in pairs if v * 5 <= 9000]
    if not celsius:
        return
    readings = [
        (START + timedelta(minutes=m), convert(Decimal(v).scaleb(-2), "degC", "degF")) for m, v in celsius
    ]
    one = exposure_of(log(celsius), "salmonella", food=MILK)
    other = exposure_of(Series.of(readings, unit="degF", longest_gap=GAP), "salmonella", food=MILK)
    assert one == other


def test_curd_in_process_is_refused_with_the_source_and_finished_cheese_is_not() -> None:
    series = log([(0, 3000), (60, 3000)])
    with pytest.raises(Refusal) as caught:
        exposure_of(series, "salmonella", food="curd_in_process")
    assert "appendix 4" in str(caught.value)
    assert exposure_of(series, "salmonella", food="finished_cheese").bands[-1].hours == 1


def test_exactly_the_whole_of_the_time_is_not_exceeded_and_a_minute_more_is() -> None:
    # above 70 °F Salmonella has 2 h in the table
    warm = [(minute, 2500) for minute in range(0, 121, 60)]
    assert not exposure_of(log(warm), "salmonella", food=MILK).exceeded
    assert exposure_of(log([*warm, (121, 2500)]), "salmonella", food=MILK).exceeded


def test_bands_that_are_each_within_can_together_be_too_long() -> None:
    # 3 h above 50 °F of 5 h, and 1 h above 70 °F of 2 h: 60 % and 50 %
    minutes = [(m, 1500) for m in range(0, 181, 60)] + [(m, 2500) for m in (181, 240)]
    found = exposure_of(log(minutes), "salmonella", food=MILK)
    assert all(band.share <= 1 for band in found.bands)
    assert found.exceeded


@pytest.mark.parametrize(
    "call",
    [
        lambda: growth.log10_rate_square_root(SQUARE_ROOTS["escherichia_coli"], temperature_c=Decimal(36)),
        lambda: growth.lag_hours(temperature_c=Decimal(7)),
        lambda: growth.gamma_aw(Decimal("1.1")),
        lambda: growth.gamma_ph(Decimal(15)),
        lambda: growth.ln_rate_cardinal(CARDINALS["staphylococcus_aureus"], temperature_c=Decimal("NaN")),
        lambda: listeria.clauses_met(listeria.Cheese(Decimal(15)), wording=listeria.EUROPE),
    ],
)
def test_outside_its_range_a_model_is_refused_with_the_range_and_the_source(call: Callable[[], Any]) -> None:
    with pytest.raises(Refusal) as caught:
        call()
    words = dict(caught.value.sentence.params)
    assert words["low"]
    assert words["source"] in str(caught.value)
