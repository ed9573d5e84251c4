"""The difference of two values.

The rule on thermometers is that of vat pasteurisation in the US pasteurised milk ordinance (from memory);
counting needles in and out is common practice, no source.
"""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.judgement import Judgement, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.units import convert
from safetyplan.words import render
from tests.calculation.evidence import evidence, number

NEEDLES: dict[str, Any] = {
    "kind": "difference",
    "first": "needles_out",
    "second": "needles_in",
    "quantity": "count",
    "unit": "count",
    "at_least": "0",
    "at_most": "0",
    "target_at_least": None,
    "target_at_most": None,
    "tolerance": "0",
}
THERMOMETERS: dict[str, Any] = {
    "kind": "difference",
    "first": "recorder",
    "second": "indicating",
    "quantity": "temperature",
    "unit": "degC",
    "at_least": None,
    "at_most": "0",
    "target_at_least": "-0.5",
    "target_at_most": None,
    "tolerance": "0.25",
}


def judged(document: dict[str, Any], first: tuple[str, str], second: tuple[str, str]) -> Judgement:
    names = document["first"], document["second"]
    return load(document).judge(evidence(number(names[0], *first), number(names[1], *second)))


def counted(out: str, into: str) -> Judgement:
    return judged(NEEDLES, (out, "count"), (into, "count"))


@pytest.mark.parametrize(
    ("out", "into", "expected", "margin"),
    [
        ("12", "12", State.WITHIN, "0"),
        ("11", "12", State.OUTSIDE_LIMIT, "-1"),
        ("13", "12", State.OUTSIDE_LIMIT, "-1"),
    ],
)
def test_every_needle_that_went_in_must_come_out(out: str, into: str, expected: State, margin: str) -> None:
    judgement = counted(out, into)
    assert (judgement.state, judgement.margin) == (expected, Decimal(margin))


def test_the_sentence_shows_the_subtraction() -> None:
    said = render(counted("11", "12").sentence)
    assert said == "Difference of needles out and needles in: 11 − 12 = -1, below the limit 0, by 1."
    assert render(counted("12", "12").sentence).endswith("12 − 12 = 0. They are equal, as they must be.")


@pytest.mark.parametrize(
    ("recorder", "indicating", "expected"),
    [
        ("64.4", "64.4", State.WITHIN),
        ("64.401", "64.4", State.OUTSIDE_LIMIT),
        ("63.9", "64.4", State.WITHIN),
        ("63.899", "64.4", State.OUTSIDE_TARGET),
    ],
)
def test_exactly_on_a_bound_passes_and_a_thousandth_beyond_does_not(
    recorder: str, indicating: str, expected: State
) -> None:
    assert judged(THERMOMETERS, (recorder, "degC"), (indicating, "degC")).state is expected


def test_a_difference_of_temperatures_is_no_point_on_the_scale() -> None:
    # 0.9 °F of difference is exactly 0.5 °C, the target (x 5/9); as a point it would be -17.3 °C
    assert judged(THERMOMETERS, ("147.1", "degF"), ("148.0", "degF")).state is State.WITHIN
    assert judged(THERMOMETERS, ("147.09", "degF"), ("148.0", "degF")).state is State.OUTSIDE_TARGET


def test_values_in_two_units_are_subtracted_exactly() -> None:
    # 71.7 °C is 161.06 °F exactly
    equal = {**THERMOMETERS, "at_least": "0", "target_at_least": None, "tolerance": "0"}
    assert judged(equal, ("161.06", "degF"), ("71.7", "degC")).state is State.WITHIN
    assert judged(equal, ("161.059", "degF"), ("71.7", "degC")).state is State.OUTSIDE_LIMIT


def test_the_limit_stays_in_the_unit_of_its_source_and_is_said_beside_the_readings() -> None:
    half_a_degree = {
        **THERMOMETERS,
        "unit": "degF",
        "at_most": "0.5",
        "target_at_least": None,
        "tolerance": "0",
    }
    judgement = judged(half_a_degree, ("64.7", "degC"), ("64.4", "degC"))  # 0.54 °F
    assert (judgement.state, judgement.margin, judgement.margin_unit) == (
        State.OUTSIDE_LIMIT,
        Decimal("-0.04"),
        "degF",
    )
    assert "64.7 °C − 64.4 °C = 0.3 °C, above the limit 0.28 °C (0.5 °F)" in render(judgement.sentence)


@pytest.mark.parametrize("left_out", [0, 1])
def test_with_one_of_the_two_missing_nothing_is_shown(left_out: int) -> None:
    entries = [number("needles_out", "12", "count"), number("needles_in", "12", "count")]
    whole = load(NEEDLES).judge(evidence(*entries))
    part = load(NEEDLES).judge(evidence(entries[1 - left_out]))
    assert (whole.state, part.state) == (State.WITHIN, State.NOT_SHOWN)


def test_a_unit_of_another_quantity_shows_nothing() -> None:
    assert judged(THERMOMETERS, ("64", "kg"), ("64", "degC")).sentence.code == "unit_not_comparable"


@pytest.mark.parametrize("name", ["recorder", "indicating"])
def test_an_instrument_of_the_two_that_is_not_valid_shows_nothing(name: str) -> None:
    entries = [number(n, "64", "degC", valid=n != name) for n in ("recorder", "indicating")]
    assert load(THERMOMETERS).judge(evidence(*entries)).state is State.INSTRUMENT_NOT_VALID


def test_a_censored_count_leaves_the_difference_open() -> None:
    colonies = {
        **NEEDLES,
        "first": "after_wash",
        "second": "before_wash",
        "quantity": "colony_count",
        "unit": "cfu_per_g",
        "at_least": None,
    }
    counts = number("after_wash", "10", "cfu_per_g", mark="<"), number("before_wash", "40", "cfu_per_g")
    assert load(colonies).judge(evidence(*counts)).sentence.code == "difference_open"


def test_of_several_entries_the_worst_pair_decides() -> None:
    entries = [number("needles_out", value, "count") for value in ("12", "10", "11")]
    judgement = load(NEEDLES).judge(evidence(*entries, number("needles_in", "12", "count")))
    assert (judgement.state, judgement.margin) == (State.OUTSIDE_LIMIT, Decimal(-2))


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"second": "needles_out"}, "limit_same_part"),
        ({"at_least": None, "at_most": None}, "limit_without_bound"),
        ({"at_least": "1"}, "limit_empty_range"),
        ({"at_most": "100001"}, "limit_impossible"),
        ({"target_at_most": "0", "tolerance": "1"}, "limit_target_not_inside"),
        ({"tolerance": "-1"}, "limit_negative_tolerance"),
        ({"tolerance": None}, "limit_wrong_value"),
        ({"unit": "degC"}, "limit_wrong_value"),
        ({"part": "needles"}, "limit_unknown_key"),
    ],
)
def test_a_difference_that_cannot_stand_is_refused_by_name(changes: dict[str, Any], code: str) -> None:
    with pytest.raises(LimitError) as caught:
        load({**NEEDLES, **changes})
    assert caught.value.sentence.code == code


def test_the_plan_says_what_is_subtracted_from_what() -> None:
    assert [render(sentence) for sentence in load(NEEDLES).describe()] == [
        "Limit: needles out and needles in are equal."
    ]
    assert [render(sentence) for sentence in load(THERMOMETERS).describe()] == [
        "Limit: recorder minus indicating thermometer at most 0 °C.",
        "Target: recorder minus indicating thermometer at least -0.5 °C.",
        "Tolerance of the difference of recorder and indicating thermometer: 0.25 °C.",
    ]


def test_two_numbers_are_entered_in_the_unit_of_the_limit() -> None:
    limit = load(THERMOMETERS)
    assert [(part.name, part.entry, part.unit, part.required) for part in limit.parts()] == [
        ("recorder", "number", "degC", True),
        ("indicating", "number", "degC", True),
    ]
    assert limit.to_document() == THERMOMETERS


VALUES = st.decimals("-30", "100", places=2)


@given(first=VALUES, second=VALUES)
def test_the_result_does_not_depend_on_the_unit_of_the_readings(first: Decimal, second: Decimal) -> None:
    # °C to °F is exact (x 9/5 + 32), so the same pair must give the same result and margin
    both = [(str(value), "degC") for value in (first, second)]
    converted = [(format(convert(value, "degC", "degF"), "f"), "degF") for value in (first, second)]
    found, again = judged(THERMOMETERS, *both), judged(THERMOMETERS, *converted)
    assert (found.state, found.margin) == (again.state, again.margin)


@given(first=VALUES, second=VALUES, step=st.decimals("0", "5", places=2))
def test_a_higher_recorder_is_never_better(first: Decimal, second: Decimal, step: Decimal) -> None:
    upper_only = {**THERMOMETERS, "target_at_least": None}
    low = judged(upper_only, (str(first), "degC"), (str(second), "degC"))
    high = judged(upper_only, (str(first + step), "degC"), (str(second), "degC"))
    assert low.margin is not None
    assert high.margin is not None
    assert high.margin <= low.margin
