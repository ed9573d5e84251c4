"""The forms of the register: an instrument, and why one goes out of use or comes back."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.functional import lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.posting import OnceForm
from records.instruments.models import Instrument
from safetyplan.calculation.instrument_checks import METHODS
from safetyplan.calculation.instruments_tables import ACCEPTANCES
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.establishments.people_forms import date_input
from safetyplan.words import name_words, sentence_case

quantity_words = lazy(name_words, str)
EACH_DAY = "0"


def _named(names: Sequence[str]) -> list[tuple[str, str]]:
    return [("", _("not chosen")), *((name, sentence_case(name_words(name))) for name in names)]


def _units() -> list[tuple[str, Any]]:
    """The units by what they measure, for one list."""
    found: list[tuple[str, Any]] = [("", _("the usual one"))]
    for name, quantity in QUANTITIES.items():
        units = [(unit, UNITS[unit].symbol or name_words(unit)) for unit in quantity.units]
        found.append((sentence_case(name_words(name)), units))
    return found


def _decimal() -> forms.TextInput:
    return forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"})


class InstrumentForm(OnceForm):
    """A measuring instrument: what it is, how far it may be off, when it is checked."""

    code = forms.CharField(
        label=gettext_lazy("Code"),
        max_length=30,
        help_text=gettext_lazy("As written on the instrument, for example T1."),
    )
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    quantity = forms.ChoiceField(
        label=gettext_lazy("Measures"),
        choices=[("", gettext_lazy("not chosen")), *((name, quantity_words(name)) for name in QUANTITIES)],
    )
    unit = forms.ChoiceField(label=gettext_lazy("Unit it shows"), required=False)
    tolerance = forms.CharField(
        label=gettext_lazy("Tolerance"),
        max_length=20,
        required=False,
        help_text=gettext_lazy(
            "How far it may be off either way, with its unit, for example 0.5 °C: from its certificate, its "
            "manual or your authority. Without one no check can be judged."
        ),
        widget=_decimal(),
    )
    criterion = forms.ChoiceField(
        label=gettext_lazy("Criterion for the electrode"),
        required=False,
        help_text=gettext_lazy("Only for a pH meter: slope in % of the theory, and offset."),
    )
    method = forms.ChoiceField(label=gettext_lazy("Checked by"), required=False)
    every = forms.CharField(
        label=gettext_lazy("Checked every … days"),
        max_length=6,
        required=False,
        help_text=gettext_lazy("In days; 0 for each day of use; empty for no schedule."),
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    reference = forms.ChoiceField(label=gettext_lazy("Its reference"), required=False)
    certificate = forms.CharField(
        label=gettext_lazy("Certificate"),
        max_length=120,
        required=False,
        help_text=gettext_lazy("Number and who issued it, for a reference or for scales."),
    )
    certificate_until = forms.CharField(
        label=gettext_lazy("Certificate valid until"), max_length=20, required=False, widget=date_input()
    )
    maker = forms.CharField(label=gettext_lazy("Maker and model"), max_length=120, required=False)
    serial = forms.CharField(label=gettext_lazy("Serial number"), max_length=60, required=False)
    place = forms.CharField(label=gettext_lazy("Where it is kept"), max_length=120, required=False)
    range_low = forms.CharField(
        label=gettext_lazy("Measures from"), max_length=20, required=False, widget=_decimal()
    )
    range_high = forms.CharField(
        label=gettext_lazy("Measures to"), max_length=20, required=False, widget=_decimal()
    )
    resolution = forms.CharField(
        label=gettext_lazy("Smallest step it shows"), max_length=20, required=False, widget=_decimal()
    )
    reason = forms.CharField(
        label=gettext_lazy("Why is it changed?"),
        max_length=500,
        help_text=gettext_lazy("The entry of before stays readable; old readings and checks keep it."),
    )

    def __init__(self, *args: Any, references: Sequence[Instrument], change: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not change:
            del self.fields["reason"]
        choices = {
            "unit": _units(),
            "criterion": _named(tuple(ACCEPTANCES)),
            "method": _named(METHODS),
            "reference": [("", _("none of the register")), *((str(r.pk), _told(r)) for r in references)],
        }
        for name, listed in choices.items():
            self.fields[name].choices = listed  # type: ignore[attr-defined]


def _told(instrument: Instrument) -> str:
    return f"{instrument.code} {instrument.name}"


class WhyForm(OnceForm):
    """Why an instrument goes out of use, or comes back."""

    reason = forms.CharField(label=gettext_lazy("Why"), max_length=500)
