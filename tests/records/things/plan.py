"""A plan with checks of shared things and prerequisites by exception, made from the demonstration's."""

from typing import Any

from tests.records.rules.limits import MONITORING, bound, document

STRENGTH = {**bound("salt", "salt", "percent_ww", at_least="18", at_most="22"), "tolerance": "0"}
WARMTH = bound("temperature", "temperature", "degC", at_most="14")
AGE = {"kind": "not_after", "part": "used_at", "event": "made", "hours": "24"}
WINDOW = {"window_before_minutes": 60, "window_after_minutes": 120}


def daily(
    code: str,
    limit: dict[str, Any],
    *,
    rank: str = "oprp",
    times: tuple[str, ...] = ("08:00",),
    each: str = "",
    points: tuple[str, ...] = (),
    recording: str = "",
) -> dict[str, Any]:
    """Write a daily check."""
    when: dict[str, Any] = {"kind": "daily", "days": "every", "times": list(times), **WINDOW}
    if each:
        when["each"] = each
    found: dict[str, Any] = {
        "code": code,
        "class": rank,
        "name": f"Check {code}",
        "products": ["TF"] if each else [],
        "step": "",
        "limit": limit,
        "monitoring": {**MONITORING, "when": when},
        "corrective_actions": [{"code": f"{code}-1", "text": "Put it right and measure again"}],
        "measure_next_minutes": 30,
        "verification": "",
    }
    if points:
        found["points"] = list(points)
    if recording:
        found["recording"] = recording
    return found


def with_things() -> dict[str, Any]:
    """Give the plan: brine strength, wash age and order, opening checks by exception."""
    plan = document()
    attribute = {"kind": "attribute", "part": "state", "options": ["clean", "dirty"], "accepted": ["clean"]}
    fitness = {
        "kind": "attribute",
        "part": "fitness",
        "options": ["fit", "excluded", "returned"],
        "accepted": ["fit", "returned"],
    }
    salted = next(
        e for p in plan["products"] if p["code"] == "TF" for e in p["events"] if e["code"] == "salted"
    )
    salted["details"].append(
        {
            "name": "brine",
            "label": "Brine",
            "entry": "thing",
            "of": "brine",
            "quantity": "",
            "unit": "",
            "required": "no",
        }
    )
    plan["controls"] += [
        daily("BR1", STRENGTH, each="brine", times=("08:00", "16:00")),
        daily("BR2", WARMTH, each="brine", rank="prp"),
        daily("WA1", AGE, each="preparation"),
        daily("WA2", {"kind": "in_order", "part": "order", "first": "youngest"}, each="preparation"),
        daily("OP1", attribute, rank="prp", recording="by_exception", points=("Vat room", "Cave")),
        daily("OP2", fitness, rank="prp", recording="by_exception", points=("Maker", "Helper")),
        daily("OP3", bound("strength", "strength_ppm", "ppm", at_least="100"), rank="prp"),
        daily("CV1", WARMTH, rank="prp", each="room", recording="by_exception"),
    ]
    return plan
