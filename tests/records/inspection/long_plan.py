"""Plans to print: a short one of form 1, and one with 40 hazards and notes long enough to fill pages.

Every long note ends with a word of its own, so that a print can be searched for the last of each.
"""

import json
from typing import Any

from tests.builders import PLAN_FILE

HAZARDS = 40
FILLER = (
    "Raw milk carries such germs now and then however clean the milking is, and people who are old, "
    "pregnant or very young fall ill from few of them; the records of the last two seasons and the "
    "published surveys named beside this line were read for it, and the point was talked through."
)


def ending(kind: str, number: int) -> str:
    """Give the word with which a long note ends."""
    return f"end-{kind}-{number}"


def long_note(kind: str, number: int) -> str:
    """Give a long note with an ending of its own."""
    return f"{FILLER} {ending(kind, number)}"


def demonstration_plan() -> dict[str, Any]:
    """Give the demonstration's plan."""
    document: dict[str, Any] = json.loads(PLAN_FILE.read_text())
    return document


def long_plan() -> tuple[dict[str, Any], list[str]]:
    """Give a plan with 40 hazards and long notes everywhere, and the last word of each note."""
    plan = demonstration_plan()
    endings: list[str] = []

    def note(kind: str, number: int) -> str:
        endings.append(ending(kind, number))
        return long_note(kind, number)

    steps = [step["code"] for step in plan["products"][0]["steps"]]
    pattern = next(hazard for hazard in plan["hazards"] if hazard["significant"] and hazard["step"])
    plan["hazards"] += [
        {
            **pattern,
            "code": f"L{number}",
            "name": note("name", number),
            "step": steps[number % len(steps)],
            "severity": note("severity", number),
            "likelihood": note("likelihood", number),
            "reason": note("reason", number),
            "measure": note("measure", number),
            "where": "this_step",
            "controlled_step": "",
            "controlled_by": ("CCP1", "CCP2", "OPRP1")[number % 3],
            "determination": {
                "tree": "codex_2022",
                "answers": {"q1": "no", "q2": "yes", "q3": "no", "q4": "yes"},
                "reason": note("choice", number),
            },
        }
        for number in range(HAZARDS - len(plan["hazards"]))
    ]
    for number, control in enumerate(plan["controls"]):
        control["justification"] = note("justification", number)
        control["monitoring"]["how"] = note("how", number)
        control["corrective_actions"][-1]["text"] = note("action", number)
        control["verification"] = note("verification", number)
        control["record"] = note("record", number)
    for number, programme in enumerate(plan["prerequisites"]):
        programme["text"] = note("programme", number)
    for number, activity in enumerate(plan["verifications"]):
        activity["how"] = note("activity", number)
    for number, evidence in enumerate(plan["validations"]):
        evidence["text"] = note("evidence", number)
    for number, product in enumerate(plan["products"]):
        product["description"] = note("description", number)
        product["distribution"] = note("distribution", number)
    return plan, endings
