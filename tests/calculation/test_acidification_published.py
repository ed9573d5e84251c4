"""Acidification against published values: every row of fixtures/published/acidification.json."""

from decimal import Decimal
from typing import Any

import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from safetyplan.calculation.acidification import NotReached, PhLog, Reached, time_to_target
from safetyplan.calculation.acidification_tables import (
    MAKE_RECORDS,
    PUBLISHED_TARGETS,
    PublishedTarget,
    published_targets,
)
from tests.calculation.published import assert_near, check_value, published, rows_of

FAMILY_OF = {
    "Saint-Nectaire type uncooked semi-hard": "uncooked_semi_hard",
    "lactic (goat, farm)": "lactic_goat",
}


def log_of(inputs: dict[str, Any]) -> PhLog:
    """The log of a row in hours, whatever its unit of time."""
    hours = inputs["t_h"] if "t_h" in inputs else [minutes / 60 for minutes in inputs["t_min"]]
    return PhLog.of(zip(hours, inputs["pH"], strict=True))


def crossing(row: dict[str, Any]) -> Decimal | None:
    """The time to the target in the unit of the row; None when it was not reached."""
    found = time_to_target(log_of(row["inputs"]), target_ph=row["inputs"]["target_pH"])
    if isinstance(found, NotReached):
        return None
    return found.hours * 60 if "t_min" in row["inputs"] else found.hours


def table_value(row: dict[str, Any]) -> Decimal | list[Decimal]:
    """The value of the table of published targets: of a family at an hour, or of the milk."""
    inputs = row["inputs"]
    if "item" in inputs:
        return one_of("uncooked_semi_hard", "cfu_per_ml", "milk_for_cheese", None).high
    family = FAMILY_OF[inputs.get("cheese") or inputs["family"]]
    hours = inputs.get("hour") or inputs["hours_after_renneting"]
    event = "make_start" if "hour" in inputs else "renneting"
    unit = "dornic" if row["unit"].startswith("deg Dornic") else "pH"
    found = one_of(family, unit, event, hours)
    return [found.low or Decimal(0), found.high] if isinstance(row["expected"], list) else found.high


def one_of(family: str, unit: str, event: str, hours: Decimal | None) -> PublishedTarget:
    """The only entry of the table that fits."""
    wanted = (unit, event, None if hours is None else (hours, hours))
    found = [one for one in published_targets(family) if (one.unit, one.event, one.hours) == wanted]
    assert len(found) == 1
    return found[0]


ROWS = rows_of("acidification")
LINEAR = [row for row in ROWS if "pH" in row.values[0]["inputs"] and "method" not in row.values[0]["inputs"]]
CUBIC = [row for row in ROWS if "method" in row.values[0]["inputs"]]
TARGETS = [row for row in ROWS if "pH" not in row.values[0]["inputs"]]


@pytest.mark.parametrize("row", LINEAR)
def test_the_time_to_the_target_is_the_published_one(row: dict[str, Any]) -> None:
    assert_near(crossing(row), row)


@pytest.mark.parametrize("row", TARGETS)
def test_the_table_holds_the_published_target(row: dict[str, Any]) -> None:
    assert_near(table_value(row), row)


@pytest.mark.parametrize("row", CUBIC)
def test_a_smooth_curve_gives_the_published_time_and_the_straight_line_differs_by_minutes(
    row: dict[str, Any],
) -> None:
    # the row is what scipy's monotone cubic gives; ours is the straight line, which differs by under 3 min
    inputs = row["inputs"]
    smooth = PchipInterpolator([float(t) for t in inputs["t_h"]], [float(ph) for ph in inputs["pH"]])
    target = float(inputs["target_pH"])
    assert_near(Decimal(str(brentq(lambda t: float(smooth(t)) - target, 0, 5))), row)
    straight = crossing(row)
    assert straight is not None
    assert abs(straight - row["expected"]) * 60 < 3


def test_every_row_is_one_of_these_tests() -> None:
    assert len(LINEAR) + len(CUBIC) + len(TARGETS) == len(published("acidification"))


def test_the_first_crossing_is_given_and_the_later_rise_is_flagged() -> None:
    row = check_value("acidification", "AC-T-NOISE")
    found = time_to_target(log_of(row["inputs"]), target_ph=row["inputs"]["target_pH"])
    assert isinstance(found, Reached)
    assert found.rise is not None
    assert (found.rise.hours, found.rise.ph) == (Decimal(4), Decimal("5.33"))


def test_the_make_records_are_those_of_the_published_rows() -> None:
    # ejmsb.org jmsb-35-2-85 table 1, mean of 2 vats
    for identity, name in (("AC-CHED-HI58", "cheddar_high_ph"), ("AC-CHED-LO53", "cheddar_low_ph")):
        inputs = check_value("acidification", identity)["inputs"]
        assert MAKE_RECORDS[name].readings == tuple(zip(inputs["t_min"], inputs["pH"], strict=True))


def test_every_published_target_has_a_source_and_memory_says_so() -> None:
    assert all(target.source for target in PUBLISHED_TARGETS)
    assert {target.family for target in PUBLISHED_TARGETS if target.provenance == "memory"} == {
        target.family for target in PUBLISHED_TARGETS if "from memory" in target.source
    }
