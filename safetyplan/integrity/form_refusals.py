"""Refusals on plain forms: the message at its field, its offers as choices, everything typed still there."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.forms import CharField, Form, PasswordInput
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.rounding import shown
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.calculation.units import convert
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import number

Result = TypeVar("Result")
Typed = dict[str, str]
NOT_TYPED = ("csrfmiddlewaretoken", "password", "uuid")
NO_NAMES: Mapping[str, str] = MappingProxyType({})


def plain_lines(text: str) -> str:
    """Give a text with plain line ends: browsers send two characters for one."""
    return text.replace("\r\n", "\n")


class PlainForm(Form):
    """Declares fields, labels and lengths; what is missing the services say, in their own words."""

    def full_clean(self) -> None:
        """Check lengths and characters only."""
        needed = [field for field in self.fields.values() if field.required]
        for field in needed:
            field.required = False
        super().full_clean()
        for field in needed:
            field.required = True
        for name, value in getattr(self, "cleaned_data", {}).items():
            if isinstance(value, str):
                self.cleaned_data[name] = plain_lines(value)


def signature_field() -> CharField:
    """Give the field in which a person gives the password again to sign."""
    return CharField(
        label=gettext_lazy("Your password, as signature"),
        max_length=1000,
        strip=False,
        widget=PasswordInput(attrs={"autocomplete": "current-password"}),
    )


def refuse(form: Form, refusal: Refused, fields: Mapping[str, str] = NO_NAMES) -> None:
    """Put a refusal on a form; `fields` gives the field of a part where the two differ."""
    if not form.is_bound:  # sent without a single field
        form.is_bound = True
        form.full_clean()
    name = fields.get(refusal.part, refusal.part)
    text = str(refusal.message)
    error = ValidationError(text)
    if refusal.offers:  # with parameters the message is filled in, so its own signs are doubled
        error = ValidationError(text.replace("%", "%%"), params={"offers": refusal.offers})
    form.add_error(name if name in form.fields else None, error)


def typed_by(request: HttpRequest) -> Typed:
    """Give what was typed into a form, without what must not be kept."""
    return {key: plain_lines(str(value)) for key, value in request.POST.items() if key not in NOT_TYPED}


def check_form(form: Form) -> None:
    """Refuse a form that does not hold together; its errors are on it already."""
    if not form.is_valid():
        raise BadInput(_("Something is missing or too long: see below."), part="form")


def taking_offers(
    typed: Typed,
    act: Callable[[Typed], Result],
    *,
    fields: Mapping[str, str] = NO_NAMES,
    units: Mapping[str, str] = NO_NAMES,
) -> Result:
    """Do something with what was typed; where it is refused with offers and one was chosen, take that one.

    `units` gives the unit of each field, into which an offer in another unit is converted. An offer of a
    time that came twice is passed on as `<field>_fold`, one that confirms as `<field>_sure` beside its value.
    `typed` keeps the offers taken, for the form.
    """
    while True:
        try:
            return act(typed)
        except BadInput as refusal:
            name = fields.get(refusal.part, refusal.part)
            offer = _chosen(typed, name, refusal)
            if offer is None:
                raise
            del typed[f"{name}_offer"]
            typed.update(_taken(name, offer, units))


def _chosen(typed: Typed, name: str, refusal: BadInput) -> dict[str, Any] | None:
    picked = typed.get(f"{name}_offer", "")
    if not (picked.isascii() and picked.isdigit()) or int(picked) >= len(refusal.offers):
        return None
    return refusal.offers[int(picked)]


def _taken(name: str, offer: dict[str, Any], units: Mapping[str, str]) -> Typed:
    if offer["fold"] is not None:
        return {f"{name}_fold": str(offer["fold"])}
    raw, unit, wanted = str(offer["raw"]), str(offer["unit"]), units.get(name, "")
    if offer["confirmed"] and (not wanted or unit == wanted):
        return {name: raw, f"{name}_sure": "1"}
    if not wanted or unit == wanted:
        return {name: raw}
    quantity = UNITS[unit].quantity
    value: Decimal = number(raw, quantity=quantity, unit=unit, part=name, confirmed=True).value
    return {name: shown(convert(value, unit, wanted), quantity, wanted)}
