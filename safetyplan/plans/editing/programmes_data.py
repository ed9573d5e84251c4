"""The three lists of programmes in the document: what is added, changed and removed, and who names it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.integrity.refusals import Refused
from safetyplan.plans.editing.frame import Data, free_code, item_of
from safetyplan.plans.editing.programmes_forms import (
    ItemForm,
    PrerequisiteForm,
    ValidationForm,
    VerificationForm,
)
from safetyplan.plans.parts import Hazard, Plan


@dataclass(frozen=True)
class Programme:
    """One of the lists: its key in the document, its form, how its codes begin, its titles."""

    key: str
    form: type[ItemForm]
    beginning: str
    add: Promise
    change: Promise
    remove: Promise
    address: str


PREREQUISITE = Programme(
    "prerequisites",
    PrerequisiteForm,
    "PR",
    gettext_lazy("Add a prerequisite programme"),
    gettext_lazy("Change the prerequisite programme"),
    gettext_lazy("Remove the prerequisite programme"),
    "plan_prerequisite",
)
VERIFICATION = Programme(
    "verifications",
    VerificationForm,
    "V",
    gettext_lazy("Add to the verification schedule"),
    gettext_lazy("Change the verification"),
    gettext_lazy("Remove the verification"),
    "plan_verification",
)
VALIDATION = Programme(
    "validations",
    ValidationForm,
    "W",
    gettext_lazy("Add a validation"),
    gettext_lazy("Change the validation"),
    gettext_lazy("Remove the validation"),
    "plan_validation",
)


def items_of(data: Data, programme: Programme) -> list[Data]:
    """Give one of the lists; a document that has none gets an empty one."""
    found: list[Data] = data.setdefault(programme.key, [])
    return found


def put_item(data: Data, programme: Programme, code: str, content: Mapping[str, Any]) -> Data:
    """Change an item, or add it with the first code nothing else has."""
    items = items_of(data, programme)
    if code:
        item = item_of(items, code)
    else:
        # a hazard may name a control or a prerequisite: a code never means both
        taken = [*items, *data["controls"], *data.get("prerequisites", [])]
        item = {"code": free_code(taken, programme.beginning)}
        items.append(item)
    item.update(content)
    return item


def leaning_on(plan: Plan, programme: Programme, code: str) -> list[Hazard]:
    """Give the hazards that a prerequisite holds: while they name it, it stays."""
    if programme is not PREREQUISITE:
        return []
    return [hazard for hazard in plan.hazards if hazard.controlled_by == code]


def take_item(data: Data, programme: Programme, code: str) -> None:
    """Remove an item, unless a hazard names it; a verification that named it names it no more."""
    items = items_of(data, programme)
    items.remove(item_of(items, code))
    if programme is not PREREQUISITE:
        return
    named = [hazard["code"] for hazard in data["hazards"] if hazard.get("controlled_by") == code]
    if named:
        message = _("These hazards are controlled by it: %(hazards)s. Give them another control first.")
        raise Refused(message % {"hazards": ", ".join(named)})
    for verification in data.get("verifications", []):
        verification["controls"] = [c for c in verification.get("controls", []) if c != code]


def put_texts(data: Data, key: str, content: Mapping[str, Any]) -> None:
    """Write a procedure."""
    data[key] = {**data.get(key, {}), **content}
