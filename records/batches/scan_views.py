"""Finding a lot by what was scanned, and reading a code from a photo where the browser cannot."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from records.batches.scanning import codes_in, lot_of_text
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.devices import answers_json
from safetyplan.integrity.pictures import LARGEST
from safetyplan.integrity.refusals import Refused


@require_safe
@login_required
def lot_find(request: HttpRequest, slug: str) -> HttpResponse:
    """Lead to the lot that a label names; a script is told its address instead."""
    establishment = get_establishment(request, slug)
    text = request.GET.get("code", "")
    if request.GET.get("form") != "json":
        return redirect("lot", slug, lot_of_text(establishment, text).pk)
    return _told(request, slug, text)


@answers_json
def _told(request: HttpRequest, slug: str, text: str) -> HttpResponse:
    lot = lot_of_text(get_establishment(request, slug), text)
    return JsonResponse({"code": lot.code, "url": reverse("lot", args=[slug, lot.pk])})


@require_POST
@answers_json
def scan(request: HttpRequest, slug: str) -> HttpResponse:
    """Read the codes in a photo; the photo is not kept."""
    if not request.user.is_authenticated:
        raise Refused(_("You are signed out. Sign in, then try again."), status=401)
    get_establishment(request, slug, *WRITERS)
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not length.isdigit() or int(length) > LARGEST:
        raise Refused(_("The photo is larger than 10 MB."), status=413)
    return JsonResponse({"codes": codes_in(request.body)})
