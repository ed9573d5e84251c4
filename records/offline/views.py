"""Pages and answers for the work without the server."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from records.offline.bundle import bundle_of
from records.offline.importing import Taken, take_file
from records.offline.worker import worker_text
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.context import Page
from safetyplan.establishments.devices import answers_json
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.pages import render_page
from safetyplan.establishments.queries import details_of, zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.refusals import NotAllowed, Refused

BRAND, PAPER = "#14424c", "#ffffff"


@require_safe
@answers_json
def bundle(request: HttpRequest, slug: str) -> HttpResponse:
    """Give what a device keeps to work without the server; it reads only."""
    if not request.user.is_authenticated:
        raise NotAllowed(_("You are signed out. Sign in, then try again."), status=401)
    establishment = get_establishment(request, slug, Role.MAKER)
    now = clock.now(establishment)
    found = bundle_of(request, establishment, ZoneTime(zone_of(establishment)), now)
    return JsonResponse(found, headers={"Cache-Control": "no-store"})


def _kept_text(establishment: Establishment) -> str:
    """Write the page that is kept on a device: it holds nobody's name and no token."""
    page = Page(establishment, details_of(establishment))
    return render_to_string("records/offline/kept.html", {"establishment": page, "kept_page": True})


@login_required
@require_safe
def kept_page(request: HttpRequest, slug: str) -> HttpResponse:
    """Give the page that is kept on a device."""
    establishment = get_establishment(request, slug, Role.MAKER)
    headers = {"X-Kept-Page": "1", "Cache-Control": "no-store"}
    return HttpResponse(_kept_text(establishment), headers=headers)


@require_safe
def worker(request: HttpRequest, slug: str) -> HttpResponse:
    """Give the service worker, whose scope are the establishment's pages.

    Browsers fetch it without cookies; it holds addresses and a version, nothing of the records.
    """
    establishment = get_object_or_404(Establishment, slug=slug)
    text = worker_text(
        page=_kept_text(establishment).encode(),
        page_url=reverse("kept_page", args=[slug]),
        plain="plain" in request.GET,
    )
    return HttpResponse(text, content_type="text/javascript", headers={"Cache-Control": "no-cache"})


def _icon(name: str, size: int, purpose: str) -> dict[str, Any]:
    return {
        "src": static(f"icons/{name}.png"),
        "sizes": f"{size}x{size}",
        "type": "image/png",
        "purpose": purpose,
    }


@login_required
@require_safe
def manifest(request: HttpRequest, slug: str) -> HttpResponse:
    """Give the name and icons under which the dairy's pages are put on a home screen."""
    establishment = get_establishment(request, slug)
    name = details_of(establishment).name
    found = {
        "id": f"/{slug}/",
        "name": _("%(name)s: records") % {"name": name},
        "short_name": name[:30],
        "lang": "en",
        "start_url": reverse("today", args=[slug]),
        "scope": f"/{slug}/",
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": BRAND,
        "icons": [
            _icon("icon-192", 192, "any"),
            _icon("icon-512", 512, "any"),
            _icon("icon-full-512", 512, "maskable"),
        ],
    }
    return JsonResponse(found, content_type="application/manifest+json")


@login_required
@require_safe
def device(request: HttpRequest, slug: str) -> HttpResponse:
    """Show what is on this device; the browser fills it in."""
    establishment = get_establishment(request, slug)
    context = {"section": "", "may_import": bool(set(WRITERS) & set(request.roles))}  # type: ignore[attr-defined]
    return render_page(request, establishment, "records/offline/device.html", context)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def device_import(request: HttpRequest, slug: str) -> HttpResponse:
    """Take a file of unsent records from a device that cannot send them itself."""
    establishment = get_establishment(request, slug, *WRITERS)
    taken: list[Taken] = []
    problem, status = "", 200
    if request.method == "POST":
        try:
            taken = take_file(establishment, request.FILES.get("file"))
        except Refused as refusal:
            problem, status = str(refusal), refusal.status
    context = {"taken": taken, "problem": problem, "section": ""}
    return render_page(request, establishment, "records/offline/import.html", context, status=status)
