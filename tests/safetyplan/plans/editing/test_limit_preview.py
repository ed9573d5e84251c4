"""What the limit editor shows of a limit is what the limit itself says of that evidence.

The expected states on a limit and beyond it follow from what each kind means (the calculation's own table of
cases); that a raw-milk cheese at 35 °F counts from the sixtieth day on is 21 CFR 133.182, read.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from safetyplan.calculation.judgement import State
from safetyplan.calculation.limits.catalogue import KINDS, load
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.editing.limit_preview import (
    TRY,
    Case,
    cases_of,
    examples_of,
    judged,
    moment_of,
    read_given,
    tried,
    tries_of,
)
from tests.calculation.kind_cases import ACID, BOTH, LAST, MILK, PLATE, STAPH, documents
from tests.calculation.test_any_of import FRESH
from tests.calculation.test_attribute import TEST
from tests.calculation.test_difference import NEEDLES
from tests.calculation.test_exposure_limit import MILK as WARM_MILK
from tests.calculation.test_held_for import VAT
from tests.calculation.test_in_order import WASHING
from tests.calculation.test_not_after import CULTURE, FROM_EVENT, WASH
from tests.calculation.test_not_before import RAW

Document = Mapping[str, Any]
DOCUMENTS = documents()
DUBLIN = ZoneInfo("Europe/Dublin")
AT = moment_of(datetime(2026, 5, 14, 9, 0, tzinfo=UTC), DUBLIN)
TOXIN = {**STAPH, "quantity": "presence", "unit": None, "m": None, "M": None, "c": 0, "grams": "25"}
PASSED = {State.WITHIN, State.OUTSIDE_TARGET, State.NOT_YET_DUE}


def named(document: Document) -> str:
    return f"{document['kind']} {DOCUMENTS.index(document)}"


def cases(document: Document) -> list[Case]:
    return cases_of(load(document), AT)


def role(document: Document, words: str) -> list[State]:
    """Give the results of the cases of one role."""
    return [case.judgement.state for case in cases(document) if words in case.example.role]


def yours(document: Document, **typed: str) -> Case | None:
    """Judge what a person typed."""
    limit = load(document)
    given, refusals = read_given(tries_of(limit), {TRY + name: text for name, text in typed.items()})
    assert refusals == []
    example = tried(limit, given, AT)
    return judged(limit, example, AT) if example else None


def state(document: Document, **typed: str) -> State | None:
    found = yours(document, **typed)
    return found.judgement.state if found else None


def test_the_check_is_at_noon_of_the_dairy_whatever_the_hour() -> None:
    assert AT.now == datetime(2026, 5, 14, 11, 0, tzinfo=UTC)
    assert moment_of(datetime(2026, 5, 14, 23, 30, tzinfo=UTC), DUBLIN).now.day == 15


def test_every_kind_of_limit_has_worked_cases() -> None:
    assert {document["kind"] for document in DOCUMENTS if cases(document)} == KINDS


@pytest.mark.parametrize("document", DOCUMENTS, ids=named)
def test_every_case_shows_what_the_limit_itself_says(document: Document) -> None:
    limit = load(document)

    for case in cases_of(limit, AT):
        assert case.judgement == limit.judge(case.example.evidence(AT))
        assert all(case.sentences)
        assert case.example.words
        assert case.refused == ()


ONE_BOUND = [d for d in DOCUMENTS if d["kind"] not in ("attribute", "in_order", "any_of", "not_before")]


@pytest.mark.parametrize("document", ONE_BOUND, ids=named)
def test_on_a_limit_passes_beyond_it_does_not_and_nothing_entered_never_does(document: Document) -> None:
    assert set(role(document, "On the limit")) <= PASSED
    assert set(role(document, "Just beyond the limit")) <= {State.OUTSIDE_LIMIT}
    assert set(role(document, "Nothing entered")) <= {State.NOT_SHOWN}
    assert role(document, "On the limit")


def test_days_that_a_person_counts_are_shown_by_their_number() -> None:
    counted = {**RAW, "part": "days_at_temperature", "counted": True}

    assert role(counted, "On the limit") == [State.WITHIN]
    assert role(counted, "Too early") == [State.NOT_YET_DUE]
    assert role(counted, "Just beyond the limit") == [State.NOT_SHOWN]
    assert role(counted, "Nothing entered") == [State.NOT_SHOWN]


def test_a_target_is_told_apart_from_its_limit() -> None:
    cold = {**MILK, "target_at_most": "4", "tolerance": "0.5"}

    assert role(cold, "On the limit") == [State.OUTSIDE_TARGET]
    assert role(cold, "On the target") == [State.WITHIN]
    assert role(cold, "Just beyond the target") == [State.OUTSIDE_TARGET]


def test_a_step_beyond_is_as_small_as_the_figure_is_fine() -> None:
    words = [case.example.words for case in cases({**MILK, "at_most": "7.05"})]

    assert words[:2] == ["Temperature 7.05 °C", "Temperature 7.06 °C"]


def test_a_value_that_cannot_be_measured_is_no_case() -> None:
    acid = {**MILK, "part": "ph", "quantity": "ph", "unit": "pH", "at_most": "14"}

    assert [case.example.role for case in cases(acid)] == ["On the limit", "Nothing entered"]


def test_a_good_value_one_minute_late_is_not_shown() -> None:
    assert role(ACID, "Too late") == [State.NOT_SHOWN]


def test_every_word_of_a_choice_is_shown_with_its_result() -> None:
    assert [case.judgement.state for case in cases(TEST)][:3] == [
        State.WITHIN,
        State.OUTSIDE_LIMIT,
        State.OUTSIDE_LIMIT,
    ]


def test_a_hold_is_missed_by_time_temperature_agitator_recorder_and_chart_each_alone() -> None:
    missed = {case.example.role for case in cases(VAT) if case.judgement.state is State.OUTSIDE_LIMIT}

    assert missed == {
        "Just beyond the limit",
        "Recorder above the indicating thermometer",
        "Agitator stopped",
        "A dip",
    }
    assert role(VAT, "No chart number") == [State.NOT_SHOWN]


def test_days_count_only_where_they_are_warm_enough_and_shown() -> None:
    assert role(RAW, "On the limit") == [State.WITHIN]
    assert role(RAW, "Too early") == [State.NOT_YET_DUE]
    assert role(RAW, "Just beyond the limit") == [State.NOT_YET_DUE]
    assert role(RAW, "A reading missing") == [State.NOT_SHOWN]


def test_samples_and_results_are_counted_to_the_edge() -> None:
    assert role(STAPH, "As many as may be") == [State.OUTSIDE_TARGET]
    assert role(STAPH, "One too many") == [State.OUTSIDE_LIMIT]
    assert role(STAPH, "One above M") == [State.OUTSIDE_LIMIT]
    assert role(TOXIN, "One too many") == [State.OUTSIDE_LIMIT]
    assert role({**LAST, "most": 1}, "As many as may be") == [State.OUTSIDE_TARGET]
    assert role({**LAST, "most": 1}, "One too many") == [State.OUTSIDE_LIMIT]
    assert role(PLATE, "One sample too few") == [State.NOT_SHOWN]


def test_lots_out_of_order_are_shown_out_of_order() -> None:
    found = [case.judgement.state for case in cases(WASHING)]

    assert found == [State.WITHIN, State.OUTSIDE_LIMIT, State.NOT_SHOWN, State.NOT_SHOWN]


def test_a_part_of_several_limits_is_looked_at_while_the_others_are_kept() -> None:
    assert role(BOTH, "Temperature: Just beyond the limit") == [State.OUTSIDE_LIMIT]
    assert role(BOTH, "Result: positive") == [State.OUTSIDE_LIMIT]
    assert role(BOTH, "Result: Nothing entered") == [State.NOT_SHOWN]


def test_where_one_is_enough_the_others_are_missed_meanwhile() -> None:
    assert role(FRESH, "Milked: On the limit") == [State.WITHIN]
    assert role(FRESH, "Milked: Just beyond the limit") == [State.OUTSIDE_LIMIT]
    assert role(FRESH, "Temperature: On the limit") == [State.OUTSIDE_TARGET]


def test_two_limits_that_count_from_one_event_at_two_times_are_not_mixed() -> None:
    both = {"kind": "all_of", "members": [ACID, {**FROM_EVENT, "hours": "6"}]}

    first = cases(both)[0]

    assert "nothing entered for Drained" in first.example.words
    assert [measured.name for measured in first.example.measured] == ["ph"]


def test_a_case_too_long_to_work_is_left_out_and_refused_when_it_is_typed() -> None:
    long = {**RAW, "days": "3650", "coverage_hours": "0.5"}
    limit = load(long)
    given, _refusals = read_given(tries_of(limit), {"try-days": "3650", "try-room_temperature": "50"})

    assert cases(long) == []
    with pytest.raises(BadInput, match="at most 100000"):
        tried(limit, given, AT)


# what a person types

TYPED: tuple[tuple[Document, dict[str, str], State | None], ...] = (
    (ACID, {"ph": "5.5", "since-starter_added": "24"}, State.OUTSIDE_LIMIT),
    (ACID, {"ph": "4,60", "since-starter_added": "24 h"}, State.WITHIN),
    (ACID, {"ph": "4.60", "since-starter_added": "1440 min"}, State.WITHIN),
    (ACID, {"ph": "4.5", "since-starter_added": "10"}, State.NOT_YET_DUE),
    (ACID, {"ph": "4.5", "since-starter_added": "25"}, State.NOT_SHOWN),
    (ACID, {"ph": "4.5"}, None),
    (ACID, {}, None),
    (MILK, {"temperature": "7"}, State.WITHIN),
    (MILK, {"temperature": "45 °F"}, State.OUTSIDE_LIMIT),
    (MILK, {"temperature": "44.6F"}, State.WITHIN),
    (TEST, {"result": "positive"}, State.OUTSIDE_LIMIT),
    (NEEDLES, {"needles_out": "11", "needles_in": "12"}, State.OUTSIDE_LIMIT),
    (NEEDLES, {"needles_out": "12"}, State.NOT_SHOWN),
    (VAT, {"held": "30", "product": "64", "air_space": "66"}, State.WITHIN),
    (VAT, {"held": "30", "product": "64"}, State.NOT_SHOWN),
    (VAT, {"held": "0.4 h", "product": "64", "air_space": "66"}, State.OUTSIDE_LIMIT),
    (RAW, {"days": "60", "room_temperature": "1.67 °C"}, State.WITHIN),
    (RAW, {"days": "60", "room_temperature": "1.66 °C"}, State.NOT_YET_DUE),
    (WASH, {"wash_prepared": "24"}, State.WITHIN),
    (WASH, {"wash_prepared": "24.01"}, State.OUTSIDE_LIMIT),
    (FROM_EVENT, {"drained": "24"}, State.WITHIN),
    (CULTURE, {"use_by": "yesterday"}, State.OUTSIDE_LIMIT),
    (CULTURE, {"use_by": "today"}, State.WITHIN),
    (WARM_MILK, {"temperature": "60", "time": "5 h"}, State.WITHIN),
    (WARM_MILK, {"temperature": "60", "time": "301"}, State.OUTSIDE_LIMIT),
    (STAPH, {"sample": "100\n101\n<10\n100\n100"}, State.OUTSIDE_TARGET),
    (STAPH, {"sample": "100"}, State.NOT_SHOWN),
    (TOXIN, {"sample": "not detected\nnot detected\ndetected"}, State.OUTSIDE_LIMIT),
    (PLATE, {"plate_count": "100000\n100000\n100000\n100000"}, State.WITHIN),
    (PLATE, {"plate_count": "100000\n100000\n100000\n200000"}, State.OUTSIDE_LIMIT),
    (WASHING, {"washed_lots": "LOT-3, LOT-1"}, State.WITHIN),
    (WASHING, {"washed_lots": "LOT-1, LOT-3"}, State.OUTSIDE_LIMIT),
    (LAST, {"temperature": "35\n34\n35"}, State.OUTSIDE_LIMIT),
    (BOTH, {"temperature": "36", "result": "negative"}, State.WITHIN),
    (BOTH, {"temperature": "36"}, State.NOT_SHOWN),
    (FRESH, {"milked": "1"}, State.WITHIN),
)


@pytest.mark.parametrize(
    ("document", "typed", "expected"), TYPED, ids=[f"{t[0]['kind']} {t[1]}" for t in TYPED]
)
def test_what_a_person_types_is_judged_by_the_limit(
    document: Document, typed: dict[str, str], expected: State | None
) -> None:
    assert state(document, **typed) is expected


def test_a_reading_of_5_5_at_24_hours_is_said_in_one_sentence() -> None:
    found = yours(ACID, **{"ph": "5.5", "since-starter_added": "24"})

    assert found is not None
    assert found.example.words == "pH 5.5 at 24 h after starter added"
    assert found.sentences == ["pH 5.5 is above the limit 4.60 at 24 h after starter added, by 0.90."]


@pytest.mark.parametrize(
    ("document", "name", "text"),
    [
        (MILK, "temperature", "warm"),
        (MILK, "temperature", "-300"),
        (MILK, "temperature", "4 kg"),
        (MILK, "temperature", "１２"),
        (ACID, "ph", "46"),
        (ACID, "since-starter_added", "tomorrow"),
        (ACID, "since-starter_added", "-1"),
        (STAPH, "sample", "100\nmany"),
        (STAPH, "sample", "1\n" * 61),
        (TOXIN, "sample", "perhaps"),
        (CULTURE, "use_by", "someday"),
        (TEST, "result", "blue"),
    ],
)
def test_what_cannot_be_a_reading_is_refused_at_its_field(document: Document, name: str, text: str) -> None:
    _given, refusals = read_given(tries_of(load(document)), {TRY + name: text})

    assert [refusal.part for refusal in refusals] == [TRY + name]


def test_the_examples_of_a_limit_are_evidence_of_its_own_parts_only() -> None:
    for document in DOCUMENTS:
        limit = load(document)
        asked = {part.name for part in limit.parts()}
        for example in examples_of(limit, AT):
            assert {measured.name for measured in example.measured} <= asked
