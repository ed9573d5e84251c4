"""A value reached within hours of an event: only a measurement in its window, in time, shows it."""

from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation.judgement import Judgement, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.limits.table import judge_by_table
from safetyplan.calculation.times import instant_text
from tests.calculation.evidence import EVENTS, after, evidence, ph
from tests.calculation.published import check_value

LACTIC = {
    "kind": "reached_by",
    "part": "ph",
    "quantity": "ph",
    "unit": "pH",
    "direction": "at_most",
    "event": "starter_added",
    "tolerance": "0.02",
    "points": [
        {"hours": "16", "limit": None, "target": "4.90", "window_before_minutes": 60},
        {"hours": "24", "limit": "4.60", "target": "4.50", "window_before_minutes": 120},
    ],
}
AT_16, AT_24 = 0, 1


def one_point(hours: str, limit: str, *, minutes: int, target: str | None = None) -> dict[str, Any]:
    point = {"hours": hours, "limit": limit, "target": target, "window_before_minutes": minutes}
    return {**LACTIC, "points": [point]}


def judged(*measured: Measured, ordinal: int = AT_24, now: str = "48") -> Judgement:
    return load(LACTIC).judge(evidence(*measured, now=after(now), ordinal=ordinal))


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("4.50", State.WITHIN),
        ("4.51", State.OUTSIDE_TARGET),
        ("4.60", State.OUTSIDE_TARGET),
        ("4.61", State.OUTSIDE_LIMIT),
    ],
)
def test_a_value_in_the_window_is_judged_and_exactly_on_the_limit_passes(value: str, expected: State) -> None:
    assert judged(ph(value, "23")).state is expected


def test_exactly_at_the_deadline_counts_and_a_second_later_does_not() -> None:
    assert judged(ph("4.45", "24")).state is State.WITHIN
    assert judged(ph("4.45", "24", seconds=1)).state is State.NOT_SHOWN


def test_exactly_at_the_opening_counts_and_a_second_earlier_does_not() -> None:
    assert judged(ph("4.45", "22")).state is State.WITHIN
    assert judged(ph("4.45", "22", seconds=-1)).state is State.NOT_SHOWN


def test_before_the_deadline_a_missing_or_early_reading_is_not_yet_due() -> None:
    assert judged(now="23").state is State.NOT_YET_DUE
    assert judged(ph("4.45", "20"), now="23").state is State.NOT_YET_DUE
    assert judged(now="24").state is State.NOT_YET_DUE


def test_once_the_deadline_has_passed_a_missing_or_early_reading_is_not_shown() -> None:
    assert judged(now="24.001").state is State.NOT_SHOWN
    assert judged(ph("4.45", "20"), now="25").state is State.NOT_SHOWN


def test_a_late_value_above_the_limit_is_outside_it_and_a_late_pass_heals_nothing() -> None:
    assert judged(ph("4.71", "26")).state is State.OUTSIDE_LIMIT
    assert judged(ph("4.40", "26")).state is State.NOT_SHOWN
    assert judged(ph("4.40", "26")).sentence.code == "passed_too_late"


def test_a_miss_in_the_window_is_not_healed_by_a_later_pass() -> None:
    assert judged(ph("4.71", "23"), ph("4.40", "26")).state is State.OUTSIDE_LIMIT
    assert judged(ph("4.71", "22.5"), ph("4.40", "23.5")).state is State.OUTSIDE_LIMIT


def test_a_pass_at_24_hours_does_not_heal_the_point_at_16_hours() -> None:
    readings = (ph("5.30", "15.5"), ph("4.45", "23.5"))
    assert judged(*readings, ordinal=AT_16).state is State.OUTSIDE_TARGET
    assert judged(*readings, ordinal=AT_24).state is State.WITHIN


def test_a_point_with_only_a_target_is_never_outside_a_limit() -> None:
    assert judged(ph("4.90", "15.5"), ordinal=AT_16).state is State.WITHIN
    assert judged(ph("6.50", "15.5"), ordinal=AT_16).state is State.OUTSIDE_TARGET
    assert judged(ph("6.50", "17"), ordinal=AT_16).state is State.NOT_SHOWN
    assert judged(ph("4.80", "17"), ordinal=AT_16).state is State.NOT_SHOWN


def test_without_the_event_nothing_is_shown_and_nothing_is_judged_on_the_device() -> None:
    limit = load(LACTIC)
    reading = ph("4.45", "23")
    assert limit.judge(evidence(reading, events={}, ordinal=AT_24)).state is State.NOT_SHOWN
    assert limit.judge(evidence(reading, events=EVENTS, ordinal=AT_24)).state is State.WITHIN
    assert limit.judging_table(AT_24, {}) == {"judge": "on_receipt"}


def test_a_value_measured_before_the_event_is_no_evidence() -> None:
    six_hours = one_point("6", "5.80", minutes=360)
    limit = load(six_hours)
    assert limit.judge(evidence(ph("5.0", "-1"))).state is State.NOT_SHOWN
    assert limit.judge(evidence(ph("5.0", "1"))).state is State.WITHIN


def test_an_instrument_that_is_not_valid_shows_nothing() -> None:
    assert judged(ph("4.45", "23", valid=False)).state is State.INSTRUMENT_NOT_VALID
    assert judged(ph("4.45", "23", valid=True)).state is State.WITHIN


def test_reached_and_then_higher_again_is_a_contradiction_that_stays_visible() -> None:
    judgement = judged(ph("4.45", "23"), ph("4.75", "30"))
    assert judgement.state is State.OUTSIDE_TARGET
    assert judgement.sentence.code == "reached_then_left"
    assert [warning.code for warning in judgement.warnings] == ["within_at_most_at"]
    assert judged(ph("4.45", "23"), ph("4.40", "30")).state is State.WITHIN


def test_a_contradiction_beside_a_missed_target_is_a_warning() -> None:
    judgement = judged(ph("4.55", "23"), ph("4.75", "30"))
    assert judgement.state is State.OUTSIDE_TARGET
    assert judgement.sentence.code == "above_target_at"
    assert [warning.code for warning in judgement.warnings] == ["reached_then_left"]


def test_a_value_measured_before_the_event_contradicts_nothing() -> None:
    assert judged(ph("4.00", "-1"), ph("4.71", "23")).warnings == ()
    assert judged(ph("4.00", "1"), ph("4.71", "23")).warnings != ()


def test_a_later_reading_never_turns_a_gap_into_something_milder() -> None:
    assert judged(ph("5.20", "23"), ordinal=AT_16).state is State.NOT_SHOWN
    assert judged(ph("4.45", "25", valid=False)).state is State.NOT_SHOWN


def test_a_contradiction_never_makes_a_worse_state_milder() -> None:
    judgement = judged(ph("4.45", "22.5"), ph("4.75", "23.5"))
    assert judgement.state is State.OUTSIDE_LIMIT
    assert [warning.code for warning in judgement.warnings] == ["reached_then_left"]


def test_the_sentence_and_margin_name_what_was_compared() -> None:
    judgement = judged(ph("4.71", "24"))
    assert dict(judgement.sentence.params) == {
        "part": "ph",
        "value": "pH 4.71",
        "limit": "4.60",
        "by": "0.11",
        "hours": "24 h",
        "event": "starter_added",
    }
    assert (judgement.margin, judgement.margin_unit) == (Decimal("-0.11"), "pH")


def test_a_rising_acidity_is_judged_at_least_in_any_scale_of_acidity() -> None:
    # at moulding after 24 h at least 50 °D: farm goat lactic cheese, as cited in the fixture
    low, _ = check_value("acidification", "AC-LAC-D24")["expected"]
    document = {
        **one_point("24", str(low), minutes=120),
        "part": "acidity",
        "quantity": "acidity",
        "unit": "dornic",
        "direction": "at_least",
    }
    limit = load(document)

    def at_23(value: str, unit: str) -> State:
        return limit.judge(evidence(Measured("acidity", Decimal(value), unit, after("23")))).state

    assert at_23("50", "dornic") is State.WITHIN
    assert at_23("49.9", "dornic") is State.OUTSIDE_LIMIT
    # 1 °SH = 2.25 °D: 22.3 °SH is 50.175 °D, 22.2 °SH is 49.95 °D
    assert at_23("22.3", "soxhlet_henkel") is State.WITHIN
    assert at_23("22.2", "soxhlet_henkel") is State.OUTSIDE_LIMIT


# Published make records: a crossing that can be computed between two readings is not a measurement in time.
CROSSINGS = [
    ("AC-T-5.3", "t_h", 60),
    ("AC-T-NOISE", "t_h", 60),
    ("AC-CHED-HI58", "t_min", 1),
    ("AC-CHED-LO53", "t_min", 1),
]


def published_make(identity: str, times: str, minutes: int) -> tuple[list[Measured], str, Decimal, Decimal]:
    """Readings, target, interpolated crossing and the reading before it, times in hours."""
    row = check_value("acidification", identity)
    hours = [Decimal(time) * minutes / 60 for time in row["inputs"][times]]
    values = row["inputs"]["pH"]
    readings = [ph(str(value), hour) for value, hour in zip(values, hours, strict=True)]
    crossing = row["expected"] * minutes / 60
    before = max(hour for hour in hours if hour < crossing)
    return readings, str(row["inputs"]["target_pH"]), crossing, before


@pytest.mark.parametrize(("identity", "times", "minutes"), CROSSINGS)
def test_a_crossing_interpolated_before_the_deadline_but_measured_after_it_does_not_pass(
    identity: str, times: str, minutes: int
) -> None:
    readings, target, crossing, before = published_make(identity, times, minutes)
    deadline = crossing + Decimal("0.02")
    window = int((deadline - before) * 60) - 1
    limit = load(one_point(f"{deadline:.4f}", target, minutes=max(window, 1)))
    measured_later = [reading for reading in readings if reading.at and reading.at > after(deadline)]
    assert measured_later
    assert limit.judge(evidence(*readings)).state is not State.WITHIN
    measured_in_time = ph(target, crossing)
    assert limit.judge(evidence(measured_in_time)).state is State.WITHIN


def test_a_make_that_never_reaches_the_limit_is_outside_it_and_nothing_is_extrapolated() -> None:
    row = check_value("acidification", "AC-NOTREACHED")
    readings = [ph(str(v), str(t)) for t, v in zip(row["inputs"]["t_h"], row["inputs"]["pH"], strict=True)]
    limit = load(one_point("8", str(row["inputs"]["target_pH"]), minutes=60))
    assert limit.judge(evidence(*readings)).state is State.OUTSIDE_LIMIT
    still_falling = load(one_point("12", str(row["inputs"]["target_pH"]), minutes=60))
    assert still_falling.judge(evidence(*readings, now=after("9"))).state is State.NOT_YET_DUE
    assert still_falling.judge(evidence(*readings, now=after("13"))).state is State.NOT_SHOWN


def test_the_noisy_make_passes_at_its_first_crossing_with_the_later_rise_as_a_contradiction() -> None:
    row = check_value("acidification", "AC-T-NOISE")
    readings = [ph(str(v), str(t)) for t, v in zip(row["inputs"]["t_h"], row["inputs"]["pH"], strict=True)]
    limit = load(one_point("3", str(row["inputs"]["target_pH"]), minutes=30))
    judgement = limit.judge(evidence(*readings))
    assert judgement.state is State.OUTSIDE_TARGET
    assert dict(judgement.sentence.params)["first"] == "pH 5.28"
    assert dict(judgement.sentence.params)["second"] == "pH 5.33"


def test_the_published_limit_at_6_hours_of_an_uncooked_cheese_is_kept_at_5_8_and_missed_above() -> None:
    row = check_value("acidification", "AC-SA-STN")
    limit = load(one_point(str(row["inputs"]["hour"]), str(row["expected"]), minutes=60))
    assert limit.judge(evidence(ph("5.8", "6"))).state is State.WITHIN
    assert limit.judge(evidence(ph("5.85", "6"))).state is State.OUTSIDE_LIMIT


def test_the_published_target_of_lactic_cheese_is_a_target_inside_the_limit() -> None:
    row = check_value("acidification", "AC-LAC-24")
    hours, target = str(row["inputs"]["hours_after_renneting"]), str(row["expected"])
    limit = load(one_point(hours, "4.60", target=target, minutes=120))
    assert limit.judge(evidence(ph("4.40", "24"))).state is State.WITHIN
    assert limit.judge(evidence(ph("4.45", "24"))).state is State.OUTSIDE_TARGET


@pytest.mark.parametrize(
    ("point", "code"),
    [
        ({"limit": "4.51"}, "limit_target_not_inside"),
        ({"limit": None, "target": None}, "limit_without_bound"),
        ({"hours": "0"}, "limit_window"),
        ({"window_before_minutes": 1441}, "limit_window"),
        ({"window_before_minutes": 0}, "limit_wrong_value"),
        ({"window_before_minutes": "60"}, "limit_wrong_value"),
        ({"window_before_minutes": True}, "limit_wrong_value"),
        ({"hours": "16"}, "limit_points_order"),
        ({"grace": "1"}, "limit_unknown_key"),
    ],
)
def test_a_point_that_cannot_stand_is_refused_by_name(point: dict[str, Any], code: str) -> None:
    points = LACTIC["points"]
    assert isinstance(points, list)
    with pytest.raises(LimitError) as caught:
        load({**LACTIC, "points": [points[0], {**points[1], **point}]})
    assert caught.value.sentence.code == code


def test_the_document_comes_back_and_each_point_is_described_with_its_window() -> None:
    limit = load(LACTIC)
    assert limit.to_document() == LACTIC
    assert limit.points() == 2
    assert [sentence.code for sentence in limit.describe()] == [
        "plan_reached_target_at_most",
        "plan_window",
        "plan_reached_at_most",
        "plan_reached_target_at_most",
        "plan_window",
        "plan_tolerance",
    ]


def test_the_table_of_a_point_judges_one_reading_as_the_limit_does() -> None:
    limit = load(LACTIC)
    table = limit.judging_table(AT_24, EVENTS)
    assert (table["opens_at"], table["deadline"]) == (instant_text(after("22")), instant_text(after("24")))
    for hours in ("20", "22", "23.5", "24", "24.5", "30"):
        for value in ("4.40", "4.50", "4.55", "4.60", "4.65"):
            full = limit.judge(evidence(ph(value, hours), now=after(hours), ordinal=AT_24)).state
            parts = [{"name": "ph", "raw": value, "unit": "pH"}]
            assert judge_by_table(table, parts, after(hours)) == full
