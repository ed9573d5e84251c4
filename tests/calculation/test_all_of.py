"""Several limits of one check, the catalogue, and documents that are no limits at all."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.judgement import State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from tests.calculation.evidence import EVENTS, after, chosen, evidence, number, ph, time
from tests.calculation.test_attribute import TEST
from tests.calculation.test_bound import MILK
from tests.calculation.test_held_for import VAT, good
from tests.calculation.test_reached_by import LACTIC, one_point

ARRIVAL = {"kind": "all_of", "members": [MILK, TEST]}


@pytest.mark.parametrize(
    ("temperature", "result", "expected"),
    [
        ("3", "negative", State.WITHIN),
        ("5", "negative", State.OUTSIDE_TARGET),
        ("3", "positive", State.OUTSIDE_LIMIT),
        ("8", "", State.OUTSIDE_LIMIT),
        ("3", "", State.NOT_SHOWN),
    ],
)
def test_the_worst_member_decides(temperature: str, result: str, expected: State) -> None:
    both = evidence(number("temperature", temperature, "degC"), chosen("result", result))
    assert load(ARRIVAL).judge(both).state is expected


def test_what_the_other_members_found_stays_as_a_warning() -> None:
    both = evidence(number("temperature", "8", "degC"), chosen("result", "positive"))
    judgement = load(ARRIVAL).judge(both)
    assert judgement.sentence.code == "above_limit"
    assert [warning.code for warning in judgement.warnings] == ["not_accepted"]


def test_a_check_that_still_lacks_a_value_does_not_look_complete() -> None:
    check = {"kind": "all_of", "members": [MILK, one_point("24", "4.60", minutes=120)]}
    warm = number("temperature", "5", "degC")
    waiting = load(check).judge(evidence(warm, now=after("20")))
    assert waiting.state is State.NOT_YET_DUE
    assert [warning.code for warning in waiting.warnings] == ["above_target"]
    complete = load(check).judge(evidence(warm, ph("4.50", "23"), now=after("24")))
    assert complete.state is State.OUTSIDE_TARGET


def test_a_refusal_of_a_member_is_a_refusal_of_the_whole() -> None:
    limit = load({"kind": "all_of", "members": [VAT, TEST]})
    backwards = evidence(*good(hold_end=time("hold_end", after("0.5"))))
    assert [sentence.code for sentence in limit.refusals(backwards)] == ["hold_backwards"]
    assert limit.refusals(evidence(*good())) == ()


def test_the_document_the_table_and_the_words_are_those_of_the_members() -> None:
    limit = load(ARRIVAL)
    assert limit.to_document() == ARRIVAL
    assert [table["judge"] for table in limit.judging_table(0, EVENTS)["members"]] == ["bound", "attribute"]
    assert [part.name for part in limit.parts()] == ["temperature", "result"]
    assert len(limit.describe()) == 4


@pytest.mark.parametrize(
    ("document", "code"),
    [
        ({"kind": "all_of", "members": [MILK, MILK]}, "limit_same_part"),
        ({"kind": "all_of", "members": [MILK, LACTIC]}, "limit_points_inside"),
        ({"kind": "all_of", "members": []}, "limit_wrong_value"),
        ({"kind": "all_of"}, "limit_missing_key"),
        ({"kind": "all_of", "members": [{"kind": "nothing"}]}, "limit_unknown_kind"),
        ({"kind": "nothing"}, "limit_unknown_kind"),
        ({}, "limit_unknown_kind"),
        (["bound"], "limit_not_a_document"),
        (None, "limit_not_a_document"),
    ],
)
def test_what_is_no_limit_is_refused_by_name(document: Any, code: str) -> None:
    with pytest.raises(LimitError) as caught:
        load(document)
    assert caught.value.sentence.code == code


def test_limits_nested_beyond_four_levels_are_refused() -> None:
    document: dict[str, Any] = MILK
    for _ in range(4):
        document = {"kind": "all_of", "members": [document]}
    assert load(document).parts()[0].name == "temperature"
    with pytest.raises(LimitError):
        load({"kind": "all_of", "members": [document]})


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5) | st.sampled_from(["7", "pH", "degC"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@given(data=st.data(), document=st.sampled_from([MILK, TEST, LACTIC, VAT, ARRIVAL]))
def test_a_document_with_any_value_exchanged_loads_or_is_refused(
    data: st.DataObject, document: dict[str, Any]
) -> None:
    key = data.draw(st.sampled_from(sorted(document)))
    changed = {**document, key: data.draw(JUNK)}
    try:
        limit = load(changed)
    except LimitError:
        return
    assert load(limit.to_document()) == limit
