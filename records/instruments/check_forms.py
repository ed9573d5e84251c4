"""The form of a check of an instrument: what was found, what was done, what it showed after adjusting."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.posting import MomentForm
from records.instruments.checking import ADJUSTED, NOTHING, OUT_OF_USE
from records.instruments.measured import ALTITUDE_UNITS, PRESSURE_UNITS, TEMPERATURE_UNITS
from records.instruments.models import Instrument
from safetyplan.calculation import instrument_checks as checks
from safetyplan.calculation.instruments_tables import BUFFERS
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.words import name_words, sentence_case

FOUND, LEFT = "found", "left"
POINTS = {checks.ICE: 1, checks.BOILING: 1, checks.BUFFER: 3, checks.REFERENCE: 3, checks.SCALES: 4}
AGAIN, USUAL = 3, 2
USUAL_BUFFERS = ("technical_7", "technical_4", "")
DONE_WORDS = (
    (NOTHING, gettext_lazy("Nothing")),
    (ADJUSTED, gettext_lazy("Adjusted; it now shows what is written below")),
    (OUT_OF_USE, gettext_lazy("Taken out of use")),
)


@dataclass(frozen=True)
class Row:
    """One line of fields that belong together, with its name; more: beyond what a check usually takes."""

    title: str
    fields: Sequence[forms.BoundField]
    more: bool = False


@dataclass(frozen=True)
class Side:
    """The fields of one round."""

    rows: Sequence[Row]

    @property
    def usual(self) -> list[Row]:
        """Give the fields that a check usually takes."""
        return [row for row in self.rows if not row.more]

    @property
    def more(self) -> list[Row]:
        """Give the fields beyond those."""
        return [row for row in self.rows if row.more]

    @property
    def typed(self) -> bool:
        """Tell whether anything was typed here or is wrong."""
        return _typed(self.rows)

    @property
    def more_typed(self) -> bool:
        """Tell whether anything was typed beyond what is usual."""
        return _typed(self.more)


def _typed(rows: Sequence[Row]) -> bool:
    fields = [f for row in rows for f in row.fields if not f.name.endswith("_name")]
    return any(field.value() or field.errors for field in fields)


def keys_of(instrument: Instrument, method: str) -> tuple[str, ...]:
    """Name the fields of one point of a method."""
    if method == checks.BUFFER:
        return ("name", "stated", "shown", "mv") if instrument.criterion else ("name", "stated", "shown")
    return ("true", "shown") if method in (checks.REFERENCE, checks.SCALES) else ("shown",)


def box(label: str, *, negative: bool = False, required: bool = False, most: int = 80) -> forms.CharField:
    """Make a field for a number, large and served by the page's own keypad."""
    attrs = {
        "inputmode": "text" if negative else "decimal",
        "autocomplete": "off",
        "spellcheck": "false",
        "class": "value",
        "data-keypad": "negative" if negative else "plain",
    }
    return forms.CharField(
        label=label, max_length=most, required=required, widget=forms.TextInput(attrs=attrs)
    )


def with_unit(text: str, unit: str) -> str:
    """Name a field with its unit."""
    symbol = UNITS[unit].symbol
    return f"{text} ({symbol})" if symbol else text


class CheckForm(MomentForm):
    """A check of one instrument by one method."""

    def __init__(
        self,
        instrument: Instrument,
        method: str,
        references: Sequence[Instrument],
        *args: Any,
        correct: bool = False,
        **kw: Any,
    ) -> None:
        super().__init__(*args, **kw)
        self.instrument, self.method = instrument, method
        self.keys = keys_of(instrument, method)
        self._circumstances(references)
        for side in (FOUND, LEFT):
            self._round(side)
        self.fields["done"] = forms.ChoiceField(
            label=_("What was done"), choices=DONE_WORDS, widget=forms.RadioSelect, initial=NOTHING
        )
        self.fields["note"] = forms.CharField(
            label=_("Note"), max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2})
        )
        self.fields["late_reason"] = forms.CharField(
            label=_("Why is it entered late?"),
            max_length=500,
            required=False,
            help_text=_("Only needed when the check was made earlier than the plan tolerates."),
        )
        if correct:
            self.fields["reason"] = forms.CharField(label=_("Why is it corrected?"), max_length=500)
        self.fields["on_date"].label, self.fields["on_time"].label = _("Checked on"), _("Checked at")

    def _circumstances(self, references: Sequence[Instrument]) -> None:
        if self.method == checks.BOILING:
            self._with_units("air_pressure", _("Air pressure here"), PRESSURE_UNITS)
            self.fields["air_pressure"].help_text = _("Of the place, not reduced to sea level.")
            self._with_units("altitude", _("Altitude"), ALTITUDE_UNITS, negative=True)
            self.fields["altitude"].help_text = _("Only where the pressure is not known.")
        if self.method == checks.BUFFER:
            self._with_units("temperature", _("Temperature of the buffers"), TEMPERATURE_UNITS)
        if self.method == checks.REFERENCE:
            choices = [
                ("", _("none of the register")),
                *((str(r.pk), f"{r.code} {r.name}") for r in references),
            ]
            self.fields["reference"] = forms.ChoiceField(
                label=_("Reference"), choices=choices, required=False
            )
            self.fields["certificate"] = self._text(_("Reference outside the register, with its certificate"))
        if self.method == checks.SCALES:
            self.fields["weights"] = self._text(_("Test weights: class, certificate"))

    def _text(self, label: str) -> forms.CharField:
        return forms.CharField(label=label, max_length=200, required=False)

    def _with_units(self, name: str, label: str, units: Sequence[str], *, negative: bool = False) -> None:
        self.fields[name] = box(label, negative=negative, required=name == "temperature")
        self.fields[f"{name}_unit"] = forms.ChoiceField(
            label=_("Unit"), choices=[(unit, UNITS[unit].symbol) for unit in units]
        )

    def _round(self, side: str) -> None:
        for n in range(1, POINTS[self.method] + 1):
            for key in self.keys:
                self.fields[f"{side}_{n}_{key}"] = self._point(side, n, key)
        if self.method == checks.BUFFER and self.instrument.criterion:
            self.fields[f"{side}_slope"] = box(_("Slope the meter tells (%)"))
            self.fields[f"{side}_offset"] = box(_("Offset the meter tells (mV)"), negative=True)
        if self.method == checks.SCALES:
            for n in range(1, AGAIN + 1):
                label = with_unit(_("Shown, time %(n)d") % {"n": n}, self._unit)
                self.fields[f"{side}_again_{n}"] = box(label)

    @property
    def _unit(self) -> str:
        return self.instrument.unit or QUANTITIES[self.instrument.quantity].units[0]

    def _point(self, side: str, n: int, key: str) -> forms.Field:
        needed = side == FOUND and n == 1
        if key == "name":
            buffers = [(name, sentence_case(name_words(name))) for name in (*BUFFERS, checks.STATED)]
            usual = USUAL_BUFFERS[n - 1] if n <= len(USUAL_BUFFERS) else ""
            return forms.ChoiceField(
                label=_("Buffer"), choices=[("", _("not used")), *buffers], required=False, initial=usual
            )
        if key == "stated":
            return box(_("pH on the label, if another buffer"))
        if key == "mv":
            return box(_("mV"), negative=True)
        negative = QUANTITIES[self.instrument.quantity].negative
        if key == "true":
            words = _("Weight") if self.method == checks.SCALES else _("Reference shows")
            return box(with_unit(words, self._unit), negative=negative, required=needed)
        name = _("It shows")
        return box(
            with_unit(name, self._unit),
            negative=negative,
            required=needed and self.method != checks.BUFFER,
        )

    def _rows(self, side: str) -> Iterator[Row]:
        many = POINTS[self.method] > 1
        for n in range(1, POINTS[self.method] + 1):
            title = (_("Point %(n)d") if self.method != checks.BUFFER else _("Buffer %(n)d")) % {"n": n}
            fields = [self[f"{side}_{n}_{key}"] for key in self.keys]
            yield Row(title if many else "", fields, more=n > USUAL)
        told = [f"{side}_{name}" for name in ("slope", "offset") if f"{side}_{name}" in self.fields]
        if told:
            yield Row(_("Electrode, as the meter tells it"), [self[name] for name in told])
        again = [f"{side}_again_{n}" for n in range(1, AGAIN + 1) if f"{side}_again_{n}" in self.fields]
        if again:
            yield Row(_("One weight again and again"), [self[name] for name in again], more=True)

    @property
    def found_side(self) -> Side:
        """Give the fields of what was found."""
        return Side(list(self._rows(FOUND)))

    @property
    def left_side(self) -> Side:
        """Give the fields of what it showed after adjusting."""
        return Side(list(self._rows(LEFT)))

    @property
    def around_rows(self) -> list[Row]:
        """Give the fields of what the check is judged by."""
        names = ("air_pressure", "altitude", "temperature", "reference", "certificate", "weights")
        return [
            Row("", [self[part] for part in (name, f"{name}_unit") if part in self.fields])
            for name in names
            if name in self.fields
        ]

    @property
    def last_fields(self) -> list[forms.BoundField]:
        """Give the fields of when it was, and why it is late or corrected."""
        names = ("on_date", "on_time", "late_reason", "reason", "note")
        return [self[name] for name in names if name in self.fields]

    @property
    def left_typed(self) -> bool:
        """Tell whether anything was typed or is wrong after adjusting."""
        return self.left_side.typed or self["done"].value() == ADJUSTED
