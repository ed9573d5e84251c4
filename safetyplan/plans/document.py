"""The plan document: one JSON object, read into the frozen values of `parts.py`. Pure, no database.

Form 2 is the present one; its keys stand in `document_keys.py`, and a key that it does not know is refused.
Form 1 has fewer keys, is still read, and can no longer be approved.

`when` of a check is one of
    {"kind": "after_event", "event", "after_minutes", "window_before_minutes", "window_after_minutes"}
    {"kind": "limit_points"}      the limit itself says when (value reached by an elapsed time)
    {"kind": "load", "after_minutes", "window_before_minutes", "window_after_minutes"}   each load of milk
    {"kind": "daily", "days": "every"|"production", "times": ["06:30"], "window_before_minutes",
     "window_after_minutes", "each": a kind of shared thing, or left out}
"""

from functools import lru_cache
from typing import Any

from safetyplan.integrity import canonical
from safetyplan.plans import parts
from safetyplan.plans.document_keys import KEYS, SCHEMA, SHA256
from safetyplan.plans.document_parts import PartReader
from safetyplan.plans.event_parts import Detail, Event
from safetyplan.plans.parts import CLASSES, STARTED, Control, Hazard, Plan, Product, Step, When
from safetyplan.plans.reading import (
    DocumentError,
    day,
    flag,
    get,
    minutes,
    objects,
    one_of,
    text,
    texts,
    unique,
)

__all__ = [
    "CLASSES",
    "SCHEMA",
    "STARTED",
    "Control",
    "Detail",
    "DocumentError",
    "Event",
    "Hazard",
    "Plan",
    "Product",
    "Step",
    "When",
    "read",
    "read_text",
]


class _Reader(PartReader):
    """Reads a whole document."""

    def prerequisite(self, data: Any, where: str) -> parts.Prerequisite:
        self.keys(data, "prerequisite", where)
        return parts.Prerequisite(
            code=get(data, "code", str, where),
            name=get(data, "name", str, where),
            text=get(data, "text", str, where),
            how_often=text(data, "how_often", where),
            who=text(data, "who", where),
            record=text(data, "record", where),
            attention=flag(data, "attention", where),
        )

    def verification(self, data: Any, where: str) -> parts.Verification:
        self.keys(data, "verification", where)
        get(data, "kind", str, where)
        return parts.Verification(
            code=get(data, "code", str, where),
            kind=one_of(data, "kind", parts.VERIFICATION_KINDS, where) or "other",
            name=get(data, "name", str, where),
            how=get(data, "how", str, where),
            how_often=get(data, "how_often", str, where),
            controls=texts(data, "controls", where),
            who=text(data, "who", where),
            record=text(data, "record", where),
        )

    def validation(self, data: Any, where: str) -> parts.Validation:
        self.keys(data, "validation", where)
        get(data, "kind", str, where)
        if not SHA256.fullmatch(text(data, "file", where)):
            raise DocumentError(f"{where}.file", "must be the SHA-256 of a file, or empty")
        return parts.Validation(
            code=get(data, "code", str, where),
            kind=one_of(data, "kind", parts.VALIDATION_KINDS, where) or "study",
            text=get(data, "text", str, where),
            controls=texts(data, "controls", where),
            reference=text(data, "reference", where),
            file=text(data, "file", where),
            file_name=text(data, "file_name", where),
            valid_until=day(data, "valid_until", where),
        )

    def profile(self, data: Any) -> parts.Profile | None:
        if "profile" not in data:
            return None
        found = get(data, "profile", dict, "plan")
        self.keys(found, "profile", "profile")
        parameters = tuple(self.parameter(p, path) for p, path in objects(found, "parameters", "profile"))
        unique([parameter.code for parameter in parameters], "profile.parameters")
        return parts.Profile(get(found, "code", str, "profile"), day(found, "read_on", "profile"), parameters)

    def parameter(self, data: Any, where: str) -> parts.Parameter:
        self.keys(data, "parameter", where)
        return parts.Parameter(
            code=get(data, "code", str, where),
            value=get(data, "value", str, where),
            unit=text(data, "unit", where),
            note=text(data, "note", where),
            citation=text(data, "citation", where),
            provenance=one_of(data, "provenance", parts.PROVENANCES, where),
            reason=text(data, "reason", where),
        )

    def recall(self, data: Any) -> parts.Recall:
        found = get(data, "recall", dict, "plan", default={})
        self.keys(found, "recall", "recall")
        return parts.Recall(**{key: text(found, key, "recall") for key in KEYS["recall"].split()})

    def positive_action(self, data: Any) -> parts.PositiveAction:
        found = get(data, "positive_action", dict, "plan", default={})
        self.keys(found, "positive_action", "positive_action")
        texts_of = {key: text(found, key, "positive_action") for key in KEYS["positive_action"].split()}
        return parts.PositiveAction(**texts_of)

    def plan(self, data: Any) -> Plan:
        self.keys(data, "plan", "plan")
        for key in ("products", "hazards", "controls"):
            get(data, key, list, "plan")
        lists: dict[str, list[Any]] = {
            name: [read_one(item, path) for item, path in objects(data, name)]
            for name, read_one in (
                ("products", self.product),
                ("hazards", self.hazard),
                ("controls", self.control),
                ("prerequisites", self.prerequisite),
                ("verifications", self.verification),
                ("validations", self.validation),
            )
        }
        for name, coded in lists.items():
            unique([item.code for item in coded], name)
        return Plan(
            title=get(data, "title", str, "plan"),
            form_number=get(data, "form_number", str, "plan"),
            language=get(data, "language", str, "plan", default="en"),
            late_after_minutes=minutes(data, "late_after_minutes", "plan", 30),
            release_role=get(data, "release_role", str, "plan", default="responsible"),
            schema=self.schema,
            profile=self.profile(data),
            recall=self.recall(data),
            positive_action=self.positive_action(data),
            **{name: tuple(items) for name, items in lists.items()},
        )


def read(data: Any) -> Plan:
    """Read a plan document; DocumentError names the first value that cannot be taken."""
    schema = get(data, "schema", int, "plan")
    if schema not in (1, SCHEMA):
        raise DocumentError("plan.schema", f"must be {SCHEMA}")
    return _Reader(schema).plan(data)


@lru_cache(maxsize=64)
def read_text(text: str) -> Plan:
    """Read the canonical text of an approved plan."""
    return read(canonical.loads(text.encode()))
