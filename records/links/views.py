"""Pages of links between lots: those of one lot, a new one, a correction, a withdrawal."""

from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from records.batches.models import Lot
from records.batches.posting import claim_of, once
from records.inspection.telling import on_screen
from records.links import page
from records.links.forms import FIELDS, WithdrawForm
from records.links.models import LotLink
from records.links.rows import link_rows, linked_notices
from records.links.services import withdraw_link
from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_refusals import check_form, refuse, typed_by
from safetyplan.integrity.refusals import NotAllowed, Refused

LINKERS = (Role.MAKER, Role.RESPONSIBLE)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def lot_links(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show the links of a lot, or record one."""
    establishment = get_establishment(request, slug, *LINKERS)
    lot: Lot = get_object_or_404(Lot.objects.of(establishment).select_related("plan_version"), pk=pk)
    if request.method != "POST":
        return _links_page(request, establishment, lot, page.link_form(establishment, lot))
    typed = typed_by(request)
    form = page.link_form(establishment, lot, {**request.POST.dict(), **typed})
    try:
        check_form(form)
        once(request, establishment, lambda: page.add_link(request, establishment, lot, typed))
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal, FIELDS)
        return _links_page(request, establishment, lot, form, refusal.status)
    messages.success(request, _("The link is recorded."))
    return redirect("lot_links", slug, lot.pk)


def _links_page(
    request: HttpRequest, establishment: Establishment, lot: Lot, form: Any, status: int = 200
) -> HttpResponse:
    teller = on_screen(establishment)
    context = {
        "lot": lot,
        "links": link_rows(teller, establishment.slug, establishment, lot),
        "notices": linked_notices(establishment, lot),
        "key": teller.key_rows(),
        "form": form,
        "section": "lots",
    }
    return render_page(request, establishment, "records/links/links.html", context, status=status)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def link_change(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Put a link right, or withdraw it."""
    establishment = get_establishment(request, slug, *LINKERS)
    rows = LotLink.objects.of(establishment).select_related("from_lot", "to_lot", "disposition__deviation")
    row: LotLink = get_object_or_404(rows, pk=pk, withdrawn=False)
    if request.method != "POST":
        return _change_page(request, establishment, row)
    return _change(request, establishment, row, withdrawing="withdraw" in request.POST)


def _change(
    request: HttpRequest, establishment: Establishment, row: LotLink, *, withdrawing: bool
) -> HttpResponse:
    """Do what either form of the page asks, or show it again with what was typed and why not."""
    typed = typed_by(request)
    data = {**request.POST.dict(), **typed}
    form: Any = page.correct_form(establishment, row, data)
    act = page.change_link
    if withdrawing:
        form, act = WithdrawForm(data, auto_id="withdraw_%s"), _withdraw
    try:
        check_form(form)
        once(request, establishment, lambda: act(request, establishment, row, typed))
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal, FIELDS)
        forms = {"withdraw": form} if withdrawing else {"form": form}
        return _change_page(request, establishment, row, refusal.status, **forms)
    messages.success(request, _("It is recorded. The first entry stays readable."))
    return redirect("lot_links", establishment.slug, row.to_lot_id)


def _withdraw(request: HttpRequest, establishment: Establishment, row: LotLink, typed: Any) -> LotLink:
    return withdraw_link(
        establishment=establishment,
        by=cast(Person, request.user),
        original=row,
        why=typed.get("reason", ""),
        claim=claim_of(request, establishment, "lot_link_withdrawn", typed, supersedes=row.pk),
    )


def _change_page(
    request: HttpRequest, establishment: Establishment, row: LotLink, status: int = 200, **forms: Any
) -> HttpResponse:
    context = {
        "link": row,
        "form": forms.get("form") or page.correct_form(establishment, row),
        "withdraw": forms.get("withdraw") or WithdrawForm(auto_id="withdraw_%s"),
        "section": "lots",
    }
    return render_page(request, establishment, "records/links/change.html", context, status=status)
