"""The form of an event: its name and what is asked when it is recorded."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.plans.editing.frame import PartForm
from safetyplan.words import name_words, sentence_case

TEXT = "text"
MOST_ROWS, EMPTY_ROWS = 20, 3
Choices = list[tuple[str | Promise, Any]]


def entries() -> Choices:
    """Give what can be asked: words, or a number in each unit there is."""
    numbers: Choices = [
        (
            sentence_case(name_words(quantity.name)),
            [(f"{quantity.name}:{unit}", UNITS[unit].symbol or _("pieces")) for unit in quantity.units],
        )
        for quantity in QUANTITIES.values()
    ]
    return [(TEXT, _("words")), *numbers]


class EventForm(PartForm):
    """An event and up to twenty details; a detail whose label is empty is left out."""

    name = forms.CharField(label=_("Name of the event"), max_length=120)
    expected_within_hours = forms.CharField(
        label=_("Usually recorded within (hours after the start of the lot)"),
        max_length=10,
        help_text=_("Later it is shown as still to be recorded."),
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    rows = forms.CharField(widget=forms.HiddenInput, required=False, max_length=3)

    def __init__(self, *args: Any, details: Sequence[Any] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        said = str(self.data.get("rows", "")) if self.is_bound else ""
        typed = int(said) if said.isascii() and said.isdigit() else 0
        self.row_count = min(max(typed, len(details)) if typed else len(details) + EMPTY_ROWS, MOST_ROWS)
        choices = entries()
        for at in range(self.row_count):
            self._add_row(at, choices)
        self.initial.update(_initial(details), rows=str(self.row_count))

    def _add_row(self, at: int, choices: Choices) -> None:
        self.fields[f"name_{at}"] = forms.CharField(required=False, max_length=60, widget=forms.HiddenInput)
        self.fields[f"label_{at}"] = forms.CharField(label=_("What is asked"), required=False, max_length=80)
        self.fields[f"entry_{at}"] = forms.ChoiceField(label=_("Written as"), required=False, choices=choices)
        self.fields[f"required_{at}"] = forms.BooleanField(label=_("Must be given"), required=False)

    def detail_rows(self) -> list[tuple[int, list[BoundField]]]:
        """Give the fields of each row, with its number for people."""
        names = ("name", "label", "entry", "required")
        return [(at + 1, [self[f"{name}_{at}"] for name in names]) for at in range(self.row_count)]


def _initial(details: Sequence[Any]) -> dict[str, Any]:
    initial: dict[str, Any] = {}
    for at, detail in enumerate(details):
        number = detail["entry"] == "number"
        initial |= {
            f"name_{at}": detail["name"],
            f"label_{at}": detail["label"],
            f"entry_{at}": f"{detail['quantity']}:{detail['unit']}" if number else TEXT,
            f"required_{at}": detail["required"] == "yes",
        }
    return initial
