"""Points on a check that is not daily: no document can hold them, so the rule is asked of the plan itself."""

from dataclasses import replace

import pytest

from safetyplan.plans.document import read
from safetyplan.plans.plan_check import check
from safetyplan.plans.reading import DocumentError
from tests.safetyplan.plans.rules import plans


def points_on(code: str) -> list[str]:
    """Give the places at which the rule finds points, when one control gets some."""
    plan = read(plans.fresh())
    controls = tuple(replace(c, points=("A", "B")) if c.code == code else c for c in plan.controls)
    return [finding.where for finding in check(replace(plan, controls=controls)) if finding.id == "P051"]


def test_points_on_a_check_of_a_lot_are_found_and_on_a_daily_check_they_are_not() -> None:
    assert points_on("PRP2") == ["PRP2"]
    assert points_on("PRP1") == []


def test_a_document_with_such_points_is_not_read() -> None:
    with pytest.raises(DocumentError):
        read(plans.changed(plans.fresh(), plans.put("PRP2", points=["A", "B"])))

    assert read(plans.changed(plans.fresh(), plans.put("PRP1", points=["A", "B"])))
