"""No value of a plan document is overlooked when two versions are compared.

Checked against the list of keys that the document may hold: each is changed in turn, and reads as one change.
"""

import json
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

import pytest

from safetyplan.plans.changes import compare
from safetyplan.plans.document import read
from safetyplan.plans.document_keys import KEYS
from tests.builders import PLAN_FILE

OTHER_CODES = {
    "class": "oprp",
    "treatment": "thermised",
    "family": "blue",
    "effect": "increased",
    "group": "allergen",
    "measure_type": "sanitation",
    "where": "prerequisite",
    "tree": "classic",
    "provenance": "memory",
    "release_role": "qualified",
    "entry": "text",
    "required": "no",
    "days": "production",
    "file": "ab" * 32,
    "valid_until": "2031-05-06",
    "read_on": "2025-05-06",
    "resolution": "0.5",
    "language": "de",
    "code": "",
    "recording": "by_exception",
    "overdue_instrument": "block",
    "photo": "required",
    "each": "room",
    "after_event": "packed",
}
OTHER_KINDS = {"hazards": "physical", "verifications": "other", "validations": "guide", "steps": "storage"}
# told through others: a code names the thing itself; the kind of a check and of a limit by their words
BY_OTHERS = {"code", "schema", "limit", "when", "monitoring", "determination", "profile", "parameters"}


def whole() -> dict[str, Any]:
    """Give the plan with every key of the document filled at the first item of each list."""
    plan: dict[str, Any] = json.loads(PLAN_FILE.read_text())
    product, hazard, control = plan["products"][0], plan["hazards"][0], plan["controls"][0]
    for name, item in (
        ("product", product),
        ("hazard", hazard),
        ("control", control),
        ("step", product["steps"][0]),
        ("event", product["events"][0]),
        ("prerequisite", plan["prerequisites"][0]),
        ("verification", plan["verifications"][0]),
        ("validation", plan["validations"][0]),
        ("parameter", plan["profile"]["parameters"][0]),
        ("recall", plan["recall"]),
        ("positive_action", plan["positive_action"]),
    ):
        for key in KEYS[name].split():
            item.setdefault(key, FILLED.get((name, key), FILLED.get(key, "said")))
    hazard["determination"].setdefault("reason", "said")
    daily = plan["controls"][DAILY]
    daily["monitoring"]["when"]["each"] = "brine"
    daily["points"] = []
    return plan


FILLED: dict[Any, Any] = {
    "next": [],
    "kind": "operation",
    "group": "toxin",
    "allergens": ["milk"],
    "treatment": "pasteurised",
    "exposed": False,
    "rich": False,
    "file": "",
    "valid_until": "",
    "resolution": "0.1",
    "provenance": "read",
    "attention": False,
    "family": "fresh_lactic",
    "controlled_step": "heat",
    "before_event": "starter",
    "points": [],
    "recording": "each_value",
    "overdue_instrument": "warn",
    "photo": "asked",
    "repeats": False,
    "every_minutes": 15,
    "after_event": "started",
    "after_minutes": 45,
}
DAILY = 5
FIRST = {
    "product": ("products",),
    "event": ("products", 0, "events"),
    "step": ("products", 0, "steps"),
    "hazard": ("hazards",),
    "control": ("controls",),
    "prerequisite": ("prerequisites",),
    "verification": ("verifications",),
    "validation": ("validations",),
    "parameter": ("profile", "parameters"),
}
SINGLE = {
    "plan": (),
    "determination": ("hazards", 0, "determination"),
    "monitoring": ("controls", 0, "monitoring"),
    "when": ("controls", DAILY, "monitoring", "when"),
    "action": ("controls", 0, "corrective_actions", 0),
    "profile": ("profile",),
    "recall": ("recall",),
    "positive_action": ("positive_action",),
}
AFTER_AN_EVENT = ("controls", 0, "monitoring", "when")


def values() -> Iterator[Any]:
    """Name every key of the document that holds a value of its own, with the way to it."""
    lists = {"products", "hazards", "controls", "prerequisites", "verifications", "validations"}
    nested = lists | {"recall", "positive_action", "events", "steps", "corrective_actions"} | BY_OTHERS
    for name, way in (*((n, (*w, 0)) for n, w in FIRST.items()), *SINGLE.items()):
        for key in KEYS[name].split():
            of_event = name == "when" and key in ("event", "after_minutes")
            if key not in nested or (name, key) == ("action", "code"):
                base = AFTER_AN_EVENT if of_event else ("controls", DAILY) if key == "points" else way
                yield pytest.param((*base, key), id=f"{name}.{key}")


def another(way: tuple[Any, ...], value: Any) -> Any:
    """Give another value that the document may hold at a place."""
    key = way[-1]
    if way == ("profile", "code"):
        return "codex"
    if key == "kind":
        return OTHER_KINDS.get(way[-3], "after_event")
    if key == "answers":
        return {**value, "q1": "yes" if value["q1"] == "no" else "no"}
    if key == "times":
        return [*value, "23:00"]
    if key == "details" and value:
        return [{**value[0], "label": "Changed"}, *value[1:]]
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 7
    if isinstance(value, list):
        return [*value, "changed"]
    return OTHER_CODES.get(key, "changed") or "changed"


@pytest.mark.parametrize("way", list(values()))
def test_every_value_of_the_document_counts_as_one_change(way: tuple[Any, ...]) -> None:
    old = whole()
    new = deepcopy(old)
    holder: Any = new
    for step in way[:-1]:
        holder = holder[step]
    holder[way[-1]] = another(way, holder.get(way[-1], ""))

    found = compare(read(old), read(new))

    renamed = way[-1] == "code" and way != ("profile", "code")  # another code is another thing
    assert len(found) == (2 if renamed else 1), [change.sentence() for change in found]
    assert found[0].before != found[0].after
    assert found[0].sentence().endswith(".")


NUMBER = {"entry": "number", "quantity": "mass", "unit": "kg"}
CHOICE = {"entry": "choice", "options": ["soft", "firm"]}
LOT = {"entry": "ingredient", "of": "culture", "quantity": "mass", "unit": "g"}
DETAILS = {
    "name": ({}, {"name": "changed"}),
    "label": ({}, {"label": "Changed"}),
    "entry": ({}, {"entry": "time"}),
    "quantity": (NUMBER, {**NUMBER, "quantity": "volume", "unit": "L"}),
    "unit": (NUMBER, {**NUMBER, "unit": "g"}),
    "required": ({}, {"required": "yes"}),
    "options": (CHOICE, {**CHOICE, "options": ["soft", "hard"]}),
    "of": (LOT, {**LOT, "of": "rennet"}),
}


@pytest.mark.parametrize("key", KEYS["detail"].split())
def test_every_value_of_a_detail_counts_as_one_change_of_its_event(key: str) -> None:
    plain = {"name": "said", "label": "Said", "entry": "text", "quantity": "", "unit": "", "required": "no"}
    old, new = whole(), whole()
    for document, change in zip((old, new), DETAILS[key], strict=True):
        document["products"][0]["events"][0]["details"] = [{**plain, **change}]

    found = compare(read(old), read(new))

    assert len(found) == 1
    assert found[0].before != found[0].after
