"""Limits of which one is enough: raw milk used within 2 h of milking, or at most 6 °C.

Source of the shape: Regulation (EC) 853/2004 annex III section IX chapter I part II.B, from memory.
"""

from datetime import timedelta
from typing import Any

import pytest

from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError, events_of, nested
from safetyplan.words import render
from tests.calculation.evidence import START, after, chosen, evidence, number, ph, time
from tests.calculation.test_attribute import TEST
from tests.calculation.test_reached_by import one_point

COLD: dict[str, Any] = {
    "kind": "bound",
    "part": "temperature",
    "quantity": "temperature",
    "unit": "degC",
    "at_least": None,
    "at_most": "6",
    "target_at_least": None,
    "target_at_most": "4",
    "tolerance": "0.5",
}
YOUNG: dict[str, Any] = {"kind": "not_after", "part": "milked", "hours": "2"}
FRESH: dict[str, Any] = {"kind": "any_of", "members": [YOUNG, COLD]}
EITHER: dict[str, Any] = {"kind": "any_of", "members": [COLD, TEST]}


def used(*measured: Measured) -> Judgement:
    return load(FRESH).judge(Evidence(measured, {}, START))


def milked(minutes_ago: int) -> Measured:
    return time("milked", START - timedelta(minutes=minutes_ago))


@pytest.mark.parametrize(
    ("minutes_ago", "temperature", "expected"),
    [
        (120, "30", State.WITHIN),
        (121, "4", State.WITHIN),
        (121, "6", State.OUTSIDE_TARGET),
        (121, "6.1", State.OUTSIDE_LIMIT),
        (30, "3", State.WITHIN),
    ],
)
def test_the_mildest_member_decides(minutes_ago: int, temperature: str, expected: State) -> None:
    assert used(milked(minutes_ago), number("temperature", temperature, "degC")).state is expected


def test_one_entry_is_enough_when_it_is_within() -> None:
    assert used(milked(60)).state is State.WITHIN
    assert used(number("temperature", "4", "degC")).state is State.WITHIN


def test_what_was_not_entered_might_have_been_within() -> None:
    judgement = used(number("temperature", "9", "degC"))
    assert judgement.state is State.NOT_SHOWN
    assert [warning.code for warning in judgement.warnings] == ["above_limit"]


def test_with_nothing_entered_nothing_is_shown() -> None:
    assert used().state is State.NOT_SHOWN
    assert [part.required for part in load(FRESH).parts()] == [False, False]


def test_when_all_miss_every_miss_is_said() -> None:
    judgement = used(milked(180), number("temperature", "9", "degC"))
    said = [sentence.code for sentence in (judgement.sentence, *judgement.warnings)]
    assert said == ["too_old", "above_limit"]


def test_when_one_is_enough_the_miss_of_another_is_not_said() -> None:
    judgement = used(milked(60), number("temperature", "30", "degC"))
    assert (judgement.sentence.code, judgement.warnings) == ("not_too_old", ())


def test_a_contradiction_in_one_member_is_said_even_when_another_is_enough() -> None:
    limit = load({"kind": "any_of", "members": [one_point("24", "4.60", minutes=120), TEST]})
    again = [ph("4.55", "22.5"), ph("4.70", "23.5"), chosen("result", "negative")]
    judgement = limit.judge(evidence(*again))
    assert judgement.state is State.WITHIN
    assert "reached_then_left" in [warning.code for warning in judgement.warnings]


def test_while_one_member_may_still_come_the_check_is_not_yet_due() -> None:
    limit = load({"kind": "any_of", "members": [one_point("24", "4.60", minutes=120), TEST]})
    assert limit.judge(evidence(now=after("20"))).state is State.NOT_YET_DUE
    assert limit.judge(evidence(now=after("24", seconds=1))).state is State.NOT_SHOWN


def test_a_refusal_of_a_member_is_a_refusal_of_the_whole() -> None:
    tomorrow = Evidence((milked(-1),), {}, START)
    assert [sentence.code for sentence in load(FRESH).refusals(tomorrow)] == ["made_after_check"]
    assert load(FRESH).refusals(Evidence((milked(1),), {}, START)) == ()


def test_the_words_are_those_of_the_members_with_or_between() -> None:
    said = [render(sentence) for sentence in load(FRESH).describe()]
    assert said[:4] == [
        "One of these is enough:",
        "Limit: from milked to this check at most 2 h.",
        "or",
        "Limit: temperature at most 6 °C.",
    ]


def test_the_document_the_table_and_the_chart_are_those_of_the_members() -> None:
    limit = load(FRESH)
    assert limit.to_document() == FRESH
    assert limit.judging_table(0, {})["judge"] == "any_of"
    assert [table["judge"] for table in limit.judging_table(0, {})["members"]] == ["on_receipt", "bound"]
    assert len(limit.chart()["members"]) == 2
    assert limit.points() == 1


def test_the_limits_and_events_inside_are_found() -> None:
    limit = load({"kind": "all_of", "members": [FRESH, one_point("24", "4.60", minutes=120)]})
    assert [one.kind for one in nested(limit)] == ["all_of", "any_of", "not_after", "bound", "reached_by"]
    assert events_of(limit) == ("starter_added",)


@pytest.mark.parametrize(
    ("document", "code"),
    [
        ({"kind": "any_of", "members": [COLD, COLD]}, "limit_same_part"),
        ({"kind": "any_of", "members": []}, "limit_wrong_value"),
        ({"kind": "any_of"}, "limit_missing_key"),
        ({"kind": "any_of", "members": [COLD], "part": "milk"}, "limit_unknown_key"),
    ],
)
def test_what_cannot_stand_is_refused_by_name(document: dict[str, Any], code: str) -> None:
    with pytest.raises(LimitError) as caught:
        load(document)
    assert caught.value.sentence.code == code
