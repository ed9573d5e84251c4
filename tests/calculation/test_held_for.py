"""A heat hold proved by its chart; 63 °C, 66 °C and 30 min are vat pasteurisation as the trade knows it."""

from datetime import datetime
from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation.judgement import Judgement, Measured, State
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from tests.calculation.evidence import after, chosen, evidence, number, time

VAT = {
    "kind": "held_for",
    "minutes": "30",
    "unit": "degC",
    "product_at_least": "63",
    "air_space_at_least": "66",
    "product_target": "64",
    "recorder_not_above_indicating": True,
    "agitator": True,
    "tolerance": "0.25",
}


def good(**changes: Measured | None) -> list[Measured]:
    """The entries of a hold that passes, with some exchanged or (None) left out."""
    entries: dict[str, Measured | None] = {
        "hold_start": time("hold_start", after("1")),
        "hold_end": time("hold_end", after("1.5")),
        "product": number("product", "64.2", "degC"),
        "air_space_start": number("air_space_start", "67.0", "degC"),
        "air_space_end": number("air_space_end", "66.5", "degC"),
        "indicating": number("indicating", "64.4", "degC"),
        "recorder": number("recorder", "64.3", "degC"),
        "chart_number": chosen("chart_number", "214"),
        "agitator": chosen("agitator", "on"),
    }
    return [entry for entry in {**entries, **changes}.values() if entry is not None]


def judged(document: dict[str, Any] | None = None, /, **changes: Measured | None) -> Judgement:
    return load(document or VAT).judge(evidence(*good(**changes)))


def test_a_complete_hold_with_its_chart_is_within_and_says_how_long() -> None:
    judgement = judged()
    assert judgement.state is State.WITHIN
    assert dict(judgement.sentence.params) == {"held": "30 min", "limit": "30 min"}
    assert (judgement.margin, judgement.margin_unit) == (Decimal("0.5"), "degC")


def test_two_hand_readings_without_a_chart_do_not_prove_a_hold() -> None:
    assert judged(chart_number=None).state is State.NOT_SHOWN
    assert judged(chart_number=chosen("chart_number", "  ")).state is State.NOT_SHOWN


@pytest.mark.parametrize(
    "left_out",
    [
        "hold_start",
        "hold_end",
        "product",
        "air_space_start",
        "air_space_end",
        "indicating",
        "recorder",
        "agitator",
    ],
)
def test_a_hold_with_an_entry_left_out_is_not_shown(left_out: str) -> None:
    assert judged(**{left_out: None}).state is State.NOT_SHOWN


def held_until(end: datetime) -> Judgement:
    return judged(hold_end=time("hold_end", end))


def test_a_second_too_short_is_outside_the_limit_and_not_shown_as_30_minutes() -> None:
    judgement = held_until(after("1.5", seconds=-1))
    assert judgement.state is State.OUTSIDE_LIMIT
    assert dict(judgement.sentence.params)["held"] == "29.98 min"
    assert held_until(after("1.5")).state is State.WITHIN


def test_a_hold_that_ends_as_it_starts_is_too_short() -> None:
    assert held_until(after("1")).sentence.code == "hold_short"


def test_of_two_starts_or_two_ends_the_shorter_hold_is_judged() -> None:
    later_start, earlier_end = time("hold_start", after("1.1")), time("hold_end", after("1.4"))
    for extra in (later_start, earlier_end):
        assert load(VAT).judge(evidence(*good(), extra)).state is State.OUTSIDE_LIMIT
    assert load(VAT).judge(evidence(*good(), time("hold_start", after("0.9")))).state is State.WITHIN


def test_a_dip_of_the_product_restarts_the_clock() -> None:
    judgement = judged(product=number("product", "62.9", "degC"))
    assert judgement.state is State.OUTSIDE_LIMIT
    assert judgement.sentence.code == "hold_dip"
    assert judged(product=number("product", "63", "degC")).state is State.OUTSIDE_TARGET


@pytest.mark.parametrize("name", ["air_space_start", "air_space_end"])
def test_a_cold_air_space_at_either_end_restarts_the_clock(name: str) -> None:
    assert judged(**{name: number(name, "65.9", "degC")}).sentence.code == "hold_dip"
    assert judged(**{name: number(name, "66", "degC")}).state is State.WITHIN


def test_a_recorder_above_the_indicating_thermometer_is_outside_the_limit() -> None:
    assert judged(recorder=number("recorder", "64.5", "degC")).state is State.OUTSIDE_LIMIT
    assert judged(recorder=number("recorder", "64.4", "degC")).state is State.WITHIN


@pytest.mark.parametrize(("reading", "expected"), [("62.9", State.OUTSIDE_LIMIT), ("63", State.WITHIN)])
def test_the_indicating_thermometer_may_not_read_below_the_product_limit(
    reading: str, expected: State
) -> None:
    both = {name: number(name, reading, "degC") for name in ("indicating", "recorder")}
    assert judged(**both).state is expected


def test_thermometers_in_two_units_are_compared_exactly() -> None:
    # 64.4 °C is 147.92 °F
    assert judged(recorder=number("recorder", "147.9", "degF")).state is State.WITHIN
    assert judged(recorder=number("recorder", "148", "degF")).state is State.OUTSIDE_LIMIT


def test_a_stopped_agitator_is_outside_the_limit() -> None:
    assert judged(agitator=chosen("agitator", "off")).state is State.OUTSIDE_LIMIT
    assert judged(agitator=chosen("agitator", "on")).state is State.WITHIN


def test_an_instrument_that_is_not_valid_shows_nothing() -> None:
    assert judged(product=number("product", "64.2", "degC", valid=False)).state is State.INSTRUMENT_NOT_VALID
    assert judged(product=number("product", "64.2", "degC", valid=True)).state is State.WITHIN


def test_the_worst_finding_leads_and_the_others_are_warnings() -> None:
    judgement = judged(agitator=chosen("agitator", "off"), chart_number=None)
    assert judgement.sentence.code == "agitator_off"
    assert [warning.code for warning in judgement.warnings] == ["hold_without_chart"]


def test_a_hold_that_ends_before_it_starts_is_refused_at_entry_and_shows_nothing() -> None:
    backwards = evidence(*good(hold_end=time("hold_end", after("0.9"))))
    assert [sentence.code for sentence in load(VAT).refusals(backwards)] == ["hold_backwards"]
    assert load(VAT).judge(backwards).state is State.NOT_SHOWN
    assert load(VAT).refusals(evidence(*good())) == ()


def test_a_rule_without_air_space_thermometers_or_agitator_asks_for_none() -> None:
    plain = {
        **VAT,
        "air_space_at_least": None,
        "recorder_not_above_indicating": False,
        "agitator": False,
    }
    assert [part.name for part in load(plain).parts()] == [
        "hold_start",
        "hold_end",
        "product",
        "chart_number",
    ]
    unasked = ("air_space_start", "air_space_end", "indicating", "recorder", "agitator")
    assert judged(plain, **dict.fromkeys(unasked)).state is State.WITHIN


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"product_target": "63.2"}, "limit_target_not_inside"),
        ({"product_at_least": None, "air_space_at_least": None}, "limit_without_bound"),
        ({"minutes": "0"}, "limit_wrong_value"),
        ({"minutes": 30}, "limit_wrong_value"),
        ({"unit": "L"}, "limit_wrong_value"),
        ({"agitator": "yes"}, "limit_wrong_value"),
        ({"speed": "3"}, "limit_unknown_key"),
    ],
)
def test_a_hold_that_cannot_stand_is_refused_by_name(changes: dict[str, Any], code: str) -> None:
    with pytest.raises(LimitError) as caught:
        load({**VAT, **changes})
    assert caught.value.sentence.code == code


def test_the_document_comes_back_and_a_device_leaves_the_hold_to_the_server() -> None:
    limit = load(VAT)
    assert limit.to_document() == VAT
    assert limit.judging_table(0, {}) == {"judge": "on_receipt"}
    assert limit.chart()["held_minutes"] == "30"
