"""Time in each band of the table of exposures: logs against brute force, edges, gaps and the whole."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.exposure import exposure_of, gap_positions, milliseconds_above, within_summary
from safetyplan.calculation.exposure_tables import EXPOSURES
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import convert

START = datetime(2026, 5, 14, 4, 0, tzinfo=UTC)
GAP = timedelta(minutes=60)
MILK = "milk_before_starter"
READING = st.tuples(st.integers(0, 1500), st.integers(-500, 4500))
LOGS = st.lists(READING, min_size=1, max_size=60, unique_by=lambda pair: pair[0])


def log(pairs: list[tuple[int, int]], unit: str = "degC") -> Series:
    readings = [(START + timedelta(minutes=m), Decimal(v).scaleb(-2)) for m, v in pairs]
    return Series.of(readings, unit=unit, longest_gap=GAP)


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


def test_thirds_and_sevenths_that_make_exactly_the_whole_are_not_exceeded() -> None:
    # Listeria: 105 min of 7 h above 50 °F, 60 min of 3 h above 70 °F, 25 min of 1 h above 86 °F
    warm = [(0, 1200), (60, 1200), (105, 1200)]
    warm += [(106, 2500), (165, 2500)]  # the minute up counts at the warmer end
    warm += [(166, 3200), (190, 3200)]
    found = exposure_of(log(warm), "listeria_monocytogenes", food=MILK)
    assert [band.spent_ms // 60_000 for band in found.bands] == [0, 0, 105, 60, 25]
    assert found.exact_combined == 1
    assert not found.exceeded


def test_a_gap_leaves_it_not_shown_unless_it_is_exceeded_already() -> None:
    cold, hot = [(0, 300), (30, 300)], [(m, 2500) for m in range(0, 181, 60)]
    assert exposure_of(log([*cold, (300, 300)]), "salmonella", food=MILK).finding == "not_shown"
    assert exposure_of(log(cold), "salmonella", food=MILK).finding == "not_exceeded"
    assert exposure_of(log([*hot, (600, 300)]), "salmonella", food=MILK).finding == "exceeded"


def test_between_the_degrees_that_are_printed_there_is_no_gap() -> None:
    # the table prints "42-50 F" and "51-70 F": 50.5 °F is in the warmer band, 50 °F in the cooler
    readings = [(START, Decimal("50.5")), (START + GAP, Decimal("50.5"))]
    series = Series.of(readings, unit="degF", longest_gap=GAP)
    assert [b.hours for b in exposure_of(series, "salmonella", food=MILK).bands] == [0, 1, 0]
    edge = Series.of([(at, Decimal(50)) for at, _v in readings], unit="degF", longest_gap=GAP)
    assert [b.hours for b in exposure_of(edge, "salmonella", food=MILK).bands] == [1, 0, 0]


def test_exactly_on_the_lowest_edge_counts_and_a_thousandth_below_does_not() -> None:
    for value, hours in (("41.4", 1), ("41.399", 0)):
        readings = [(START, Decimal(value)), (START + GAP, Decimal(value))]
        series = Series.of(readings, unit="degF", longest_gap=GAP)
        assert exposure_of(series, "salmonella", food=MILK).bands[0].hours == hours


@given(LOGS)
def test_exposure_over_a_log_is_that_of_its_halves_cut_at_a_reading(pairs: list[tuple[int, int]]) -> None:
    series = log(pairs)
    middle = START + timedelta(minutes=sorted(pairs)[len(pairs) // 2][0])
    parts = [series.between(START, middle), series.between(middle, START + timedelta(days=2))]
    halves = [exposure_of(part, "bacillus_cereus", food=MILK).bands for part in parts]
    whole = exposure_of(series, "bacillus_cereus", food=MILK).bands
    assert [a.spent_ms + b.spent_ms for a, b in zip(*halves, strict=True)] == [b.spent_ms for b in whole]


@given(LOGS, st.randoms(use_true_random=False))
def test_the_order_in_which_readings_are_given_makes_no_difference(
    pairs: list[tuple[int, int]], random: Random
) -> None:
    shuffled = random.sample(pairs, len(pairs))
    assert exposure_of(log(pairs), "vibrio", food=MILK) == exposure_of(log(shuffled), "vibrio", food=MILK)


@given(LOGS, st.integers(1, 300))
def test_a_warmer_log_is_never_less_exposed(pairs: list[tuple[int, int]], more: int) -> None:
    warmer = [(minute, value + more) for minute, value in pairs]
    for organism in EXPOSURES:
        cool = exposure_of(log(pairs), organism, food=MILK)
        warm = exposure_of(log(warmer), organism, food=MILK)
        assert warm.exact_combined >= cool.exact_combined


@given(LOGS, st.lists(st.integers(-500, 4500), min_size=1, max_size=5, unique=True))
def test_time_above_every_edge_in_one_pass_is_that_of_each_edge_alone(
    pairs: list[tuple[int, int]], edges: list[int]
) -> None:
    series, rising = log(pairs), sorted(10 * edge for edge in edges)
    alone = [series.time_above(Decimal(edge).scaleb(-3), "degC") for edge in rising]
    assert list(milliseconds_above(series, rising)) == alone


@given(LOGS, st.integers(1, 120))
def test_every_gap_is_found_at_its_place(pairs: list[tuple[int, int]], minutes: int) -> None:
    times, longest = log(pairs).times, minutes * 60_000
    brute = [n for n in range(1, len(times)) if times[n] - times[n - 1] > longest]
    assert gap_positions(times, longest) == brute


@pytest.mark.parametrize("organism", sorted(EXPOSURES))
def test_every_row_is_marked_as_from_memory_and_its_bands_rise_with_shorter_times(organism: str) -> None:
    table = EXPOSURES[organism]
    assert table.provenance == "memory"
    for cooler, hotter in pairwise(table.bands):
        assert cooler.above_f < hotter.above_f
        assert cooler.hours > hotter.hours


def test_hours_of_the_summary_that_are_no_hours_are_refused_and_its_edges_hold() -> None:
    def told(between: str, above: str, *, only: bool = False) -> bool:
        return within_summary(
            hours_50_to_70=Decimal(between), hours_above_70=Decimal(above), only_aureus=only
        )

    # summary of appendix 4 as copied by Michigan State University; 5 h and 12 h from memory
    assert told("5", "0")
    assert not told("5.01", "0")
    assert told("12", "0", only=True)
    assert told("2", "2")
    assert not told("1.9", "2.2")
    for wrong in ("-1", "NaN", "Infinity"):
        with pytest.raises(Refusal):
            told(wrong, "1")
