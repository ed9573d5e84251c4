"""The fields of signing in and of the first run. What they hold is checked by the services."""

from zoneinfo import available_timezones

from django import forms
from django.utils.translation import gettext_lazy as _

from safetyplan.establishments.models import Role
from safetyplan.establishments.services import Details, MemberSpec

TEMPERATURES = (("degC", "°C"), ("degF", "°F"))
VOLUMES = (("L", _("litres")), ("gal_us", _("US gallons")), ("gal_imp", _("imperial gallons")))
MASSES = (("kg", "kg"), ("lb", "lb"))
SHEETS = (("A4", "A4"), ("letter", _("Letter")))
FIRST_ROLES = (Role.ADMINISTRATOR, Role.RESPONSIBLE, Role.QUALIFIED, Role.REVIEWER, Role.MAKER)


def zone_choices() -> list[tuple[str, str]]:
    """List the time zones by name; none is chosen beforehand, because every record shows local time."""
    zones = sorted(name for name in available_timezones() if "/" in name or name == "UTC")
    return [("", str(_("Choose…"))), *((name, name.replace("_", " ")) for name in zones)]


class SignInForm(forms.Form):
    """Sign-in name and password."""

    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=150,
        widget=forms.TextInput({"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}),
    )
    password = forms.CharField(
        label=_("Password"),
        max_length=1000,
        strip=False,
        widget=forms.PasswordInput({"autocomplete": "current-password"}),
    )


class FirstRunForm(forms.Form):
    """The establishment and its first person."""

    name = forms.CharField(label=_("Name of the establishment"), max_length=120)
    address = forms.CharField(label=_("Address"), max_length=300, help_text=_("Every record shows it."))
    registration_number = forms.CharField(
        label=_("Registration or approval number"), max_length=60, required=False
    )
    slug = forms.CharField(
        label=_("Short name"),
        max_length=49,
        required=False,
        help_text=_(
            "Part of every page's address: small letters, digits, hyphens. Left empty, it is made "
            "from the name. It cannot be changed later."
        ),
    )
    time_zone = forms.ChoiceField(label=_("Time zone"), choices=zone_choices)
    temperature_unit = forms.ChoiceField(label=_("Temperature in"), choices=TEMPERATURES)
    volume_unit = forms.ChoiceField(label=_("Milk in"), choices=VOLUMES)
    mass_unit = forms.ChoiceField(label=_("Mass in"), choices=MASSES)
    paper = forms.ChoiceField(label=_("Paper"), choices=SHEETS)
    printed_name = forms.CharField(
        label=_("Your name"), max_length=120, help_text=_("As it is printed on records.")
    )
    initials = forms.CharField(label=_("Your initials"), max_length=6)
    roles = forms.MultipleChoiceField(
        label=_("Your roles"),
        choices=[(role.value, role.label) for role in FIRST_ROLES],
        initial=[role.value for role in FIRST_ROLES],
        widget=forms.CheckboxSelectMultiple,
        help_text=_(
            "The first person keeps the accounts, so “Administrator” is always included. "
            "Roles can be changed later."
        ),
    )
    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        widget=forms.TextInput({"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}),
    )
    password = forms.CharField(
        label=_("Password"),
        max_length=1000,
        strip=False,
        help_text=_("At least 8 characters."),
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
    )
    password_again = forms.CharField(
        label=_("Password again"),
        max_length=1000,
        strip=False,
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
    )

    def clean_password_again(self) -> str:
        """Refuse two different passwords."""
        again: str = self.cleaned_data["password_again"]
        if again != self.cleaned_data.get("password"):
            raise forms.ValidationError(_("The two passwords differ."))
        return again

    def details(self) -> Details:
        """Give what was said of the establishment."""
        names = [name for name in Details.__dataclass_fields__ if name in self.fields]
        return Details(**{name: self.cleaned_data[name] for name in names})

    def member(self) -> MemberSpec:
        """Give what was said of the person."""
        data = self.cleaned_data
        roles = tuple(dict.fromkeys([Role.ADMINISTRATOR.value, *data["roles"]]))
        return MemberSpec(data["printed_name"], data["initials"], roles)
