"""The checks of instruments: record one, look at one, correct one."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods, require_safe

from records.batches.posting import once
from records.instruments import check_page
from records.instruments.check_forms import CheckForm
from records.instruments.models import Instrument, InstrumentCheck
from records.instruments.views import found_in, may_write
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_claims import form_uuid
from safetyplan.integrity.form_refusals import Typed, check_form, refuse, typed_by
from safetyplan.integrity.refusals import NotAllowed, Refused


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def instrument_check(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record a check of an instrument; the method is the one asked for or that of its schedule."""
    establishment = get_establishment(request, slug, *WRITERS)
    _register, found = found_in(establishment, pk)
    method = check_page.method_asked(found, request.GET.get("method", ""))
    if request.method != "POST":
        form = check_page.form_for(establishment, found, method)
        return _form_page(request, establishment, found, form)
    return _sent(request, establishment, found, method)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def instrument_check_correct(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Correct a check of an instrument; the first one stays readable."""
    establishment = get_establishment(request, slug, *WRITERS)
    original = _check(establishment, pk)
    if request.method != "POST":
        form = check_page.correction_form(establishment, original)
        return _form_page(request, establishment, original.instrument, form, original)
    return _sent(request, establishment, original.instrument, original.method, original)


def _check(establishment: Establishment, pk: UUID) -> InstrumentCheck:
    rows = InstrumentCheck.objects.of(establishment)
    related = rows.select_related("instrument", "reference", "entry", "supersedes", "credential")
    found: InstrumentCheck = get_object_or_404(related, pk=pk)
    return found


def _sent(
    request: HttpRequest,
    establishment: Establishment,
    found: Instrument,
    method: str,
    original: InstrumentCheck | None = None,
) -> HttpResponse:
    typed = typed_by(request)
    form = check_page.bound_form(establishment, found, method, request.POST.dict(), original)
    try:
        check_form(form)
        once(
            request,
            establishment,
            lambda: check_page.send(request, establishment, found, method, typed, original),
        )
        return redirect("instrument_check_shown", establishment.slug, form_uuid(request))
    except NotAllowed:
        raise
    except Refused as refusal:
        return _refused(request, establishment, found, typed, form, refusal, original)


def _refused(
    request: HttpRequest,
    establishment: Establishment,
    found: Instrument,
    typed: Typed,
    form: CheckForm,
    refusal: Refused,
    original: InstrumentCheck | None,
) -> HttpResponse:
    data = {**request.POST.dict(), **typed}
    again = check_page.bound_form(establishment, found, form.method, data, original)
    again.is_valid()
    refuse(again, refusal, check_page.FIELDS)
    return _form_page(request, establishment, found, again, original, refusal.status)


def _form_page(
    request: HttpRequest,
    establishment: Establishment,
    found: Instrument,
    form: CheckForm,
    original: InstrumentCheck | None = None,
    status: int = 200,
) -> HttpResponse:
    context: dict[str, Any] = {
        **check_page.form_context(establishment, found, form, original),
        "section": "today",
    }
    return render_page(request, establishment, "records/instruments/check.html", context, status=status)


@login_required
@require_safe
def instrument_check_shown(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one check of an instrument: its result, its working, what it opened, its history."""
    establishment = get_establishment(request, slug)
    context = check_page.shown_context(establishment, _check(establishment, pk))
    context |= {"may_change": may_write(request), "section": "today"}
    return render_page(request, establishment, "records/instruments/checked.html", context)
