"""Model plans as a maker would leave them: open limits set, everything confirmed. Numbers for tests only."""

from typing import Any

from safetyplan.plans.document import read
from safetyplan.plans.plan_check import Finding, check
from safetyplan.reference.model_plans import ModelPlan, instantiate
from tests.safetyplan.plans.rules.plans import Data, confirmed

# no study stands behind these: 6.66 and 5.55 are there to be seen as made up
POINTS = (("6", "6.66"), ("24", "5.55"))


def example_limit(control: Data, product: Data) -> Data:
    """Set an open limit: a pH by hours after the first event of the product, or a bound on a pH."""
    if control["monitoring"]["when"]["kind"] != "limit_points":
        return {
            "kind": "bound",
            "part": "ph",
            "quantity": "ph",
            "unit": "pH",
            "at_most": "6.66",
            "tolerance": "0.05",
        }
    codes = [event["code"] for event in product["events"]]
    return {
        "kind": "reached_by",
        "part": "ph",
        "quantity": "ph",
        "unit": "pH",
        "direction": "at_most",
        "event": "starter_added" if "starter_added" in codes else codes[0],
        "tolerance": "0.05",
        "points": [
            {"hours": hours, "limit": limit, "target": None, "window_before_minutes": 60}
            for hours, limit in POINTS
        ],
    }


def before(model: ModelPlan, profile: str) -> list[Finding]:
    """Check a model plan as it comes, with nothing beside it."""
    return check(read(begun(model, profile)))


def after(model: ModelPlan, profile: str) -> list[Finding]:
    """Check a model plan with every open limit set and everything confirmed."""
    return check_confirmed(worked(model, profile))


def check_confirmed(document: Data) -> list[Finding]:
    """Check a document with everything confirmed."""
    plan = read(document)
    return check(plan, confirmed(plan, files=frozenset()))


def begun(model: ModelPlan, profile: str) -> Data:
    """Begin a plan with a model."""
    found: dict[str, Any] = instantiate(model, profile=profile, code="INV", name="Invented cheese")
    return found


def worked(model: ModelPlan, profile: str) -> Data:
    """Begin a plan with a model and set what it left open."""
    document = begun(model, profile)
    for control in document["controls"]:
        if control["limit"]["kind"] == "open":
            control["limit"] = example_limit(control, document["products"][0])
    return document
