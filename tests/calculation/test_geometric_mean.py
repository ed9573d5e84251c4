"""Geometric means: against scipy, and what stands for counts that are only known as below or above a number.

Tolerance against scipy.stats.gmean: one part in 10**10; ours shows twelve digits.
"""

from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from safetyplan.calculation.geometric_mean import (
    CensoredAs,
    Method,
    Month,
    RollingMean,
    Sample,
    geometric_mean,
    number_for,
    replaced_text,
    rolling_mean,
    window,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sampling import Count

MAY = Month(2026, 5)
NUMBERS = st.lists(st.decimals("0.001", "999999999999", places=3), min_size=1, max_size=20)


def counts(month: Month, *written: str) -> list[Sample]:
    return [
        Sample(month, Count(Decimal(text.lstrip("<>")), text[0] if text[0] in "<>" else ""))
        for text in written
    ]


def rolling(
    samples: list[Sample],
    *,
    method: Method = Method.POOLED,
    censored_as: CensoredAs = CensoredAs.LIMIT,
    months: int = 2,
    least: int = 2,
) -> RollingMean:
    return rolling_mean(
        samples, last=MAY, months=months, least_per_month=least, method=method, censored_as=censored_as
    )


@given(values=NUMBERS)
def test_it_is_the_geometric_mean_of_scipy_and_lies_between_the_extremes(values: list[Decimal]) -> None:
    found = geometric_mean(values)
    assert float(found) == pytest.approx(float(stats.gmean([float(value) for value in values])), rel=1e-10)
    # twelve digits of the result
    assert min(values) * Decimal("0.99999999999") <= found <= max(values) * Decimal("1.00000000001")


@given(values=NUMBERS, seed=st.randoms(use_true_random=False))
def test_the_order_makes_no_difference(values: list[Decimal], seed: object) -> None:
    shuffled = list(values)
    seed.shuffle(shuffled)  # type: ignore[attr-defined]
    assert geometric_mean(values) == geometric_mean(shuffled)


@given(values=NUMBERS, at=st.integers(0, 19), more=st.decimals(0, 10**9, places=3))
def test_a_higher_count_never_lowers_the_mean(values: list[Decimal], at: int, more: Decimal) -> None:
    raised = list(values)
    raised[at % len(values)] = min(Decimal(10) ** 12, raised[at % len(values)] + more)
    # floats: a part in 10**11 of rounding either way
    assert geometric_mean(raised) >= geometric_mean(values) * Decimal("0.99999999999")


def test_equal_counts_have_exactly_that_mean() -> None:
    assert geometric_mean([Decimal(100_000)] * 7) == 100_000
    assert geometric_mean([Decimal(50_000), Decimal(200_000)]) == 100_000


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ([], "mean_empty"),
        (["0"], "mean_nought"),
        (["-5"], "mean_nought"),
        (["0.0001"], "outside_validity"),
        (["1000000000001"], "outside_validity"),
        (["NaN"], "outside_validity"),
        (["Infinity"], "outside_validity"),
    ],
)
def test_what_has_no_mean_is_refused(values: list[str], code: str) -> None:
    with pytest.raises(Refusal) as caught:
        geometric_mean([Decimal("10"), *map(Decimal, values)] if values else [])
    assert caught.value.sentence.code == code


def test_outside_its_range_the_refusal_carries_range_and_source() -> None:
    with pytest.raises(Refusal) as caught:
        geometric_mean([Decimal("0.0001")])
    words = dict(caught.value.sentence.params)
    assert (words["low"], words["high"]) == ("0.001", "1000000000000")
    assert "no source" in words["source"]


@pytest.mark.parametrize(
    ("mark", "censored_as", "used"),
    [
        ("<", CensoredAs.LIMIT, "10"),
        ("<", CensoredAs.HALF, "5"),
        (">", CensoredAs.LIMIT, "10"),
        (">", CensoredAs.HALF, "10"),
        ("", CensoredAs.HALF, "10"),
    ],
)
def test_what_stands_for_a_marked_count(mark: str, censored_as: CensoredAs, used: str) -> None:
    assert number_for(Count(Decimal(10), mark), censored_as) == Decimal(used)


def test_every_replaced_count_is_told_with_its_number() -> None:
    found = rolling(counts(MAY, "<10", "100", "<10", ">1500"), censored_as=CensoredAs.HALF)
    assert replaced_text(found.replaced) == "2 x <10 = 5, >1500 = 1500"
    assert found.open
    assert not rolling(counts(MAY, "<10")).open
    assert rolling(counts(MAY, "10")).replaced == ()


def test_half_of_the_limit_gives_the_lower_mean() -> None:
    samples = counts(MAY, "<10", "100", "<10", "200")
    halves, limits = (rolling(samples, censored_as=choice, months=1).mean for choice in reversed(CensoredAs))
    assert halves is not None
    assert limits is not None
    # 10^((1 + 2 + 1 + 2.30103)/4) = 37.606; with 5 for 10: 26.591
    assert abs(limits - Decimal("37.606")) < Decimal("0.001")
    assert abs(halves - Decimal("26.591")) < Decimal("0.001")


def test_the_two_ways_differ_when_months_have_different_numbers_of_samples() -> None:
    samples = [*counts(Month(2026, 4), "100", "100", "100"), *counts(MAY, "10000")]
    pooled, monthly = (rolling(samples, method=method, least=1).mean for method in Method)
    # 10^((2 + 2 + 2 + 4)/4) = 10^2.5 = 316.23, and the root of 100 x 10000 = 1000
    assert pooled is not None
    assert abs(pooled - Decimal("316.2278")) < Decimal("0.0001")
    assert monthly == 1000


@given(
    first=st.lists(st.integers(1, 10**7), min_size=3, max_size=3),
    second=st.lists(st.integers(1, 10**7), min_size=3, max_size=3),
)
def test_the_two_ways_agree_when_every_month_has_as_many_samples(first: list[int], second: list[int]) -> None:
    samples = [
        Sample(month, Count(Decimal(value)))
        for month, values in ((Month(2026, 4), first), (MAY, second))
        for value in values
    ]
    pooled, monthly = (rolling(samples, method=method).mean for method in Method)
    assert pooled is not None
    assert monthly is not None
    assert float(pooled) == pytest.approx(float(monthly), rel=1e-10)


def test_samples_of_other_months_are_left_out() -> None:
    inside = counts(MAY, "10", "20")
    outside = [
        *counts(Month(2026, 3), "999999"),
        *counts(Month(2026, 6), "999999"),
        *counts(Month(2025, 5), "9"),
    ]
    assert rolling([*inside, *outside], months=2).mean == rolling(inside, months=2).mean


def test_a_month_with_too_few_samples_is_named_and_with_enough_it_is_not() -> None:
    found = rolling([*counts(Month(2026, 4), "10"), *counts(MAY, "10", "20")])
    assert [(month.month.text, month.samples) for month in found.short] == [("2026-04", 1)]
    assert rolling([*counts(Month(2026, 4), "10", "20"), *counts(MAY, "10", "20")]).short == ()


def test_without_a_sample_in_a_month_there_is_no_mean_of_monthly_means() -> None:
    only_may = counts(MAY, "10", "20")
    assert rolling(only_may, method=Method.MONTHLY).mean is None
    assert rolling(only_may, method=Method.POOLED).mean is not None
    assert rolling([], method=Method.POOLED).mean is None


def test_a_window_crosses_the_turn_of_the_year() -> None:
    assert [month.text for month in window(Month(2026, 1), 3)] == ["2025-11", "2025-12", "2026-01"]
    for months in (0, 25):
        with pytest.raises(Refusal):
            window(MAY, months)


def test_a_month_is_that_of_the_dairys_calendar() -> None:
    # 23:30 UTC on 31 May is already June in Paris, and 01:00 UTC on 1 June still May in New York
    late, early = datetime(2026, 5, 31, 23, 30, tzinfo=UTC), datetime(2026, 6, 1, 1, 0, tzinfo=UTC)
    assert Month.of(late, ZoneInfo("Europe/Paris")) == Month(2026, 6)
    assert Month.of(late, UTC) == MAY
    assert Month.of(early, ZoneInfo("America/New_York")) == MAY
