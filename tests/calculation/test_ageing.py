"""Ageing: days that count, degree-days, mean kinetic temperature, Q10, weight; beside scipy and numpy."""

import random
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import trapezoid
from scipy.special import logsumexp

from safetyplan.calculation.ageing import (
    RULES,
    check_rule,
    days_at_or_above,
    degree_days,
    earliest_date,
    mean_kinetic_temperature,
    mean_kinetic_temperature_over_time,
    mean_temperature,
    q10_equivalent_days,
    q10_equivalent_days_over_time,
    weight_loss,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import UnitError, convert

START = datetime(2026, 1, 10, tzinfo=UTC)
GAP = timedelta(days=2)
HOUR = timedelta(hours=1)
# Hours over two months; temperatures in steps of 0.005 °C, which are whole thousandths of a °F too.
HOURS = st.integers(0, 1440)
ROOMS = st.integers(-6000, 12_000).map(lambda steps: Decimal(steps * 5).scaleb(-3))
PAIRS = st.lists(st.tuples(HOURS, ROOMS), min_size=1, max_size=40, unique_by=lambda pair: pair[0])
BASES = st.integers(-20, 30).map(Decimal)
Pairs = list[tuple[int, Decimal]]


def made(pairs: Pairs, unit: str = "degC", gap: timedelta = GAP) -> Series:
    readings = [(START + HOUR * hours, convert(value, "degC", unit)) for hours, value in pairs]
    return Series.of(readings, unit=unit, longest_gap=gap)


def daily(*values: str, unit: str = "degC") -> Series:
    readings = [(START + timedelta(days=n), Decimal(value)) for n, value in enumerate(values)]
    return Series.of(readings, unit=unit, longest_gap=GAP)


def has_span(pairs: Pairs) -> bool:
    hours = sorted(hour for hour, _ in pairs)
    return any(b - a <= 48 for a, b in pairwise(hours))


def spans(pairs: Pairs) -> list[tuple[float, float, float]]:
    """(days, value before, value after) of the spans without a gap, as floats."""
    return [((b - a) / 24, float(v), float(w)) for (a, v), (b, w) in pairwise(sorted(pairs)) if b - a <= 48]


# --- days that count


def counted(series: Series, limit: str, unit: str) -> tuple[Decimal, Decimal, Decimal]:
    found = days_at_or_above(series, limit=Decimal(limit), unit=unit)
    return found.counted, found.below, found.not_shown


def test_a_span_counts_only_when_both_of_its_ends_are_at_or_above() -> None:
    assert counted(daily("12", "12", "1", "12", "12"), "35", "degF") == (2, 2, 0)


def test_a_gap_counts_neither_way() -> None:
    series = made([(0, Decimal(12)), (48, Decimal(12)), (97, Decimal(12))])
    assert counted(series, "2", "degC") == (2, 0, Decimal(49) / 24)


def test_a_rule_in_fahrenheit_is_not_the_rounded_celsius() -> None:
    # 35 °F is 1.666... °C: 1.667 counts, 1.666 does not, though both are shown as 1.7
    assert counted(daily("1.667", "1.667"), "35", "degF") == (1, 0, 0)
    assert counted(daily("1.666", "1.666"), "35", "degF") == (0, 1, 0)
    assert counted(daily("1.667", "1.667"), "1.7", "degC") == (0, 1, 0)


def test_an_instrument_that_was_not_valid_shows_no_day() -> None:
    series = Series(
        "degC",
        daily("12", "12").times,
        daily("12", "12").values,
        GAP // timedelta(milliseconds=1),
        valid=False,
    )
    assert counted(series, "2", "degC") == (0, 0, 1)
    with pytest.raises(Refusal) as caught:
        degree_days(series, base=Decimal(0), unit="degC")
    assert caught.value.sentence.code == "ageing_not_valid"


def test_a_single_reading_lasts_for_no_time() -> None:
    assert counted(daily("12"), "2", "degC") == (0, 0, 0)
    with pytest.raises(Refusal) as caught:
        mean_temperature(daily("12"))
    assert caught.value.sentence.code == "ageing_no_span"


@given(PAIRS, ROOMS)
def test_counted_below_and_not_shown_make_the_whole_log(pairs: Pairs, limit: Decimal) -> None:
    found = days_at_or_above(made(pairs), limit=limit, unit="degC")
    hours = sorted(hour for hour, _ in pairs)
    whole = Decimal(hours[-1] - hours[0]) / 24
    assert abs(found.counted + found.below + found.not_shown - whole) < Decimal("1e-20")
    assert min(found.counted, found.below, found.not_shown) >= 0


@given(PAIRS, ROOMS, ROOMS)
def test_a_higher_limit_never_counts_more_days(pairs: Pairs, one: Decimal, other: Decimal) -> None:
    low, high = (days_at_or_above(made(pairs), limit=limit, unit="degC") for limit in sorted((one, other)))
    assert high.counted <= low.counted


@given(PAIRS)
def test_the_unit_of_the_readings_makes_no_difference(pairs: Pairs) -> None:
    limit = Decimal(35)
    celsius, fahrenheit = made(pairs), made(pairs, "degF")
    assert days_at_or_above(celsius, limit=limit, unit="degF") == days_at_or_above(
        fahrenheit, limit=limit, unit="degF"
    )
    # 1e-9: °F are whole thousandths here, what is left is the precision of the arithmetic
    first, second = (degree_days(one, base=Decimal(4), unit="degC") for one in (celsius, fahrenheit))
    assert abs(first - second) < Decimal("1e-9")
    if has_span(pairs):
        one, other = (mean_kinetic_temperature_over_time(series) for series in (celsius, fahrenheit))
        assert abs(one - convert(other, "degF", "degC")) < Decimal("1e-9")


def everything(series: Series) -> tuple[Decimal, ...]:
    return (
        days_at_or_above(series, limit=Decimal(35), unit="degF").counted,
        degree_days(series, base=Decimal(4), unit="degC"),
        mean_temperature(series),
        mean_kinetic_temperature_over_time(series),
        q10_equivalent_days_over_time(series, reference=Decimal(8), unit="degC", q10=Decimal("2.5")).days,
    )


@given(PAIRS, st.randoms(use_true_random=False))
def test_the_order_of_the_readings_makes_no_difference_and_everything_is_finite(
    pairs: Pairs, chance: random.Random
) -> None:
    assume(has_span(pairs))
    shuffled = pairs.copy()
    chance.shuffle(shuffled)
    found = everything(made(pairs))
    assert found == everything(made(shuffled))
    assert all(value.is_finite() for value in found)


# --- the date and the rule


@pytest.mark.parametrize("day", range(0, 3651, 365))
def test_the_earliest_date_is_that_of_numpy(day: int) -> None:
    found = earliest_date(date(2023, 12, 31), days=day)
    assert np.datetime64(found.isoformat()) == np.datetime64("2023-12-31") + np.timedelta64(day, "D")


def test_days_outside_and_the_end_of_the_calendar_are_refused() -> None:
    for made_on, days, code in (
        (date(2026, 1, 1), -1, "outside_validity"),
        (date(2026, 1, 1), 3651, "outside_validity"),
        (date(9999, 12, 31), 60, "ageing_no_such_date"),
    ):
        with pytest.raises(Refusal) as caught:
            earliest_date(made_on, days=days)
        assert caught.value.sentence.code == code


def rule_code(name: str, days: str, lowest: str, unit: str) -> str:
    return check_rule(
        RULES[name], days=Decimal(days), lowest_temperature=Decimal(lowest), unit=unit
    ).sentence.code


def test_a_rule_is_met_exactly_on_both_of_its_edges_and_not_just_below() -> None:
    assert rule_code("sixty_days_us", "60", "35", "degF") == "ageing_rule_met"
    assert rule_code("sixty_days_us", "59.999", "35", "degF") == "ageing_rule_too_short"
    assert rule_code("sixty_days_us", "60", "1.666", "degC") == "ageing_rule_too_cold"
    assert rule_code("sixty_days_us", "60", "1.667", "degC") == "ageing_rule_met"


def test_the_two_rules_differ_between_35_f_and_2_c() -> None:
    # 21 CFR 133.144 (35 °F) and the excerpt of a Quebec regulation (2 °C)
    assert rule_code("sixty_days_us", "60", "1.8", "degC") == "ageing_rule_met"
    assert rule_code("sixty_days_quebec", "60", "1.8", "degC") == "ageing_rule_too_cold"


# --- degree-days


def above(pairs: Pairs, base: float) -> float:
    """The integral by scipy, with a node set where a span crosses the base."""
    total = 0.0
    for days, low, high in spans(pairs):
        nodes, heights = [0.0, days], [low - base, high - base]
        if heights[0] * heights[1] < 0:
            nodes.insert(1, days * heights[0] / (heights[0] - heights[1]))
            heights.insert(1, 0.0)
        total += float(trapezoid(np.maximum(heights, 0), nodes))
    return total


def test_a_span_that_crosses_the_base_counts_its_triangle_exactly() -> None:
    # from 8 to 12 °C in one day, base 10: half a day, mean 1 °C
    assert degree_days(daily("8", "12"), base=Decimal(10), unit="degC") == Decimal("0.5")
    assert degree_days(daily("12", "8"), base=Decimal(10), unit="degC") == Decimal("0.5")


@given(PAIRS, BASES)
def test_degree_days_are_the_integral_of_scipy(pairs: Pairs, base: Decimal) -> None:
    # 1e-9 relative: floats of scipy over at most 40 spans
    found = float(degree_days(made(pairs), base=base, unit="degC"))
    assert found == pytest.approx(above(pairs, float(base)), rel=1e-9, abs=1e-9)


@given(PAIRS, BASES, st.integers(0, 39))
def test_degree_days_of_a_log_split_at_a_reading_add_up(pairs: Pairs, base: Decimal, place: int) -> None:
    ordered = sorted(pairs)
    cut = min(place, len(ordered) - 1)
    whole, *parts = (
        degree_days(made(part), base=base, unit="degC")
        for part in (ordered, ordered[: cut + 1], ordered[cut:])
    )
    assert abs(whole - sum(parts)) < Decimal("1e-18")


@given(PAIRS, BASES, BASES)
def test_a_higher_base_never_gives_more_degree_days(pairs: Pairs, one: Decimal, other: Decimal) -> None:
    low, high = (degree_days(made(pairs), base=base, unit="degC") for base in sorted((one, other)))
    assert 0 <= high <= low


def test_degree_days_in_fahrenheit_are_nine_fifths_of_those_in_celsius() -> None:
    series = daily("13", "11", "9")
    celsius, fahrenheit = (
        degree_days(series, base=base, unit=unit)
        for base, unit in ((Decimal(10), "degC"), (Decimal(50), "degF"))
    )
    assert abs(fahrenheit - celsius * 9 / 5) < Decimal("1e-20")


# --- mean kinetic temperature


def kinetic(kelvins: np.ndarray, weights: np.ndarray, activation: float = 10_000.0) -> float:
    """By scipy's logsumexp, in °C."""
    mean = logsumexp(-activation / kelvins, b=weights) - np.log(weights.sum())
    return float(activation / -mean - 273.15)


ACTIVATIONS = st.integers(1000, 30_000).map(Decimal)


@given(st.lists(ROOMS, min_size=1, max_size=40), ACTIVATIONS)
def test_the_mean_kinetic_temperature_is_that_of_scipy_and_never_below_the_mean(
    values: list[Decimal], activation: Decimal
) -> None:
    # 1e-8 °C: two ways of summing exponentials in floats
    found = float(mean_kinetic_temperature(values, unit="degC", activation=activation))
    kelvins = np.array([float(value) for value in values]) + 273.15
    assert found == pytest.approx(kinetic(kelvins, np.ones(len(values)), float(activation)), abs=1e-8)
    assert float(sum(values) / len(values)) - 1e-9 <= found <= float(max(values)) + 1e-9


@given(PAIRS, ACTIVATIONS)
def test_the_one_over_time_is_the_trapezoid_of_scipy_and_never_below_the_mean(
    pairs: Pairs, activation: Decimal
) -> None:
    assume(has_span(pairs))
    series = made(pairs)
    found = mean_kinetic_temperature_over_time(series, activation=activation)
    ends = [(kelvin + 273.15, days) for days, low, high in spans(pairs) for kelvin in (low, high)]
    kelvins, weights = (np.array(column) for column in zip(*ends, strict=True))
    assert float(found) == pytest.approx(kinetic(kelvins, weights, float(activation)), abs=1e-8)
    assert found >= mean_temperature(series) - Decimal("1e-9")


def test_readings_at_equal_distances_in_a_steady_room_give_the_temperature_itself() -> None:
    assert mean_kinetic_temperature([Decimal(12)] * 3, unit="degC") == 12
    assert mean_kinetic_temperature_over_time(daily("54", "54", unit="degF")) == 54


# --- Q10 and weight


def test_a_q10_is_flagged_as_an_assumption_and_ten_degrees_warmer_is_its_definition() -> None:
    found = q10_equivalent_days(
        days=Decimal(1), temperature=Decimal(18), reference=Decimal(8), unit="degC", q10=Decimal(3)
    )
    assert (found.days, found.assumption.code) == (3, "ageing_q10_assumed")
    # 18 °F are 10 °C of difference
    warmer = q10_equivalent_days(
        days=Decimal(1), temperature=Decimal(64), reference=Decimal(46), unit="degF", q10=Decimal(3)
    )
    assert warmer.days == 3


@given(PAIRS, st.integers(10, 60).map(lambda tenths: Decimal(tenths) / 10))
def test_equivalent_days_over_time_are_the_trapezoid_of_numpy(pairs: Pairs, q10: Decimal) -> None:
    assume(has_span(pairs))
    found = q10_equivalent_days_over_time(made(pairs), reference=Decimal(8), unit="degC", q10=q10)
    expected = sum(
        days * (float(q10) ** ((low - 8) / 10) + float(q10) ** ((high - 8) / 10)) / 2
        for days, low, high in spans(pairs)
    )
    assert float(found.days) == pytest.approx(expected, rel=1e-9)


def test_a_gain_of_weight_is_an_answer_below_zero() -> None:
    found = weight_loss(start_kg=Decimal("4.0"), now_kg=Decimal("4.1"))
    assert (found.loss_percent, found.gained) == (Decimal("-2.5"), True)
    assert not weight_loss(start_kg=Decimal(4), now_kg=Decimal(4)).gained


# --- refusals

ROOM = daily("12", "12")
REFUSED: list[tuple[str, Callable[[], object]]] = [
    ("60 °C", lambda: days_at_or_above(daily("60.001", "12"), limit=Decimal(2), unit="degC")),
    ("140 °F", lambda: degree_days(ROOM, base=Decimal(141), unit="degF")),
    ("60 °C", lambda: mean_kinetic_temperature([Decimal("NaN")], unit="degC")),
    ("30000", lambda: mean_kinetic_temperature_over_time(ROOM, activation=Decimal(999))),
    ("6", lambda: q10_equivalent_days_over_time(ROOM, reference=Decimal(8), unit="degC", q10=Decimal("0.9"))),
    ("50000 kg", lambda: weight_loss(start_kg=Decimal(0), now_kg=Decimal(1))),
    ("50000 kg", lambda: weight_loss(start_kg=Decimal(1), now_kg=Decimal("-1"))),
]


@pytest.mark.parametrize(("high", "work"), REFUSED)
def test_outside_its_validity_a_refusal_carries_range_and_source(
    high: str, work: Callable[[], object]
) -> None:
    with pytest.raises(Refusal) as caught:
        work()
    words = dict(caught.value.sentence.params)
    assert caught.value.sentence.code == "outside_validity"
    assert words["high"] == high
    assert words["source"]


def test_on_the_edges_of_validity_there_is_an_answer() -> None:
    assert counted(daily("60", "-30"), "60", "degC") == (0, 1, 0)
    assert mean_kinetic_temperature([Decimal(60), Decimal(-30)], unit="degC", activation=Decimal(30_000)) < 60
    assert (
        q10_equivalent_days(
            days=Decimal(1), temperature=Decimal(60), reference=Decimal(-30), unit="degC", q10=Decimal(6)
        ).days
        > 10**7
    )


def test_no_reading_and_another_quantity_are_refused() -> None:
    with pytest.raises(Refusal):
        mean_kinetic_temperature([], unit="degC")
    with pytest.raises(Refusal):
        degree_days(daily(), base=Decimal(0), unit="degC")
    with pytest.raises(UnitError):
        degree_days(ROOM, base=Decimal(0), unit="pH")
