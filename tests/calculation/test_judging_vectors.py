"""Vectors shared with the judge on the device; each state was reasoned by hand from the limit's words."""

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.table import judge_by_table
from tests.calculation.test_any_of import EITHER, FRESH
from tests.calculation.test_attribute import TEST
from tests.calculation.test_bound import MILK
from tests.calculation.test_difference import NEEDLES, THERMOMETERS

VECTORS: list[dict[str, Any]] = json.loads(
    (Path(__file__).resolve().parents[1] / "vectors" / "judging.json").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: str(vector["why"]))
def test_a_table_gives_the_state_reasoned_by_hand(vector: dict[str, Any]) -> None:
    observed_at = datetime.fromisoformat(vector["observed_at"])
    assert judge_by_table(vector["table"], vector["parts"], observed_at) == vector["state"]


def test_every_kind_of_table_and_every_state_a_device_can_reach_is_in_the_vectors() -> None:
    assert {vector["table"]["judge"] for vector in VECTORS} >= {
        "bound",
        "attribute",
        "deadline",
        "all_of",
        "any_of",
        "difference",
        "on_receipt",
    }
    assert {vector["state"] for vector in VECTORS} == {
        "within",
        "outside_target",
        "outside_limit",
        "not_yet_due",
        "not_shown",
        "on_receipt",
    }


SHIPPED = {
    "bound": MILK,
    "attribute": TEST,
    "needles": NEEDLES,
    "thermometers": THERMOMETERS,
    "fresh or cold": FRESH,
    "cold or tested": EITHER,
}


@pytest.mark.parametrize("document", SHIPPED.values(), ids=SHIPPED)
def test_the_tables_of_the_vectors_are_those_the_limits_ship(document: dict[str, Any]) -> None:
    assert load(document).judging_table(0, {}) in [vector["table"] for vector in VECTORS]
