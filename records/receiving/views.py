"""Pages of milk: the list, a new load, one load; refuse it, tell the authority, name it for a lot."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods, require_safe

from records.batches.models import Lot
from records.checks.models import PaperSheet
from records.receiving import asking, milk_form
from records.receiving.listing import list_context
from records.receiving.load_page import choose_context, load_context, next_check
from records.receiving.models import AuthorityNotice, LotMilk, MilkLoad, MilkRefused
from records.receiving.posting import ask
from records.receiving.queries import load_of
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.pages import render_page

ASKED = ["GET", "HEAD", "POST"]


def find_load(establishment: Establishment, pk: UUID) -> MilkLoad:
    """Fetch a load as it stands, by its identity, or answer 404."""
    found = load_of(establishment, pk)
    if found is None:
        raise Http404
    return found


def find_sheet(request: HttpRequest, establishment: Establishment) -> PaperSheet | None:
    """Fetch the paper sheet that an address names, from which a load is entered later, or answer 404."""
    text = request.GET.get("sheet", "")
    if not text:
        return None
    try:
        found: PaperSheet = get_object_or_404(PaperSheet.objects.of(establishment), pk=UUID(text))
    except ValueError as error:
        raise Http404 from error
    return found


@login_required
@require_safe
def receiving(request: HttpRequest, slug: str) -> HttpResponse:
    """List what came in, a period at a time."""
    establishment = get_establishment(request, slug)
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context = list_context(establishment, request.GET, roles)
    return render_page(request, establishment, "records/receiving/list.html", context)


@login_required
@require_safe
def milk_choose(request: HttpRequest, slug: str) -> HttpResponse:
    """Choose whose milk comes in."""
    establishment = get_establishment(request, slug, Role.MAKER)
    context = choose_context(establishment, find_sheet(request, establishment))
    return render_page(request, establishment, "records/receiving/choose.html", context)


@login_required
@require_http_methods(ASKED)
def milk_new(request: HttpRequest, slug: str, supplier: UUID) -> HttpResponse:
    """Receive a load of milk of a supplier (`herd`: of one of its herds)."""
    establishment = get_establishment(request, slug, Role.MAKER)
    text = request.GET.get("herd", "")
    try:
        source = milk_form.source_of(establishment, supplier, UUID(text) if text else None)
    except ValueError:
        source = None
    if source is None or source.supplier.closed:
        raise Http404
    sheet = find_sheet(request, establishment)
    return ask(request, establishment, asking.new_load(request, establishment, source, sheet))


@login_required
@require_safe
def load(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one load of milk."""
    establishment = get_establishment(request, slug)
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context = load_context(establishment, find_load(establishment, pk), roles)
    return render_page(request, establishment, "records/receiving/load.html", context)


@login_required
@require_safe
def load_next(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Lead to the next check of a load that is to be recorded now; without one, to the load."""
    establishment = get_establishment(request, slug, Role.MAKER)
    slot = next_check(establishment, find_load(establishment, pk))
    return redirect("capture", slug, slot) if slot else redirect("load", slug, pk)


@login_required
@require_http_methods(ASKED)
def load_correct(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Correct the receipt of a load."""
    establishment = get_establishment(request, slug, Role.MAKER)
    found = find_load(establishment, pk)
    return ask(request, establishment, asking.corrected_load(request, establishment, found))


@login_required
@require_http_methods(ASKED)
def load_void(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Void a receipt that should not be there."""
    establishment = get_establishment(request, slug, Role.MAKER)
    found = find_load(establishment, pk)
    return ask(request, establishment, asking.voided_load(request, establishment, found))


@login_required
@require_http_methods(ASKED)
def load_refuse(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Refuse milk of a load."""
    establishment = get_establishment(request, slug, *WRITERS)
    found = find_load(establishment, pk)
    return ask(request, establishment, asking.refusal(request, establishment, found))


@login_required
@require_http_methods(ASKED)
def refusal_correct(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Correct a refusal."""
    establishment = get_establishment(request, slug, *WRITERS)
    original: Any = get_object_or_404(MilkRefused.objects.of(establishment), pk=pk)
    found = find_load(establishment, original.load_id)
    return ask(request, establishment, asking.refusal(request, establishment, found, original))


@login_required
@require_http_methods(ASKED)
def load_authority(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Note that the authority has to be told of a load, or was told."""
    establishment = get_establishment(request, slug, *WRITERS)
    found = find_load(establishment, pk)
    return ask(request, establishment, asking.notice(request, establishment, found))


@login_required
@require_http_methods(ASKED)
def authority_change(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Note that the authority was told now, or put the entry right."""
    establishment = get_establishment(request, slug, *WRITERS)
    original: Any = get_object_or_404(AuthorityNotice.objects.of(establishment), pk=pk)
    found = find_load(establishment, original.load_id)
    return ask(request, establishment, asking.notice(request, establishment, found, original))


@login_required
@require_http_methods(ASKED)
def lot_milk(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Name a load whose milk went into a lot."""
    establishment = get_establishment(request, slug, Role.MAKER)
    lot: Any = get_object_or_404(Lot.objects.of(establishment).select_related("plan_version"), pk=pk)
    return ask(request, establishment, asking.milk_of_lot(request, establishment, lot))


@login_required
@require_http_methods(ASKED)
def lot_milk_correct(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Correct how much of a load went into a lot."""
    establishment = get_establishment(request, slug, Role.MAKER)
    rows = LotMilk.objects.of(establishment).select_related("lot__plan_version", "load")
    original: Any = get_object_or_404(rows, pk=pk)
    return ask(request, establishment, asking.corrected_milk(request, establishment, original))
