"""Lots washed in the order of their age, so that nothing is carried from old rinds to young ones.

Common practice, no source.
"""

from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.words import render
from tests.calculation.evidence import START, chosen

WASHING: dict[str, Any] = {"kind": "in_order", "part": "washed_lots", "first": "youngest"}
OLD_FIRST: dict[str, Any] = {**WASHING, "first": "oldest"}
MADE = {
    "TW-0501": START - timedelta(days=13),
    "TW-0507": START - timedelta(days=7),
    "TW-0507-2": START - timedelta(days=7),
    "TW-0512": START - timedelta(days=2),
}


def washed(code: str, minute: int | None, *, valid: bool = True) -> Measured:
    at = None if minute is None else START + timedelta(minutes=minute)
    return Measured("washed_lots", None, "", at, text=code, instrument_valid=valid)


def judged(*entries: Measured, document: dict[str, Any] = WASHING) -> Judgement:
    return load(document).judge(Evidence(entries, MADE, START + timedelta(hours=2)))


def written(text: str, document: dict[str, Any] = WASHING) -> Judgement:
    return judged(chosen("washed_lots", text), document=document)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("TW-0512, TW-0507, TW-0501", State.WITHIN),
        ("TW-0507, TW-0507-2", State.WITHIN),
        ("TW-0507-2, TW-0507", State.WITHIN),
        ("TW-0501, TW-0512", State.OUTSIDE_LIMIT),
        ("TW-0512, TW-0501, TW-0507", State.OUTSIDE_LIMIT),
        ("TW-0512, TW-0501, TW-0512", State.OUTSIDE_LIMIT),
        ("TW-0512", State.WITHIN),
        ("tw-0512,  tw-0501", State.WITHIN),
        ("TW-0512, TW-0999", State.NOT_SHOWN),
        ("TW-0501, TW-0999, TW-0512", State.OUTSIDE_LIMIT),
        ("TW-0512, \u202e", State.NOT_SHOWN),
        (" , ", State.NOT_SHOWN),
        ("", State.NOT_SHOWN),
    ],
)
def test_one_text_of_codes_is_judged_in_its_order(text: str, expected: State) -> None:
    assert written(text).state is expected


def test_oldest_first_is_the_other_way_round() -> None:
    assert written("TW-0501, TW-0507, TW-0507-2, TW-0512", OLD_FIRST).state is State.WITHIN
    assert written("TW-0512, TW-0501", OLD_FIRST).state is State.OUTSIDE_LIMIT


def test_the_first_pair_out_of_order_is_named_with_its_days() -> None:
    assert render(written("TW-0507, TW-0512, TW-0501, TW-0507").sentence) == (
        "Order of lots washed: TW-0512 (made 2026-05-12 06:00) came after TW-0507 (made 2026-05-07 06:00)."
    )


def test_a_lot_nobody_knows_is_named() -> None:
    assert dict(written("TW-0512, TW-0999").sentence.params)["lot"] == "TW-0999"


def test_entries_are_judged_in_the_order_of_their_times() -> None:
    entries = [washed("TW-0501", 20), washed("TW-0512", 5)]
    assert judged(*entries).state is State.WITHIN
    assert judged(washed("TW-0501", 1), washed("TW-0512", 5)).state is State.OUTSIDE_LIMIT


def test_entries_without_a_time_show_no_order() -> None:
    assert judged(washed("TW-0512", 5), washed("TW-0501", None)).sentence.code == "order_without_times"
    assert judged(washed("TW-0512, TW-0501", None)).state is State.WITHIN


def test_an_entry_marked_not_valid_shows_nothing() -> None:
    assert judged(washed("TW-0512", 1, valid=False)).state is State.INSTRUMENT_NOT_VALID


def test_the_plan_says_which_come_first() -> None:
    assert [render(s) for s in load(WASHING).describe()] == [
        "Limit: lots washed: younger lots before older ones."
    ]
    assert [render(s) for s in load(OLD_FIRST).describe()] == [
        "Limit: lots washed: older lots before younger ones."
    ]
    assert load(WASHING).to_document() == WASHING


@pytest.mark.parametrize("changes", [{"first": "any"}, {"first": None}, {"part": ""}, {"unit": "d"}])
def test_an_order_that_cannot_stand_is_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(LimitError):
        load({**WASHING, **changes})


@given(days=st.lists(st.integers(0, 60), min_size=1, max_size=8))
def test_the_order_of_age_passes_and_any_other_order_does_not(days: list[int]) -> None:
    made: dict[str, datetime] = {f"L{n}": START - timedelta(days=day) for n, day in enumerate(days)}
    text = ", ".join(made)
    state = load(WASHING).judge(Evidence((chosen("washed_lots", text),), made, START)).state
    assert (state is State.WITHIN) is (days == sorted(days))
