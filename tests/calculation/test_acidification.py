"""Acidification: crossing, pace, hint; numpy is the independent library for straight lines."""

import dataclasses
import random
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from safetyplan.calculation import acidification
from safetyplan.calculation.acidification import (
    Hint,
    NoHint,
    NotReached,
    Pace,
    PhLog,
    Reached,
    forecast_crossing,
    lactic_by_weight,
    pace_at,
    ph_at,
    time_to_target,
    titratable_acidity,
)
from safetyplan.calculation.judgement import Judgement
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.units import UnitError

HOURLY = ("6.55", "6.40", "6.10", "5.75", "5.40", "5.15")
# Times to a minute and pH to a hundredth, as meters and clocks give them.
TIMES = st.integers(0, 4320).map(lambda minutes: Decimal(minutes) / 60)
PHS = st.integers(300, 750).map(lambda hundredths: Decimal(hundredths).scaleb(-2))
PAIRS = st.lists(st.tuples(TIMES, PHS), min_size=1, max_size=25, unique_by=lambda pair: pair[0])


def log(*phs: str, step: str = "1") -> PhLog:
    return PhLog.of((Decimal(step) * n, Decimal(ph)) for n, ph in enumerate(phs))


def reached(found: Reached | NotReached) -> Reached:
    assert isinstance(found, Reached)
    return found


def at(phs: PhLog, target: str, hours: str) -> Pace:
    return pace_at(phs, target_ph=Decimal(target), hours=Decimal(hours)).pace


def hint_code(phs: PhLog, target: str) -> str:
    return forecast_crossing(phs, target_ph=Decimal(target)).sentence.code


# --- the log


def test_a_log_is_refused_without_a_reading_and_with_two_values_of_one_moment() -> None:
    for pairs, code in (
        ([], "series_empty"),
        ([(Decimal(1), Decimal(6)), (Decimal("1.0"), Decimal(5))], "acidification_two_values"),
    ):
        with pytest.raises(Refusal) as caught:
            PhLog.of(pairs)
        assert caught.value.sentence.code == code


def test_the_same_reading_twice_counts_once() -> None:
    assert len(PhLog.of([(Decimal(1), Decimal(6)), (Decimal("1.0"), Decimal("6.00"))]).readings) == 1


@pytest.mark.parametrize(
    ("hours", "ph"),
    [("-0.01", "6"), ("720.01", "6"), ("NaN", "6"), ("1", "14.01"), ("1", "-1"), ("1", "sNaN")],
)
def test_a_reading_outside_is_refused_with_the_range_and_the_source(hours: str, ph: str) -> None:
    with pytest.raises(Refusal) as caught:
        PhLog.of([(Decimal(hours), Decimal(ph))])
    words = dict(caught.value.sentence.params)
    assert caught.value.sentence.code == "outside_validity"
    assert words["high"] in ("720 h", "pH 14")
    assert words["source"]


@pytest.mark.parametrize(("hours", "ph"), [("0", "0"), ("720", "14")])
def test_a_reading_on_the_edge_is_taken(hours: str, ph: str) -> None:
    assert PhLog.of([(Decimal(hours), Decimal(ph))]).first.ph == Decimal(ph)


# --- the crossing


def test_a_reading_exactly_on_the_target_has_reached_it_and_is_measured() -> None:
    found = reached(time_to_target(log(*HOURLY), target_ph=Decimal("5.40")))
    assert (found.hours, found.measured) == (4, True)


def test_between_two_readings_the_time_is_interpolated_and_says_so() -> None:
    # 4 h + 0.10 / 0.25 h, by hand
    found = reached(time_to_target(log(*HOURLY), target_ph=Decimal("5.30")))
    assert (found.hours, found.measured, found.rise) == (Decimal("4.4"), False, None)


def test_a_log_that_starts_at_the_target_does_not_tell_when_it_got_there() -> None:
    found = reached(time_to_target(log("5.2", "5.0"), target_ph=Decimal("5.3")))
    assert (found.before, found.hours) == (None, 0)


def test_a_target_that_no_reading_reached_is_not_reached_however_close() -> None:
    found = time_to_target(log(*HOURLY), target_ph=Decimal("5.14"))
    assert isinstance(found, NotReached)
    assert (found.lowest.ph, found.last.hours) == (Decimal("5.15"), 5)


@given(PAIRS, PHS)
def test_the_crossing_of_a_falling_log_is_that_of_numpy(
    pairs: list[tuple[Decimal, Decimal]], target: Decimal
) -> None:
    # 1e-9 h: floats of numpy against 28 digits
    hours, phs = sorted(t for t, _ in pairs), sorted({ph for _, ph in pairs}, reverse=True)
    assume(len(phs) > 1)
    hours = hours[: len(phs)]
    found = time_to_target(PhLog.of(zip(hours, phs, strict=True)), target_ph=target)
    if target < phs[-1]:
        assert isinstance(found, NotReached)
    else:
        expected = np.interp(float(target), [float(ph) for ph in phs[::-1]], [float(t) for t in hours[::-1]])
        assert float(reached(found).hours) == pytest.approx(expected, abs=1e-9)


@given(PAIRS, PHS, st.randoms(use_true_random=False))
def test_the_order_of_the_readings_makes_no_difference(
    pairs: list[tuple[Decimal, Decimal]], target: Decimal, chance: random.Random
) -> None:
    shuffled = pairs.copy()
    chance.shuffle(shuffled)
    for work in (
        lambda phs: time_to_target(phs, target_ph=target),
        lambda phs: forecast_crossing(phs, target_ph=target),
        lambda phs: pace_at(phs, target_ph=target, hours=Decimal(6)),
    ):
        assert work(PhLog.of(pairs)) == work(PhLog.of(shuffled))


@given(PAIRS, PHS)
def test_the_crossing_lies_between_its_readings_and_no_earlier_reading_is_there(
    pairs: list[tuple[Decimal, Decimal]], target: Decimal
) -> None:
    phs = PhLog.of(pairs)
    found = time_to_target(phs, target_ph=target)
    if isinstance(found, NotReached):
        assert all(reading.ph > target for reading in phs.readings)
        return
    assert found.hours.is_finite()
    assert (found.before.hours if found.before else found.hours) <= found.hours <= found.after.hours
    assert all(reading.ph > target for reading in phs.readings if reading.hours < found.hours)


@given(PAIRS, PHS, PHS)
def test_a_lower_target_is_never_reached_earlier(
    pairs: list[tuple[Decimal, Decimal]], one: Decimal, other: Decimal
) -> None:
    low, high = (time_to_target(PhLog.of(pairs), target_ph=target) for target in sorted((one, other)))
    if isinstance(low, Reached):
        assert reached(high).hours <= low.hours


# --- the pH at a time


def test_a_time_outside_the_log_is_refused_with_its_range_and_inside_is_answered() -> None:
    for hours in ("5.01", "-0.01", "NaN"):
        with pytest.raises(Refusal) as caught:
            ph_at(log(*HOURLY), hours=Decimal(hours))
        words = dict(caught.value.sentence.params)
        assert (words["low"], words["high"], words["source"]) == (
            "0 h",
            "5 h",
            "first and last reading of the log",
        )
    assert ph_at(log(*HOURLY), hours=Decimal(5)) == Decimal("5.15")


@given(PAIRS, TIMES)
def test_the_ph_at_a_time_is_that_of_numpy(pairs: list[tuple[Decimal, Decimal]], hours: Decimal) -> None:
    phs = PhLog.of(pairs)
    assume(phs.first.hours <= hours <= phs.last.hours)
    times, values = ([float(pair[n]) for pair in sorted(pairs)] for n in (0, 1))
    assert float(ph_at(phs, hours=hours)) == pytest.approx(np.interp(float(hours), times, values), abs=1e-9)


# --- slow or in time


def test_a_value_measured_at_the_hour_decides() -> None:
    assert at(log("6.5", "5.8", step="6"), "5.80", "6") is Pace.IN_TIME
    assert at(log("6.5", "5.81", step="6"), "5.80", "6") is Pace.SLOW


def test_a_target_measured_before_its_hour_is_in_time() -> None:
    assert at(log(*HOURLY), "5.40", "4.5") is Pace.IN_TIME


def test_a_value_above_the_target_before_its_hour_shows_nothing() -> None:
    assert at(log("6.5", "6.0", step="5"), "5.80", "6") is Pace.NOT_SHOWN


def test_a_value_still_above_the_target_after_its_hour_is_slow() -> None:
    assert at(log("6.5", "6.0", "5.9", step="5"), "5.80", "6") is Pace.SLOW


def test_an_interpolated_value_passes_nothing() -> None:
    phs = log("6.6", "6.0", "5.2", step="5")
    assert ph_at(phs, hours=Decimal(9)) < Decimal("5.80")
    assert at(phs, "5.80", "9") is Pace.NOT_SHOWN


def test_reached_and_higher_again_by_the_hour_is_for_a_person_and_not_in_time() -> None:
    found = pace_at(log("6.5", "5.7", "5.9", "5.7"), target_ph=Decimal("5.8"), hours=Decimal(3))
    assert (found.pace, found.sentence.code) == (Pace.NOT_SHOWN, "acidification_rise")


def test_a_rise_after_the_hour_is_flagged_and_leaves_it_in_time() -> None:
    found = pace_at(log("6.5", "5.7", "5.9"), target_ph=Decimal("5.8"), hours=Decimal(1))
    assert found.pace is Pace.IN_TIME
    assert found.rise is not None


def test_an_hour_before_the_first_reading_is_not_shown_or_slow_by_what_came_after() -> None:
    late = PhLog.of([(Decimal(8), Decimal("5.7"))])
    assert at(late, "5.8", "6") is Pace.NOT_SHOWN
    assert at(late, "5.6", "6") is Pace.SLOW


@given(PAIRS, PHS, TIMES)
def test_in_time_always_rests_on_a_measured_value_by_the_hour(
    pairs: list[tuple[Decimal, Decimal]], target: Decimal, hours: Decimal
) -> None:
    found = pace_at(PhLog.of(pairs), target_ph=target, hours=hours)
    measured = found.reading and (found.reading.hours, found.reading.ph)
    assert measured is None or measured in pairs
    if found.pace is Pace.IN_TIME:
        assert found.reading is not None
        assert found.reading.hours <= hours
        assert found.reading.ph <= target


# --- the hint


def test_a_steady_fall_gives_a_hint_by_hand() -> None:
    # 0.15 per hour over both steps: 8 h + 0.4 / 0.15 h = 10.667 h
    found = forecast_crossing(log("6.6", "6.5", "6.3", "6.0", "5.7", step="2"), target_ph=Decimal("5.3"))
    assert isinstance(found, Hint)
    assert found.sentence.code == "acidification_hint_time"
    assert float(found.earliest_hours) == float(found.latest_hours) == pytest.approx(10 + 2 / 3)


def test_two_slopes_give_a_range_by_hand() -> None:
    # 0.35 then 0.25 per hour: 5 h + 0.25 / 0.35 h to 5 h + 0.25 / 0.25 h
    found = forecast_crossing(log(*HOURLY), target_ph=Decimal("4.90"))
    assert isinstance(found, Hint)
    assert float(found.earliest_hours) == pytest.approx(5 + 5 / 7)
    assert found.latest_hours == 6


def test_there_is_no_hint_below_three_falling_readings_and_one_from_three() -> None:
    assert hint_code(log("6.5", "6.3"), "6.1") == "acidification_no_hint_few"
    assert hint_code(log("6.5", "6.6", "6.4"), "6.3") == "acidification_no_hint_few"
    assert hint_code(log("6.5", "6.5", "6.3"), "6.2") == "acidification_no_hint_few"
    assert hint_code(log("6.5", "6.4", "6.3"), "6.2") == "acidification_hint_time"


def test_there_is_no_hint_when_the_fall_is_less_than_half_of_the_one_before() -> None:
    assert hint_code(log("6.5", "6.3", "6.21"), "6.2") == "acidification_no_hint_flat"
    assert hint_code(log("6.5", "6.3", "6.2"), "6.1") == "acidification_hint"


def test_there_is_no_hint_further_ahead_than_the_readings_reach_back() -> None:
    assert hint_code(log("6.5", "6.4", "6.3"), "6.09") == "acidification_no_hint_far"
    assert hint_code(log("6.5", "6.4", "6.3"), "6.10") == "acidification_hint_time"


def test_there_is_no_hint_once_the_target_was_reached() -> None:
    assert hint_code(log("6.5", "6.3", "6.1"), "6.3") == "acidification_no_hint_reached"


def test_a_hint_is_no_judgement_and_has_no_state() -> None:
    assert not issubclass(Hint, Judgement)
    fields = {field.name for field in dataclasses.fields(Hint)} | {f.name for f in dataclasses.fields(NoHint)}
    assert fields & {"state", "margin", "pace"} == set()


@given(PAIRS, PHS)
def test_a_hint_lies_ahead_of_the_last_reading_and_is_finite(
    pairs: list[tuple[Decimal, Decimal]], target: Decimal
) -> None:
    phs = PhLog.of(pairs)
    found = forecast_crossing(phs, target_ph=target)
    if isinstance(found, NoHint):
        assert found.sentence.code.startswith("acidification_no_hint_")
        return
    assert phs.last.hours < found.earliest_hours <= found.latest_hours
    assert found.latest_hours.is_finite()
    assert all(a.ph > b.ph for a, b in pairwise(found.run))
    assert found.slope_latest >= found.slope_before / 2
    assert found.latest_hours - phs.last.hours <= (found.run[-1].hours - found.run[0].hours) * (
        1 + Decimal("1e-20")
    )


# --- titratable acidity


@pytest.mark.parametrize(
    ("unit", "normality", "titre", "sample", "expected"),
    [
        # definitions of the scales, from memory: °SH is ml of 0.25 N per 100 ml, °Th ml of 0.1 N per 100 ml,
        # °D tenths of a ml of N/9 per 10 ml
        ("soxhlet_henkel", "0.25", "7", "100", 7),
        ("thorner", "0.1", "17", "100", 17),
        ("dornic", "0.111111111", "1.6", "10", 16),
        # 9 ml of milk, 1.6 ml of 0.1 N: 0.16 % (row UN-TA-TIT)
        ("percent_lactic", "0.1", "1.6", "9", 0.16),
    ],
)
def test_a_titration_gives_the_scale_by_its_definition(
    unit: str, normality: str, titre: str, sample: str, expected: float
) -> None:
    found = titratable_acidity(
        titre_ml=Decimal(titre), normality=Decimal(normality), sample_ml=Decimal(sample), unit=unit
    )
    assert float(found) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("titre", "normality", "sample"),
    [("-1", "0.1", "9"), ("1", "0", "9"), ("1", "0.1", "0"), ("NaN", "0.1", "9")],
)
def test_a_titration_outside_is_refused(titre: str, normality: str, sample: str) -> None:
    with pytest.raises(Refusal) as caught:
        titratable_acidity(
            titre_ml=Decimal(titre), normality=Decimal(normality), sample_ml=Decimal(sample), unit="dornic"
        )
    assert caught.value.field in ("titre", "normality", "sample_volume")


def test_a_unit_that_is_no_acidity_is_refused() -> None:
    with pytest.raises(UnitError):
        titratable_acidity(titre_ml=Decimal(1), normality=Decimal("0.1"), sample_ml=Decimal(9), unit="pH")


def test_acidity_by_weight_is_that_by_volume_over_the_density() -> None:
    # 0.1545 % w/v in milk of 1.03 g/ml is 0.15 % w/w, by definition
    found = lactic_by_weight(percent_by_volume=Decimal("0.1545"), density_g_per_ml=Decimal("1.03"))
    assert found == Decimal("0.15")
    with pytest.raises(Refusal):
        lactic_by_weight(percent_by_volume=Decimal("0.1545"), density_g_per_ml=Decimal(0))


def test_nothing_made_for_fermented_meat_is_offered() -> None:
    assert [name for name in dir(acidification) if "degree" in name.lower()] == []
