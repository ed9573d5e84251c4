"""Forms of the regulatory profile: another figure with its reason, another profile."""

from dataclasses import replace
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity.form_refusals import refuse, taking_offers
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, reason
from safetyplan.plans.editing.frame import PartForm
from safetyplan.plans.editing.profile_values import (
    CHOSEN,
    LONGEST,
    UNIT_WORDS,
    UNITS_OF,
    codes_of,
    read_value,
)
from safetyplan.plans.figures import parameter_words
from safetyplan.plans.parts import Parameter


class ParameterForm(PartForm):
    """Another figure than the profile's, with its reason."""

    value = forms.CharField(label=_("The figure that counts here"), max_length=LONGEST)
    unit = forms.ChoiceField(label=_("Unit"))
    citation = forms.CharField(
        label=_("Where it is written"),
        max_length=500,
        required=False,
        help_text=_("A text of your own authority, a licence, a contract. Leave it empty if it is your own."),
    )
    reason = forms.CharField(
        label=_("Why it differs from the profile"), max_length=500, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, parameter: Parameter, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.parameter = parameter
        units = UNITS_OF.get(parameter.code, ())
        if parameter.code in CHOSEN:
            self.fields["value"] = forms.ChoiceField(
                label=self.fields["value"].label, choices=_choices(parameter)
            )
        if len(units) > 1:
            self.fields["unit"].choices = [(one, UNIT_WORDS[one]) for one in units]  # type: ignore[attr-defined]
        else:
            del self.fields["unit"]
            self.fields["value"].help_text = str(UNIT_WORDS[units[0]]) if units else ""

    def clean(self) -> dict[str, Any]:
        """Read the figure in its unit, and the reason; each refusal at its field."""
        found: dict[str, Any] = self.cleaned_data
        self._read("value", self._value)
        self._read("citation", lambda: clean(found.get("citation", ""), part="citation"))
        self._read("reason", lambda: reason(found.get("reason", "")))
        return found

    def _read(self, name: str, act: Any) -> None:
        if name in self.errors:
            return
        try:
            self.cleaned_data[name] = act()
        except BadInput as refusal:
            refuse(self, refusal)

    def unit_typed(self) -> str:
        """Give the unit of the figure."""
        units = UNITS_OF.get(self.parameter.code, ())
        if len(units) > 1:
            return str(self.cleaned_data.get("unit", ""))
        return units[0] if units else self.parameter.unit

    def _value(self) -> str:
        unit = self.unit_typed()
        if "unit" in self.fields and not unit:
            raise BadInput(gettext("Choose a unit."), part="unit")
        typed = {name: str(value) for name, value in self.data.items()}
        typed["value"] = str(self.cleaned_data.get("value", ""))
        found = taking_offers(
            typed, lambda text: read_value(text["value"], unit, self.parameter.code), units={"value": unit}
        )
        self.data = typed  # an offer that was taken stays taken
        return found


def _choices(parameter: Parameter) -> list[tuple[str, str]]:
    """List what may be chosen, in words; what the plan has now stays in the list."""
    codes = [*codes_of(parameter.code), *([parameter.value] if parameter.value else [])]
    return [(code, parameter_words(replace(parameter, value=code))) for code in dict.fromkeys(codes)]


class BackForm(PartForm):
    """Only the revision."""


class ProfileForm(PartForm):
    """Another profile, as the page with the differences showed it."""

    to = forms.CharField(widget=forms.HiddenInput, max_length=60)
    read_on = forms.CharField(widget=forms.HiddenInput, max_length=20)
