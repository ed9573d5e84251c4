"""The register of instruments: read it, add one, retire one."""

from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from records.instruments.forms import InstrumentForm
from records.instruments.models import Instrument
from records.instruments.services import register_instrument, retire_instrument
from safetyplan.establishments.access import EVERYONE, WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import latest
from safetyplan.establishments.shown import People
from safetyplan.integrity.form_refusals import check_form, refuse
from safetyplan.integrity.refusals import Refused
from safetyplan.words import name_words


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def instruments(request: HttpRequest, slug: str) -> HttpResponse:
    """List the instruments; register a new one."""
    roles = WRITERS if request.method == "POST" else EVERYONE
    establishment = get_establishment(request, slug, *roles)
    form = InstrumentForm(request.POST) if request.method == "POST" else InstrumentForm()
    status = 200
    if request.method == "POST":
        try:
            check_form(form)
            by = cast(Person, request.user)
            register_instrument(establishment=establishment, by=by, **form.cleaned_data)
            messages.success(request, _("The instrument is registered."))
            return redirect("instruments", slug)
        except Refused as refusal:
            refuse(form, refusal)
            status = refusal.status
    return render(
        request, "records/instruments/list.html", _context(request, establishment, form), status=status
    )


def _context(request: HttpRequest, establishment: Establishment, form: InstrumentForm) -> dict[str, Any]:
    people = People(establishment)
    rows = latest(Instrument.objects.of(establishment)).order_by("retired", "code")
    return {
        "section": "plan",
        "instruments": [(shown, name_words(shown.row.quantity)) for shown in people.each(rows)],
        "form": form,
        "may_change": set(request.roles) & set(WRITERS),  # type: ignore[attr-defined]
    }


@login_required
@require_POST
def instrument_retire(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Take an instrument out of use; its old readings keep it."""
    establishment = get_establishment(request, slug, *WRITERS)
    found: Any = get_object_or_404(Instrument.objects.of(establishment), pk=pk)
    by = cast(Person, request.user)
    retire_instrument(establishment=establishment, by=by, instrument=found, why=_("Taken out of use"))
    messages.success(request, _("%(code)s is out of use.") % {"code": found.code})
    return redirect("instruments", slug)
