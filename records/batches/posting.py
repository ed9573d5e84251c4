"""What the pages' forms share: a moment typed as date and time, and sending a form twice."""

from collections.abc import Callable, Iterator
from datetime import datetime

from django import forms
from django.db import IntegrityError
from django.http import HttpRequest, QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.times import parse_local
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.form_claims import already_recorded, form_claim, form_uuid, new_uuid
from safetyplan.integrity.form_refusals import PlainForm, Typed, plain_lines
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import Refused
from safetyplan.integrity.typed_values import in_words

BASED_ON = "based_on"


class OnceForm(PlainForm):
    """A form that stores once, however often it is sent."""

    uuid = forms.CharField(widget=forms.HiddenInput, initial=new_uuid, max_length=40)


class MomentForm(OnceForm):
    """A form with a date and a time of day, both in the establishment's local time."""

    on_date = forms.CharField(
        label=gettext_lazy("Date"), max_length=20, widget=forms.TextInput(attrs={"type": "date"})
    )
    on_time = forms.CharField(
        label=gettext_lazy("Time"), max_length=10, widget=forms.TextInput(attrs={"type": "time"})
    )
    on_time_fold = forms.CharField(required=False, max_length=1, widget=forms.HiddenInput)


def now_typed(establishment: Establishment) -> dict[str, str]:
    """Give the present date and time as a person would type them."""
    local = ZoneTime(zone_of(establishment)).local(clock.now(establishment))
    return {"on_date": f"{local:%Y-%m-%d}", "on_time": f"{local:%H:%M}"}


def moment(establishment: Establishment, typed: Typed, *, reason: str, name: str = "on") -> datetime:
    """Read the date and time typed; one of more than two days ago needs the reason to be there."""
    fold = typed.get(f"{name}_time_fold", "")
    with in_words(f"{name}_time"):
        return parse_local(
            typed.get(f"{name}_date", ""),
            typed.get(f"{name}_time", ""),
            zone_of(establishment),
            now=clock.now(establishment),
            fold=int(fold) if fold in ("0", "1") else None,
            confirmed=bool(reason.strip()),
        )


def once(request: HttpRequest, establishment: Establishment, act: Callable[[], object]) -> bool:
    """Do what a form asks unless it was done already; tell whether it was done now."""
    uuid = form_uuid(request)
    if already_recorded(establishment, uuid):
        return False
    try:
        act()
    except IntegrityError:
        if already_recorded(establishment, uuid):  # its twin was faster
            return False
        raise
    return True


def based_on(form: forms.Form, version: object) -> forms.Form:
    """Let a form that changes something say which version it was filled in from."""
    hidden = forms.CharField(required=False, max_length=60, widget=forms.HiddenInput, initial=str(version))
    form.fields[BASED_ON] = hidden
    if form.is_bound:  # shown again after a refusal, beside what is there by now
        data = form.data.dict() if isinstance(form.data, QueryDict) else form.data
        form.data = {**data, BASED_ON: str(version)}
    return form


def refuse_stale(typed: Typed, version: object, now: forms.Form) -> None:
    """Refuse what was filled in from another version than the newest; `now` is the form as that one reads."""
    sent = typed.pop(BASED_ON, "")
    if not sent or sent == str(version):
        return
    told = "; ".join(_differing(typed, now)) or _("what you typed, too")
    raise Refused(
        _("Somebody changed this while you had it open. It says now: %(now)s. Compare, then save again.")
        % {"now": told}
    )


def _differing(typed: Typed, now: forms.Form) -> Iterator[str]:
    for field in now.visible_fields():
        said = plain_lines(str(field.initial if field.initial is not None else ""))
        if field.name != "reason" and field.widget_type != "checkbox" and typed.get(field.name, said) != said:
            labels = {str(key): str(label) for key, label in getattr(field.field.widget, "choices", ())}
            yield f"{field.label}: {labels.get(said, said) or '–'}"


def claim_of(
    request: HttpRequest, establishment: Establishment, kind: str, said: Typed, **about: object
) -> Claim:
    """Make the claim of a form from what was typed, without the marks of offers."""
    content = {key: text for key, text in said.items() if not key.endswith("_offer")}
    return form_claim(request, establishment, kind, {**about, **content})
