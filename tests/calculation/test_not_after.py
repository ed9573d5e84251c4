"""Something used before it is too old; the hours are the plan's own (common practice, no source)."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.words import render
from tests.calculation.evidence import EVENTS, START, after, time

FROM_EVENT: dict[str, Any] = {
    "kind": "not_after",
    "part": "drained",
    "event": "starter_added",
    "hours": "24",
}
WASH: dict[str, Any] = {"kind": "not_after", "part": "wash_prepared", "hours": "24"}
CULTURE: dict[str, Any] = {"kind": "not_after", "part": "use_by", "use_by": True}
LAST_INSTANT = datetime(2026, 5, 20, 22, 59, 59, 999000, tzinfo=UTC)  # end of 20 May in Dublin (UTC+1)


def judged(document: dict[str, Any], *entries: Measured, now: datetime = START) -> Judgement:
    return load(document).judge(Evidence(entries, EVENTS, now))


def drained(hours: str, *, seconds: int = 0) -> Judgement:
    return judged(FROM_EVENT, time("drained", after(hours, seconds=seconds)), now=after("48"))


def test_exactly_at_the_deadline_is_in_time_and_a_second_later_is_not() -> None:
    in_time, late = drained("24"), drained("24", seconds=1)
    assert (in_time.state, in_time.margin) == (State.WITHIN, 0)
    assert (late.state, late.margin, late.margin_unit) == (State.OUTSIDE_LIMIT, Decimal("-0.001"), "h")


def test_a_second_too_late_is_not_shown_as_24_hours() -> None:
    assert dict(drained("24", seconds=1).sentence.params)["age"] == "24.0003 h"
    assert render(drained("20").sentence) == "From starter added to drained: 20 h, at most 24 h, by 4 h."


def test_while_the_hours_run_it_is_not_yet_due_and_then_not_shown() -> None:
    waiting = judged(FROM_EVENT, now=after("24"))
    assert waiting.state is State.NOT_YET_DUE
    assert dict(waiting.sentence.params)["deadline_at"] == "2026-05-15T06:00:00.000Z"
    assert judged(FROM_EVENT, now=after("24", seconds=1)).state is State.NOT_SHOWN


def test_without_the_event_nothing_is_shown() -> None:
    unknown = load(FROM_EVENT).judge(Evidence((time("drained", after("1")),), {}, after("2")))
    assert unknown.sentence.code == "event_unknown"


def test_a_use_before_the_event_shows_nothing_and_does_not_stop_the_correction_of_the_event() -> None:
    evidence = Evidence((time("drained", after("-1")),), EVENTS, after("2"))
    assert load(FROM_EVENT).judge(evidence).sentence.code == "used_before_event"
    assert load(FROM_EVENT).refusals(evidence) == ()


def made(hours: float) -> Measured:
    return time("wash_prepared", START - timedelta(hours=hours))


@pytest.mark.parametrize(
    ("hours", "expected"),
    [(0, State.WITHIN), (24, State.WITHIN), (24.001, State.OUTSIDE_LIMIT), (72, State.OUTSIDE_LIMIT)],
)
def test_the_age_is_counted_from_the_entry_to_the_check(hours: float, expected: State) -> None:
    assert judged(WASH, made(hours)).state is expected


def test_without_an_entry_the_age_is_not_shown() -> None:
    assert judged(WASH).state is State.NOT_SHOWN
    assert judged(WASH, time("wash_prepared", None)).state is State.NOT_SHOWN


def test_something_made_after_the_check_must_be_typed_again() -> None:
    later = Evidence((made(-0.01),), {}, START)
    assert [sentence.code for sentence in load(WASH).refusals(later)] == ["made_after_check"]
    assert load(WASH).judge(later).state is State.NOT_SHOWN
    assert load(WASH).refusals(Evidence((made(0),), {}, START)) == ()


def test_of_two_entries_the_older_decides() -> None:
    assert judged(WASH, made(3), made(30)).state is State.OUTSIDE_LIMIT


def test_the_last_day_is_good_through_its_end() -> None:
    entry = time("use_by", LAST_INSTANT)
    assert judged(CULTURE, entry, now=LAST_INSTANT).state is State.WITHIN
    late = judged(CULTURE, entry, now=LAST_INSTANT + timedelta(milliseconds=1))
    assert (late.state, late.margin) == (State.OUTSIDE_LIMIT, Decimal("-0.001"))
    assert judged(CULTURE).state is State.NOT_SHOWN


def test_an_entry_marked_not_valid_shows_nothing() -> None:
    entry = Measured("use_by", None, "", LAST_INSTANT, instrument_valid=False)
    assert judged(CULTURE, entry).state is State.INSTRUMENT_NOT_VALID


@pytest.mark.parametrize(
    ("document", "entry", "words"),
    [
        (FROM_EVENT, "time", "Limit: from starter added to drained at most 24 h."),
        (WASH, "moment", "Limit: from wash prepared to this check at most 24 h."),
        (CULTURE, "date", "Limit: use-by date not passed; its day is the last one."),
    ],
)
def test_each_form_is_entered_and_described_in_its_way(
    document: dict[str, Any], entry: str, words: str
) -> None:
    limit = load(document)
    assert [part.entry for part in limit.parts()] == [entry]
    assert [render(sentence) for sentence in limit.describe()] == [words]
    assert limit.to_document() == document
    assert limit.judging_table(0, EVENTS) == {"judge": "on_receipt"}


@pytest.mark.parametrize(
    ("document", "code"),
    [
        ({**CULTURE, "hours": "24"}, "limit_use_by_alone"),
        ({**CULTURE, "event": "starter_added"}, "limit_use_by_alone"),
        ({**CULTURE, "use_by": False}, "limit_wrong_value"),
        ({**CULTURE, "use_by": "2026-05-20"}, "limit_wrong_value"),
        ({**WASH, "hours": None}, "limit_wrong_value"),
        ({**WASH, "hours": "0"}, "limit_wrong_value"),
        ({**WASH, "hours": 24}, "limit_wrong_value"),
        ({**WASH, "event": "Starter"}, "limit_wrong_value"),
        ({**WASH, "minutes": "24"}, "limit_unknown_key"),
    ],
)
def test_what_cannot_stand_is_refused_by_name(document: dict[str, Any], code: str) -> None:
    with pytest.raises(LimitError) as caught:
        load(document)
    assert caught.value.sentence.code == code


@given(ms=st.integers(0, 200_000_000), later=st.integers(0, 200_000_000))
def test_what_is_older_is_never_better(ms: int, later: int) -> None:
    ages = sorted((ms, later))
    young, old = (judged(WASH, time("wash_prepared", START - timedelta(milliseconds=a))) for a in ages)
    assert young.margin is not None
    assert old.margin is not None
    assert old.margin <= young.margin
    assert (old.state is State.WITHIN) is (ages[1] <= 86_400_000)
