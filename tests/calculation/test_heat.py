"""A log against the table of a rule; probes put right; phosphatase; thermisation.

The pairs and limits are those of `heat_tables`, checked against their sources in test_heat_requirement.
"""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.heat import (
    HoldResult,
    HoldState,
    corrected_for_error,
    corrected_for_two_points,
    judge_hold,
    judge_phosphatase,
    thermisation_credit,
)
from safetyplan.calculation.heat_requirement import Product, Requirement, required_temperature
from safetyplan.calculation.heat_tables import THERMISATIONS
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import UnitError, convert

START = datetime(2026, 5, 14, 4, 0, tzinfo=UTC)
MILK = Product(Decimal(4), Decimal(13))


def asked(rule: str = "eu_hygiene", hold: int = 1800) -> Requirement:
    return required_temperature(rule, hold_seconds=Decimal(hold), product=MILK)


def log(*pairs: tuple[float, str], unit: str = "degC", pause: float = 60, valid: bool = True) -> Series:
    readings = [(START + timedelta(seconds=seconds), Decimal(value)) for seconds, value in pairs]
    return Series.of(readings, unit=unit, longest_gap=timedelta(seconds=pause), valid=valid)


def minutes(first: int, last: int, value: str) -> list[tuple[float, str]]:
    return [(60 * minute, value) for minute in range(first, last + 1)]


def judged(
    series: Series, rule: str = "eu_hygiene", hold: int = 1800, air: Series | None = None
) -> HoldResult:
    return judge_hold(asked(rule, hold), product=series, air_space=air)


def test_thirty_minutes_exactly_on_the_limit_are_shown() -> None:
    found = judged(log(*minutes(0, 30, "63")))
    assert (found.state, found.held_seconds, found.short_by_seconds) == (HoldState.SHOWN, 1800, 0)


def test_a_second_less_is_too_short_by_a_second() -> None:
    found = judged(log(*minutes(0, 29, "63"), (1799, "63")))
    assert (found.state, found.short_by_seconds) == (HoldState.TOO_SHORT, 1)


def test_a_dip_restarts_the_clock() -> None:
    found = judged(log(*minutes(0, 19, "63.5"), (1200, "62.9"), *minutes(21, 40, "63.5")))
    assert (found.state, found.held_seconds) == (HoldState.TOO_SHORT, 19 * 60)
    assert len(found.stretches) == 2
    after = judged(log(*minutes(0, 19, "63.5"), (1200, "62.9"), *minutes(21, 51, "63.5")))
    assert (after.state, after.held_seconds) == (HoldState.SHOWN, 1800)


def test_a_gap_breaks_a_hold_that_would_otherwise_be_long_enough() -> None:
    found = judged(log(*minutes(0, 15, "64"), *minutes(17, 32, "64")))
    assert (found.state, found.held_seconds, len(found.gaps)) == (HoldState.GAP, 900, 1)


def test_a_hold_too_short_even_without_its_gap_is_too_short() -> None:
    found = judged(log(*minutes(0, 10, "64"), *minutes(12, 20, "64")))
    assert (found.state, found.held_seconds) == (HoldState.TOO_SHORT, 600)


def test_a_log_that_never_reaches_the_limit_holds_nothing() -> None:
    found = judged(log(*minutes(0, 60, "62.999")))
    assert (found.state, found.held_seconds, found.longest) == (HoldState.TOO_SHORT, 0, None)


def test_no_reading_is_refused() -> None:
    with pytest.raises(Refusal) as caught:
        judged(log())
    assert caught.value.sentence.code == "series_empty"


@pytest.mark.parametrize(("reading", "state"), [("71.667", HoldState.SHOWN), ("71.666", HoldState.TOO_SHORT)])
def test_the_limit_stays_in_the_unit_of_the_rule(reading: str, state: HoldState) -> None:
    """161 °F is 71.666... °C, not the 72 °C printed beside it."""
    assert judged(log(*((n, reading) for n in range(16)), pause=1), "us_milk", 15).state is state


@pytest.mark.parametrize(("reading", "state"), [("145", HoldState.SHOWN), ("144.9", HoldState.TOO_SHORT)])
def test_readings_may_come_in_the_unit_of_the_rule(reading: str, state: HoldState) -> None:
    air = log(*minutes(0, 30, "150"), unit="degF")
    assert judged(log(*minutes(0, 30, reading), unit="degF"), "us_milk", 1800, air).state is state


def test_readings_of_another_quantity_are_refused() -> None:
    with pytest.raises(UnitError):
        judged(log(*minutes(0, 30, "63"), unit="pH"))


class TestAirSpace:
    """145 °F and 150 °F are 62.78 and 65.56 °C."""

    product = log(*minutes(0, 30, "63"))

    def found(self, air: Series | None) -> HoldResult:
        return judged(self.product, "us_milk", 1800, air)

    def test_product_and_air_space_are_needed_together(self) -> None:
        assert self.found(log(*minutes(0, 30, "65.556"))).state is HoldState.SHOWN

    def test_a_cold_air_space_takes_the_hold_away(self) -> None:
        assert self.found(log(*minutes(0, 30, "65.555"))).state is HoldState.TOO_SHORT

    def test_a_dip_of_the_air_space_restarts_the_clock(self) -> None:
        air = log(*minutes(0, 9, "66"), (600, "60"), *minutes(11, 30, "66"))
        found = self.found(air)
        assert (found.state, found.held_seconds) == (HoldState.TOO_SHORT, 19 * 60)

    def test_an_air_space_nobody_read_is_not_shown(self) -> None:
        assert self.found(None).state is HoldState.AIR_SPACE_MISSING
        assert self.found(log()).state is HoldState.AIR_SPACE_MISSING

    def test_an_air_space_read_for_part_of_the_hold_is_not_shown(self) -> None:
        found = self.found(log(*minutes(0, 20, "66")))
        assert (found.state, found.held_seconds, found.gaps) == (HoldState.GAP, 1200, ())

    def test_a_gap_of_the_air_space_breaks_the_hold(self) -> None:
        found = self.found(log((0, "66"), (1800, "66")))
        assert (found.state, len(found.gaps)) == (HoldState.GAP, 1)

    def test_an_air_space_read_at_start_and_end_counts_only_if_such_a_pause_is_allowed(self) -> None:
        assert self.found(log((0, "66"), (1800, "66"), pause=1800)).state is HoldState.SHOWN

    def test_a_short_product_hold_is_short_even_without_air_space(self) -> None:
        assert judged(log(*minutes(0, 20, "63")), "us_milk").state is HoldState.TOO_SHORT

    def test_an_air_space_is_not_judged_where_the_rule_has_no_figure(self) -> None:
        assert judged(self.product, air=log(*minutes(0, 30, "40"))).state is HoldState.SHOWN


@pytest.mark.parametrize("which", ["product", "air_space"])
def test_an_instrument_that_is_not_valid_shows_nothing(which: str) -> None:
    series = {name: log(*minutes(0, 30, "70"), valid=name != which) for name in ("product", "air_space")}
    found = judge_hold(asked("us_milk"), product=series["product"], air_space=series["air_space"])
    assert found.state is HoldState.INSTRUMENT_NOT_VALID


def test_two_hand_readings_never_show_a_hold() -> None:
    with pytest.raises(Refusal) as caught:
        judged(log((0, "65"), (1800, "65"), pause=1800))
    assert (caught.value.sentence.code, caught.value.field) == ("heat_pause_too_long", "heat_pause")
    assert judged(log((0, "65"), (1800, "65"), pause=180)).state is HoldState.GAP


def test_an_air_space_may_not_pause_longer_than_the_hold() -> None:
    air = log((0, "66"), (1801, "66"), pause=1801)
    with pytest.raises(Refusal) as caught:
        judge_hold(asked("us_milk"), product=log(*minutes(0, 30, "63")), air_space=air)
    assert caught.value.field == "air_pause"


LOGS = st.lists(
    st.tuples(st.integers(0, 60), st.integers(60_000, 66_000)),
    min_size=1,
    max_size=70,
    unique_by=lambda pair: pair[0],
)


def made(pairs: list[tuple[int, int]], unit: str = "degC") -> Series:
    readings = [
        (START + timedelta(minutes=m), convert(Decimal(value).scaleb(-3), "degC", unit)) for m, value in pairs
    ]
    return Series.of(readings, unit=unit, longest_gap=timedelta(minutes=3))


@given(LOGS, st.randoms(use_true_random=False))
def test_the_order_of_the_readings_makes_no_difference(pairs: list[tuple[int, int]], random: object) -> None:
    shuffled = list(pairs)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert judged(made(shuffled)) == judged(made(pairs))


@given(
    st.lists(
        st.tuples(st.integers(0, 60), st.integers(12_000, 13_200)),
        min_size=1,
        max_size=70,
        unique_by=lambda pair: pair[0],
    )
)
def test_the_unit_of_the_readings_makes_no_difference(pairs: list[tuple[int, int]]) -> None:
    """Multiples of 0.005 °C, whose °F are whole thousandths."""
    exact = [(minute, value * 5) for minute, value in pairs]
    for rule in ("eu_hygiene", "us_milk"):
        assert judged(made(exact), rule) == judged(made(exact, "degF"), rule)


@given(LOGS, st.integers(0, 2000))
def test_a_warmer_log_never_holds_shorter(pairs: list[tuple[int, int]], more: int) -> None:
    warmer = [(minute, value + more) for minute, value in pairs]
    assert judged(made(warmer)).held_seconds >= judged(made(pairs)).held_seconds


@given(LOGS)
def test_a_hold_is_shown_exactly_when_its_longest_stretch_is_long_enough(
    pairs: list[tuple[int, int]],
) -> None:
    """The longest stretch found by walking every pair of readings."""
    ordered = sorted(pairs)
    best = 0
    for first in range(len(ordered)):
        for last in range(first, len(ordered)):
            inside = ordered[first : last + 1]
            pauses = [b[0] - a[0] for a, b in pairwise(inside)]
            if all(value >= 63_000 for _, value in inside) and all(pause <= 3 for pause in pauses):
                best = max(best, inside[-1][0] - inside[0][0])
    found = judged(made(pairs))
    assert found.held_seconds == best * 60
    assert (found.state is HoldState.SHOWN) == (best >= 30)


def test_a_probe_that_reads_high_makes_every_reading_lower() -> None:
    right = corrected_for_error(log((0, "63.2"), (60, "64")), error=Decimal("0.5"), unit="degC")
    assert right.decimals() == [Decimal("62.7"), Decimal("63.5")]


def test_an_error_in_fahrenheit_is_a_difference() -> None:
    right = corrected_for_error(log((0, "63.2")), error=Decimal("0.9"), unit="degF")
    assert right.decimals() == [Decimal("62.7")]


def test_a_correction_may_take_a_hold_away() -> None:
    series = log(*minutes(0, 30, "63.2"))
    assert judged(series).state is HoldState.SHOWN
    right = corrected_for_error(series, error=Decimal("0.3"), unit="degC")
    assert judged(right).state is HoldState.TOO_SHORT


@pytest.mark.parametrize("error", ["5.1", "-5.1", "NaN", "Infinity"])
def test_an_error_beyond_five_degrees_is_refused(error: str) -> None:
    with pytest.raises(Refusal) as caught:
        corrected_for_error(log((0, "63")), error=Decimal(error), unit="degC")
    assert all(text in str(caught.value) for text in ("-5 °C", "5 °C", "no source"))
    assert corrected_for_error(log((0, "63")), error=Decimal(-5), unit="degC").decimals() == [68]


def two_points(series: Series, low: str, high: str, high_true: str = "63") -> Series:
    return corrected_for_two_points(
        series,
        low_reading=Decimal(low),
        low_true=Decimal(0),
        high_reading=Decimal(high),
        high_true=Decimal(high_true),
        unit="degC",
    )


def test_two_points_put_a_reading_on_the_line_between_them() -> None:
    """Reads 0.5 at 0 °C and 64.5 at 63 °C: 32.5 is half way, so 31.5."""
    assert two_points(log((0, "0.5"), (1, "32.5"), (2, "64.5")), "0.5", "64.5").decimals() == [
        0,
        Decimal("31.5"),
        63,
    ]


def test_two_points_must_lie_apart_and_their_errors_be_small() -> None:
    with pytest.raises(Refusal) as close:
        two_points(log((0, "5")), "0", "9", "9")
    assert close.value.sentence.code == "heat_points_too_close"
    with pytest.raises(Refusal) as large:
        two_points(log((0, "5")), "0", "69", "63")
    assert large.value.field == "high_reading"


@pytest.mark.parametrize(
    ("milk", "value", "negative", "law"),
    [
        ("cow_milk", "350", True, True),
        ("cow_milk", "350.1", False, True),
        ("goat_milk", "300", True, False),
        ("goat_milk", "301", False, False),
        ("sheep_milk", "500", True, False),
        ("sheep_milk", "501", False, False),
        ("us_grade_a", "349", True, True),
        ("us_grade_a", "350", False, True),
    ],
)
def test_phosphatase_is_compared_with_the_limit_of_its_milk(
    milk: str, value: str, negative: bool, law: bool
) -> None:
    """EU 2074/2005 annex VIa by EFSA Journal 2021;19(4):6576, goat and sheep by its opinion; US table 1."""
    found = judge_phosphatase(milk, milliunits_per_l=Decimal(value))
    assert (found.negative, found.law) == (negative, law)


def test_a_goat_pass_proves_less_than_a_cow_pass() -> None:
    proves = [
        judge_phosphatase(milk, milliunits_per_l=Decimal(10)).proves for milk in ("goat_milk", "cow_milk")
    ]
    assert [sentence.code for sentence in proves] == ["heat_phosphatase_goat", "heat_phosphatase_proves"]


@pytest.mark.parametrize(("milk", "value"), [("mare", "10"), ("cow_milk", "-1"), ("cow_milk", "NaN")])
def test_an_unknown_milk_or_an_impossible_value_is_refused(milk: str, value: str) -> None:
    with pytest.raises(Refusal) as caught:
        judge_phosphatase(milk, milliunits_per_l=Decimal(value))
    assert caught.value.field in ("phosphatase_milk", "phosphatase")


def test_thermisation_is_never_credited() -> None:
    credit, why = thermisation_credit()
    assert (credit, why.code) == (0, "heat_thermisation")
    assert dict(why.params) == {"low": "57 °C", "high": "68 °C", "hold": "15 s"}
    assert all(row.low_c < 72 and row.source for row in THERMISATIONS)
