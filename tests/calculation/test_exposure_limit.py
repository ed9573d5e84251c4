"""Cumulative time in warmth as a limit: over a log, over hand readings, with gaps and at its edges."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.judgement import Evidence, Judgement, State
from safetyplan.calculation.limits.exposure import Exposure
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.series import Series
from tests.calculation.evidence import START, after, number

MILK: dict[str, Any] = {
    "kind": "exposure",
    "part": "temperature",
    "unit": "degF",
    "food": "milk_before_starter",
    "event": "milking_ended",
    "until": "starter_added",
    "bands": [
        {"above": "50", "at_most_minutes": "300"},
        {"above": "70", "at_most_minutes": "120"},
    ],
    "longest_gap_minutes": 60,
}
ENDED = {"milking_ended": START, "starter_added": after("6")}


def series(*values: str, unit: str = "degF", step: int = 60, valid: bool = True) -> Series:
    readings = [(START + timedelta(minutes=n * step), Decimal(value)) for n, value in enumerate(values)]
    return Series.of(readings, unit=unit, longest_gap=timedelta(minutes=60), valid=valid)


def at_minutes(*readings: tuple[int, str]) -> Series:
    found = [(START + timedelta(minutes=minute), Decimal(value)) for minute, value in readings]
    return Series.of(found, unit="degF", longest_gap=timedelta(minutes=60))


def judged(logged: Series | None, *measured: Any, now: str = "48", **changes: Any) -> Judgement:
    limit = Exposure.from_document({**MILK, **changes.pop("document", {})})
    logs = {"temperature": logged} if logged is not None else {}
    return limit.judge(Evidence(measured, changes.get("events", ENDED), after(now), series=logs))


def test_exactly_the_minutes_is_within_and_a_span_more_is_outside() -> None:
    warm = series("60", "60", "60", "60", "60", "60", "50")
    assert judged(series("60", "60", "60", "60", "60", "50", "50")).state is State.WITHIN
    assert judged(warm).state is State.OUTSIDE_LIMIT
    assert judged(warm).margin == -60


def test_exactly_on_an_edge_is_not_above_it() -> None:
    assert judged(series(*["50"] * 7)).margin == 120
    assert judged(series(*["50.1"] * 7)).state is State.OUTSIDE_LIMIT


def test_the_tighter_edge_leads() -> None:
    judgement = judged(series("40", "71", "71", "71", "40", "40", "40"))
    assert judgement.state is State.OUTSIDE_LIMIT
    assert dict(judgement.sentence.params)["above"] == "70 °F"


def test_a_log_in_celsius_is_compared_with_the_limit_in_its_own_unit() -> None:
    # 50 °F is exactly 10 °C
    assert judged(series(*["10"] * 7, unit="degC")).state is State.WITHIN
    assert judged(series(*["10.001"] * 7, unit="degC")).state is State.OUTSIDE_LIMIT


def test_a_gap_leaves_it_not_shown_unless_it_is_outside_already() -> None:
    gap = series("40", "40", "40", "40", step=120)
    assert judged(gap).state is State.NOT_SHOWN
    # two gaps, and between them 119 and 120 min above 70 °F of which 120 are allowed
    for minutes, state in ((119, State.NOT_SHOWN), (120, State.NOT_SHOWN), (121, State.OUTSIDE_LIMIT)):
        hot = [(minute, "75") for minute in (100, 160, 200, 100 + minutes)]
        made = at_minutes((0, "40"), *hot, (360, "40"))
        assert judged(made).state is state


def test_readings_missing_at_the_beginning_or_the_end_are_not_shown() -> None:
    assert judged(series("40", "40", "40")).sentence.code == "exposure_early_end"
    late = Series.of(
        [(after("2"), Decimal(40)), (after("3"), Decimal(40))], unit="degF", longest_gap=timedelta(hours=1)
    )
    assert judged(late).sentence.code == "exposure_late_start"
    assert judged(None).sentence.code == "exposure_no_reading"


def test_while_the_end_is_to_come_it_is_not_yet_due_but_a_miss_is_a_miss() -> None:
    running = {"milking_ended": START}
    assert judged(series("40", "40"), now="1.5", events=running).state is State.NOT_YET_DUE
    hot = series("75", "75", "75", "75")
    assert judged(hot, now="3", events=running).state is State.OUTSIDE_LIMIT


@pytest.mark.parametrize("late", [1, 30, 59])
def test_the_time_before_the_first_reading_and_after_the_last_counts_too(late: int) -> None:
    # six hours at 60 °F of which five are allowed, whenever in the hour the readings fall
    warm = at_minutes(*((late + 60 * n, "60") for n in range(6)))
    assert (judged(warm).state, judged(warm).margin) == (State.OUTSIDE_LIMIT, -60)


def test_a_reading_outside_the_time_stands_for_its_side_of_the_span_across_the_end() -> None:
    cold = [(30 + 60 * n, "40") for n in range(6)]
    assert judged(at_minutes((-30, "75"), *cold)).margin == 90  # half an hour at the beginning, of 120 min
    assert judged(at_minutes(*cold, (390, "75"))).margin == 90  # half an hour at the end
    assert judged(at_minutes((-30, "75"), *cold, (390, "75"))).margin == 60
    assert judged(at_minutes((-31, "75"), *cold)).margin == 120  # across a gap it stands for nothing


def test_a_short_time_between_two_readings_counts_at_the_warmer() -> None:
    short = {"milking_ended": START, "starter_added": after("0.25")}
    around = at_minutes((-10, "40"), (20, "75"))
    assert judged(around, events=short).margin == 105
    apart = at_minutes((-30, "40"), (40, "75"))
    assert judged(apart, events=short).state is State.NOT_SHOWN


def test_while_the_time_is_open_nothing_is_counted_after_the_last_reading() -> None:
    running = {"milking_ended": START}
    waiting = judged(at_minutes((0, "75"), (60, "75")), now="1.5", events=running)
    assert (waiting.state, waiting.margin) == (State.NOT_YET_DUE, 60)
    silent = judged(at_minutes((0, "75"), (60, "75")), now="2.5", events=running)
    assert silent.sentence.code == "exposure_early_end"


def test_an_end_before_the_start_is_a_contradiction_for_a_person() -> None:
    swapped = {"milking_ended": after("6"), "starter_added": START}
    assert judged(series(*["40"] * 7), events=swapped).sentence.code == "exposure_backwards"


def test_bands_that_are_within_each_but_not_together_are_within_with_a_warning() -> None:
    # 50 to 70 °F 180 of 300 min and above 70 °F 60 of 120 min: 60 % and 50 %
    both = at_minutes(
        *((60 * n, "60") for n in range(4)), (181, "75"), (240, "75"), (241, "40"), (300, "40"), (360, "40")
    )
    judgement = judged(both)
    assert judgement.state is State.WITHIN
    assert [warning.code for warning in judgement.warnings] == ["exposure_together"]
    assert dict(judgement.warnings[0].params)["share"].startswith("110")
    assert judged(series(*["60"] * 4, "40", "40", "40")).warnings == ()


def test_an_edge_that_allows_no_time_at_all_can_be_kept_and_missed() -> None:
    never = {"bands": [{"above": "50", "at_most_minutes": "300"}, {"above": "70", "at_most_minutes": "0"}]}
    assert judged(series(*["60"] * 4, "40", "40", "40"), document=never).state is State.WITHIN
    assert judged(series("71", *["40"] * 6), document=never).state is State.OUTSIDE_LIMIT


def test_a_hand_reading_with_an_instrument_that_is_not_valid_shows_nothing() -> None:
    hourly = [number("temperature", "6", "degC", after(str(hour)), valid=hour != 3) for hour in range(7)]
    assert judged(None, *hourly).state is State.INSTRUMENT_NOT_VALID


@given(
    st.lists(
        st.tuples(st.integers(-120, 480), st.integers(30, 90)),
        min_size=1,
        max_size=40,
        unique_by=lambda p: p[0],
    )
)
def test_a_log_that_is_within_was_warm_for_no_longer_at_any_minute_looked_at(
    pairs: list[tuple[int, int]],
) -> None:
    """Brute force: each minute of the six hours at the warmer of the readings around it."""
    judgement = judged(at_minutes(*((minute, str(value)) for minute, value in pairs)))
    if judgement.state is not State.WITHIN:
        return
    ordered, warm = sorted(pairs), 0
    for minute in range(360):
        around = [v for m, v in ordered if m <= minute][-1:] + [v for m, v in ordered if m > minute][:1]
        warm += max(around) > 50
    assert warm <= 300


def test_without_its_event_nothing_can_be_counted() -> None:
    assert judged(series("40"), events={}).sentence.code == "event_unknown"


def test_a_log_of_an_instrument_that_is_not_valid_shows_nothing() -> None:
    cold = ("40",) * 7
    assert judged(series(*cold, valid=False)).state is State.INSTRUMENT_NOT_VALID
    assert judged(series(*cold)).state is State.WITHIN


def test_hand_readings_often_enough_are_judged_like_a_log() -> None:
    hourly = [number("temperature", "6", "degC", after(str(hour))) for hour in range(7)]
    assert judged(None, *hourly).state is State.WITHIN
    assert judged(None, *hourly[::2]).state is State.NOT_SHOWN


def test_a_reading_in_another_quantity_is_not_comparable() -> None:
    assert judged(None, number("temperature", "6", "pH", after("1"))).sentence.code == "unit_not_comparable"


def test_two_different_readings_of_one_moment_show_nothing() -> None:
    both = [number("temperature", value, "degF", after("1")) for value in ("40", "41")]
    assert judged(None, *both).state is State.NOT_SHOWN


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"food": "curd_in_process"}, "limit_exposure_curd"),
        ({"food": "whey"}, "limit_wrong_value"),
        ({"bands": []}, "limit_wrong_value"),
        ({"bands": [{"above": "50"}]}, "limit_missing_key"),
        ({"bands": list(reversed(MILK["bands"]))}, "limit_exposure_order"),
        ({"longest_gap_minutes": 0}, "limit_wrong_value"),
        ({"speed": "1"}, "limit_unknown_key"),
    ],
)
def test_a_limit_that_cannot_stand_is_refused_by_name(changes: dict[str, Any], code: str) -> None:
    with pytest.raises(LimitError) as caught:
        Exposure.from_document({**MILK, **changes})
    assert caught.value.sentence.code == code


def test_the_document_comes_back_and_says_what_a_chart_draws() -> None:
    limit = Exposure.from_document(MILK)
    assert limit.to_document() == MILK
    assert limit.judging_table(0, {}) == {"judge": "on_receipt"}
    assert [line["value"] for line in limit.chart()["lines"]] == ["50", "70"]
    assert [line.code for line in limit.describe()] == [
        "plan_exposure",
        "plan_exposure",
        "plan_exposure_until",
        "plan_exposure_gap",
    ]
    assert len(Exposure.from_document({**MILK, "until": None}).describe()) == 3
