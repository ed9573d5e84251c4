"""Lethal rates, equivalent times, D and z: against scipy, against closed forms, and in their properties."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, trapezoid
from scipy.stats import linregress

from safetyplan.calculation.heat import corrected_for_error
from safetyplan.calculation.heat_tables import ORGANISMS
from safetyplan.calculation.lethality import (
    EquivalentTime,
    decimal_reduction_time,
    equivalent_hold,
    equivalent_time,
    kill_of,
    kill_sentence,
    lethal_rate,
    log_reduction,
    organism_named,
    pasteurisation_effect,
    pasteurisation_effect_of,
    ramp_time,
    shares,
    z_by_regression,
    z_of_two,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import convert

START = datetime(2026, 5, 14, 4, 0, tzinfo=UTC)
REFERENCE, Z = Decimal(72), Decimal(7)
LONG = timedelta(hours=2)
Pairs = list[tuple[int, int]]
LOGS = st.lists(
    st.tuples(st.integers(0, 3600), st.integers(55_000, 80_000)),
    min_size=2,
    max_size=40,
    unique_by=lambda pair: pair[0],
)


def series(pairs: Pairs, unit: str = "degC", pause: timedelta = LONG) -> Series:
    """Seconds and thousandths of a degree Celsius."""
    readings = [
        (START + timedelta(seconds=s), convert(Decimal(value).scaleb(-3), "degC", unit)) for s, value in pairs
    ]
    return Series.of(readings, unit=unit, longest_gap=pause)


def equivalent(log_series: Series, z_c: Decimal = Z) -> EquivalentTime:
    return equivalent_time(log_series, reference_c=REFERENCE, z_c=z_c)


def near(found: Decimal | float, expected: Decimal | float, relative: float = 1e-9) -> bool:
    """Twelve digits go out; sums of a few dozen of them keep nine or more."""
    return abs(float(found) - float(expected)) <= relative * max(abs(float(expected)), 1e-30)


@given(LOGS)
def test_the_trapezoid_is_that_of_scipy(pairs: Pairs) -> None:
    ordered = sorted(pairs)
    times = [seconds for seconds, _ in ordered]
    rates = [10 ** ((value / 1000 - 72) / 7) for _, value in ordered]
    assert near(equivalent(series(pairs)).seconds, trapezoid(rates, times))


@given(st.integers(55_000, 80_000), st.integers(55_000, 80_000), st.integers(1, 3600))
def test_the_exact_ramp_is_that_of_numerical_integration(first: int, last: int, seconds: int) -> None:
    """quad keeps about 1.5e-8 relative; 1e-7 is asked for."""
    a, b = first / 1000, last / 1000
    expected = quad(lambda t: 10 ** ((a + (b - a) * t / seconds - 72) / 7), 0, seconds)[0]
    found = ramp_time(
        seconds=Decimal(seconds),
        from_c=Decimal(first).scaleb(-3),
        to_c=Decimal(last).scaleb(-3),
        reference_c=REFERENCE,
        z_c=Z,
    )
    assert near(found, expected, 1e-7)


def test_the_exact_ramp_is_the_closed_form() -> None:
    """62 to 72 °C in 60 s with z 7: z/(r ln 10) (1 - 10^(-10/7)), r = 1/6 °C/s; printed sum 17.56 s."""
    found = ramp_time(seconds=Decimal(60), from_c=Decimal(62), to_c=Decimal(72), reference_c=REFERENCE, z_c=Z)
    assert near(found, 7 / (log(10) / 6) * (1 - 10 ** (-10 / 7)))
    assert abs(found - Decimal("17.56")) < Decimal("0.01")


@given(LOGS)
def test_the_trapezoid_is_never_below_the_straight_lines(pairs: Pairs) -> None:
    """The rate is a convex function of temperature."""
    found = equivalent(series(pairs))
    assert found.seconds >= found.straight_seconds > 0


def test_a_finer_log_of_a_ramp_comes_to_the_exact_value() -> None:
    exact = float(
        ramp_time(seconds=Decimal(600), from_c=Decimal(60), to_c=Decimal(75), reference_c=REFERENCE, z_c=Z)
    )
    errors = []
    for step in (60, 30, 15, 5):
        ramp = series([(s, 60_000 + 25 * s) for s in range(0, 601, step)])
        errors.append(float(equivalent(ramp).seconds) / exact - 1)
        assert near(equivalent(ramp).straight_seconds, exact)
    assert all(coarse > fine > 0 for coarse, fine in pairwise(errors))
    assert errors[-1] < 2e-4
    assert all(coarse / fine == pytest.approx(4, rel=0.05) for coarse, fine in (errors[:2], errors[1:3]))


@given(LOGS, st.data())
def test_equivalent_time_adds_up_over_a_log_split_at_a_reading(pairs: Pairs, data: st.DataObject) -> None:
    ordered = sorted(pairs)
    cut = data.draw(st.integers(0, len(ordered) - 1))
    whole = equivalent(series(ordered))
    parts = [equivalent(series(part)) for part in (ordered[: cut + 1], ordered[cut:])]
    assert near(sum(part.seconds for part in parts), whole.seconds)
    assert near(sum(part.straight_seconds for part in parts), whole.straight_seconds)


@given(LOGS, st.randoms(use_true_random=False))
def test_the_order_of_the_readings_makes_no_difference(pairs: Pairs, random: object) -> None:
    shuffled = list(pairs)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert equivalent(series(shuffled)) == equivalent(series(pairs))


@given(LOGS)
def test_the_unit_of_the_readings_makes_no_difference(pairs: Pairs) -> None:
    exact = [(seconds, value // 5 * 5) for seconds, value in pairs]
    found = [equivalent(series(exact, unit)) for unit in ("degC", "degF")]
    assert near(found[0].seconds, found[1].seconds)


@given(LOGS, st.integers(0, 5000))
def test_a_warmer_log_is_worth_more(pairs: Pairs, more: int) -> None:
    warmer = [(seconds, value + more) for seconds, value in pairs]
    assert equivalent(series(warmer)).seconds >= equivalent(series(pairs)).seconds


def test_a_gap_adds_nothing_and_its_parts_are_integrated_apart() -> None:
    pause = timedelta(seconds=60)
    found = equivalent(series([(0, 72_000), (60, 72_000), (600, 72_000), (630, 72_000)], pause=pause))
    assert (found.seconds, found.gaps) == (90, 1)


def test_a_single_reading_has_no_time() -> None:
    assert equivalent(series([(0, 72_000)])).seconds == 0
    assert equivalent(series([])).seconds == 0


def test_the_rate_is_averaged_and_not_the_temperature() -> None:
    """Half of 1 and 10^(-10/7), not the rate at 67 °C (0.193)."""
    share = shares(series([(0, 62_000), (1, 72_000)]), reference_c=REFERENCE, z_c=Z)[0]
    assert share.seconds == pytest.approx((1 + 10 ** (-10 / 7)) / 2)


def test_an_equivalent_time_always_says_that_it_makes_nothing_legal() -> None:
    assert equivalent(series([(0, 95_000), (3600, 95_000)])).standing.code == "heat_support_only"


def test_half_a_degree_of_the_probe_is_a_fifth_of_the_equivalent_time() -> None:
    """10 ** (0.5 / 6.3) = 1.2005."""
    as_read = series([(0, 72_000), (900, 72_000)])
    right = corrected_for_error(as_read, error=Decimal("0.5"), unit="degC")
    z_c = Decimal("6.3")
    ratio = equivalent(as_read, z_c).seconds / equivalent(right, z_c).seconds
    assert near(ratio, 10 ** (0.5 / 6.3))
    assert ratio == pytest.approx(Decimal("1.20"), abs=Decimal("0.001"))


@pytest.mark.parametrize(
    ("name", "measured"),
    [
        ("listeria_whole_milk", {"52.2": "1683.7", "74.4": "0.7"}),
        ("salmonella_milk", {"65.6": "1.8", "68.3": "0.52"}),
        ("salmonella_senftenberg", {"65.5": "34.0", "68.3": "10.0", "73.9": "0.55"}),
        ("staphylococcus_whey", {"60.0": "79.2", "62.8": "22.8", "68.3": "4.2"}),
    ],
)
def test_no_measured_d_lies_further_above_the_line_than_is_said(name: str, measured: dict[str, str]) -> None:
    """The single D printed in the same studies, against the figure the kill is counted down by."""
    above = [
        Decimal(d_value) / decimal_reduction_time(name, temperature_c=Decimal(temperature))
        for temperature, d_value in measured.items()
    ]
    said = organism_named(name).above_line
    assert said - Decimal("0.1") < max(above) <= said


def test_the_line_is_a_third_short_at_the_far_end_of_its_own_study() -> None:
    """Bradshaw 1985 measured 1683.7 s at 52.2 °C."""
    found = decimal_reduction_time("listeria_whole_milk", temperature_c=Decimal("52.2"))
    assert 1 - found / Decimal("1683.7") == pytest.approx(Decimal("0.33"), abs=Decimal("0.01"))


@pytest.mark.parametrize("name", ORGANISMS)
def test_d_is_refused_outside_the_study_with_its_range_and_source(name: str) -> None:
    organism = organism_named(name)
    assert decimal_reduction_time(name, temperature_c=organism.at_c) == organism.d_s
    for outside in (organism.low_c - Decimal("0.1"), organism.high_c + Decimal("0.1"), Decimal("NaN")):
        with pytest.raises(Refusal) as caught:
            decimal_reduction_time(name, temperature_c=outside)
        assert f"{organism.low_c} °C" in str(caught.value)
        assert organism.source in str(caught.value)


def test_an_unknown_organism_is_refused() -> None:
    with pytest.raises(Refusal) as caught:
        organism_named("yeast")
    assert caught.value.field == "heat_organism"


@pytest.mark.parametrize(
    ("value", "code"),
    [("6.0001", "heat_kill_more_than"), ("6", "heat_kill_about"), ("16.7", "heat_kill_more_than")],
)
def test_a_reduction_beyond_what_was_measured_is_capped_in_words(value: str, code: str) -> None:
    assert kill_sentence("listeria_whole_milk", Decimal(value)).code == code


def test_the_kill_of_a_legal_hold_is_more_than_six_decades() -> None:
    kill = kill_of("listeria_whole_milk", series([(0, 71_700), (15, 71_700)]))
    assert kill.log10_reduction == pytest.approx(15 / (Decimal("0.9") * Decimal("2.1")), abs=Decimal("1e-9"))
    assert kill.sentence.code == "heat_kill_more_than"


def test_colder_readings_add_nothing_and_hotter_ones_count_as_the_upper_end() -> None:
    """Study from 52.2 to 74.4 °C: only the two stretches between warm readings count."""
    warm = kill_of("listeria_whole_milk", series([(10, 60_000), (20, 60_000)]))
    cold = kill_of(
        "listeria_whole_milk", series([(0, 50_000), (10, 60_000), (20, 60_000), (30, 50_000), (40, 52_199)])
    )
    assert (cold.log10_reduction, cold.colder) == (warm.log10_reduction, 3)
    hot = kill_of("listeria_whole_milk", series([(0, 90_000), (10, 90_000)]))
    top = kill_of("listeria_whole_milk", series([(0, 74_400), (10, 74_400)]))
    assert (hot.log10_reduction, hot.hotter) == (top.log10_reduction, 2)


def test_a_cold_reading_between_warm_ones_does_not_bridge_them() -> None:
    kill = kill_of("listeria_whole_milk", series([(0, 60_000), (10, 50_000), (20, 60_000)]))
    assert (kill.log10_reduction, kill.shares) == (0, ())


def test_a_log_colder_than_the_study_is_refused_with_range_and_source() -> None:
    for unit in ("degC", "degF"):
        with pytest.raises(Refusal) as caught:
            kill_of("salmonella_milk", series([(0, 40_000), (60, 62_000)], unit))
        assert all(text in str(caught.value) for text in ("62.8 °C", "68.3 °C", "Read 1968"))


def test_an_organism_studied_at_one_temperature_and_an_empty_log_are_refused() -> None:
    with pytest.raises(Refusal) as one:
        kill_of("coxiella_cow_milk", series([(0, 72_000), (15, 72_000)]))
    assert one.value.sentence.code == "heat_z_unknown"
    with pytest.raises(Refusal) as empty:
        kill_of("listeria_foods", series([]))
    assert empty.value.sentence.code == "series_empty"


STUDY = st.lists(
    st.tuples(st.integers(500, 800), st.integers(1, 10_000)),
    min_size=3,
    max_size=12,
    unique_by=lambda p: p[0],
)


@given(STUDY)
def test_z_by_regression_is_that_of_scipy(points: Pairs) -> None:
    decimals = [(Decimal(t).scaleb(-1), Decimal(d).scaleb(-2)) for t, d in points]
    slope = linregress([t / 10 for t, _ in points], [float(d.log10()) for _, d in decimals]).slope
    if slope > -1e-4:
        return
    assert near(z_by_regression(decimals), -1 / slope, 1e-6)


def test_z_of_fahrenheit_points_is_nine_fifths_of_that_of_celsius() -> None:
    celsius = z_of_two((Decimal(63), Decimal(1800)), (Decimal(72), Decimal(15)))
    fahrenheit = z_of_two((Decimal("161.6"), Decimal(15)), (Decimal("145.4"), Decimal(1800)))
    assert near(fahrenheit, celsius * Decimal("1.8"))
    assert near(celsius, Decimal("4.3286"), 1e-4)


@pytest.mark.parametrize(
    "points",
    [
        (("63", "15"), ("72", "15")),
        (("63", "15"), ("72", "1800")),
        (("63", "15"), ("63", "1800")),
        (("63", "0"), ("72", "15")),
        (("63", "-1"), ("72", "15")),
        (("63", "NaN"), ("72", "15")),
        (("NaN", "1800"), ("72", "15")),
    ],
)
def test_points_that_give_no_z_are_refused(points: tuple[tuple[str, str], ...]) -> None:
    first, second = [(Decimal(t), Decimal(d)) for t, d in points]
    with pytest.raises(Refusal):
        z_of_two(first, second)
    with pytest.raises(Refusal):
        z_by_regression([first, second, second])


def test_a_regression_needs_three_points() -> None:
    with pytest.raises(Refusal) as caught:
        z_by_regression([(Decimal(63), Decimal(1800)), (Decimal(72), Decimal(15))])
    assert caught.value.sentence.code == "heat_z_needs_three"


@given(st.decimals(-50, 150, places=2), st.decimals(40, 130, places=1), st.decimals(2, 20, places=1))
def test_the_rate_is_finite_and_the_hold_is_its_inverse(
    temperature: Decimal, reference: Decimal, z_c: Decimal
) -> None:
    rate = lethal_rate(temperature_c=temperature, reference_c=reference, z_c=z_c)
    hold = equivalent_hold(hold=Decimal(1), hold_at_c=reference, temperature_c=temperature, z_c=z_c)
    assert rate.is_finite()
    assert near(rate * hold, 1)


def test_the_pasteurisation_effect_of_a_log_is_that_of_its_constant_hold() -> None:
    found = pasteurisation_effect_of(series([(0, 63_000), (1800, 63_000)]))
    assert near(found, pasteurisation_effect(temperature_c=Decimal(63), hold_seconds=Decimal(1800)))


def _rate(temperature: str = "72", reference: str = "72", z_c: str = "7") -> Decimal:
    return lethal_rate(temperature_c=Decimal(temperature), reference_c=Decimal(reference), z_c=Decimal(z_c))


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: _rate(temperature="150.1"), "150 °C"),
    (lambda: _rate(temperature="-50.1"), "-50 °C"),
    (lambda: _rate(temperature="NaN"), "150 °C"),
    (lambda: _rate(reference="39.9"), "40 °C"),
    (lambda: _rate(z_c="0"), "2 °C"),
    (lambda: _rate(z_c="20.1"), "20 °C"),
    (lambda: equivalent(series([(0, 151_000), (1, 60_000)])), "150 °C"),
    (lambda: log_reduction(equivalent_seconds=Decimal(1), d_seconds=Decimal(0)), "s"),
    (lambda: log_reduction(equivalent_seconds=Decimal(-1), d_seconds=Decimal(1)), "0 s"),
    (lambda: pasteurisation_effect(temperature_c=Decimal(72), hold_seconds=Decimal("1e12")), "10000000 s"),
    (
        lambda: ramp_time(
            seconds=Decimal(0), from_c=Decimal(60), to_c=Decimal(70), reference_c=REFERENCE, z_c=Z
        ),
        "s",
    ),
]


@pytest.mark.parametrize(("call", "bound"), REFUSED)
def test_outside_its_bounds_a_function_refuses_with_range_and_source(
    call: Callable[[], object], bound: str
) -> None:
    with pytest.raises(Refusal) as caught:
        call()
    assert bound in str(caught.value)
    assert "bounds of this calculation" in str(caught.value)


def test_on_its_bounds_a_function_answers() -> None:
    assert _rate(temperature="150", reference="40", z_c="2") == pytest.approx(Decimal("1e55"))
    assert _rate(temperature="-50", reference="130", z_c="2") == pytest.approx(Decimal("1e-90"))
