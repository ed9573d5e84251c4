"""No sale before 60 days at 35 °F: 21 CFR 133.182 and its sisters, with the published rows on ageing."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.series import Series
from safetyplan.words import render
from tests.calculation.published import check_value

RAW: dict[str, Any] = {
    "kind": "not_before",
    "part": "room_temperature",
    "event": "made",
    "days": "60",
    "unit": "degF",
    "at_least": "35",
    "coverage_hours": "36",
}
MADE = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
DAY = timedelta(days=1)
GAP = timedelta(hours=2)


def read(day: float, value: str = "50", unit: str = "degF", *, valid: bool = True) -> Measured:
    """A hand reading so many days after the make."""
    return Measured("room_temperature", Decimal(value), unit, MADE + day * DAY, instrument_valid=valid)


def daily(days: int, value: str = "50", unit: str = "degF") -> list[Measured]:
    """One hand reading a day at the hour of the make."""
    return [read(day, value, unit) for day in range(days)]


def log(days: int, value: str = "50", *, unit: str = "degF", valid: bool = True, **odd: str) -> Series:
    """A log of every hour; `odd` changes readings by their number: h24="34"."""
    changed = {int(name[1:]): text for name, text in odd.items()}
    readings = [
        (MADE + timedelta(hours=n), Decimal(changed.get(n, value)))
        for n in range(days * 24 + 1)
        if changed.get(n) != "none"
    ]
    return Series.of(readings, unit=unit, longest_gap=GAP, valid=valid)


def judged(
    *entries: Measured,
    day: float = 60,
    series: Series | None = None,
    document: dict[str, Any] = RAW,
    zone: str = "UTC",
    **events: float,
) -> Judgement:
    """The judgement so many days after the make; events by their day."""
    happened = {"made": MADE, **{name: MADE + at * DAY for name, at in events.items()}}
    logs = {} if series is None else {"room_temperature": series}
    now = MADE + day * DAY
    return load(document).judge(Evidence(entries, happened, now, series=logs, zone=ZoneInfo(zone)))


def told(judgement: Judgement) -> tuple[str, str, str]:
    words = dict(judgement.sentence.params)
    return words["counted"], words["below"], words["unshown"]


@pytest.mark.parametrize("identity", ["AG-60-1", "AG-60-2", "AG-60-4"])
def test_published_days_and_temperatures_meet_the_rule_or_do_not(identity: str) -> None:
    row = check_value("ageing", identity)
    unit = "degF" if "min_T_F" in row["inputs"] else "degC"
    value = str(row["inputs"].get("min_T_F", row["inputs"].get("min_T_C")))
    days = int(row["inputs"]["days"])
    judgement = judged(*daily(days, value, unit), day=days)
    assert (judgement.state is State.WITHIN) is row["expected"]


def test_the_published_earliest_day_is_the_earliest_instant() -> None:
    row = check_value("ageing", "AG-60-DATE")
    made = datetime.combine(date.fromisoformat(row["inputs"]["made"]), MADE.timetz())
    evidence = Evidence((), {"made": made}, made + DAY)
    earliest = dict(load(RAW).judge(evidence).sentence.params)["earliest_at"]
    assert earliest == f"{row['expected']}T09:00:00.000Z"


def test_exactly_sixty_days_are_enough_and_a_millisecond_less_is_not() -> None:
    enough = judged(*daily(60))
    assert (enough.state, enough.margin, told(enough)) == (State.WITHIN, 0, ("60 d", "0 d", "0 d"))
    early = judged(*daily(60), day=60 - 1 / 86_400_000)
    assert early.state is State.NOT_YET_DUE
    assert told(early)[0] != "60 d"


def test_the_limit_is_compared_in_the_unit_of_its_source() -> None:
    # 35 °F is 1.666... °C: 1.66 °C is below it, 1.67 °C is not
    assert judged(*daily(60, "1.67", "degC")).state is State.WITHIN
    assert judged(*daily(60, "1.66", "degC")).state is State.NOT_YET_DUE
    for value, expected in (("1.67", State.WITHIN), ("1.66", State.NOT_YET_DUE)):
        assert judged(series=log(60, value, unit="degC")).state is expected


def test_time_below_does_not_count_and_moves_the_earliest_day() -> None:
    cold_for_two_days = [*daily(30), read(30, "34.9"), read(31, "34.9"), *(read(d) for d in range(32, 60))]
    judgement = judged(*cold_for_two_days)
    assert (judgement.state, told(judgement)) == (State.NOT_YET_DUE, ("58 d", "2 d", "0 d"))
    assert dict(judgement.sentence.params)["earliest_at"] == "2026-05-02T09:00:00.000Z"
    assert judged(*cold_for_two_days, read(60), read(61), day=62).state is State.WITHIN


def test_a_hand_reading_covers_the_hours_of_the_plan_and_no_more() -> None:
    without_two = [reading for day, reading in enumerate(daily(60)) if day not in (20, 21)]
    judgement = judged(*without_two)  # three days from one reading to the next, of which 36 h are covered
    assert (judgement.state, told(judgement)) == (State.NOT_SHOWN, ("58.5 d", "0 d", "1.5 d"))
    wider = {**RAW, "coverage_hours": "72"}
    assert judged(*without_two, document=wider).state is State.WITHIN


def test_time_before_the_first_reading_is_not_shown() -> None:
    assert told(judged(*daily(60)[2:])) == ("58 d", "0 d", "2 d")


def test_late_readings_can_make_up_for_days_not_shown() -> None:
    without_two = [reading for day, reading in enumerate(daily(62)) if day not in (20, 21)]
    assert judged(*without_two, day=61).state is State.NOT_SHOWN
    assert judged(*without_two, day=61.5).state is State.WITHIN


def test_without_any_reading_the_days_are_not_shown_even_after_years() -> None:
    assert judged(day=59).state is State.NOT_YET_DUE
    assert judged(day=2000).state is State.NOT_SHOWN


def test_of_two_readings_at_one_instant_the_colder_counts() -> None:
    for pair in ((read(59, "50"), read(59, "34")), (read(59, "34"), read(59, "50"))):
        assert told(judged(*daily(59), *pair)) == ("59 d", "1 d", "0 d")


def test_a_log_counts_where_both_ends_are_warm_and_nothing_else() -> None:
    assert judged(series=log(60)).state is State.WITHIN
    dipped = judged(series=log(60, h100="34.9"))  # the hour before it and the hour after it
    assert told(dipped) == ("59.9 d", "0.1 d", "0 d")
    assert dipped.state is State.NOT_YET_DUE


def test_a_gap_in_the_log_is_not_shown() -> None:
    missing = {f"h{hour}": "none" for hour in range(100, 124)}
    broken = judged(series=log(60, **missing))
    assert (broken.state, told(broken)[1:]) == (State.NOT_SHOWN, ("0 d", "1.0 d"))


def test_a_hand_reading_bridges_the_gap_of_a_log_and_a_cold_one_beats_it() -> None:
    missing = {f"h{hour}": "none" for hour in range(100, 124)}
    assert judged(read(99 / 24), series=log(60, **missing)).state is State.WITHIN
    cold = judged(read(10, "30"), read(11, "50"), series=log(60))
    assert (cold.state, told(cold)[1]) == (State.NOT_YET_DUE, "1 d")


def test_an_instrument_that_is_not_valid_shows_nothing() -> None:
    assert judged(series=log(60, valid=False)).state is State.INSTRUMENT_NOT_VALID
    assert judged(*daily(60), read(40.5, "30", valid=False)).state is State.WITHIN
    broken = [*daily(50), *(read(day, valid=False) for day in range(50, 60))]
    assert judged(*broken).state is State.INSTRUMENT_NOT_VALID
    assert judged(*daily(50)).state is State.NOT_SHOWN


def test_a_unit_of_another_quantity_shows_nothing() -> None:
    assert told(judged(*daily(60, "50", "kg"))) == ("0 d", "0 d", "60 d")
    assert judged(series=log(60, unit="kg")).state is State.NOT_SHOWN


@pytest.mark.parametrize("event", ["sold", "dispatched"])
def test_what_left_before_its_day_is_outside_the_limit_and_stays_so(event: str) -> None:
    early = judged(*daily(90), day=90, **{event: 59.5})
    assert (early.state, early.sentence.code) == (State.OUTSIDE_LIMIT, "not_before_left_early")
    assert judged(*daily(90), day=90, **{event: 60}).state is State.WITHIN
    assert judged(*daily(30), day=90, **{event: 60}).state is State.NOT_SHOWN


def test_a_sale_still_to_come_is_no_sale() -> None:
    assert judged(*daily(60), day=50, sold=55).state is State.NOT_YET_DUE


def test_without_the_day_of_make_nothing_is_shown() -> None:
    assert load(RAW).judge(Evidence(tuple(daily(60)), {}, MADE + 60 * DAY)).sentence.code == "event_unknown"


def test_sixty_times_24_hours_do_not_pass_before_the_sixtieth_day_has_come() -> None:
    """In autumn a local day has 25 hours: made at 00:30, 60 x 24 h end at 23:30 of the 59th day."""
    made = datetime(2026, 9, 1, 0, 30, tzinfo=ZoneInfo("Europe/Dublin")).astimezone(UTC)
    readings = tuple(Measured("room_temperature", Decimal(50), "degF", made + n * DAY) for n in range(61))
    dublin = ZoneInfo("Europe/Dublin")
    states = [
        load(RAW).judge(Evidence(readings, {"made": made}, made + 60 * DAY + late, zone=dublin)).state
        for late in (timedelta(0), timedelta(minutes=29), timedelta(minutes=30))
    ]
    assert states == [State.NOT_YET_DUE, State.NOT_YET_DUE, State.WITHIN]


def test_the_plan_says_that_the_days_are_a_legal_minimum_and_no_control() -> None:
    said = [render(sentence) for sentence in load(RAW).describe()]
    assert said[0] == (
        "Limit: not before 60 d at or above 35 °F (room temperature) since made; time below does not count."
    )
    assert "36 h" in said[1]
    assert "legal minimum" in said[2]
    assert "neither Listeria nor Shiga toxin-producing E. coli" in said[2]


def test_every_result_tells_the_days_counted_below_and_not_shown() -> None:
    for judgement in (judged(*daily(60)), judged(*daily(30)), judged(*daily(30), day=40)):
        assert "Counted: " in render(judgement.sentence)
        assert "; below: " in render(judgement.sentence)
        assert "; not shown: " in render(judgement.sentence)


def test_the_document_comes_back_with_the_hours_covered() -> None:
    short = {key: value for key, value in RAW.items() if key != "coverage_hours"}
    assert load(short).to_document() == RAW
    assert load(RAW).parts()[0].unit == "degF"
    assert load(RAW).chart()["to_minutes"] == "86400"


COUNTED = {**RAW, "part": "days_at_temperature", "counted": True}


def counted(days: str, *, day: float = 60, valid: bool = True, mark: str | None = None) -> Judgement:
    """The judgement of a number of days that a person counted, entered so many days after the make."""
    now = MADE + day * DAY
    entry = Measured("days_at_temperature", Decimal(days), "d", now, instrument_valid=valid, text=mark)
    return load(COUNTED).judge(Evidence((entry,), {"made": MADE}, now))


def test_days_that_were_counted_are_compared_with_the_days_asked_for() -> None:
    enough = counted("60")
    assert (enough.state, enough.margin, told(enough)) == (State.WITHIN, 0, ("60 d", "0 d", "0 d"))
    fewer = counted("59", day=61)
    assert (fewer.state, told(fewer)) == (State.NOT_SHOWN, ("59 d", "0 d", "2 d"))
    assert counted("60", day=61, mark="<").state is State.NOT_SHOWN
    assert counted("60", valid=False).state is State.INSTRUMENT_NOT_VALID


def test_a_count_shows_nothing_before_its_day() -> None:
    assert counted("59", day=59).state is State.NOT_YET_DUE
    assert counted("60", day=59.9).state is State.NOT_YET_DUE


def test_of_several_counts_the_lowest_stands_and_none_shows_nothing() -> None:
    now = MADE + 60 * DAY
    entries = [Measured("days_at_temperature", Decimal(days), "d", now) for days in ("60", "58", "60")]
    assert load(COUNTED).judge(Evidence(tuple(entries), {"made": MADE}, now)).state is State.NOT_SHOWN
    assert load(COUNTED).judge(Evidence((), {"made": MADE}, now)).state is State.NOT_SHOWN


def test_more_days_than_have_passed_must_be_counted_again() -> None:
    now = MADE + 60 * DAY
    typed = {
        days: load(COUNTED).refusals(
            Evidence((Measured("days_at_temperature", Decimal(days), "d", now),), {"made": MADE}, now)
        )
        for days in ("60", "60.1")
    }
    assert typed["60"] == ()
    assert [sentence.code for sentence in typed["60.1"]] == ["not_before_more_than_passed"]


def test_a_counted_limit_asks_for_days_and_says_how_they_are_counted() -> None:
    limit = load(COUNTED)
    (asked,) = limit.parts()
    assert (asked.entry, asked.quantity, asked.unit) == ("number", "duration", "d")
    assert limit.to_document() == COUNTED
    assert "counted from the records of the room" in " ".join(render(s) for s in limit.describe())


@pytest.mark.parametrize(
    "changes",
    [
        {"days": "0"},
        {"counted": "yes"},
        {"days": "60.5"},
        {"days": 60},
        {"unit": "d"},
        {"at_least": "-500"},
        {"at_least": None},
        {"coverage_hours": "0"},
        {"coverage_hours": "169"},
        {"event": None},
        {"sold": "x"},
    ],
)
def test_days_that_cannot_stand_are_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(LimitError):
        load({**RAW, **changes})


FIVE = {**RAW, "days": "5"}
READINGS = st.lists(
    st.tuples(st.integers(0, 240), st.sampled_from(["34", "35", "36"]), st.booleans()), max_size=30
)


@given(found=READINGS, hour=st.integers(0, 240), shuffle=st.randoms(use_true_random=False))
def test_the_three_sums_are_the_time_elapsed_in_whatever_order_readings_come(
    found: list[tuple[int, str, bool]], hour: int, shuffle: Any
) -> None:
    entries = [read(at / 24, value, valid=valid) for at, value, valid in found]
    judgement = judged(*entries, day=hour / 24, document=FIVE)
    shuffle.shuffle(entries)
    assert judged(*entries, day=hour / 24, document=FIVE) == judgement
    days = [Decimal(text.removesuffix(" d")) for text in told(judgement)]
    assert abs(sum(days) - Decimal(hour) / 24) < Decimal("0.16")  # each of the three is shown to a tenth
    assert judgement.state is not State.WITHIN or hour >= 120
