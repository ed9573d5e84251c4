"""The register of instruments: read it, add one, look at one, change it, take it out of use and back."""

from collections.abc import Callable
from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from records.batches.posting import once
from records.instruments import registering
from records.instruments.forms import InstrumentForm, WhyForm
from records.instruments.models import Instrument
from records.instruments.page import instrument_page, register_page
from records.instruments.queries import Register, register_of
from records.instruments.services import reactivate_instrument, retire_instrument
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_claims import form_uuid
from safetyplan.integrity.form_refusals import check_form, refuse, typed_by
from safetyplan.integrity.refusals import NotAllowed, Refused


def may_write(request: HttpRequest) -> bool:
    """Tell whether the reader may record here."""
    return bool(set(request.roles) & set(WRITERS))  # type: ignore[attr-defined]


def found_in(establishment: Establishment, pk: UUID) -> tuple[Register, Instrument]:
    """Give the register and the newest row of an instrument, or 404."""
    register = register_of(establishment)
    if pk not in register.rows:
        raise Http404
    return register, register.newest(pk)


@login_required
@require_safe
def instruments(request: HttpRequest, slug: str) -> HttpResponse:
    """List the instruments with where each stands."""
    establishment = get_establishment(request, slug)
    context = register_page(establishment, may_check=may_write(request))
    return render_page(request, establishment, "records/instruments/list.html", context)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def instrument_new(request: HttpRequest, slug: str) -> HttpResponse:
    """Register an instrument."""
    establishment = get_establishment(request, slug, *WRITERS)
    if request.method != "POST":
        return _form_page(request, establishment, registering.form_for(establishment))
    return _sent(request, establishment, None)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def instrument_change(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record a change to an instrument; the row of before stays."""
    establishment = get_establishment(request, slug, *WRITERS)
    _register, found = found_in(establishment, pk)
    if request.method != "POST":
        return _form_page(request, establishment, registering.form_for(establishment, found), found)
    return _sent(request, establishment, found)


def _sent(request: HttpRequest, establishment: Establishment, found: Instrument | None) -> HttpResponse:
    typed = typed_by(request)
    form = registering.form_for(establishment, found, request.POST.dict())
    try:
        check_form(form)
        if once(request, establishment, lambda: registering.send(request, establishment, typed, found)):
            messages.success(request, _("The instrument is registered."))
        return redirect("instrument", establishment.slug, form_uuid(request))
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _form_page(request, establishment, form, found, refusal.status)


def _form_page(
    request: HttpRequest,
    establishment: Establishment,
    form: InstrumentForm,
    found: Instrument | None = None,
    status: int = 200,
) -> HttpResponse:
    context = {"form": form, "instrument": found, "section": "plan"}
    return render_page(request, establishment, "records/instruments/form.html", context, status=status)


@login_required
@require_safe
def instrument(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one instrument with its checks and changes."""
    return _one(request, get_establishment(request, slug), pk)


def _one(
    request: HttpRequest,
    establishment: Establishment,
    pk: UUID,
    form: WhyForm | None = None,
    status: int = 200,
) -> HttpResponse:
    register, found = found_in(establishment, pk)
    context: dict[str, Any] = instrument_page(establishment, register, found, may_change=may_write(request))
    context["why"] = form or WhyForm()
    return render_page(request, establishment, "records/instruments/instrument.html", context, status=status)


@login_required
@require_POST
def instrument_retire(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Take an instrument out of use; its old readings keep it."""
    return _turn(request, get_establishment(request, slug, *WRITERS), pk, retire_instrument)


@login_required
@require_POST
def instrument_use(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Take an instrument into use again."""
    return _turn(request, get_establishment(request, slug, *WRITERS), pk, reactivate_instrument)


def _turn(
    request: HttpRequest, establishment: Establishment, pk: UUID, act: Callable[..., Instrument]
) -> HttpResponse:
    _register, found = found_in(establishment, pk)
    form = WhyForm(request.POST)
    try:
        check_form(form)
        by, why = cast(Person, request.user), form.cleaned_data["reason"]
        row = act(establishment=establishment, by=by, instrument=found, why=why)
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _one(request, establishment, pk, form, refusal.status)
    told = _("%(code)s is out of use.") if row.retired else _("%(code)s is in use.")
    messages.success(request, told % {"code": row.code})
    return redirect("instrument", establishment.slug, row.pk)
