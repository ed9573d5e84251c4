"""What is noted of a load besides what the plan checks: one list for form, service and print."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.unit_tables import UNITS
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import details_of
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, number
from safetyplan.plans.document import Control, Plan

NEGATIVE, POSITIVE = "negative", "positive"


@dataclass(frozen=True)
class Detail:
    """One thing that can be noted: a number of a quantity, one of some words, or free text.

    like: parts of a check of the plan that ask for the same, so that nothing is typed twice.
    """

    name: str
    label: str | Promise
    quantity: str = ""
    unit: str = ""
    options: tuple[tuple[str, str | Promise], ...] = ()
    like: tuple[str, ...] = ()


DETAILS = (
    Detail("temperature", gettext_lazy("Temperature"), "temperature", "degC", like=("temperature",)),
    Detail("ph", gettext_lazy("pH"), "ph", "pH", like=("ph",)),
    Detail("acidity", gettext_lazy("Acidity"), "acidity", "dornic", like=("acidity", "dornic")),
    Detail(
        "inhibitor",
        gettext_lazy("Inhibitor test"),
        options=((NEGATIVE, gettext_lazy("negative")), (POSITIVE, gettext_lazy("positive"))),
        like=("inhibitor", "inhibitors", "residue", "residues", "antibiotic", "antibiotics"),
    ),
    Detail("inhibitor_read", gettext_lazy("Inhibitor test read at"), like=("inhibitor_read",)),
    Detail(
        "smell",
        gettext_lazy("Smell and look"),
        like=("smell", "look", "appearance", "odour", "organoleptic", "smell_and_look"),
    ),
    Detail("filter", gettext_lazy("Filter"), like=("filter",)),
)
BY_NAME = {detail.name: detail for detail in DETAILS}


def unit_of(establishment: Establishment, detail: Detail) -> str:
    """Give the unit in which a detail is asked for."""
    return details_of(establishment).temperature_unit if detail.quantity == "temperature" else detail.unit


def checked_by(plan: Plan | None) -> set[str]:
    """Name the details that checks of loads ask for already."""
    controls = [control for control in plan.controls if control.of_load] if plan else []
    asked = {name for control in controls for name in _asked(control)}
    found = {detail.name for detail in DETAILS if asked & {detail.name, *detail.like}}
    return found | ({"inhibitor_read"} if "inhibitor" in found else set())


def _asked(control: Control) -> set[str]:
    """Give the names and quantities of a check's parts; the words of an attribute count too."""
    parts = control.limit.parts()
    return {part.name.casefold() for part in parts} | {part.quantity for part in parts if part.quantity}


def read_details(establishment: Establishment, typed: Mapping[str, str]) -> list[dict[str, Any]]:
    """Read the details that were typed: raw text beside what was read; what is empty is left out."""
    found = []
    for detail in DETAILS:
        raw = typed.get(detail.name, "")
        if raw.strip():
            value, unit = _read(establishment, detail, raw, sure=bool(typed.get(f"{detail.name}_sure")))
            found.append(
                {"name": detail.name, "label": str(detail.label), "raw": raw, "value": value, "unit": unit}
            )
    return found


def _read(establishment: Establishment, detail: Detail, raw: str, *, sure: bool) -> tuple[str, str]:
    if detail.quantity:
        unit = unit_of(establishment, detail)
        typed = number(raw, quantity=detail.quantity, unit=unit, part=detail.name, confirmed=sure)
        return typed.text, unit
    text = clean(raw, most=200, part=detail.name)
    if detail.options and text not in dict(detail.options):
        raise BadInput(_("Choose one of the answers offered."), part=detail.name)
    return text, ""


def shown(entry: Mapping[str, str]) -> str:
    """Write one noted detail for people."""
    detail = BY_NAME.get(entry["name"])
    words = dict(detail.options) if detail else {}
    value = str(words.get(entry["value"], entry["value"]))
    symbol = UNITS[entry["unit"]].symbol if entry["unit"] else ""
    return f"{value} {symbol}".strip() if symbol != "pH" else f"pH {value}"
