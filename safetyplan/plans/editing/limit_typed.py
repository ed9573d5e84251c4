"""A limit's document as what stands in the form, and back again; every refusal at the field it is about.

The whole limit, with all the limits it is made of, is one form: `members-1-points-0-hours` is the hours of
the first point of its second member. So nothing half made ever stands in the draft.
"""

import re
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.editing.limit_blame import field_of, words_of
from safetyplan.plans.editing.limit_fields import Field, KindForm, Rows
from safetyplan.plans.editing.limit_kinds import KINDS, fields_of, kinds_inside, members_of, nodes
from safetyplan.plans.editing.limit_values import PRESENCE, Asked, Known, from_text, to_text
from safetyplan.words import name_words

Texts = dict[str, str]
FURTHEST = 100  # rows of one group looked at


def known_of(document: Mapping[str, Any] | None) -> Known:
    """Give the names and numbers of a limit's document; nothing of one that is still open."""
    names: dict[tuple[str, str], str] = {}
    numbers: set[tuple[str, str]] = set()
    for prefix, node in nodes(document) if is_set(document) and document else ():
        for part, field, value, unit in fields_of(node, prefix):
            codes = value if field.entry == "names" else [value] if field.entry == "name" else []
            names |= {(part, name_words(code)): code for code in codes}
            if field.entry in ("number", "difference", "tolerance", "span") and value is not None:
                numbers.add((unit, str(value)))
    return Known(names, frozenset(numbers))


def is_set(document: Mapping[str, Any] | None) -> bool:
    """Tell whether a document is that of a limit, not the place of one nobody has set."""
    return document is not None and document.get("kind") in KINDS


def texts_of(document: Mapping[str, Any]) -> Texts:
    """Write a limit's document as the texts of the form."""
    found: Texts = {}
    for prefix, node in nodes(document):
        found[f"{prefix}kind"] = node["kind"]
        for name, field, value, _unit in fields_of(node, prefix):
            found[name] = to_text(field, value)
    return found


def empty_texts(kind: str, prefix: str = "") -> Texts:
    """Give the texts of a kind nobody has filled in: words and units where they are usual, never a number."""
    shape = KINDS[kind]
    found = {f"{prefix}kind": kind}
    for field in shape.fields:
        found[prefix + field.name] = name_words(field.preset) if field.entry == "name" else field.preset
    if shape.rows is not None:
        found |= {f"{prefix}{shape.rows.name}-0-{field.name}": "" for field in shape.rows.fields}
    if shape.members == "one":
        found |= empty_texts("bound", f"{prefix}member-")
    if shape.members == "many":
        found |= {
            **empty_texts("bound", f"{prefix}members-0-"),
            **empty_texts("bound", f"{prefix}members-1-"),
        }
    return found


def turned(document: Mapping[str, Any] | None, kind: str) -> Texts:
    """Give the texts of another kind, with what of the present limit belongs there as well: no figure."""
    found = empty_texts(kind)
    if not is_set(document) or document is None:
        return found
    shape = KINDS[kind]
    inside = next((node for _at, node in nodes(document) if node["kind"] == kind), None)
    if inside is not None:
        return texts_of(inside)
    counted = not shape.counted or document["kind"] in shape.counted
    if shape.members == "many" and document["kind"] in KINDS:
        members = [member for _at, member in members_of(document)] or [document]
        moved = {f"members-{n}-{k}": v for n, m in enumerate(members) for k, v in texts_of(m).items()}
        return _without(found, "members-0-") | moved
    if shape.members == "one" and counted:
        return _without(found, "member-") | {f"member-{k}": v for k, v in texts_of(document).items()}
    words = {"name", "unit", "choice", "event"}
    present = texts_of(document)
    for field in shape.fields:
        kept = present.get(field.name, "")
        if kept and field.entry in words and (not field.options or kept in field.options):
            found[field.name] = kept
    return found


def _without(texts: Texts, prefix: str) -> Texts:
    return {name: text for name, text in texts.items() if not name.startswith(prefix)}


def count_rows(texts: Mapping[str, str], group: str) -> int:
    """Count the rows of a repeated group in the form: `points`, `members-0-bands`, `members`."""
    row = re.compile(re.escape(group) + r"-([0-9]{1,2})-")
    found = (row.match(name) for name in texts)
    return max((int(match[1]) + 1 for match in found if match), default=0)


def add_row(texts: Texts, group: str, beginning: Texts) -> Texts:
    """Add a row to a repeated group; `beginning` gives its fields without the name of the row."""
    number = count_rows(texts, group)
    return texts | {f"{group}-{number}-{name}": text for name, text in beginning.items()}


def drop_row(texts: Texts, group: str, number: int) -> Texts:
    """Take a row out of a repeated group; those after it move up."""
    row = re.compile(re.escape(group) + r"-([0-9]{1,2})-(.*)", re.DOTALL)
    found: Texts = {}
    for name, text in texts.items():
        match = row.fullmatch(name)
        place = int(match[1]) if match else -1
        if match is None or place < number:
            found[name] = text
        elif place > number:
            found[f"{group}-{place - 1}-{match[2]}"] = text
    return found


class LimitReader:
    """Reads the texts of a form as a limit's document, and gathers every refusal on the way."""

    def __init__(self, texts: Mapping[str, str], known: Known) -> None:
        self.texts = texts
        self.known = known
        self.refusals: list[BadInput] = []

    def read(self, prefix: str = "", level: int = 1, allowed: tuple[str, ...] = ()) -> dict[str, Any] | None:
        """Give the document of one limit of the form; None when something of it was refused."""
        shape = KINDS.get(self.texts.get(f"{prefix}kind", ""))
        if shape is None or (allowed and shape.kind not in allowed):
            self._refuse(_("Choose a kind of limit that can stand here."), f"{prefix}kind")
            return None
        before = len(self.refusals)
        document: dict[str, Any] = {"kind": shape.kind, **self._fields(shape.fields, prefix, prefix)}
        if shape.rows is not None:
            document[shape.rows.name] = self._rows(shape.rows, prefix)
        document |= self._members(shape, prefix, level)
        return self._loaded(_finished(document), prefix) if len(self.refusals) == before else None

    def _loaded(self, document: dict[str, Any], prefix: str) -> dict[str, Any] | None:
        try:
            return load(document).to_document()
        except LimitError as error:
            part = field_of(error.sentence, document)
            self._refuse(words_of(error.sentence, part), prefix + part)
            return None

    def _fields(self, fields: tuple[Field, ...], at: str, prefix: str) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for field in fields:
            part = at + field.name
            unit = field.unit or self.texts.get(f"{prefix}unit", "")
            if field.entry in ("number", "difference", "tolerance") and unit not in UNITS:
                found[field.name] = None
                self._refuse_without_unit(part, unit)
                continue
            raw, sure = self.texts.get(part, ""), self.texts.get(f"{part}_sure")
            asked = Asked(raw, field, part, unit, self.known, sure is not None and sure == raw.strip())
            try:
                found[field.name] = from_text(asked)
            except BadInput as refusal:
                self.refusals.append(refusal)
        return found

    def _refuse_without_unit(self, part: str, unit: str) -> None:
        """A number without a unit: the unit is asked for at its own field; of presence there is none."""
        if unit == PRESENCE and self.texts.get(part, "").strip():
            self._refuse(_("Leave this empty: the result is detected or not."), part)

    def _rows(self, rows: Rows, prefix: str) -> list[dict[str, Any]]:
        group = prefix + rows.name
        found = []
        for number in range(min(count_rows(self.texts, group), FURTHEST)):
            at = f"{group}-{number}-"
            if any(self.texts.get(at + field.name, "").strip() for field in rows.fields):
                found.append(self._fields(rows.fields, at, prefix))
        if not found:
            self._refuse(_("Fill in at least one row."), f"{group}-0-{rows.fields[0].name}")
        return found

    def _members(self, shape: KindForm, prefix: str, level: int) -> dict[str, Any]:
        if shape.members == "none":
            return {}
        allowed = kinds_inside(shape, level + 1)
        if shape.members == "one":
            return {"member": self.read(f"{prefix}member-", level + 1, allowed)}
        count = count_rows(self.texts, f"{prefix}members")
        if not count:
            self._refuse(_("Add at least one limit."), f"{prefix}kind")
        return {
            "members": [self.read(f"{prefix}members-{n}-", level + 1, allowed) for n in range(count)],
        }

    def _refuse(self, message: str, part: str) -> None:
        self.refusals.append(BadInput(message, part=part))


def _finished(document: dict[str, Any]) -> dict[str, Any]:
    """Add what the document says twice: the quantity of its unit, or that a sample shows it or not."""
    if document["kind"] in ("bound", "difference", "reached_by"):
        return {**document, "quantity": UNITS[document["unit"]].quantity}
    if document["kind"] == "sampling_plan":
        return {**document, "quantity": "colony_count" if document["unit"] else PRESENCE}
    return document
