"""Pages of the lots: the list, a new one, one lot."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from records.batches import applying, start
from records.batches.added import addition_rows
from records.batches.additions import additions_with_code
from records.batches.make_page import make_context
from records.batches.models import Lot
from records.batches.page import lot_context
from records.batches.posting import once
from records.batches.scanning import lot_qr
from records.inspection.telling import on_screen
from records.signoff.lot_forms import lot_forms
from records.signoff.tables import LotTable, lot_listing
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_claims import form_uuid
from safetyplan.integrity.form_refusals import check_form, refuse, typed_by
from safetyplan.integrity.refusals import NotAllowed, Refused


@login_required
@require_safe
def lots(request: HttpRequest, slug: str) -> HttpResponse:
    """List the lots, newest first."""
    establishment = get_establishment(request, slug)
    listing = lot_listing(establishment, request.GET.get("before", ""))
    table = LotTable(listing["rows"], slug=slug, empty_text=_("No lot was started yet."))
    context = {**listing, "table": table, "section": "lots", "may_start": may(request, Role.MAKER)}
    return render_page(request, establishment, "records/batches/lots.html", context)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def lot_new(request: HttpRequest, slug: str) -> HttpResponse:
    """Start a lot."""
    establishment = get_establishment(request, slug, Role.MAKER)
    if request.method != "POST":
        form = start.empty_form(establishment, request.GET.get("product", ""))
        return _new_page(request, establishment, form)
    typed = typed_by(request)
    form = start.form_of(establishment, {**request.POST.dict(), **typed})
    try:
        check_form(form)
        if once(request, establishment, lambda: start.start(request, establishment, typed)):
            messages.success(request, _("The lot is started."))
        return redirect("lot", slug, form_uuid(request))
    except NotAllowed:
        raise
    except Refused as refusal:
        form = start.form_of(establishment, {**request.POST.dict(), **typed})
        refuse(form, refusal, start.FIELDS)
        return _new_page(request, establishment, form, refusal.status)


def _new_page(
    request: HttpRequest, establishment: Establishment, form: Form | None, status: int = 200
) -> HttpResponse:
    context = {"form": form, "section": "lots"}
    return render_page(request, establishment, "records/batches/new.html", context, status=status)


@login_required
@require_safe
def lot(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one lot."""
    establishment = get_establishment(request, slug)
    return lot_page(request, establishment, find_lot(establishment, pk))


@login_required
@require_safe
def lot_make(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show a make at the vat."""
    establishment = get_establishment(request, slug)
    found, roles = find_lot(establishment, pk), request.roles  # type: ignore[attr-defined]
    context = {**make_context(request, establishment, found, roles), "section": "today"}
    return render_page(request, establishment, "records/batches/make.html", context)


@login_required
@require_safe
def additions(request: HttpRequest, slug: str) -> HttpResponse:
    """Tell which lots got a lot of an ingredient."""
    establishment = get_establishment(request, slug)
    code, teller = request.GET.get("code", "")[:60].strip(), on_screen(establishment)
    found = additions_with_code(establishment, code) if code else []
    context = {"code": code, "additions": addition_rows(teller, slug, found), "section": "lots"}
    context["key"] = teller.key_rows()
    return render_page(request, establishment, "records/batches/additions.html", context)


def find_lot(establishment: Establishment, pk: UUID) -> Lot:
    """Fetch a lot of the establishment, or answer 404."""
    found: Lot = get_object_or_404(Lot.objects.of(establishment).select_related("plan_version"), pk=pk)
    return found


def may(request: HttpRequest, *roles: str) -> bool:
    """Tell whether the person of the page has any of the roles."""
    return bool(set(roles) & set(request.roles))  # type: ignore[attr-defined]


def lot_page(
    request: HttpRequest,
    establishment: Establishment,
    found: Lot,
    bound: Mapping[str, Form] | None = None,
    status: int = 200,
) -> HttpResponse:
    """Show one lot, with the forms that were refused as they were typed."""
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context: dict[str, Any] = lot_context(establishment, found, roles)
    context |= {
        "forms": {**lot_forms(establishment, found, roles, context), **(bound or {})},
        "may_print": may(request, *WRITERS, Role.ADMINISTRATOR),
        "may_apply": may(request, Role.RESPONSIBLE),
        "qr": lot_qr(request.build_absolute_uri(reverse("lot", args=[establishment.slug, found.pk]))),
        "section": "lots",
    }
    return render_page(request, establishment, "records/batches/lot.html", context, status=status)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def plan_apply(request: HttpRequest, slug: str) -> HttpResponse:
    """Apply the plan version in force to open lots, with a signature."""
    establishment = get_establishment(request, slug, Role.RESPONSIBLE)
    if request.method != "POST":
        return _apply_page(request, establishment, applying.ApplyForm())
    form = applying.ApplyForm(request.POST)
    done: list[str] = []
    try:
        check_form(form)
        once(
            request,
            establishment,
            lambda: done.append(applying.done_words(applying.apply(request, establishment))),
        )
    except NotAllowed:
        raise
    except Refused as refusal:
        if refusal.part != "lots":
            refuse(form, refusal)
        return _apply_page(request, establishment, form, refusal)
    messages.success(request, " ".join(done) or _("This was signed already."))
    return redirect("today", slug)


def _apply_page(
    request: HttpRequest, establishment: Establishment, form: Form, refusal: Refused | None = None
) -> HttpResponse:
    context = applying.context(establishment, form, applying.chosen_of(request))
    context |= {
        "section": "lots",
        "lots_error": refusal.message if refusal and refusal.part == "lots" else "",
    }
    status = refusal.status if refusal else 200
    return render_page(request, establishment, "records/batches/apply.html", context, status=status)
