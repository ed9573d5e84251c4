"""A target inside its limit: what the reader refuses, the rule sees too, also inside other limits."""

from dataclasses import replace
from decimal import Decimal

import pytest

from safetyplan.calculation.limits.all_of import AllOf
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import Limit
from safetyplan.plans.document import DocumentError, read
from safetyplan.plans.plan_check import check
from safetyplan.plans.rules.limits import last_digit
from tests.safetyplan.plans.rules.plans import acid, changed, confirmed, fresh, vat, warmth, with_limit


def with_tolerance(document: dict[str, object], tolerance: str) -> Limit:
    """Load a limit, then make its instrument worse than any reader would let it be."""
    return replace(load(document), tolerance=Decimal(tolerance))  # type: ignore[type-var]


COLD = warmth(at_most="4", target_at_most="3", tolerance="0.5")
LIMITS = {
    "a bound": lambda tolerance: with_tolerance(COLD, tolerance),
    "a hold": lambda tolerance: with_tolerance({**vat(), "product_target": "64"}, tolerance),
    "a value reached": lambda tolerance: with_tolerance(
        {**acid(), "points": [{"hours": "24", "limit": "5.3", "target": "4.3", "window_before_minutes": 60}]},
        tolerance,
    ),
    "one inside another": lambda tolerance: AllOf((with_tolerance(COLD, tolerance),)),
}


@pytest.mark.parametrize("name", LIMITS)
def test_a_target_closer_to_its_limit_than_the_tolerance_is_found(name: str) -> None:
    assert targets_found(LIMITS[name]("1.01")) == ["CCP2"]
    assert targets_found(LIMITS[name]("1")) == []


def targets_found(limit: Limit) -> list[str]:
    """Give where the rule on targets finds something."""
    plan = read(fresh())
    controls = tuple(replace(c, limit=limit) if c.code == "CCP2" else c for c in plan.controls)
    plan = replace(plan, controls=controls)
    return [finding.where for finding in check(plan, confirmed(plan)) if finding.id == "P022"]


def test_a_document_with_such_a_target_is_not_even_read() -> None:
    bad = with_limit("PRP1", warmth(at_most="4", target_at_most="3.6", tolerance="0.5"))
    good = with_limit("PRP1", warmth(at_most="4", target_at_most="3.5", tolerance="0.5"))

    with pytest.raises(DocumentError, match="limit"):
        read(changed(fresh(), bad))
    assert read(changed(fresh(), good))


@pytest.mark.parametrize(
    ("figure", "quantity", "step"),
    [
        ("4.60", "ph", "0.01"),
        ("7", "temperature", "1"),
        ("60", "temperature", "1"),
        ("63.0", "temperature", "0.1"),
        ("200", "strength_ppm", "100"),
        ("150", "strength_ppm", "10"),
        ("0", "strength_ppm", "1"),
        ("10000", "colony_count", "10000"),
    ],
)
def test_the_last_digit_of_a_figure(figure: str, quantity: str, step: str) -> None:
    """Plain decimal places; a strip or a count is read in steps, so its last noughts are no digits."""
    assert last_digit(Decimal(figure), quantity) == Decimal(step)
