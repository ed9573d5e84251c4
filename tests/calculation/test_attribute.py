"""A result that is one of a few words."""

from typing import Any

import pytest

from safetyplan.calculation.judgement import State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from tests.calculation.evidence import chosen, evidence

TEST = {
    "kind": "attribute",
    "part": "result",
    "options": ["negative", "positive", "invalid"],
    "accepted": ["negative"],
}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("negative", State.WITHIN),
        ("positive", State.OUTSIDE_LIMIT),
        ("invalid", State.OUTSIDE_LIMIT),
        ("Negative", State.OUTSIDE_LIMIT),
        ("", State.NOT_SHOWN),
    ],
)
def test_only_an_accepted_option_passes(text: str, expected: State) -> None:
    assert load(TEST).judge(evidence(chosen("result", text))).state is expected


def test_of_two_results_the_worse_decides() -> None:
    both = evidence(chosen("result", "negative"), chosen("result", "positive"))
    assert load(TEST).judge(both).state is State.OUTSIDE_LIMIT


def test_an_instrument_that_is_not_valid_shows_nothing() -> None:
    assert (
        load(TEST).judge(evidence(chosen("result", "negative", valid=False))).state
        is State.INSTRUMENT_NOT_VALID
    )
    assert load(TEST).judge(evidence(chosen("result", "negative", valid=True))).state is State.WITHIN


@pytest.mark.parametrize(
    "changes",
    [
        {"accepted": ["negative", "positive", "invalid"]},
        {"accepted": ["unheard_of"]},
        {"accepted": []},
        {"options": "negative"},
        {"options": ["negative", "negative", "positive"]},
        {"options": ["negative", 1]},
    ],
)
def test_a_limit_that_nothing_can_miss_or_nothing_can_keep_is_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(LimitError):
        load({**TEST, **changes})


def test_the_document_comes_back_and_the_table_holds_what_is_accepted() -> None:
    limit = load(TEST)
    assert limit.to_document() == TEST
    assert limit.judging_table(0, {}) == {"judge": "attribute", "part": "result", "accepted": ["negative"]}
    assert limit.parts()[0].options == ("negative", "positive", "invalid")
