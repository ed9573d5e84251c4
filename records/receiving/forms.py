"""Forms at the door: fields, labels and lengths; the services read and check what was typed."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.batches.posting import MomentForm, OnceForm
from records.receiving.ingredient_services import QUANTITY_UNITS
from records.receiving.models import Approval, EndedHow, IngredientKind, MilkOutcome, Species
from safetyplan.calculation.unit_tables import UNITS

NONE = ("", _("not chosen"))
REASON = _("Reason")
INITIALS = "sheet_initials"  # the field of whose initials stand on a paper sheet
DATE = {"type": "date"}
TIME = {"type": "time"}
DECIMAL = {"inputmode": "decimal"}
CODE = {"autocapitalize": "characters", "spellcheck": "false", "autocomplete": "off", "data-scan": ""}


def lines(rows: int = 2) -> forms.Textarea:
    """Make a small text area."""
    return forms.Textarea(attrs={"rows": rows})


def words(label: Any, most: int = 120, *, required: bool = True, **more: Any) -> forms.CharField:
    """Make a field of one line of text."""
    return forms.CharField(label=label, max_length=most, required=required, **more)


def day(label: Any, *, required: bool = False, help_text: Any = "") -> forms.CharField:
    """Make a field of a date."""
    return words(label, 20, required=required, widget=forms.TextInput(attrs=DATE), help_text=help_text)


def time(label: Any, *, required: bool = False) -> forms.CharField:
    """Make a field of a time of day."""
    return words(label, 10, required=required, widget=forms.TextInput(attrs=TIME))


def number(label: Any, *, required: bool = True, help_text: Any = "") -> forms.CharField:
    """Make a field of a number."""
    widget = forms.TextInput(attrs=DECIMAL)
    return words(label, 60, required=required, widget=widget, help_text=help_text)


def why(label: Any = REASON, *, required: bool = True, help_text: Any = "") -> forms.CharField:
    """Make a field of a reason."""
    return words(label, 500, required=required, widget=lines(), help_text=help_text)


def late() -> forms.CharField:
    """Make the field of a reason for a late entry."""
    text = _("Only needed when this is entered later than the plan tolerates.")
    return why(_("Reason for a late entry"), required=False, help_text=text)


def file(label: Any) -> forms.FileField:
    """Make a field of a file."""
    text = _("PDF, PNG, JPEG or plain text, at most 10 MB.")
    return forms.FileField(label=label, required=False, help_text=text)


def choice(label: Any, choices: Any, *, required: bool = True) -> forms.CharField:
    """Make a field with a list; the services check what was chosen."""
    return forms.CharField(
        label=label, required=required, max_length=60, widget=forms.Select(choices=[NONE, *choices])
    )


class ChangeForm(OnceForm):
    """A form that may change something present: then it asks for the reason."""

    def __init__(self, *args: Any, changes: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if changes:
            self.fields["reason"] = why(_("Reason for the change"))


class SupplierForm(ChangeForm):
    """A supplier."""

    name = words(_("Name"))
    address = words(_("Address"), 300, required=False)
    gives_milk = forms.BooleanField(label=_("Brings milk"), required=False)
    closed = forms.BooleanField(label=_("No longer a supplier"), required=False)


class HerdForm(ChangeForm):
    """A herd."""

    name = words(_("Name"))
    species = choice(_("Species"), Species.choices)
    closed = forms.BooleanField(label=_("No longer there"), required=False)


class ApprovalForm(OnceForm):
    """How a supplier or herd stands."""

    herd = choice(_("Herd"), [], required=False)
    status = choice(_("Stands as"), Approval.choices)
    valid_until = day(_("Until"), help_text=_("Empty: until it is changed."))
    why = why(_("Reason or condition"))

    def __init__(self, *args: Any, herds: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        of_all = ("", _("the supplier with all herds"))
        self.fields["herd"].widget = forms.Select(choices=[of_all, *herds])


class CertificateForm(ChangeForm):
    """A health certificate."""

    name = words(_("What is certified"), 200)
    reference = words(_("Reference"), required=False)
    herd = choice(_("Herd"), [], required=False)
    valid_until = day(_("Expires on"), required=True)
    file = file(_("The certificate"))
    withdrawn = forms.BooleanField(label=_("It no longer holds"), required=False)

    def __init__(self, *args: Any, herds: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        of_all = ("", _("the supplier with all herds"))
        self.fields["herd"].widget = forms.Select(choices=[of_all, *herds])
        if not kwargs.get("changes"):
            del self.fields["withdrawn"]


class TreatmentForm(ChangeForm):
    """A treated animal."""

    herd = choice(_("Herd"), [])
    animal = words(_("Animal"), 60, help_text=_("Its number or name."))
    drug = words(_("Drug"))
    dose_date = day(_("Last dose on"), required=True)
    dose_time = time(_("Last dose at"), required=True)
    out_date = day(_("Milk stays out until (date)"), required=True)
    out_time = time(_("Milk stays out until (time)"), required=True)

    def __init__(self, *args: Any, herds: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["herd"].widget = forms.Select(choices=[NONE, *herds])


class EndTreatmentForm(OnceForm):
    """An animal's milk comes in again before its time."""

    reason = why(_("Why its milk may come in again"))


class ReasonForm(OnceForm):
    """A reason."""

    reason = why()


class RefuseForm(MomentForm):
    """Milk that is refused."""

    volume = number(_("Volume"), required=False, help_text=_("Empty: all that is left of the load."))
    outcome = choice(_("What becomes of it"), MilkOutcome.choices)
    why = why(_("Why it is refused"))
    told = words(_("Who was told"), 200, required=False)
    late_reason = late()

    field_order = ("uuid", "volume", "outcome", "why", "told", "on_date", "on_time", "late_reason")

    def __init__(self, *args: Any, unit: str, changes: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["volume"].label = _("Volume in %(unit)s") % {"unit": unit}
        if changes:
            self.fields["reason"] = why(_("Reason for the change"))


class NoticeForm(ChangeForm):
    """The authority to be told."""

    authority = words(_("Authority"))
    legal_basis = words(
        _("Legal basis"), 300, help_text=_("As your authority or your plan gives it. The program knows none.")
    )
    deadline_date = day(_("To be done by (date)"))
    deadline_time = time(_("To be done by (time)"))
    informed_date = day(_("Told on"), help_text=_("Leave empty while it still has to be done."))
    informed_time = time(_("Told at"))
    reference = words(_("Reference"), required=False)


class IngredientForm(MomentForm):
    """An ingredient, packaging, chemical or test kit lot."""

    kind = choice(_("What it is"), IngredientKind.choices)
    name = words(_("Name"))
    code = words(_("Lot code"), 60, widget=forms.TextInput(attrs=CODE))
    same_code = forms.BooleanField(label=_("Another delivery of the same or a similar code"), required=False)
    use_by = day(_("Use by"), help_text=_("The last day on which it may be used."))
    quantity = number(_("Quantity"), required=False)
    unit = forms.CharField(
        label=_("Unit"),
        required=False,
        max_length=20,
        widget=forms.Select(choices=[(u, UNITS[u].symbol or _("pieces")) for u in QUANTITY_UNITS]),
    )
    supplier = choice(_("Supplier"), [], required=False)
    storage = words(_("Storage"), required=False)
    allergens = words(_("Allergens"), 300, required=False)
    certificate = words(_("Certificate or specification"), required=False)
    file = file(_("Its file"))
    late_reason = late()

    def __init__(
        self, *args: Any, suppliers: list[tuple[str, str]], changes: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["supplier"].widget = forms.Select(choices=[NONE, *suppliers])
        self.fields["on_date"].label = _("Received on")
        self.fields["on_time"].label = _("Received at")
        if changes:
            self.fields["reason"] = why(_("Reason for the change"))


class EndIngredientForm(MomentForm):
    """Nothing is left of an ingredient lot."""

    how = choice(_("What became of it"), EndedHow.choices)
    why = why(_("Reason"), required=False, help_text=_("Needed when it was discarded."))


class MilkOfLotForm(OnceForm):
    """Milk of one load that went into a lot."""

    load = choice(_("Load"), [])
    volume = number(_("Volume"))

    def __init__(self, *args: Any, loads: list[tuple[str, str]], unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["load"].widget = forms.Select(choices=[NONE, *loads])
        self.fields["volume"].label = _("Volume in %(unit)s") % {"unit": unit}


class CorrectMilkForm(OnceForm):
    """How much of a load went into a lot, put right."""

    volume = number(_("Volume"), help_text=_("0 says that none of it did."))
    reason = why()

    def __init__(self, *args: Any, unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["volume"].label = _("Volume in %(unit)s") % {"unit": unit}
