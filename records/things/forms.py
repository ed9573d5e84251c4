"""Forms of shared things: fields, labels and lengths; the services check what was typed."""

from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext_lazy as _

from records.batches.posting import MomentForm, OnceForm
from records.things.models import Change, Ending, ThingKind
from records.things.services import AMOUNT_UNITS
from safetyplan.calculation.unit_tables import UNITS

RECIPE_LINES = 4
RECIPE_PARTS = ("what", "amount", "unit", "ingredient")
UNIT_CHOICES = [("", "–"), *((code, UNITS[code].symbol) for code in AMOUNT_UNITS)]


def text(
    label: Any, *, most: int = 500, required: bool = False, help_text: Any = "", **attrs: Any
) -> forms.CharField:
    """Give the field of a short text."""
    return forms.CharField(
        label=label,
        max_length=most,
        required=required,
        help_text=help_text,
        widget=forms.TextInput(attrs=attrs),
    )


def late_reason() -> forms.CharField:
    """Give the field of the reason of a late entry."""
    return text(_("Reason for a late entry"), help_text=_("Only needed when it happened some time ago."))


def unit_field() -> forms.CharField:
    """Give the choice of the unit of an amount."""
    return forms.CharField(
        label=_("Unit"), max_length=20, required=False, widget=forms.Select(choices=UNIT_CHOICES)
    )


class BirthForm(MomentForm):
    """A brine or wash made, a room or vat taken into use."""

    kind = forms.CharField(
        label=_("What it is"), max_length=20, widget=forms.Select(choices=ThingKind.choices)
    )
    code = text(
        _("Code"),
        most=60,
        required=True,
        help_text=_("As written on it, for example B1."),
        autocapitalize="characters",
    )
    name = text(_("Name"), most=120, required=True)

    def __init__(self, *args: Any, kind: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["on_date"].label, self.fields["on_time"].label = _("Begun on"), _("Begun at")
        if kind not in (ThingKind.ROOM, ThingKind.VAT):
            for number in range(1, RECIPE_LINES + 1):
                self._recipe_line(number)
        self.fields["note"] = text(_("Note"))
        self.fields["late_reason"] = late_reason()

    def _recipe_line(self, number: int) -> None:
        told = {"number": number}
        self.fields[f"what_{number}"] = text(_("Ingredient, %(number)d") % told, most=120)
        self.fields[f"amount_{number}"] = text(_("Amount, %(number)d") % told, most=60, inputmode="decimal")
        self.fields[f"unit_{number}"] = unit_field()
        self.fields[f"ingredient_{number}"] = text(_("Lot of it, %(number)d") % told, most=60)

    def recipe(self) -> list[list[BoundField]]:
        """Give the fields of what a brine or a wash is made of, line by line."""
        lines = range(1, RECIPE_LINES + 1) if "what_1" in self.fields else ()
        return [[self[f"{name}_{number}"] for name in RECIPE_PARTS] for number in lines]

    def recipe_is_long(self) -> bool:
        """Tell whether anything stands in a line after the first."""
        return any(field.value() or field.errors for line in self.recipe()[1:] for field in line)

    def around(self) -> tuple[list[BoundField], list[BoundField]]:
        """Give the visible fields before what it is made of, and those after."""
        parts = {field.name for line in self.recipe() for field in line}
        rest = [field for field in self.visible_fields() if field.name not in parts]
        at = [field.name for field in rest].index("note")
        return rest[:at], rest[at:]

    field_order = ("uuid", "kind", "code", "name", "on_date", "on_time")


class CorrectBirthForm(BirthForm):
    """The birth of a thing put right."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["kind"], self.fields["code"]
        self.fields["reason"] = text(_("Reason for the correction"), required=True)


class ChangeForm(MomentForm):
    """Something done to a thing."""

    what = forms.CharField(
        label=_("What was done"), max_length=30, widget=forms.Select(choices=[("", "–"), *Change.choices])
    )
    amount = text(_("Amount"), most=60, inputmode="decimal")
    unit = unit_field()
    ingredient = text(_("Lot of what was added"), most=60)
    note = text(_("Note"))
    late_reason = late_reason()

    field_order = (
        "uuid",
        "what",
        "amount",
        "unit",
        "ingredient",
        "on_date",
        "on_time",
        "note",
        "late_reason",
    )


class EndForm(MomentForm):
    """The end of a thing."""

    how = forms.CharField(
        label=_("How it ended"), max_length=20, widget=forms.Select(choices=[("", "–"), *Ending.choices])
    )
    why = text(_("Why"), required=True)
    became = text(_("What became of it"))
    late_reason = late_reason()

    field_order = ("uuid", "how", "why", "became", "on_date", "on_time", "late_reason")


class UseForm(MomentForm):
    """Lots that used a thing; the lots themselves are drawn by the page."""

    pieces = text(_("Pieces of each lot"), most=20, inputmode="numeric")
    note = text(_("Note"))
    late_reason = late_reason()

    field_order = ("uuid", "on_date", "on_time", "pieces", "note", "late_reason")


class OutForm(MomentForm):
    """A lot taken out of a thing."""

    late_reason = late_reason()


class CorrectChangeForm(ChangeForm):
    """Something done to a thing, put right."""

    reason = text(_("Reason for the correction"), required=True)
    late_reason = None  # type: ignore[assignment]  # Django leaves the field out

    field_order = ("uuid", "what", "amount", "unit", "ingredient", "on_date", "on_time", "note", "reason")


class CorrectUseForm(MomentForm):
    """The times at which a lot used a thing, put right; without an end it is still in it."""

    reason = text(_("Reason for the correction"), required=True)

    def __init__(self, *args: Any, momentary: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not momentary:
            self.fields["on_date"].label, self.fields["on_time"].label = _("Put in on"), _("Put in at")
            self.fields["until_date"] = text(_("Taken out on"), most=20, type="date")
            self.fields["until_time"] = text(
                _("Taken out at"),
                most=10,
                help_text=_("Leave both empty while it is still in it."),
                type="time",
            )
            self.fields["until_time_fold"] = forms.CharField(
                required=False, max_length=1, widget=forms.HiddenInput
            )
            self.order_fields(("uuid", "on_date", "on_time", "until_date", "until_time", "reason"))


class VoidForm(OnceForm):
    """An entry that should not be there."""

    reason = text(_("Reason"), required=True)
