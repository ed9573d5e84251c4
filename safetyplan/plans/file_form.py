"""The text of a plan in a file: every object's keys in the order in which a plan is told. Pure.

The order carries no meaning: a file in any order is read, and what is signed are the canonical bytes.
"""

import json
from collections.abc import Mapping
from typing import Any

from safetyplan.integrity import canonical
from safetyplan.plans.document_keys import KEYS

# which object stands under a key of another one
CHILDREN = {
    "products": "product",
    "events": "event",
    "steps": "step",
    "hazards": "hazard",
    "determination": "determination",
    "controls": "control",
    "monitoring": "monitoring",
    "when": "when",
    "corrective_actions": "action",
    "limit": "limit",
    "member": "limit",
    "members": "limit",
    "prerequisites": "prerequisite",
    "verifications": "verification",
    "validations": "validation",
    "profile": "profile",
    "parameters": "parameter",
    "recall": "recall",
    "positive_action": "positive_action",
    "details": "detail",
    "points": "limit",
    "bands": "limit",
}
ORDERS: Mapping[str, tuple[str, ...]] = {
    **{name: tuple(keys.split()) for name, keys in KEYS.items()},
    "limit": (
        *("kind", "part", "first", "second", "quantity", "unit", "direction", "event", "hours", "limit"),
        *("target", "minutes", "at_least", "at_most", "target_at_least", "target_at_most"),
    ),
}


def file_text(text: str) -> str:
    """Write the canonical text of a plan as its file; the same plan always gives the same text."""
    return json.dumps(_ordered(canonical.loads(text.encode()), "plan"), ensure_ascii=False, indent=2) + "\n"


def _ordered(value: Any, name: str) -> Any:
    if isinstance(value, list):
        return [_ordered(item, name) for item in value]
    if not isinstance(value, Mapping):
        return value
    order = ORDERS.get(name, ())
    keys = sorted(value, key=lambda key: (order.index(key) if key in order else len(order), key))
    return {key: _ordered(value[key], CHILDREN.get(key, "")) for key in keys}
