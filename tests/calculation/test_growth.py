"""Rates of growth against what each model promises, and growth over a log against other integrals."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import partial
from typing import Any

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from safetyplan.calculation import growth, listeria
from safetyplan.calculation.growth_tables import (
    CARDINALS,
    LISTERIA_PH,
    SQUARE_ROOTS,
    Cardinal,
    CardinalPh,
    SquareRoot,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import convert

START = datetime(2026, 5, 14, 4, 0, tzinfo=UTC)
GAP = timedelta(minutes=60)
READING = st.tuples(st.integers(0, 1500), st.integers(-500, 4500))
LOGS = st.lists(READING, min_size=1, max_size=30, unique_by=lambda pair: pair[0])


def log(pairs: list[tuple[int, int]], unit: str = "degC") -> Series:
    readings = [(START + timedelta(minutes=m), Decimal(v).scaleb(-2)) for m, v in pairs]
    return Series.of(readings, unit=unit, longest_gap=GAP)


@given(st.decimals(-50, 150, places=2), st.sampled_from(sorted(CARDINALS)))
def test_a_cardinal_model_is_zero_outside_and_never_above_its_optimum(value: Decimal, name: str) -> None:
    model = CARDINALS[name]
    rate = growth.ln_rate_cardinal(model, temperature_c=value)
    inside = model.lowest_c < value < model.highest_c
    assert (rate > 0) is inside or rate == 0
    assert 0 <= rate <= model.optimum_rate + Decimal("1e-9")
    assert growth.ln_rate_cardinal(model, temperature_c=model.optimum_c) == model.optimum_rate


@pytest.mark.parametrize("name", sorted(CARDINALS))
def test_a_cardinal_model_is_fastest_at_its_optimum_by_an_outside_search(name: str) -> None:
    # scipy searches the whole range; 0.001 °C is what a flat top lets it find
    model = CARDINALS[name]

    def slow(at: float) -> float:
        return -float(growth.ln_rate_cardinal(model, temperature_c=Decimal(repr(float(at)))))

    found = minimize_scalar(slow, bounds=(float(model.lowest_c), float(model.highest_c)), method="bounded")
    assert abs(found.x - float(model.optimum_c)) < 0.001


@given(st.decimals("7.7", "40.6", places=2), st.decimals("7.7", "40.6", places=2))
def test_a_cardinal_model_rises_up_to_its_optimum(one: Decimal, other: Decimal) -> None:
    model = CARDINALS["staphylococcus_aureus"]
    low, high = sorted((one, other))
    rates = [growth.ln_rate_cardinal(model, temperature_c=value) for value in (low, high)]
    assert rates[0] <= rates[1]


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


def test_the_gamma_concept_multiplies_what_each_condition_leaves() -> None:
    # gamma(pH) 0.559 at pH 5.5 (row GR-CPM-5.5), gamma(aw) (0.97 - 0.913)/0.087 = 0.655, by hand
    shares = (growth.gamma_ph(Decimal("5.5")), growth.gamma_aw(Decimal("0.97")))
    found = growth.ln_rate_gamma(optimum_rate=Decimal(1), shares=shares)
    assert abs(found - Decimal("0.3663")) < Decimal("0.0005")
    assert growth.ln_rate_gamma(optimum_rate=Decimal(1), shares=[*shares, Decimal(0)]) == 0


def test_every_gamma_is_nothing_at_its_lowest_and_the_whole_at_its_optimum() -> None:
    at = partial(growth.gamma_temperature, lowest_c=Decimal(0), optimum_c=Decimal(37))
    assert (at(temperature_c=Decimal(0)), at(temperature_c=Decimal(37))) == (0, 1)
    assert (growth.gamma_ph(LISTERIA_PH.lowest), growth.gamma_ph(LISTERIA_PH.optimum)) == (0, 1)
    assert growth.gamma_ph(LISTERIA_PH.highest) == 0
    assert (growth.gamma_aw(Decimal("0.913")), growth.gamma_aw(Decimal(1))) == (0, 1)


def test_natural_and_decimal_rates_are_told_apart() -> None:
    # 0.067 log10/h doubles in 4.49 h; taken as a natural rate it would be 10.3 h
    ln_rate = Decimal("0.067")
    assert growth.doubling_hours(growth.log10_rate_from_ln(ln_rate)) > 2 * growth.doubling_hours(ln_rate)


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


def aureus(temperature_c: Decimal) -> Decimal:
    return growth.log10_rate_from_ln(
        growth.ln_rate_cardinal(CARDINALS["staphylococcus_aureus"], temperature_c=temperature_c)
    )


def listeria_rate(temperature_c: Decimal) -> Decimal:
    model = SQUARE_ROOTS["listeria_monocytogenes"]
    return growth.log10_rate_square_root(model, temperature_c=min(temperature_c, model.up_to_c))


def rates_along(log_: Series, rate: growth.Rate) -> tuple[float, float]:
    """By trapezoid of the rates at the readings, and along straight lines between them (scipy)."""
    values = [float(value) for value in log_.decimals()]
    hours = [time / 3_600_000 for time in log_.times]
    rates = [float(rate(Decimal(repr(value)))) for value in values]
    lines = quad(
        lambda at: float(rate(Decimal(repr(float(numpy.interp(at, hours, values)))))),
        hours[0],
        hours[-1],
        points=hours[1:-1] or None,
    )[0]
    return float(numpy.trapezoid(rates, hours)), lines


@pytest.mark.parametrize("degrees", [(4, 12, 13, 9, 4), (20, 30, 10), (5, 6), (30, 2, 30, 2)])
def test_the_warmer_end_gives_more_than_the_trapezoid_and_that_more_than_straight_lines(
    degrees: tuple[int, ...],
) -> None:
    # the rate of a square-root model is convex: a trapezoid of the rates lies above the integral
    series = log([(30 * n, 100 * value) for n, value in enumerate(degrees)])
    upper = float(growth.potential_increase(series, listeria_rate))
    trapezoid, lines = rates_along(series, listeria_rate)
    assert upper > trapezoid > lines > 0


def test_on_a_steady_temperature_all_integrals_agree() -> None:
    series = log([(30 * n, 1000) for n in range(5)])
    trapezoid, lines = rates_along(series, listeria_rate)
    upper = float(growth.potential_increase(series, listeria_rate))
    assert upper == pytest.approx(trapezoid) == pytest.approx(lines)


@given(LOGS)
def test_growth_is_never_less_than_along_straight_lines_even_across_the_optimum(
    pairs: list[tuple[int, int]],
) -> None:
    # S. aureus grows fastest at 40.6 °C: a span from 35 to 47 °C passes through it though its warm end has 0
    series = log([(minute, value + 1500) for minute, value in pairs])
    optimum = CARDINALS["staphylococcus_aureus"].optimum_c
    whole = float(growth.potential_increase(series, aureus, fastest_c=optimum))
    lines = 0.0
    for ms, before, after in series.spans():
        steps = numpy.linspace(before / 1000, after / 1000, 21)
        rates = [float(aureus(Decimal(repr(float(at))))) for at in steps]
        lines += ms / 3_600_000 * float(numpy.mean(rates))
    assert whole >= lines - 1e-9


def test_a_span_across_the_optimum_counts_at_the_optimum() -> None:
    optimum = CARDINALS["staphylococcus_aureus"].optimum_c
    for pairs in ([(0, 3500), (60, 4700)], [(0, 4700), (60, 3500)]):
        found = growth.growth_steps(log(pairs), aureus, fastest_c=optimum)
        assert [step.temperature_c for step in found] == [optimum]
    beyond = growth.growth_steps(log([(0, 4200), (60, 4500)]), aureus, fastest_c=optimum)
    assert [step.temperature_c for step in beyond] == [42]


def test_nothing_grows_in_a_gap_and_lag_is_not_taken_off() -> None:
    assert growth.potential_increase(log([(0, 2000), (61, 2000)]), listeria_rate) == 0
    one_hour = growth.potential_increase(log([(0, 2000), (60, 2000)]), listeria_rate)
    assert one_hour == listeria_rate(Decimal(20))


@given(LOGS)
def test_growth_is_the_same_in_fahrenheit(pairs: list[tuple[int, int]]) -> None:
    # fives of hundredths of a degree Celsius, so that the Fahrenheit value is exact in thousandths too
    celsius = [(minute, value // 5 * 5) for minute, value in pairs]
    readings = [
        (START + timedelta(minutes=m), convert(Decimal(v).scaleb(-2), "degC", "degF")) for m, v in celsius
    ]
    other = Series.of(readings, unit="degF", longest_gap=GAP)
    optimum = CARDINALS["staphylococcus_aureus"].optimum_c
    one = growth.potential_increase(log(celsius), aureus, fastest_c=optimum)
    assert abs(growth.potential_increase(other, aureus, fastest_c=optimum) - one) < Decimal("1e-9")


@pytest.mark.parametrize(
    "call",
    [
        lambda: growth.log10_rate_square_root(SQUARE_ROOTS["escherichia_coli"], temperature_c=Decimal(36)),
        lambda: growth.lag_hours(temperature_c=Decimal(7)),
        lambda: growth.gamma_aw(Decimal("1.1")),
        lambda: growth.gamma_ph(Decimal(15)),
        lambda: growth.ln_rate_cardinal(CARDINALS["staphylococcus_aureus"], temperature_c=Decimal("NaN")),
        lambda: growth.doubling_hours(Decimal("1e-400")),
        lambda: growth.doubling_hours(Decimal(0)),
        lambda: growth.log10_per_day_from_doubling(Decimal("NaN")),
        lambda: growth.log10_rate_from_ln(Decimal("-1")),
        lambda: growth.ln_rate_gamma(optimum_rate=Decimal(1), shares=[Decimal(2)]),
        lambda: growth.log10_rate_at_5_per_day(
            log10_per_day=Decimal("1e400"), temperature_c=Decimal(8), lowest_c=Decimal(0)
        ),
        lambda: listeria.clauses_met(listeria.Cheese(Decimal(15)), wording=listeria.EUROPE),
    ],
)
def test_outside_its_range_a_model_is_refused_with_the_range_and_the_source(call: Callable[[], Any]) -> None:
    with pytest.raises(Refusal) as caught:
        call()
    words = dict(caught.value.sentence.params)
    assert words["low"]
    assert words["source"] in str(caught.value)


def ratkowsky(**changes: str) -> Decimal:
    given_ = {"slope": "0.03", "shape": "0.3", "lowest_c": "4", "highest_c": "48", "temperature_c": "20"}
    return growth.ln_rate_ratkowsky(**{name: Decimal(text) for name, text in (given_ | changes).items()})


@pytest.mark.parametrize(
    "call",
    [
        lambda: ratkowsky(lowest_c="48"),
        lambda: ratkowsky(slope="0"),
        lambda: ratkowsky(slope="1e400"),
        lambda: ratkowsky(shape="NaN"),
        lambda: growth.gamma_temperature(
            temperature_c=Decimal(5), lowest_c=Decimal(37), optimum_c=Decimal(37)
        ),
        lambda: growth.gamma_ph(Decimal(5), CardinalPh(Decimal(7), Decimal(5), Decimal(9), "row")),
        lambda: growth.gamma_ph(Decimal(7), CardinalPh(Decimal(4), Decimal(5), Decimal("1e300"), "row")),
        lambda: growth.log10_rate_square_root(
            SquareRoot("row", Decimal(0), Decimal("1e300"), "row", slope=Decimal(1)),
            temperature_c=Decimal("1e200"),
        ),
        lambda: growth.ln_rate_cardinal(cardinal("0", "10", "50"), temperature_c=Decimal(30)),
        lambda: growth.ln_rate_cardinal(cardinal("0", "0", "50"), temperature_c=Decimal(30)),
        lambda: growth.log10_rate_square_root(
            SquareRoot("row", Decimal(0), Decimal(35), "row"), temperature_c=Decimal(10)
        ),
        lambda: growth.log10_rate_square_root(
            SquareRoot("row", Decimal(6), Decimal(35), "row", rate_at_5=Decimal(1)), temperature_c=Decimal(10)
        ),
        lambda: growth.log10_rate_at_5_per_day(
            log10_per_day=Decimal(1), temperature_c=Decimal(3), lowest_c=Decimal(3)
        ),
        lambda: growth.increase_over_steps([(Decimal(-1), Decimal(5))], listeria_rate),
    ],
)
def test_a_model_that_cannot_be_is_refused(call: Callable[[], Any]) -> None:
    with pytest.raises(Refusal):
        call()


def cardinal(lowest: str, optimum: str, highest: str) -> Cardinal:
    return Cardinal("row", Decimal(lowest), Decimal(optimum), Decimal(highest), Decimal(1), "row")


def test_models_that_can_be_are_computed() -> None:
    assert ratkowsky() > 0
    assert growth.ln_rate_cardinal(cardinal("0", "25", "50"), temperature_c=Decimal(30)) > 0
    given_ = {"log10_per_day": Decimal(1), "temperature_c": Decimal(10), "lowest_c": Decimal(6)}
    assert growth.log10_rate_at_5_per_day(**given_) == 0  # at 5 °C below its lowest, not the square of it
    assert growth.increase_over_steps([(Decimal(0), Decimal(5))], listeria_rate) == 0


ANY = st.decimals(allow_nan=True, allow_infinity=True)


@given(st.tuples(ANY, ANY, ANY, ANY, ANY))
def test_no_number_whatever_makes_a_model_answer_nonsense(numbers: tuple[Decimal, ...]) -> None:
    a, b, c, d, e = numbers
    calls: list[Callable[[], Decimal]] = [
        lambda: growth.ln_rate_ratkowsky(slope=a, shape=b, lowest_c=c, highest_c=d, temperature_c=e),
        lambda: growth.ln_rate_cardinal(Cardinal("row", a, b, c, d, "row"), temperature_c=e),
        lambda: growth.log10_rate_square_root(SquareRoot("row", a, b, "row", slope=c), temperature_c=d),
        lambda: growth.log10_rate_square_root(SquareRoot("row", a, b, "row", rate_at_5=c), temperature_c=d),
        lambda: growth.log10_rate_at_5_per_day(log10_per_day=a, temperature_c=b, lowest_c=c),
        lambda: growth.gamma_temperature(temperature_c=a, lowest_c=b, optimum_c=c),
        lambda: growth.gamma_ph(a, CardinalPh(b, c, d, "row")),
        lambda: growth.gamma_aw(a, lowest_aw=b),
        lambda: growth.ln_rate_gamma(optimum_rate=a, shares=[b, c]),
        lambda: growth.doubling_hours(a),
        lambda: growth.log10_per_day_from_doubling(a),
        lambda: growth.lag_hours(temperature_c=a),
    ]
    for call in calls:
        try:
            found = call()
        except Refusal:
            continue
        assert found.is_finite()
        assert found >= 0
