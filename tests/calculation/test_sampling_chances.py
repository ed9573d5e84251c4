"""What a plan says: against scipy's distributions over the whole range, and as properties.

Tolerance against scipy: one part in 10**9, or 10**-12 near nought, which is what its floats keep over a
thousand terms; ours carries 50 digits and shows 12.
"""

from decimal import Decimal
from math import inf, isfinite

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sampling import Plan
from safetyplan.calculation.sampling_chances import (
    acceptance_lognormal,
    acceptance_three_class,
    acceptance_two_class,
    chance_text,
    chances_sentence,
    detectable_concentration,
    detectable_proportion,
    detection_probability,
    lot_shares,
    operating_characteristic,
    samples_needed,
)

SHARES = [Decimal(step) / 40 for step in range(41)]


def near(found: Decimal, expected: float) -> bool:
    return float(found) == pytest.approx(expected, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("n", range(1, 61))
def test_two_classes_are_the_binomial_distribution_for_every_n_and_c(n: int) -> None:
    for c in {0, 1, 2, n // 2, n - 1} - {n}:
        if c > n - 1:
            continue
        expected = stats.binom.cdf(c, n, [float(p) for p in SHARES])
        found = [acceptance_two_class(n=n, c=c, proportion=p) for p in SHARES]
        assert all(near(one, float(other)) for one, other in zip(found, expected, strict=True))


@pytest.mark.parametrize(("n", "c"), [(1, 0), (5, 0), (5, 1), (5, 2), (10, 3), (60, 4)])
def test_three_classes_are_the_multinomial_distribution(n: int, c: int) -> None:
    for marginal in SHARES[::4]:
        for defective in SHARES[::4]:
            if marginal + defective > 1:
                continue
            q, d = float(marginal), float(defective)
            chances = [q, d, max(0.0, 1 - q - d)]
            expected = sum(stats.multinomial.pmf([i, 0, n - i], n, chances) for i in range(c + 1))
            found = acceptance_three_class(n=n, c=c, marginal=marginal, defective=defective)
            assert near(found, float(expected))


@pytest.mark.parametrize("n", [100, 500, 1000])
def test_the_largest_plans_are_still_the_binomial_distribution(n: int) -> None:
    for c in (0, n // 2, n - 1):
        for share in ("0.0001", "0.01", "0.5", "0.999"):
            found = acceptance_two_class(n=n, c=c, proportion=Decimal(share))
            assert near(found, float(stats.binom.cdf(c, n, float(share))))


# scipy.stats.binom.cdf 1.17.1 to three decimals
@pytest.mark.parametrize(
    ("c", "expected"),
    [
        (0, (".904", ".774", ".590", ".328", ".168", ".031")),
        (1, (".996", ".977", ".919", ".737", ".528", ".188")),
        (2, ("1.000", ".999", ".991", ".942", ".837", ".500")),
    ],
)
def test_the_curves_of_five_samples(c: int, expected: tuple[str, ...]) -> None:
    shares = ("0.02", "0.05", "0.10", "0.20", "0.30", "0.50")
    for share, printed in zip(shares, expected, strict=True):
        found = acceptance_two_class(n=5, c=c, proportion=Decimal(share))
        assert abs(found - Decimal(printed)) <= Decimal("0.0005")


def test_a_curve_runs_from_certain_to_impossible() -> None:
    curve = operating_characteristic(n=5, c=1)
    assert (len(curve), curve[0], curve[-1]) == (21, (0, 1), (1, 0))


@given(
    n=st.integers(1, 60),
    c=st.integers(0, 59),
    p=st.decimals(0, 1, places=6),
    more=st.decimals(0, 1, places=6),
)
def test_worse_lots_pass_less_often_and_a_larger_c_passes_more(
    n: int, c: int, p: Decimal, more: Decimal
) -> None:
    c = min(c, n - 1)
    found = acceptance_two_class(n=n, c=c, proportion=p)
    assert 0 <= found <= 1
    assert acceptance_two_class(n=n, c=c, proportion=min(Decimal(1), p + more)) <= found
    if c:
        assert acceptance_two_class(n=n, c=c - 1, proportion=p) <= found


@given(
    mean=st.decimals(-5, 12, places=3),
    sd=st.decimals("0.05", 3, places=3),
    m=st.decimals(-4, 11, places=3),
    wide=st.decimals("0.001", 1, places=3),
)
def test_a_lognormal_lot_has_the_shares_of_the_normal_distribution(
    mean: Decimal, sd: Decimal, m: Decimal, wide: Decimal
) -> None:
    shares = lot_shares(mean_log10=mean, sd_log10=sd, log10_m=m, log10_upper=m + wide)
    low, high = ((float(bound - mean)) / float(sd) for bound in (m, m + wide))
    side = stats.norm.sf if low > 0 else stats.norm.cdf
    between = abs(float(side(high)) - float(side(low)))
    # relative where neither tail is taken away from the other
    assert float(shares.defective) == pytest.approx(float(stats.norm.sf(high)), rel=1e-7, abs=1e-300)
    assert float(shares.marginal) == pytest.approx(between, rel=1e-7, abs=1e-15)


@given(
    mean=st.decimals(-5, 12, places=3),
    more=st.decimals(0, 3, places=3),
    sd=st.decimals("0.05", 3, places=3),
)
def test_a_lot_with_a_higher_mean_passes_no_more_often(mean: Decimal, more: Decimal, sd: Decimal) -> None:
    worse = min(Decimal(12), mean + more)
    first, second = (
        acceptance_lognormal(n=5, c=2, mean_log10=at, sd_log10=sd, log10_m=Decimal(2), log10_upper=Decimal(3))
        for at in (mean, worse)
    )
    # twelve digits of the shares, five samples
    assert 0 <= second <= first + Decimal("1e-11")
    assert first <= 1


def test_a_lot_judged_by_m_alone() -> None:
    shares = lot_shares(mean_log10=Decimal(2), sd_log10=Decimal("0.8"), log10_m=Decimal(2))
    assert (shares.marginal, shares.defective) == (Decimal("0.5"), 0)


# 1 - 0.05^(1/n) by hand; the next test is the independent one
@pytest.mark.parametrize(
    ("n", "percent"), [(5, "45.1"), (10, "25.9"), (15, "18.1"), (30, "9.5"), (60, "4.9")]
)
def test_what_a_plan_finds_with_95_percent(n: int, percent: str) -> None:
    found = detectable_proportion(n=n, confidence=Decimal("0.95"))
    assert abs(found * 100 - Decimal(percent)) < Decimal("0.05")


@given(n=st.integers(1, 60), c=st.integers(0, 5), confidence=st.decimals("0.01", "0.9999", places=4))
def test_the_share_found_is_the_upper_bound_of_clopper_and_pearson(
    n: int, c: int, confidence: Decimal
) -> None:
    c = min(c, n - 1)
    found = detectable_proportion(n=n, c=c, confidence=confidence)
    assert near(found, float(stats.beta.ppf(float(confidence), c + 1, n - c)))
    left = acceptance_two_class(n=n, c=c, proportion=found)
    assert abs(left - (1 - confidence)) < Decimal("1e-9")


@given(share=st.decimals("0.0001", 1, places=4), confidence=st.decimals("0.01", "0.9999", places=4))
def test_the_samples_needed_are_the_fewest(share: Decimal, confidence: Decimal) -> None:
    n = samples_needed(proportion=share, confidence=confidence)
    assert (1 - share) ** n <= 1 - confidence
    assert n == 1 or (1 - share) ** (n - 1) > 1 - confidence


def test_59_samples_find_5_percent_with_95_percent() -> None:
    # the well-known 59: 0.95^59 = 0.0485
    assert samples_needed(proportion=Decimal("0.05"), confidence=Decimal("0.95")) == 59


@given(
    n=st.integers(1, 60),
    grams=st.decimals("0.01", 1000, places=2),
    cfu=st.decimals(0, 9999999999, places=3),
)
def test_finding_one_organism_is_the_poisson_distribution(n: int, grams: Decimal, cfu: Decimal) -> None:
    found = detection_probability(n=n, grams=grams, cfu_per_g=cfu)
    assert near(found, float(-np.expm1(stats.poisson.logpmf(0, float(cfu * n * grams)))))


@given(n=st.integers(1, 60), grams=st.decimals("0.01", 1000, places=2))
def test_the_concentration_found_is_found_with_its_confidence(n: int, grams: Decimal) -> None:
    found = detectable_concentration(n=n, grams=grams, confidence=Decimal("0.95"))
    assert near(detection_probability(n=n, grams=grams, cfu_per_g=found), 0.95)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: acceptance_two_class(n=0, c=0, proportion=Decimal(0)), "plan_n"),
        (lambda: acceptance_two_class(n=5, c=5, proportion=Decimal(0)), "plan_c"),
        (lambda: acceptance_two_class(n=5, c=0, proportion=Decimal("1.1")), ""),
        (lambda: acceptance_two_class(n=5, c=0, proportion=Decimal("NaN")), ""),
        (lambda: acceptance_three_class(n=5, c=0, marginal=Decimal("0.6"), defective=Decimal("0.6")), ""),
        (lambda: acceptance_three_class(n=5, c=0, marginal=Decimal(0), defective=Decimal(-1)), ""),
        (lambda: lot_shares(mean_log10=Decimal(13), sd_log10=Decimal(1), log10_m=Decimal(2)), "lot_mean"),
        (lambda: lot_shares(mean_log10=Decimal(2), sd_log10=Decimal(0), log10_m=Decimal(2)), "lot_sd"),
        (lambda: detectable_proportion(n=5, confidence=Decimal(1)), "plan_confidence"),
        (lambda: samples_needed(proportion=Decimal(0), confidence=Decimal("0.95")), ""),
        (lambda: detection_probability(n=5, grams=Decimal(0), cfu_per_g=Decimal(1)), "sample_grams"),
        (lambda: detection_probability(n=5, grams=Decimal(25), cfu_per_g=Decimal(-1)), ""),
    ],
)
def test_outside_its_range_a_function_refuses_with_range_and_source(call: object, field: str) -> None:
    with pytest.raises(Refusal) as caught:
        call()  # type: ignore[operator]
    words = dict(caught.value.sentence.params)
    assert caught.value.field == field
    assert {"low", "high", "source"} <= words.keys()
    assert words["source"]


def test_m_of_a_lot_must_lie_below_upper_m() -> None:
    two = Decimal(2)
    with pytest.raises(Refusal):
        lot_shares(mean_log10=two, sd_log10=two, log10_m=two, log10_upper=two)


@pytest.mark.parametrize(
    ("chance", "shown"),
    [
        ("0", "0.0 %"),
        ("0.0004", "<0.1 %"),
        ("0.0005", "0.1 %"),
        ("0.7738", "77.4 %"),
        ("0.9994", "99.9 %"),
        ("0.9995", ">99.9 %"),
        ("1", "100.0 %"),
    ],
)
def test_a_chance_is_never_shown_as_none_or_certain_unless_it_is(chance: str, shown: str) -> None:
    assert chance_text(Decimal(chance)) == shown


@pytest.mark.parametrize(
    ("plan", "code", "expected"),
    [
        # 0.95^5, 0.9^5 and 0.8^5; scipy.stats.binom.cdf(2, 5, p)
        (Plan(5, 2, Decimal(100), Decimal(1000)), "sampling_chances_three", ("77.4 %", "59.0 %", "32.8 %")),
        (Plan(5, 2, Decimal(100)), "sampling_chances_two", ("99.9 %", "99.1 %", "94.2 %")),
        (Plan(5, 0), "sampling_chances_presence", ("77.4 %", "59.0 %", "32.8 %")),
    ],
)
def test_the_chances_of_bad_lots_stand_beside_every_verdict(
    plan: Plan, code: str, expected: tuple[str, ...]
) -> None:
    sentence = chances_sentence(plan)
    assert sentence.code == code
    assert tuple(dict(sentence.params)[name] for name in ("at5", "at10", "at20")) == expected


@given(n=st.integers(1, 1000), c=st.integers(0, 999), p=st.decimals(0, 1, places=8))
def test_a_chance_is_always_a_number(n: int, c: int, p: Decimal) -> None:
    found = acceptance_two_class(n=n, c=min(c, n - 1), proportion=p)
    assert isfinite(found)
    assert -inf < found <= 1


@pytest.mark.parametrize("n", [1, 3, 5, 10, 30, 60])
@pytest.mark.parametrize("confidence", ["0.5", "0.9", "0.95", "0.99"])
def test_what_a_plan_detects_is_the_upper_bound_of_clopper_and_pearson(n: int, confidence: str) -> None:
    # a one-sided bound is a two-sided one of twice the error; statsmodels, method "beta"
    for c in range(min(n, 3)):
        error = 2 * (1 - float(confidence))
        bound = proportion_confint(c, n, alpha=error, method="beta")[1]
        found = detectable_proportion(n=n, c=c, confidence=Decimal(confidence))
        assert float(found) == pytest.approx(bound, abs=1e-9)
