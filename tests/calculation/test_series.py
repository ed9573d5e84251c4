"""Logs with irregular times and gaps."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.series import Series, instant, milliseconds, overlap

START = datetime(2026, 5, 14, 4, 0, tzinfo=UTC)
MINUTE = 60_000
GAP = timedelta(minutes=10)
LOGS = st.lists(
    st.tuples(st.integers(0, 600), st.integers(-5000, 100_000)), max_size=40, unique_by=lambda pair: pair[0]
)


def log(*values: str, unit: str = "degC", step: int = 1) -> Series:
    readings = [(START + timedelta(minutes=n * step), Decimal(value)) for n, value in enumerate(values)]
    return Series.of(readings, unit=unit, longest_gap=GAP)


def made(pairs: list[tuple[int, int]]) -> Series:
    readings = [(START + timedelta(minutes=m), Decimal(value).scaleb(-3)) for m, value in pairs]
    return Series.of(readings, unit="degC", longest_gap=GAP)


def lengths(series: Series, limit: str, unit: str = "degC") -> list[float]:
    return [(b - a) / MINUTE for a, b in series.stretches_at_least(Decimal(limit), unit)]


def test_readings_in_any_order_make_the_same_series() -> None:
    pairs = [(START + timedelta(minutes=m), Decimal(m)) for m in (3, 1, 2)]
    assert Series.of(pairs, unit="degC", longest_gap=GAP) == Series.of(
        reversed(pairs), unit="degC", longest_gap=GAP
    )


def test_the_same_reading_twice_counts_once_and_two_different_ones_are_refused() -> None:
    twice = [(START, Decimal("4.0")), (START, Decimal("4.00"))]
    assert len(Series.of(twice, unit="degC", longest_gap=GAP)) == 1
    with pytest.raises(Refusal) as caught:
        Series.of([*twice, (START, Decimal("4.1"))], unit="degC", longest_gap=GAP)
    assert caught.value.sentence.code == "series_two_values"


def test_a_value_finer_than_a_thousandth_is_refused() -> None:
    with pytest.raises(Refusal) as caught:
        log("4.0001")
    assert caught.value.sentence.code == "series_too_fine"
    assert log("4.001").values[0] == 4001


def test_a_dip_ends_a_stretch() -> None:
    assert lengths(log("63", "63", "62.9", "63", "63", "64"), "63") == [1, 2]


def test_a_gap_ends_a_stretch_and_a_pause_as_long_as_allowed_does_not() -> None:
    assert lengths(log("63", "63", step=10), "63") == [10]
    assert lengths(log("63", "63", step=11), "63") == [0, 0]


def test_a_limit_in_fahrenheit_is_compared_exactly_with_readings_in_celsius() -> None:
    assert lengths(log("71.667", "71.667"), "161", "degF") == [1]
    assert lengths(log("71.666", "71.666"), "161", "degF") == []


def test_time_above_counts_a_span_when_either_end_is_above_and_no_gap() -> None:
    assert log("10", "10.1", "10", "10").time_above(Decimal(10), "degC") == 2 * MINUTE
    assert log("10.1", "10.1", step=11).time_above(Decimal(10), "degC") == 0


def test_an_empty_series_has_no_start_and_says_so() -> None:
    with pytest.raises(Refusal) as caught:
        _ = log().start
    assert caught.value.sentence.code == "series_empty"


def test_milliseconds_and_instants_are_each_other_s_inverse() -> None:
    assert instant(milliseconds(START)) == START


def test_parts_are_cut_at_the_gaps() -> None:
    series = made([(0, 1), (5, 2), (30, 3), (31, 4)])
    assert [list(part.values) for part in series.parts()] == [[1, 2], [3, 4]]
    assert series.gaps() == [(milliseconds(START) + 5 * MINUTE, milliseconds(START) + 30 * MINUTE)]


def test_the_overlap_of_stretches_is_what_lies_in_both() -> None:
    assert overlap([(0, 10), (20, 30)], [(5, 22), (29, 40)]) == [(5, 10), (20, 22), (29, 30)]
    assert overlap([(0, 10)], []) == []


@given(LOGS, st.integers(-5000, 100_000))
def test_time_at_or_above_is_never_more_than_brute_force_by_pairs_and_equals_it(
    pairs: list[tuple[int, int]], edge: int
) -> None:
    ordered = sorted(pairs)
    brute = sum(
        (b - a) * MINUTE for (a, v), (b, w) in pairwise(ordered) if b - a <= 10 and v >= edge and w >= edge
    )
    found = made(pairs).stretches_at_least(Decimal(edge).scaleb(-3), "degC")
    assert sum(b - a for a, b in found) == brute


@given(LOGS, st.integers(-5000, 100_000))
def test_time_above_equals_brute_force_by_pairs(pairs: list[tuple[int, int]], edge: int) -> None:
    ordered = sorted(pairs)
    brute = sum(
        (b - a) * MINUTE for (a, v), (b, w) in pairwise(ordered) if b - a <= 10 and (v > edge or w > edge)
    )
    assert made(pairs).time_above(Decimal(edge).scaleb(-3), "degC") == brute


def test_a_correction_changes_every_value_and_no_time() -> None:
    corrected = log("63", "64").corrected(lambda value: value - Decimal("0.5"))
    assert corrected.decimals() == [Decimal("62.5"), Decimal("63.5")]
    assert corrected.times == log("63", "64").times
