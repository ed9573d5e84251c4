"""What is asked when an event is recorded: the typed text of each detail, read by what the plan asks.

A lot of an ingredient with a dose takes two texts, its code under the detail's name and the dose under
`dose_name`. Both are kept, as what the person typed and as it was read.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from records.batches.models import LotEvent
from safetyplan.calculation.codes import parse_code
from safetyplan.integrity import canonical
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, in_words, number, whole_number
from safetyplan.plans.document import Detail, Event

TIME = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])")
Row = dict[str, str]


@dataclass(frozen=True)
class Taken:
    """The details of an event as they are kept, and the pieces and kilograms among them."""

    rows: tuple[Row, ...]
    pieces: int | None
    mass: str


def rows_of(event: LotEvent) -> list[Row]:
    """Give the details that an event was recorded with."""
    found: list[Row] = canonical.loads(event.details.encode())
    return found


def dose_name(detail: Detail) -> str:
    """Give the name under which the dose of an ingredient is typed."""
    return f"{detail.name}.dose"


def has_dose(detail: Detail) -> bool:
    """Tell whether a detail asks for a dose beside the lot of an ingredient."""
    return detail.entry == "ingredient" and bool(detail.unit)


def take(planned: Event, typed: Sequence[Mapping[str, Any]]) -> Taken:
    """Read what was typed; BadInput names the detail that cannot be taken."""
    given = {str(item.get("name", "")): item for item in typed}
    asked = {detail.name for detail in planned.details}
    asked |= {dose_name(detail) for detail in planned.details if has_dose(detail)}
    if unknown := set(given) - asked:
        raise BadInput(_("The plan does not ask for %(name)s here.") % {"name": sorted(unknown)[0]})
    rows: list[Row] = []
    for detail in planned.details:
        rows += _detail(detail, given)
    values = {row["name"]: row["value"] for row in rows}
    pieces = int(values["pieces"]) if "pieces" in values else None
    return Taken(tuple(rows), pieces, values.get("mass", ""))


def _detail(detail: Detail, given: Mapping[str, Mapping[str, Any]]) -> list[Row]:
    item = given.get(detail.name, {})
    raw = str(item.get("raw", ""))
    dose = given.get(dose_name(detail), {}) if has_dose(detail) else {}
    if not raw.strip():
        if detail.required or str(dose.get("raw", "")).strip():
            raise BadInput(_("%(name)s is missing.") % {"name": detail.label}, part=detail.name)
        return []
    row = {"name": detail.name, "label": detail.label, "raw": raw, "value": _value(detail, item, raw)}
    rows = [{**row, "unit": detail.unit if detail.entry == "number" else ""}]
    if detail.entry in ("ingredient", "thing"):
        rows[0] |= {"of": detail.of}
    return [*rows, *_dose(detail, dose)]


def _value(detail: Detail, item: Mapping[str, Any], raw: str) -> str:
    """Give the canonical text of what was typed."""
    if detail.name == "pieces":
        return str(whole_number(raw, part="pieces"))
    if detail.entry == "number":
        return _number(detail, item, raw, detail.name)
    value = clean(raw, part=detail.name)
    if detail.entry == "choice" and value not in detail.options:
        raise BadInput(
            _("Choose one of: %(options)s.") % {"options": "; ".join(detail.options)}, part=detail.name
        )
    if detail.entry == "time":
        return _time(value, detail.name)
    if detail.entry in ("ingredient", "thing"):
        with in_words(detail.name):
            return parse_code(raw)
    return value


def _number(detail: Detail, item: Mapping[str, Any], raw: str, part: str) -> str:
    confirmed = bool(item.get("confirmed"))
    return number(raw, quantity=detail.quantity, unit=detail.unit, part=part, confirmed=confirmed).text


def _time(value: str, part: str) -> str:
    found = TIME.fullmatch(value)
    if found is None:
        raise BadInput(_("Write the time of day as hours and minutes, such as 06:30."), part=part)
    return f"{int(found[1]):02}:{found[2]}"


def _dose(detail: Detail, item: Mapping[str, Any]) -> list[Row]:
    raw, name = str(item.get("raw", "")), dose_name(detail)
    if not raw.strip():
        if has_dose(detail) and detail.required:
            raise BadInput(_("%(name)s: the dose is missing.") % {"name": detail.label}, part=name)
        return []
    label = _("%(name)s, dose") % {"name": detail.label}
    value = _number(detail, item, raw, name)
    return [{"name": name, "label": label, "raw": raw, "value": value, "unit": detail.unit}]
