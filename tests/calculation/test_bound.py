"""A bound on one measured value."""

from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation.judgement import State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from tests.calculation.evidence import evidence, number
from tests.calculation.published import check_value

MILK = {
    "kind": "bound",
    "part": "temperature",
    "quantity": "temperature",
    "unit": "degC",
    "at_least": None,
    "at_most": "7",
    "target_at_least": None,
    "target_at_most": "4",
    "tolerance": "0.5",
}


def bound(**changes: Any) -> dict[str, Any]:
    return {**MILK, **changes}


def state(document: dict[str, Any], value: str, unit: str = "degC", **more: Any) -> State:
    measured = number(document["part"], value, unit, **more)
    return load(document).judge(evidence(measured)).state


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("3.9", State.WITHIN),
        ("4", State.WITHIN),
        ("4.001", State.OUTSIDE_TARGET),
        ("7.0", State.OUTSIDE_TARGET),
        ("7.001", State.OUTSIDE_LIMIT),
        ("-1", State.WITHIN),
    ],
)
def test_a_value_exactly_on_a_bound_is_inside_it(value: str, expected: State) -> None:
    assert state(MILK, value) is expected


def test_the_sentence_names_value_limit_and_distance_and_the_margin_is_signed() -> None:
    judgement = load(MILK).judge(evidence(number("temperature", "8.5", "degC")))
    assert judgement.sentence.code == "above_limit"
    assert dict(judgement.sentence.params) == {
        "part": "temperature",
        "value": "8.5 °C",
        "limit": "7 °C",
        "by": "1.5 °C",
    }
    assert (judgement.margin, judgement.margin_unit) == (Decimal("-1.5"), "degC")


def test_a_reading_is_compared_in_the_unit_of_the_limit_and_worded_in_its_own() -> None:
    legal = bound(unit="degF", at_most=None, target_at_most=None, at_least="161")
    judgement = load(legal).judge(evidence(number("temperature", "71.7", "degC")))
    assert judgement.state is State.WITHIN
    assert dict(judgement.sentence.params)["limit"] == "71.67 °C (161 °F)"
    assert judgement.margin == Decimal("0.06")


def test_71_7_celsius_keeps_161_fahrenheit_but_not_72_celsius() -> None:
    in_fahrenheit = bound(unit="degF", at_most=None, target_at_most=None, at_least="161")
    in_celsius = bound(at_most=None, target_at_most=None, at_least="72")
    assert state(in_fahrenheit, "71.7") is State.WITHIN
    assert state(in_celsius, "71.7") is State.OUTSIDE_LIMIT


def test_a_target_without_a_limit_on_its_side_is_judged_as_a_target() -> None:
    with_floor = bound(target_at_least="2")
    assert state(with_floor, "1.9") is State.OUTSIDE_TARGET
    assert state(with_floor, "2") is State.WITHIN


def test_without_a_reading_nothing_is_shown() -> None:
    assert load(MILK).judge(evidence()).state is State.NOT_SHOWN
    assert load(MILK).judge(evidence(number("temperature", "4", "degC"))).state is State.WITHIN


def test_a_unit_of_another_quantity_shows_nothing() -> None:
    assert state(MILK, "4", "kg") is State.NOT_SHOWN


def test_an_instrument_that_is_not_valid_shows_nothing_even_inside_the_limit() -> None:
    assert state(MILK, "3", valid=False) is State.INSTRUMENT_NOT_VALID
    assert state(MILK, "3", valid=True) is State.WITHIN


def test_of_several_values_the_worst_decides() -> None:
    readings = [number("temperature", value, "degC") for value in ("3", "9", "8", "5")]
    judgement = load(MILK).judge(evidence(*readings))
    assert judgement.state is State.OUTSIDE_LIMIT
    assert judgement.margin == -2


# Keep below 100, best below 40: Delbes et al. 2006, as cited in the fixture.
STAPHYLOCOCCI = bound(
    part="colony_count",
    quantity="colony_count",
    unit="cfu_per_ml",
    at_most=str(check_value("acidification", "AC-SA-MILK")["expected"]),
    target_at_most="40",
    tolerance="0",
)


@pytest.mark.parametrize(
    ("mark", "value", "expected"),
    [
        ("<", "10", State.WITHIN),
        ("<", "100", State.OUTSIDE_TARGET),
        ("<", "150", State.NOT_SHOWN),
        (">", "150", State.OUTSIDE_LIMIT),
        (">", "100", State.OUTSIDE_LIMIT),
        (">", "10", State.NOT_SHOWN),
        (None, "100", State.OUTSIDE_TARGET),
        (None, "101", State.OUTSIDE_LIMIT),
    ],
)
def test_a_censored_count_passes_only_what_it_proves(mark: str | None, value: str, expected: State) -> None:
    assert state(STAPHYLOCOCCI, value, "cfu_per_ml", mark=mark) is expected


def test_a_published_range_of_acidity_is_kept_at_both_ends_and_missed_beyond() -> None:
    low, high = check_value("acidification", "AC-LAC-D24")["expected"]
    document = bound(
        part="acidity",
        quantity="acidity",
        unit="dornic",
        at_least=str(low),
        at_most=str(high),
        target_at_most=None,
        tolerance="1",
    )
    for value, expected in ((low, True), (high, True), (low - 1, False), (high + 1, False)):
        assert (state(document, str(value), "dornic") is State.WITHIN) is expected
    # 60 °Th is 54 °D by the published factors; 55 °Th is 49.5 °D
    assert state(document, "60", "thorner") is State.WITHIN
    assert state(document, "55", "thorner") is State.OUTSIDE_LIMIT


def test_a_published_range_of_ph_is_kept_at_both_ends_and_missed_beyond() -> None:
    low, high = check_value("acidification", "AC-LAC-10")["expected"]
    document = bound(
        part="ph",
        quantity="ph",
        unit="pH",
        at_least=str(low),
        at_most=str(high),
        target_at_most=None,
        tolerance="0.02",
    )
    assert [state(document, value, "pH") for value in ("5.0", "6.1", "4.99", "6.11")] == [
        State.WITHIN,
        State.WITHIN,
        State.OUTSIDE_LIMIT,
        State.OUTSIDE_LIMIT,
    ]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"target_at_most": "6.6"}, "limit_target_not_inside"),
        ({"at_least": "3", "target_at_least": "3.4"}, "limit_target_not_inside"),
        ({"at_most": None, "target_at_most": None}, "limit_without_bound"),
        ({"at_least": "9"}, "limit_empty_range"),
        ({"at_most": "900", "target_at_most": None}, "limit_impossible"),
        ({"unit": "kg"}, "limit_wrong_value"),
        ({"quantity": "warmth"}, "limit_wrong_value"),
        ({"at_most": 7}, "limit_wrong_value"),
        ({"at_most": "7,0"}, "limit_wrong_value"),
        ({"at_most": "1e1"}, "limit_wrong_value"),
        ({"part": "Milk Temperature"}, "limit_wrong_value"),
        ({"tolerance": "-0.5"}, "limit_negative_tolerance"),
        ({"tolerance": None}, "limit_wrong_value"),
        ({"colour": "red"}, "limit_unknown_key"),
    ],
)
def test_a_limit_that_cannot_stand_is_refused_by_name(changes: dict[str, Any], code: str) -> None:
    with pytest.raises(LimitError) as caught:
        load(bound(**changes))
    assert caught.value.sentence.code == code


def test_a_target_exactly_the_tolerance_inside_stands() -> None:
    assert load(bound(target_at_most="6.5")).to_document()["target_at_most"] == "6.5"


def test_the_document_comes_back_as_it_was_written() -> None:
    written = bound(at_most="7.00")
    assert load(written).to_document() == written


def test_the_table_holds_the_bounds_also_in_a_unit_that_expresses_them_exactly() -> None:
    table = load(MILK).judging_table(0, {})
    assert table["also"] == {
        "degF": {
            "at_least": None,
            "at_most": "44.6",
            "target_at_least": None,
            "target_at_most": "39.2",
        }
    }
    legal = bound(unit="degF", at_most=None, target_at_most=None, at_least="161")
    assert load(legal).judging_table(0, {})["also"] == {}


def test_the_plan_words_parts_and_chart_follow_the_bounds() -> None:
    limit = load(MILK)
    assert [sentence.code for sentence in limit.describe()] == [
        "plan_at_most",
        "plan_target_at_most",
        "plan_tolerance",
    ]
    assert [(part.name, part.entry, part.unit) for part in limit.parts()] == [
        ("temperature", "number", "degC")
    ]
    assert [line["value"] for line in limit.chart()["lines"]] == ["7", "4"]
    assert limit.points() == 1
