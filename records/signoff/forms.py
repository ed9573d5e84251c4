"""Forms of release, dispatch and sign-off: fields, labels and lengths; the services check what was typed."""

from django import forms
from django.utils.translation import gettext_lazy as _

from records.batches.posting import MomentForm, OnceForm
from safetyplan.integrity.form_refusals import signature_field

UNITS = {"mass": "kg", "pieces": "count"}
DISPATCH_FIELDS = {"left_at": "on_time", "late_reason": "note"}


def number(label: object, mode: str, *, required: bool = True) -> forms.CharField:
    """Give the field of a typed number."""
    return forms.CharField(
        label=label,  # type: ignore[arg-type]
        max_length=60,
        required=required,
        widget=forms.TextInput(attrs={"inputmode": mode}),
    )


class ReleaseForm(OnceForm):
    """The responsible person lets a quantity of a lot go."""

    pieces = number(_("Pieces"), "numeric")
    mass = number(_("Mass in kg"), "decimal", required=False)
    note = forms.CharField(label=_("Note"), max_length=1000, required=False)
    password = signature_field()


class DispatchForm(MomentForm):
    """What leaves, to whom, when."""

    customer = forms.CharField(label=_("To whom"), max_length=200)
    pieces = number(_("Pieces"), "numeric")
    mass = number(_("Mass in kg"), "decimal", required=False)
    note = forms.CharField(
        label=_("Note"),
        max_length=1000,
        required=False,
        help_text=_("Give the reason here when it left more than a day ago."),
    )

    field_order = ("uuid", "customer", "pieces", "mass", "on_date", "on_time", "note")


class SignDayForm(OnceForm):
    """A reviewer signs a day."""

    seen = forms.CharField(widget=forms.HiddenInput, max_length=64)
    note = forms.CharField(
        label=_("Note"), max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    password = signature_field()


class NoProductionForm(OnceForm):
    """A day without production."""

    why = forms.CharField(
        label=_("Why there is no production"),
        max_length=300,
        required=False,
        help_text=_("Daily checks of stores stay due."),
    )
