"""Forms about people, their training and devices, and about the establishment."""

import re
from datetime import date

from django import forms
from django.utils.translation import gettext as translated
from django.utils.translation import gettext_lazy as _

from safetyplan.establishments.models import Role
from safetyplan.integrity.form_refusals import PlainForm
from safetyplan.integrity.refusals import BadInput

TEMPERATURES = (("degC", "°C"), ("degF", "°F"))
VOLUMES = (("L", _("litres")), ("gal_us", _("US gallons")), ("gal_imp", _("imperial gallons")))
MASSES = (("kg", "kg"), ("lb", "lb"))
PAPERS = (("A4", "A4"), ("letter", _("Letter")))
FIRST_YEAR, LAST_YEAR = 1950, 2200


def date_input() -> forms.TextInput:
    """Give the input of a date."""
    return forms.TextInput(attrs={"type": "date"})


def typed_date(text: str, *, part: str) -> date | None:
    """Read a date typed as year-month-day; None when nothing was typed."""
    if not text.strip():
        return None
    try:
        if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text.strip()):
            raise ValueError(text)
        day = date.fromisoformat(text.strip())
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise ValueError(text)
    except ValueError as error:
        raise BadInput(
            translated("Write the date as year-month-day, such as 2026-05-14."), part=part
        ) from error
    return day


class MemberForm(PlainForm):
    """What a membership record says of a person."""

    printed_name = forms.CharField(
        label=_("Name as printed on records"),
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    initials = forms.CharField(
        label=_("Initials"), max_length=6, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    roles = forms.MultipleChoiceField(
        label=_("Roles"),
        choices=Role.choices,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("One person may hold several roles; the records then say so."),
    )
    inspector_until = forms.CharField(
        label=_("Inspector's access ends on"),
        max_length=20,
        required=False,
        help_text=_("Only for the role inspector."),
        widget=date_input(),
    )


class AddForm(MemberForm):
    """A new person with a login."""

    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        help_text=_("Small letters, digits, dot, hyphen and underscore."),
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )
    password = forms.CharField(
        label=_("First password"),
        max_length=200,
        strip=False,
        help_text=_("At least 8 characters. Tell it to the person, not to anybody else."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    field_order = ("username", "password", "printed_name", "initials", "roles", "inspector_until")


class ChangeForm(MemberForm):
    """A change of name, roles or activity, with its reason."""

    active = forms.BooleanField(
        label=_("Active: may sign in and record"),
        required=False,
        help_text=_("Without the tick the person keeps the name on old records and cannot enter any more."),
    )
    reason = forms.CharField(label=_("Reason for the change"), max_length=300)


class TrainingForm(PlainForm):
    """A training record."""

    trained_on = forms.CharField(label=_("Date"), max_length=20, widget=date_input())
    training_type = forms.CharField(label=_("Kind of training or experience"), max_length=200)
    provider = forms.CharField(label=_("Given by"), max_length=200, required=False)


class DetailsForm(PlainForm):
    """Name, address and ways of working of the establishment."""

    name = forms.CharField(label=_("Name"), max_length=120)
    address = forms.CharField(
        label=_("Address"),
        max_length=300,
        help_text=_("Printed on every record."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    registration_number = forms.CharField(
        label=_("Registration or approval number"), max_length=60, required=False
    )
    time_zone = forms.CharField(
        label=_("Time zone"),
        max_length=60,
        help_text=_("Type a few letters of a city and choose, for example Europe/Dublin."),
        widget=forms.TextInput(attrs={"list": "zones", "autocomplete": "off"}),
    )
    temperature_unit = forms.ChoiceField(label=_("Temperatures in"), choices=TEMPERATURES)
    volume_unit = forms.ChoiceField(label=_("Milk in"), choices=VOLUMES)
    mass_unit = forms.ChoiceField(label=_("Weights in"), choices=MASSES)
    paper = forms.ChoiceField(label=_("Paper"), choices=PAPERS)
    regulatory_profile = forms.CharField(
        label=_("Rules that apply here"),
        max_length=40,
        required=False,
        help_text=_("In a few words, for the head of your records. Your local regulator has the last word."),
    )
    self_review_reason = forms.CharField(
        label=_("Reason why people may review their own records"),
        max_length=500,
        required=False,
        help_text=_(
            "Leave empty to forbid it. With a reason, every such record and print says “self-reviewed”."
        ),
        widget=forms.Textarea(attrs={"rows": 2}),
    )
