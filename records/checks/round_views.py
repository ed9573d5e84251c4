"""The page of a round: what the plan lets be confirmed at once, shown first; and voiding a round."""

from datetime import date
from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from records.checks.due import SlotState
from records.checks.forms import ReasonForm
from records.checks.models import RoundConfirmed
from records.checks.page_data import limit_text, round_data
from records.checks.rounds import void_round, waiting
from records.checks.rounds_seen import checks_of
from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.localtime import ZoneTime, shown_time
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.pages import render_page
from safetyplan.establishments.queries import names, zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.form_claims import already_recorded, form_claim, form_uuid
from safetyplan.integrity.form_refusals import refuse
from safetyplan.integrity.refusals import Refused


@require_GET
@login_required
def round_now(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the checks that may be confirmed at once; each of them may be given its own value instead."""
    establishment = get_establishment(request, slug, Role.MAKER)
    local, now = ZoneTime(zone_of(establishment)), clock.now(establishment)
    day = local.local(now).date()
    found = waiting(establishment, day, local, now)
    context: dict[str, Any] = {
        "lines": [_line(state, slug, local, day) for state in found],
        "capture_data": round_data(request, establishment, found),
        "heading": _("Seen, nothing to note"),
        "section": "today",
    }
    return render_page(request, establishment, "records/checks/round.html", context)


def _line(state: SlotState, slug: str, local: ZoneTime, day: date) -> dict[str, Any]:
    slot, control = state.slot, state.slot.control
    return {
        "name": f"{control.code} {control.name}",
        "point": slot.point,
        "thing": state.thing.title if state.thing else "",
        "limit": limit_text(control.limit, slot.ordinal),
        "until": shown_time(local, slot.closes_at, relative_to=day),
        "url": reverse("capture", args=[slug, slot.id]),
    }


@require_GET
@login_required
def round_shown(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one round."""
    establishment = get_establishment(request, slug)
    return _shown(request, establishment, _find(establishment, pk))


def _find(establishment: Establishment, pk: UUID) -> RoundConfirmed:
    found: RoundConfirmed = get_object_or_404(RoundConfirmed.objects.of(establishment), pk=pk)
    return found


def _shown(
    request: HttpRequest,
    establishment: Establishment,
    row: RoundConfirmed,
    form: ReasonForm | None = None,
    status: int = 200,
) -> HttpResponse:
    later = RoundConfirmed.objects.of(establishment).filter(supersedes=row).first()
    people = names(establishment)
    may_void = Role.MAKER in request.roles  # type: ignore[attr-defined]
    context = {
        "row": row,
        "later": later,
        "checks": checks_of(row),
        "who": people[row.author_id].printed_name if row.author_id in people else "",
        "form": form or (ReasonForm() if may_void and later is None and not row.voided else None),
        "section": "week",
    }
    return render_page(request, establishment, "records/checks/round_shown.html", context, status=status)


@require_http_methods(["POST"])
@login_required
def round_void(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Void a round: its checks count as not made."""
    establishment = get_establishment(request, slug, Role.MAKER)
    row, form = _find(establishment, pk), ReasonForm(request.POST)
    try:
        if not already_recorded(establishment, form_uuid(request)):
            why = request.POST.get("reason", "")
            said = {"round": pk, "reason": why}
            claim = form_claim(request, establishment, "round_void", said)
            person = cast(Person, request.user)
            void_round(establishment=establishment, by=person, original=row, why=why, claim=claim)
    except Refused as refusal:
        form.is_valid()
        refuse(form, refusal)
        return _shown(request, establishment, row, form, refusal.status)
    messages.success(request, _("The round is void. Its checks count as not made."))
    return redirect("round", slug, row.pk)
