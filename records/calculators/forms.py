"""The form of a calculator, made from what it asks; and the form that attaches its result to a deviation."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.posting import OnceForm
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.calculation.worked.shape import Ask, Task
from safetyplan.calculators.reading import LONGEST_TEXT, UNIT
from safetyplan.integrity.form_refusals import PlainForm
from safetyplan.words import name_words, render, sentence_case


class CalculatorForm(PlainForm):
    """One field per input, and one for its unit where there is a choice."""

    def __init__(self, task: Task, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for ask in task.asks:
            self.fields[ask.name] = _field(ask)
            if len(ask.units) > 1:
                self.fields[ask.name + UNIT] = _unit_field(ask)

    def rows(self) -> list[tuple[forms.BoundField, forms.BoundField | None]]:
        """Give every input with the field of its unit, where it has one."""
        inputs = [name for name in self.fields if not name.endswith(UNIT)]
        return [(self[name], self[name + UNIT] if name + UNIT in self.fields else None) for name in inputs]


def _field(ask: Ask) -> forms.Field:
    label = sentence_case(name_words(ask.name))
    if len(ask.units) == 1 and UNITS[ask.units[0]].symbol:
        label = f"{label} ({UNITS[ask.units[0]].symbol})"
    told = render(ask.help) if ask.help else ""
    if ask.entry == "choice":
        choices = [(option, sentence_case(name_words(option))) for option in ask.options]
        return forms.ChoiceField(label=label, choices=choices, required=ask.required, help_text=told)
    if ask.entry == "number":
        # the decimal keys of some phones have no minus sign
        keys = "text" if QUANTITIES[ask.quantity].negative else "decimal"
        box = forms.TextInput(attrs={"inputmode": keys, "autocomplete": "off"})
        return forms.CharField(
            label=label,
            max_length=80,
            required=ask.required,
            initial=ask.default,
            help_text=told,
            widget=box,
        )
    lines = forms.Textarea(attrs={"rows": 8, "spellcheck": "false", "class": "log"})
    return forms.CharField(
        label=label,
        max_length=LONGEST_TEXT,
        required=ask.required,
        initial=ask.default,
        help_text=" ".join(text for text in (_how_to_write(ask), told) if text),
        widget=lines,
    )


def _how_to_write(ask: Ask) -> str:
    if ask.entry == "numbers":
        return _("One value per line.")
    columns = ", ".join(name_words(column) for column in ask.columns)
    clock = UNITS[ask.clock].symbol
    return _(
        "One line per reading: the time, then: %(columns)s. Write times as 10:05, as 2026-05-14 10:05, or as "
        "%(clock)s since the start. For a value that was not read, write “-”."
    ) % {"columns": columns, "clock": clock}


def _unit_field(ask: Ask) -> forms.Field:
    label = _("Unit")
    units = [(unit, UNITS[unit].symbol or name_words(unit)) for unit in ask.units]
    return forms.ChoiceField(label=label, choices=units)


class AttachCalculationForm(OnceForm):
    """Which deviation the result belongs to."""

    deviation = forms.ChoiceField(label=gettext_lazy("Deviation"))
    note = forms.CharField(
        label=gettext_lazy("Note"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("What this calculation is meant to show."),
    )

    def __init__(self, *args: Any, deviations: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["deviation"].choices = [("", _("choose")), *deviations]  # type: ignore[attr-defined]
