"""The figures that a person must confirm: which they are, in what words, with what value."""

import json
from typing import Any

import pytest

from safetyplan.plans.document import Plan, read
from safetyplan.plans.figures import (
    Figure,
    concerns,
    figures,
    flow_value,
    is_figure,
    limit_value,
    parameter_words,
    provenance_words,
    targets_value,
)
from safetyplan.plans.parts import Parameter
from tests.safetyplan.plans.stage import PLAN

DATA = json.loads(PLAN)
OPEN = {"kind": "open", "prompt": "Which pH by when?", "sources": [], "suggests": "reached_by"}


def plan(**changed: Any) -> Plan:
    """Read the invented plan with some of its head changed."""
    return read({**DATA, **changed})


def with_limit(code: str, **limit: Any) -> Plan:
    """Read the plan with a limit changed."""
    controls = [
        c | {"limit": c["limit"] | limit} if c["code"] == code else c for c in json.loads(PLAN)["controls"]
    ]
    return plan(controls=controls)


def named(found: Plan) -> dict[str, Figure]:
    """Give the figures by what they are."""
    return {figure.what: figure for figure in figures(found)}


def parameter(code: str, value: str = "7", unit: str = "days", provenance: str = "read") -> Parameter:
    """Give a figure of a profile."""
    return Parameter(code, value, unit, "", "Text 1", provenance)


def a_profile(*parameters: dict[str, str]) -> dict[str, Any]:
    """Give the block of a profile."""
    common = {"unit": "days", "note": "", "citation": "Text 1", "provenance": "read"}
    return {"code": "gb", "read_on": "2026-05-01", "parameters": [common | one for one in parameters]}


def test_every_critical_limit_is_a_figure_and_no_other_limit_is() -> None:
    limits = [what for what in named(plan()) if what.startswith("limit:")]

    assert limits == [f"limit:{c['code']}" for c in DATA["controls"] if c["class"] == "ccp"]


def test_a_limit_nobody_set_is_not_yet_a_figure() -> None:
    controls = [c | {"limit": OPEN} if c["code"] == "CCP2" else c for c in DATA["controls"]]

    assert "limit:CCP2" not in named(plan(controls=controls))
    assert "limit:CCP1" in named(plan(controls=controls))


def test_a_figure_says_in_words_what_it_is_and_where_the_plan_takes_it_from() -> None:
    figure = named(plan())["limit:CCP1"]

    assert figure.name == "CCP1 Heat treatment"
    assert any("at least 63 °C" in line for line in figure.words)
    assert [figure.source, figure.provenance] == [
        DATA["controls"][0]["figure_source"],
        DATA["controls"][0]["provenance"],
    ]
    assert figure.is_limit


@pytest.mark.parametrize(
    "changed", [{"product_at_least": "63.5"}, {"minutes": "31"}, {"air_space_at_least": "67"}]
)
def test_another_limit_is_another_value(changed: dict[str, str]) -> None:
    assert named(with_limit("CCP1", **changed))["limit:CCP1"].value != named(plan())["limit:CCP1"].value


@pytest.mark.parametrize("changed", [{"product_target": "65"}, {"tolerance": "0.5"}])
def test_a_target_or_tolerance_is_no_part_of_the_limit_but_of_the_table(changed: dict[str, str]) -> None:
    other = with_limit("CCP1", **changed)

    assert named(other)["limit:CCP1"].value == named(plan())["limit:CCP1"].value
    assert targets_value(other) != targets_value(plan())


def test_targets_inside_nested_limits_are_left_out_as_well() -> None:
    points = [{**point, "target": "4.4"} for point in DATA["controls"][1]["limit"]["points"]]
    other = with_limit("CCP2", points=points)

    assert targets_value(other) != targets_value(plan())
    assert limit_value(other.controls[1]) == limit_value(plan().controls[1])


def test_the_limit_of_a_prerequisite_is_part_of_the_table() -> None:
    assert targets_value(with_limit("PRP1", at_most="6")) != targets_value(plan())


def test_words_beside_the_limit_do_not_ask_for_a_new_confirmation() -> None:
    controls = [c | {"name": "Other", "verification": "Other", "record": "Other"} for c in DATA["controls"]]

    assert [f.value for f in figures(plan(controls=controls))] == [f.value for f in figures(plan())]
    assert targets_value(plan(controls=controls)) == targets_value(plan())


@pytest.mark.parametrize(
    ("one", "expected"),
    [
        (parameter("review_days"), True),
        (parameter("review_days", provenance="memory"), True),
        (parameter("review_days", provenance="own"), True),
        (parameter("review_days", provenance="suggestion"), False),
        (parameter("ageing_days", value="", unit=""), False),
        (parameter("record_mode", value="actual values", unit=""), False),
        (parameter("heat_rule", value="gb_hygiene", unit=""), True),
    ],
)
def test_a_figure_of_law_has_a_value_in_a_unit_or_is_the_table_of_heat(
    one: Parameter, expected: bool
) -> None:
    assert is_figure(one) is expected


@pytest.mark.parametrize(
    ("code", "treatment", "expected"),
    [
        ("ageing_days", "raw", True),
        ("ageing_days", "thermised", True),
        ("ageing_days", "pasteurised", False),
        ("heat_rule", "pasteurised", True),
        ("phosphatase_most", "raw", False),
        ("review_days", "raw", True),
        ("review_days", "", True),
    ],
)
def test_a_figure_of_law_is_asked_only_where_a_product_is_of_its_kind(
    code: str, treatment: str, expected: bool
) -> None:
    products = [product | {"treatment": treatment} for product in DATA["products"]]

    assert concerns(plan(products=products), parameter(code)) is expected


def test_another_value_or_unit_of_law_is_another_figure_and_another_note_is_not() -> None:
    def value(**one: str) -> str:
        profile = a_profile({"code": "review_days", "value": "7"} | one)
        return named(plan(profile=profile))["legal:review_days"].value

    assert value() != value(value="14")
    assert value() != value(unit="working days")
    assert value() == value(note="Other words", citation="Other text")


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (parameter("review_days", "7", "working days"), "7 working days"),
        (parameter("milk_temperature_most", "45", "degF"), "45 °F"),
        (parameter("milk_temperature_most", "6", "degC"), "6 °C"),
        (parameter("record_mode", "actual values", ""), "actual values"),
    ],
)
def test_a_figure_of_law_reads_with_its_unit(one: Parameter, words: str) -> None:
    assert parameter_words(one) == words


def test_the_flow_is_its_steps_their_inputs_and_their_order() -> None:
    def value(**changed: Any) -> str:
        product = json.loads(PLAN)["products"][0]
        product["steps"][0].update(changed)
        return flow_value(plan(products=[product], hazards=[], controls=[]).products[0])

    assert value() != value(name="Milk comes")
    assert value() != value(inputs=["milk", "water"])
    assert value() != value(kind="storage")
    assert value() != value(next=["acidify"])
    assert value() == value(note="A remark")


def test_the_order_of_steps_is_part_of_the_flow() -> None:
    product = json.loads(PLAN)["products"][0]
    turned = product | {"steps": [*product["steps"][1::-1], *product["steps"][2:]]}
    before, after = (plan(products=[one], hazards=[], controls=[]).products[0] for one in (product, turned))

    assert flow_value(before) != flow_value(after)


def test_where_a_figure_comes_from_is_said_for_each_kind() -> None:
    assert provenance_words("read") == "read in the source"
    assert provenance_words("memory") == "from memory: read it before you confirm it"
    assert provenance_words("own") == "chosen here"
    assert provenance_words("") == "no source given"
