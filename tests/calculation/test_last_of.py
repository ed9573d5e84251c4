"""At most so many of the last results outside.

At most 2 of the last 5: in the US milk ordinance action follows when 3 of them are above (from memory).
"""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan import words
from safetyplan.calculation.judgement import Judgement, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.last_of import LastOf
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.sampling_tables import LAST_OF_CRITERIA
from tests.calculation.evidence import EVENTS, START, after, evidence, number
from tests.calculation.test_attribute import TEST
from tests.calculation.test_bound import MILK
from tests.calculation.test_reached_by import LACTIC

COUNT: dict[str, Any] = {
    "kind": "bound",
    "part": "plate_count",
    "quantity": "colony_count",
    "unit": "cfu_per_ml",
    "at_least": None,
    "at_most": "100000",
    "target_at_least": None,
    "target_at_most": "50000",
    "tolerance": "0",
}
LAST: dict[str, Any] = {"kind": "last_of", "most": 2, "of": 5, "member": COUNT}
NOW = after(24 * 100)


def result(day: int, written: str, *, valid: bool = True) -> Measured:
    mark = written[0] if written[0] in "<>" else None
    at = START + timedelta(days=day)
    return number("plate_count", written.lstrip("<>"), "cfu_per_ml", at, valid=valid, mark=mark)


def results(written: str) -> list[Measured]:
    """Results of days 1, 2, 3 ...; "!" before a number: the instrument was not valid."""
    return [
        result(day, text.lstrip("!"), valid=not text.startswith("!"))
        for day, text in enumerate(written.split(), 1)
    ]


def judged(written: str, document: dict[str, Any] = LAST) -> Judgement:
    return load(document).judge(evidence(*results(written), now=NOW))


@pytest.mark.parametrize(
    ("written", "state", "margin"),
    [
        ("1 1 1 1 1", State.WITHIN, 2),
        ("1 1 1 1 100000", State.OUTSIDE_TARGET, None),
        ("1 60000 1 1 1", State.WITHIN, 2),
        ("200000 1 1 1 1", State.OUTSIDE_TARGET, 1),
        ("200000 1 200000 1 1", State.OUTSIDE_TARGET, 0),
        ("200000 1 200000 1 200000", State.OUTSIDE_LIMIT, -1),
        ("200000 200000 200000 1 1 1", State.OUTSIDE_TARGET, 0),
        ("200000 200000 1 1 1 1 1", State.WITHIN, 2),
    ],
)
def test_only_the_last_results_are_counted(written: str, state: State, margin: int | None) -> None:
    judgement = judged(written)
    assert judgement.state is state
    if margin is not None:
        assert (judgement.margin, judgement.margin_unit) == (margin, "count")


def test_the_order_is_that_of_observation_and_not_of_entry() -> None:
    taken = results("200000 200000 200000 1 1 1 1 1")
    assert load(LAST).judge(evidence(*reversed(taken), now=NOW)).state is State.WITHIN


@pytest.mark.parametrize(
    ("written", "state"),
    [
        ("!1 !1 1 1 1", State.OUTSIDE_TARGET),
        ("!1 !1 !1 1 1", State.INSTRUMENT_NOT_VALID),
        ("200000 200000 !1 1 1", State.INSTRUMENT_NOT_VALID),
        ("200000 200000 >10 1 1", State.NOT_SHOWN),
        ("200000 200000 200000 !1 1", State.OUTSIDE_LIMIT),
        ("!1 1 1 1 1 1", State.WITHIN),
    ],
)
def test_a_result_that_shows_nothing_does_not_count_as_a_pass(written: str, state: State) -> None:
    assert judged(written).state is state


def test_fewer_results_than_the_rule_looks_at_are_judged_with_a_warning() -> None:
    judgement = judged("1 1")
    assert judgement.state is State.WITHIN
    assert [words.render(warning) for warning in judgement.warnings] == [
        "There are only 2 results yet; the rule looks at the last 5."
    ]
    assert judged("1 1 1 1 1").warnings == ()
    assert judged("200000 200000 200000").state is State.OUTSIDE_LIMIT


def test_without_a_result_nothing_is_shown() -> None:
    assert judged("").state is State.NOT_SHOWN


def test_the_newest_result_outside_says_so_too() -> None:
    judgement = judged("1 1 1 1 200000")
    assert [warning.code for warning in judgement.warnings] == ["above_limit"]
    assert words.render(judgement.sentence) == (
        "Outside their limit: 1 of the last 5 results, and 0 show nothing; no more than 2 may be outside."
    )


def test_entries_of_one_instant_are_one_result_and_the_worst_decides() -> None:
    twice = [result(1, "200000"), result(1, "1"), result(1, "200000"), *results("1 1")[1:]]
    judgement = load({**LAST, "most": 0}).judge(evidence(*twice, now=NOW))
    assert dict(judgement.sentence.params) == {"outside": "1", "given": "2", "most": "0"}


def test_a_result_after_now_does_not_count_and_one_without_a_time_is_not_left_out_silently() -> None:
    later = load(LAST).judge(evidence(*results("1 1 1 1 1"), result(101, "200000"), now=NOW))
    assert later.state is State.WITHIN
    undated = number("plate_count", "1", "cfu_per_ml", None)
    assert load(LAST).judge(evidence(*results("1 1 1 1 1"), undated, now=NOW)).state is State.NOT_SHOWN


def test_words_can_be_counted_too() -> None:
    document = {"kind": "last_of", "most": 1, "of": 4, "member": TEST}
    entries = [
        Measured("result", None, "", START + timedelta(days=day), text=text)
        for day, text in enumerate(("negative", "positive", "negative", "positive"))
    ]
    assert load(document).judge(evidence(*entries, now=NOW)).state is State.OUTSIDE_LIMIT
    assert load({**document, "most": 2}).judge(evidence(*entries, now=NOW)).state is State.OUTSIDE_TARGET


def test_the_rest_is_that_of_the_member() -> None:
    limit, member = load(LAST), load(COUNT)
    assert limit.to_document() == LAST
    assert limit.parts() == member.parts()
    assert limit.chart() == member.chart()
    assert limit.refusals(evidence(*results("1"))) == ()
    assert limit.points() == 1
    assert limit.judging_table(0, EVENTS) == {"judge": "on_receipt"}
    assert [words.render(sentence) for sentence in limit.describe()][:2] == [
        "Limit: at most 2 of the last 5 results outside the limit that follows.",
        "Limit: plate count at most 100000 CFU/ml.",
    ]


@pytest.mark.parametrize("name", LAST_OF_CRITERIA)
def test_every_published_rule_of_milk_can_be_a_limit(name: str) -> None:
    row = LAST_OF_CRITERIA[name]
    member = {**COUNT, "at_most": str(row.above), "target_at_most": None}
    limit = load({"kind": "last_of", "most": row.most, "of": row.of, "member": member})
    assert isinstance(limit, LastOf)
    assert (limit.most, limit.of) == (2, 5)


@pytest.mark.parametrize(
    ("document", "code"),
    [
        ({**LAST, "of": 1}, "limit_wrong_value"),
        ({**LAST, "of": 51}, "limit_wrong_value"),
        ({**LAST, "of": "5"}, "limit_wrong_value"),
        ({**LAST, "most": 5}, "limit_wrong_value"),
        ({**LAST, "most": -1}, "limit_wrong_value"),
        ({**LAST, "most": False}, "limit_wrong_value"),
        ({**LAST, "member": LACTIC}, "last_of_member"),
        ({**LAST, "member": LAST}, "last_of_member"),
        ({**LAST, "member": {"kind": "all_of", "members": [MILK, TEST]}}, "last_of_member"),
        ({**LAST, "member": None}, "limit_not_a_document"),
        ({**LAST, "members": []}, "limit_unknown_key"),
        ({"kind": "last_of", "most": 1, "of": 2}, "limit_missing_key"),
        ({"kind": "last_of", "of": 2, "member": COUNT}, "limit_missing_key"),
    ],
)
def test_a_rule_that_cannot_stand_is_refused(document: dict[str, Any], code: str) -> None:
    with pytest.raises(LimitError) as caught:
        load(document)
    assert caught.value.sentence.code == code


OUTCOMES = st.lists(st.sampled_from(["1", "60000", "200000", ">10", "!1"]), max_size=8)


@given(written=OUTCOMES, seed=st.randoms(use_true_random=False))
def test_a_shuffled_log_is_judged_the_same(written: list[str], seed: Any) -> None:
    taken = results(" ".join(written))
    shuffled = list(taken)
    seed.shuffle(shuffled)
    first, second = (load(LAST).judge(evidence(*entries, now=NOW)) for entries in (taken, shuffled))
    assert first == second


@given(written=OUTCOMES.filter(bool), at=st.integers(0, 7))
def test_a_result_turned_outside_never_makes_a_miss_into_anything_else(written: list[str], at: int) -> None:
    worse = list(written)
    worse[at % len(worse)] = "200000"
    before, after_ = judged(" ".join(written)), judged(" ".join(worse))
    assert before.state is not State.OUTSIDE_LIMIT or after_.state is State.OUTSIDE_LIMIT
    if after_.state is State.WITHIN:
        assert before.state is State.WITHIN
