"""Page that voids an event of a lot."""

from typing import cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from records.batches.models import LotEvent
from records.checks.forms import ReasonForm
from records.checks.voiding import void_event
from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_claims import already_recorded, form_claim, form_uuid
from safetyplan.integrity.form_refusals import refuse
from safetyplan.integrity.refusals import Refused


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def event_void(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Void an event that should not be there."""
    establishment = get_establishment(request, slug, Role.MAKER)
    events = LotEvent.objects.of(establishment).select_related("lot__plan_version")
    original: LotEvent = get_object_or_404(events, pk=pk)
    form, status = ReasonForm(request.POST or None), 200
    if request.method == "POST":
        try:
            return _void(request, establishment, original)
        except Refused as refusal:
            form.is_valid()
            refuse(form, refusal)
            status = refusal.status
    context = {"form": form, "event": original, "lot": original.lot, "section": "lots"}
    return render_page(request, establishment, "records/checks/event_void.html", context, status=status)


def _void(request: HttpRequest, establishment: Establishment, original: LotEvent) -> HttpResponse:
    """Void once, however often the form is sent."""
    if not already_recorded(establishment, form_uuid(request)):
        why = request.POST.get("reason", "")
        claim = form_claim(request, establishment, "lot_event_voided", {"event": original.pk, "reason": why})
        void_event(
            establishment=establishment,
            by=cast(Person, request.user),
            original=original,
            why=why,
            claim=claim,
        )
        messages.success(request, _("The event is void. Nothing counts from it any more."))
    return redirect("lot", establishment.slug, original.lot_id)
