"""The page that says why a prerequisite check was not made; one reason may stand for all points of a time."""

from collections.abc import Sequence
from typing import cast
from uuid import uuid5

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from records.checks.forms import ExplainForm
from records.checks.models import CheckExplained
from records.checks.series import series_of
from records.checks.services import explain_checks
from records.checks.views import place_or_404, point_words
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_claims import already_recorded, form_uuid, session_claim
from safetyplan.integrity.form_refusals import refuse
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import clean


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def check_explain(request: HttpRequest, slug: str, slot: str) -> HttpResponse:
    """Say why a prerequisite check was not made."""
    establishment = get_establishment(request, slug, *WRITERS)
    place, status = place_or_404(establishment, slot), 200
    explained = _explained(establishment, slot)
    if explained is not None:
        messages.info(request, _("This check is explained: %(why)s") % {"why": explained.reason})
        return redirect("today", slug)
    series = series_of(establishment, place, slot)
    points = [state.slot.id for state in series.to_do] if series is not None else []
    form = ExplainForm(request.POST or None, points=len(points), initial={"every": "every" in request.GET})
    if request.method == "POST":
        try:
            return _explain(request, establishment, slot, points if "every" in request.POST else [])
        except Refused as refusal:
            if _is_stored(request, establishment):  # its twin was faster
                return redirect("today", slug)
            form.is_valid()
            refuse(form, refusal)
            status = refusal.status
    name = f"{place.control.name}{point_words(place)}"
    context = {"form": form, "control": place.control, "name": name, "lot": place.lot, "slot": slot}
    context["section"] = "today"
    return render_page(request, establishment, "records/checks/explain.html", context, status=status)


def _explained(establishment: Establishment, slot: str) -> CheckExplained | None:
    found: CheckExplained | None = CheckExplained.objects.of(establishment).filter(slot=slot).first()
    return found


def _is_stored(request: HttpRequest, establishment: Establishment) -> bool:
    try:
        return already_recorded(establishment, form_uuid(request))
    except BadInput:
        return False


def _explain(
    request: HttpRequest, establishment: Establishment, slot: str, points: Sequence[str]
) -> HttpResponse:
    """Record the reason for a check, and for the other points of its time that are named."""
    uuid, why = form_uuid(request), request.POST.get("reason", "")
    claims = {}
    for one in dict.fromkeys([slot, *points]):
        said = {"slot": one, "reason": clean(why, most=20_000)}
        own = uuid if one == slot else uuid5(uuid, one)
        claims[one] = session_claim(request, establishment, "check_explained", own, said)
    made = explain_checks(establishment=establishment, by=cast(Person, request.user), why=why, claims=claims)
    told = ngettext("The reason is recorded.", "The reason is recorded for %(count)d points.", len(made))
    messages.success(request, told % {"count": len(made)})
    return redirect("today", establishment.slug)
