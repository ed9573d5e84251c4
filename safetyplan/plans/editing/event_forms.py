"""The form of an event: its name and what is asked when it is recorded."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.change_codes import code_words
from safetyplan.plans.document import Detail
from safetyplan.plans.editing.frame import PartForm
from safetyplan.plans.event_parts import INGREDIENTS
from safetyplan.plans.parts import EACH
from safetyplan.words import name_words, sentence_case

TEXT = "text"
INGREDIENT, THING = "ingredient", "thing"
MOST_ROWS, EMPTY_ROWS = 20, 3
Choices = list[tuple[str | Promise, Any]]


def entries() -> Choices:
    """Give what can be asked: words, a time, a choice, a lot of an ingredient, a shared thing or a number."""
    plain: Choices = [
        (TEXT, _("words")),
        ("choice", _("one of the choices given below")),
        ("time", _("a time of day")),
        (_("A lot of an ingredient"), [(f"{INGREDIENT}:{of}", code_words(of)) for of in INGREDIENTS]),
        (_("A shared thing"), [(f"{THING}:{of}", code_words(of)) for of in EACH]),
    ]
    return [*plain, *_numbers()]


def _numbers() -> Choices:
    return [
        (
            sentence_case(name_words(quantity.name)),
            [(f"{quantity.name}:{unit}", UNITS[unit].symbol or _("pieces")) for unit in quantity.units],
        )
        for quantity in QUANTITIES.values()
    ]


def entry_of(detail: Detail) -> str:
    """Give the entry of the list that stands for a detail."""
    if detail.entry == "number":
        return f"{detail.quantity}:{detail.unit}"
    return f"{detail.entry}:{detail.of}" if detail.of else detail.entry


def entry_keys(entry: str, dose: str, options: str) -> dict[str, Any]:
    """Give the keys of a detail's document for an entry of the list, the unit of a dose and typed choices.

    Choices stand one after the other, parted by semicolons.
    """
    kind, _colon, rest = entry.partition(":")
    keys: dict[str, Any] = {"entry": kind, "quantity": "", "unit": ""}
    if kind == "choice":
        keys["options"] = list(dict.fromkeys(clean(part) for part in options.split(";") if part.strip()))
    elif kind in (INGREDIENT, THING):
        keys["of"] = rest
    elif rest:
        keys |= {"entry": "number", "quantity": kind, "unit": rest}
    if kind == INGREDIENT and dose:
        keys["quantity"], _colon, keys["unit"] = dose.partition(":")
    return keys


class EventForm(PartForm):
    """An event and up to twenty details; a detail whose label is empty is left out."""

    name = forms.CharField(label=_("Name of the event"), max_length=120)
    expected_within_hours = forms.CharField(
        label=_("Usually recorded within (hours after the start of the lot)"),
        max_length=10,
        help_text=_("Later it is shown as still to be recorded."),
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    after_event = forms.CharField(
        label=_("Usually follows"), required=False, max_length=60, widget=forms.Select
    )
    after_minutes = forms.CharField(
        label=_("Minutes after it"),
        required=False,
        max_length=10,
        help_text=_("The page of the lot counts down to it; nothing is judged by it."),
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    repeats = forms.BooleanField(label=_("It happens several times, such as turning"), required=False)
    every_minutes = forms.CharField(
        label=_("Usual minutes between two of it"),
        required=False,
        max_length=10,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    rows = forms.CharField(widget=forms.HiddenInput, required=False, max_length=3)

    def __init__(
        self,
        *args: Any,
        details: Sequence[Detail] = (),
        others: Sequence[tuple[str, Any]] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["after_event"].widget.choices = [("", _("nothing")), *others]
        said = str(self.data.get("rows", "")) if self.is_bound else ""
        typed = int(said) if said.isascii() and said.isdigit() else 0
        self.row_count = min(max(typed, len(details)) if typed else len(details) + EMPTY_ROWS, MOST_ROWS)
        choices, doses = entries(), [("", _("no dose")), *_numbers()]
        for at in range(self.row_count):
            self._add_row(at, choices, doses)
        self.initial.update(_initial(details), rows=str(self.row_count))

    def _add_row(self, at: int, choices: Choices, doses: Choices) -> None:
        self.fields[f"name_{at}"] = forms.CharField(required=False, max_length=60, widget=forms.HiddenInput)
        self.fields[f"label_{at}"] = forms.CharField(label=_("What is asked"), required=False, max_length=80)
        self.fields[f"entry_{at}"] = forms.ChoiceField(label=_("Written as"), required=False, choices=choices)
        self.fields[f"dose_{at}"] = forms.ChoiceField(
            label=_("Unit of the dose of an ingredient"), required=False, choices=doses
        )
        self.fields[f"options_{at}"] = forms.CharField(
            label=_("Choices, parted by semicolons"), required=False, max_length=500
        )
        self.fields[f"required_{at}"] = forms.BooleanField(label=_("Must be given"), required=False)

    def detail_rows(self) -> list[tuple[int, list[BoundField]]]:
        """Give the fields of each row, with its number for people."""
        names = ("name", "label", "entry", "dose", "options", "required")
        return [(at + 1, [self[f"{name}_{at}"] for name in names]) for at in range(self.row_count)]


def _initial(details: Sequence[Detail]) -> dict[str, Any]:
    initial: dict[str, Any] = {}
    for at, detail in enumerate(details):
        dosed = detail.entry == INGREDIENT and detail.unit
        initial |= {
            f"name_{at}": detail.name,
            f"label_{at}": detail.label,
            f"entry_{at}": entry_of(detail),
            f"dose_{at}": f"{detail.quantity}:{detail.unit}" if dosed else "",
            f"options_{at}": "; ".join(detail.options),
            f"required_{at}": detail.required,
        }
    return initial
