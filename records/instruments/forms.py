"""The form that registers an instrument."""

from django import forms
from django.utils.functional import lazy
from django.utils.translation import gettext_lazy as _

from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.integrity.form_refusals import PlainForm
from safetyplan.words import name_words

quantity_words = lazy(name_words, str)


class InstrumentForm(PlainForm):
    """A measuring instrument: code, name, what it measures, its tolerance."""

    code = forms.CharField(
        label=_("Code"), max_length=30, help_text=_("As written on the instrument, for example T1.")
    )
    name = forms.CharField(label=_("Name"), max_length=120)
    quantity = forms.ChoiceField(
        label=_("Measures"),
        choices=[("", _("not chosen")), *((name, quantity_words(name)) for name in QUANTITIES)],
    )
    tolerance = forms.CharField(
        label=_("Tolerance"),
        max_length=20,
        required=False,
        help_text=_("From its certificate or manual, with the unit, for example 0.5 °C."),
    )
