"""Control charts against handbook examples, numpy and scipy; counts and signals of record keeping."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from math import pi, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from safetyplan.calculation import record_signals, trends
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.run_rules import RULES, signals
from safetyplan.calculation.units import convert
from tests.calculation.published import assert_near, published, rows_of

VALUES = st.lists(st.decimals(-1000, 1000, places=2), min_size=2, max_size=40)
NELSON = [name for name in RULES if name.startswith("nelson")]


def chart(row: dict[str, Any]) -> trends.Individuals:
    return trends.individuals(row["inputs"]["x"])


def sums(row: dict[str, Any]) -> list[Decimal]:
    """The upper sums of a row, in the unit of the row."""
    inputs = row["inputs"]
    if "subgroup_means" in inputs:
        error = inputs["sigma"] / inputs["n"].sqrt()
        found = trends.cusum(
            [(mean - inputs["mu0"]) / error for mean in inputs["subgroup_means"]],
            target=Decimal(0),
            slack=inputs["k"],
            decision=inputs["h"],
        )
        return list(found.high)
    slack, decision = inputs.get("K", inputs.get("k")), inputs.get("H", inputs.get("h"))
    found = trends.cusum(inputs["x"], target=inputs["target"], slack=slack, decision=decision)
    return list(found.high)[-len(row["expected"]) :]


def averages(row: dict[str, Any]) -> list[Decimal]:
    inputs = row["inputs"]
    found = trends.ewma(inputs["x"], target=inputs["z0"], sigma=Decimal(1), weight=inputs["lambda"])
    return list(found.values)[: len(row["expected"])]


def nelson(row: dict[str, Any]) -> list[str]:
    found = signals(row["inputs"]["z_scores"], NELSON)
    return [name.removeprefix("nelson_") for name in found] or ["none"]


def first_limit(row: dict[str, Any]) -> Decimal:
    inputs = row["inputs"]
    found = trends.ewma(
        [inputs["mu0"]],
        target=inputs["mu0"],
        sigma=inputs["sigma"],
        weight=inputs["lambda"],
        width=inputs["L"],
    )
    return found.upper[0]


def final_limit(row: dict[str, Any]) -> Decimal:
    inputs = row["inputs"]
    return trends.ewma_final_limits(
        target=inputs.get("target", inputs.get("mu0")),
        sigma=inputs.get("s", inputs.get("sigma")),
        weight=inputs["lambda"],
        width=inputs.get("k", inputs.get("L")),
    )[1]


COMPUTED = {
    "SP-d2": lambda row: trends.D2,
    "SP-D4": lambda row: trends.D4,
    "SP-MO-XBAR": lambda row: chart(row).mean,
    "SP-NI-XBAR": lambda row: chart(row).mean,
    "SP-MO-MRBAR": lambda row: chart(row).moving_range,
    "SP-NI-MRBAR": lambda row: chart(row).moving_range,
    "SP-MO-UCL": lambda row: chart(row).upper,
    "SP-JET-UCL": lambda row: chart(row).upper,
    "SP-MO-LCL": lambda row: chart(row).lower,
    "SP-MO-MRUCL": lambda row: chart(row).range_upper,
    "SP-CU-HI": sums,
    "SP-NC-HI": sums,
    "SP-OIL-UP": sums,
    "SP-EW-SEQ": averages,
    "SP-EM-FIRST": averages,
    "SP-EW-UCL": final_limit,
    "SP-EM-UCLINF": final_limit,
    "SP-EM-UCL1": first_limit,
    "SP-WE-8": lambda row: "western_4" in signals(row["inputs"]["z_scores"], ["western_4"]),
}


@pytest.mark.parametrize("row", rows_of("trends"))
def test_a_published_trend_is_reproduced(row: dict[str, Any]) -> None:
    compute = nelson if row["id"].startswith("SP-NR") else COMPUTED[row["id"]]
    assert_near(compute(row), row)


def test_the_constants_of_ranges_of_two_are_those_of_the_normal_distribution() -> None:
    # the range of two is the absolute difference: mean 2/sqrt(pi), found again by integrating its density
    mean, _error = integrate.quad(lambda r: r * 2 * stats.norm.pdf(r / sqrt(2)) / sqrt(2), 0, 20)
    square, _error = integrate.quad(lambda r: r**2 * 2 * stats.norm.pdf(r / sqrt(2)) / sqrt(2), 0, 20)
    # to the three decimals of the tables
    assert abs(mean - 2 / sqrt(pi)) < 1e-8
    assert abs(trends.D2 - mean) < 0.0005
    assert abs(trends.D4 - (1 + 3 * sqrt(square - mean**2) / mean)) < 0.0005


@given(VALUES)
def test_limits_of_individuals_equal_numpy(values: list[Decimal]) -> None:
    found, array = trends.individuals(values), np.array([float(value) for value in values])
    moving = np.abs(np.diff(array)).mean()
    assert float(found.upper) == pytest.approx(array.mean() + 3 * moving / trends.D2, rel=1e-9, abs=1e-9)
    assert float(found.lower) == pytest.approx(array.mean() - 3 * moving / trends.D2, rel=1e-9, abs=1e-9)


@given(VALUES, st.decimals("0.05", 1, places=2))
def test_weighted_averages_equal_a_plain_loop_and_their_limits_close_in(
    values: list[Decimal], weight: Decimal
) -> None:
    found = trends.ewma(values, target=Decimal(0), sigma=Decimal(1), weight=weight)
    z, w = 0.0, float(weight)
    for value, ours in zip(values, found.values, strict=True):
        z = w * float(value) + (1 - w) * z
        assert float(ours) == pytest.approx(z, rel=1e-9, abs=1e-9)
    final = trends.ewma_final_limits(target=Decimal(0), sigma=Decimal(1), weight=weight)[1]
    assert all(limit <= final + Decimal("1e-9") for limit in found.upper)


@given(VALUES, st.decimals(0, 5, places=1))
def test_cumulative_sums_are_never_below_zero_and_mirror_each_other(
    values: list[Decimal], slack: Decimal
) -> None:
    found = trends.cusum(values, target=Decimal(0), slack=slack, decision=Decimal(10))
    turned = [-value for value in values]
    mirrored = trends.cusum(turned, target=Decimal(0), slack=slack, decision=Decimal(10))
    assert min(*found.high, *found.low) >= 0
    assert (found.high, found.low) == (mirrored.low, mirrored.high)


def test_exactly_the_decision_interval_is_no_signal_and_the_sums_are_not_reset_after_one() -> None:
    steps = {"target": Decimal(0), "slack": Decimal(0), "decision": Decimal(4)}
    assert trends.cusum([Decimal(2), Decimal(2)], **steps).signals == ()
    found = trends.cusum([Decimal(3), Decimal(2), Decimal(2)], **steps)
    assert (found.signals, found.high[-1]) == ((1, 2), 7)


@given(st.lists(st.decimals(-30, 100, places=1), min_size=2, max_size=30))
def test_readings_in_fahrenheit_give_the_same_signals(values: list[Decimal]) -> None:
    def found(readings: list[Decimal]) -> dict[str, tuple[int, ...]]:
        limits = trends.individuals(readings)
        return {} if limits.flat else signals(trends.z_scores(readings, limits), list(RULES))

    in_f = [convert(value, "degC", "degF") for value in values]
    assert found(values) == found(in_f)


def test_below_twenty_values_the_limits_are_provisional() -> None:
    assert trends.individuals([Decimal(n) for n in range(19)]).provisional
    assert not trends.individuals([Decimal(n) for n in range(20)]).provisional


def test_values_that_never_differ_have_no_scores() -> None:
    flat = trends.individuals([Decimal(4)] * 3)
    assert flat.flat
    with pytest.raises(Refusal) as caught:
        trends.z_scores([Decimal(4)], flat)
    assert caught.value.sentence.code == "trend_flat"


@pytest.mark.parametrize("texts", [[], ["1"], ["1", "NaN"], ["1e13", "1"]])
def test_too_few_or_impossible_values_are_refused_with_the_source(texts: list[str]) -> None:
    with pytest.raises(Refusal) as caught:
        trends.individuals([Decimal(text) for text in texts])
    assert trends.HANDBOOK in str(caught.value)
    assert trends.individuals([Decimal(1), Decimal(1)]).points == 2


def test_a_count_of_zero_has_no_logarithm_and_is_refused() -> None:
    with pytest.raises(Refusal):
        trends.log10_counts([Decimal(0)])
    assert trends.log10_counts([Decimal(1000)]) == [3]
    for absurd in ("1E400", "1E-400", "NaN"):
        with pytest.raises(Refusal):
            trends.log10_counts([Decimal(absurd)])


def score(*values: float) -> list[Decimal]:
    return [Decimal(str(value)) for value in values]


def test_exactly_on_a_line_is_not_beyond_it() -> None:
    assert signals(score(3.0), ["nelson_1"]) == {}
    assert signals(score(3.01), ["nelson_1"]) == {"nelson_1": (0,)}
    assert signals(score(2.0, 2.0, 2.5), ["nelson_5"]) == {}


def test_the_last_point_of_a_pattern_belongs_to_it() -> None:
    assert signals(score(0.1, 2.2, 2.4, 0, 0), ["nelson_5"]) == {"nelson_5": (2,)}
    assert signals(score(2.2, 0, -2.4), ["nelson_5"]) == {}
    assert signals(score(-2.2, 0, -2.4), ["nelson_5"]) == {"nelson_5": (2,)}


def broken(z: np.ndarray[Any, Any], end: int) -> dict[str, bool]:
    """Every rule at one point, written down again from the published statements, with numpy."""

    def last(count: int) -> np.ndarray[Any, Any]:
        return z[end - count + 1 : end + 1] if end >= count - 1 else np.array([])

    def run(count: int) -> bool:
        return len(last(count)) == count and bool(abs(np.sign(last(count)).sum()) == count)

    def most(count: int, of: int, line: float) -> bool:
        window, side = last(of), np.sign(z[end])
        return len(window) == of and abs(z[end]) > line and int((window * side > line).sum()) >= count

    def steps(count: int) -> np.ndarray[Any, Any]:
        return np.sign(np.diff(last(count)))

    turns = steps(14)
    eight = last(8)
    rule_1, rule_5, rule_6 = bool(abs(z[end]) > 3), most(2, 3, 2), most(4, 5, 1)
    return {
        "nelson_1": rule_1,
        "nelson_2": run(9),
        "nelson_3": len(last(6)) == 6 and abs(steps(6).sum()) == 5,
        "nelson_4": len(turns) == 13 and bool((turns[1:] * turns[:-1] == -1).all()),
        "nelson_5": rule_5,
        "nelson_6": rule_6,
        "nelson_7": len(last(15)) == 15 and bool((abs(last(15)) < 1).all()),
        "nelson_8": len(eight) == 8 and bool((abs(eight) > 1).all()) and abs(np.sign(eight).sum()) < 8,
        "western_1": rule_1,
        "western_2": rule_5,
        "western_3": rule_6,
        "western_4": run(8),
    }


# few different scores, so that long patterns, ties and points on a line come about
@given(
    st.lists(
        st.sampled_from(["-3.5", "-3", "-2.5", "-1.5", "-1", "0", "0.5", "1", "1.2", "2", "2.2", "3"]),
        max_size=40,
    )
    | st.lists(st.sampled_from(["-0.5", "0.4", "0.5"]), max_size=40)
    | st.lists(st.sampled_from(["-1.5", "1.2", "1.4"]), max_size=40)
)
def test_every_rule_equals_its_statement_written_down_again(texts: list[str]) -> None:
    scores = [Decimal(text) for text in texts]
    array = np.array([float(text) for text in texts])
    expected: dict[str, list[int]] = {}
    for end in range(len(array)):
        for name, holds in broken(array, end).items():
            if holds:
                expected.setdefault(name, []).append(end)
    assert signals(scores, list(RULES)) == {name: tuple(ends) for name, ends in expected.items()}


@given(VALUES, st.decimals(-10, 10, places=1), st.decimals(0, 5, places=1))
def test_cumulative_sums_equal_a_plain_loop(values: list[Decimal], target: Decimal, slack: Decimal) -> None:
    found = trends.cusum(values, target=target, slack=slack, decision=Decimal(10))
    array = np.array([float(value) for value in values])
    # the sum above zero is the sum so far less its lowest level so far
    for ours, side in ((found.high, 1), (found.low, -1)):
        walk = np.cumsum(side * (array - float(target)) - float(slack))
        floor = np.minimum(np.minimum.accumulate(walk), 0)
        assert [float(one) for one in ours] == pytest.approx(list(walk - floor), abs=1e-6)


def test_a_point_on_the_centre_line_breaks_a_run_and_a_tie_breaks_a_trend() -> None:
    assert signals(score(*[0.1] * 4, 0, *[0.1] * 4), ["nelson_2"]) == {}
    assert signals(score(*[0.1] * 9), ["nelson_2"]) == {"nelson_2": (8,)}
    assert signals(score(0.1, 0.2, 0.3, 0.3, 0.4, 0.5), ["nelson_3"]) == {}


def test_fourteen_up_and_down_are_a_signal_and_thirteen_are_not() -> None:
    turning = [0.1, -0.1] * 7
    assert signals(score(*turning), ["nelson_4"]) == {"nelson_4": (13,)}
    assert signals(score(*turning[:-1]), ["nelson_4"]) == {}


def test_every_published_row_is_computed() -> None:
    ids = [row["id"] for row in published("trends") if not row["id"].startswith("SP-NR")]
    assert sorted(ids) == sorted(COMPUTED)


def test_a_pareto_is_ordered_by_count_and_of_equals_by_name_and_adds_up() -> None:
    found = trends.pareto(["late", "cold", "late", "acid"])
    assert [(one.category, one.count) for one in found] == [("late", 2), ("acid", 1), ("cold", 1)]
    assert found[-1].cumulative_percent == 100
    assert trends.pareto([]) == []


NOON = datetime(2026, 5, 14, 12, 0, tzinfo=UTC)


def test_delays_are_told_by_their_middle_and_the_ninetieth_of_a_hundred() -> None:
    late = [(NOON, NOON + timedelta(minutes=n)) for n in range(1, 11)]
    found = record_signals.entry_delays(late)
    assert (found.median_minutes, found.ninetieth_minutes) == (Decimal("5.5"), 9)


def test_a_record_before_its_observation_counts_as_no_delay_and_is_told() -> None:
    found = record_signals.entry_delays([(NOON, NOON - timedelta(minutes=3)), (NOON, NOON)])
    assert (found.median_minutes, found.early) == (0, 1)


def test_the_longest_run_and_the_commonest_last_digit_are_found() -> None:
    found = record_signals.repeated_values(["4.0", "4.1", "4.1", "4.1", "3.0"])
    assert (found.longest_run, found.value) == (3, "4.1")
    assert (found.last_digit, found.last_digit_percent) == ("1", 60)


def test_many_entries_in_one_minute_of_the_clock_are_a_burst() -> None:
    moments = [NOON + timedelta(seconds=n) for n in (0, 20, 59, 60)]
    found = record_signals.entries_in_one_minute(moments, least=3)
    assert [(one.minute, one.count) for one in found] == [(NOON, 3)]


def test_signals_of_nothing_are_refused() -> None:
    for call in (record_signals.entry_delays, record_signals.repeated_values):
        with pytest.raises(Refusal):
            call([])
