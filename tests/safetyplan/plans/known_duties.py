"""What the tests of duties know: a plan under a profile, a day, what was signed, what is found due."""

import json
from copy import deepcopy
from datetime import date
from typing import Any

from safetyplan.plans.document import read
from safetyplan.plans.duties import Done, Duty, Known, duties
from safetyplan.plans.parts import Plan
from safetyplan.reference.profiles import profiles
from tests.builders import PLAN_FILE

PLAN: dict[str, Any] = json.loads(PLAN_FILE.read_text())


def a_plan(profile: str | None, *, validated: bool = True, **changed: str) -> Plan:
    """Give the demonstration's plan under a profile, some of its figures changed."""
    plan = deepcopy(PLAN)
    plan.pop("profile", None)
    if not validated:
        plan["validations"] = []
    if profile is not None:
        found = profiles()[profile]
        parameters = [
            {
                "code": p.code,
                "value": changed.get(p.code, p.value),
                "unit": p.unit,
                "note": p.note,
                "citation": p.citation,
                "provenance": p.provenance,
            }
            for p in found.parameters
        ]
        plan["profile"] = {"code": profile, "read_on": found.read_on, "parameters": parameters}
    return read(plan)


def found(
    plan: Plan,
    today: str,
    *,
    approved: str = "2026-05-14",
    begun: str = "2024-01-10",
    **more: Any,
) -> list[Duty]:
    """List what is due on a day."""
    return duties(
        Known(
            plan=plan,
            today=date.fromisoformat(today),
            approved_on=date.fromisoformat(approved),
            approved_at=10,
            begun_on=date.fromisoformat(begun),
            **more,
        )
    )


def stand(listed: list[Duty], code: str) -> list[tuple[str | None, str]]:
    """Give day and state of the duties of a code."""
    return [(d.due_on.isoformat() if d.due_on else None, d.state) for d in listed if d.code == code]


def done(duty: str, outcome: str, on: str, sequence: int = 20) -> Done:
    """Sign a duty."""
    return Done(duty, outcome, date.fromisoformat(on), sequence)


def words_of(listed: list[Duty], code: str) -> str:
    """Give the words of the one duty of a code."""
    (duty,) = [d for d in listed if d.code == code]
    return duty.words
