"""Plans made for a test: the demonstration's, with limits of the test's own."""

import json
from datetime import datetime
from typing import Any

from records.checks.slots import day_slot_id
from safetyplan.integrity import canonical
from safetyplan.plans.models import PlanApproved
from tests.builders import PLAN_FILE, at, plan_in_force
from tests.cast import Cast

MONITORING = {"what": "The value", "how": "By hand", "who": "maker", "instrument": ""}
ALWAYS = {
    "kind": "daily",
    "days": "every",
    "times": ["12:00"],
    "window_before_minutes": 60,
    "window_after_minutes": 60,
}


def document() -> dict[str, Any]:
    """Give the demonstration's plan."""
    found: dict[str, Any] = json.loads(PLAN_FILE.read_text(encoding="utf-8"))
    return found


def bound(
    part: str, quantity: str, unit: str, *, at_least: str | None = None, at_most: str | None = None
) -> dict[str, Any]:
    """Write a bound on one number."""
    return {
        "kind": "bound",
        "part": part,
        "quantity": quantity,
        "unit": unit,
        "at_least": at_least,
        "at_most": at_most,
        "target_at_least": None,
        "target_at_most": None,
        "tolerance": "0",
    }


def prerequisite(code: str, limit: dict[str, Any]) -> dict[str, Any]:
    """Write a daily prerequisite check of a limit."""
    return {
        "code": code,
        "class": "prp",
        "name": f"Check {code}",
        "products": [],
        "step": "",
        "limit": limit,
        "monitoring": {**MONITORING, "when": ALWAYS},
        "corrective_actions": [{"code": f"{code}-1", "text": "Measure again"}],
        "measure_next_minutes": 30,
        "verification": "",
    }


def approve(cast: Cast, plan: dict[str, Any], moment: datetime) -> PlanApproved:
    """Put a plan in force at a moment."""
    with at(cast.dairy, moment):
        return plan_in_force(cast, plan)


def extra_of(moment: datetime, code: str) -> str:
    """Name a further reading of a daily check."""
    return day_slot_id(moment.date(), code, "extra")


def kept_parts(text: str) -> list[dict[str, str]]:
    """Read the parts that a reading keeps."""
    found: list[dict[str, str]] = canonical.loads(text.encode())
    return found
