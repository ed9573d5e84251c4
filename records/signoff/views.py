"""Release and dispatch of a lot; the page of a day and its signature; the reviewer's week."""

from collections.abc import Mapping
from datetime import date
from typing import cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from records.batches.models import Lot
from records.batches.posting import claim_of, once
from records.batches.queries import version_of
from records.batches.views import find_lot, lot_page, may
from records.inspection.telling import on_screen
from records.signoff import lot_forms
from records.signoff.day_page import day_context, fingerprint, sheet_of
from records.signoff.forms import DISPATCH_FIELDS, NoProductionForm, SignDayForm
from records.signoff.services import note_no_production, sign_day, undo_no_production
from records.signoff.week_page import week_context
from safetyplan.establishments.access import WRITERS, get_establishment, require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_refusals import check_form, refuse, typed_by
from safetyplan.integrity.refusals import NotAllowed, Refused
from safetyplan.integrity.signatures import prove


@login_required
@require_POST
def lot_release(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Sign the release of a quantity of a lot."""
    establishment = get_establishment(request, slug, *WRITERS)
    lot = find_lot(establishment, pk)
    role = version_of(establishment, lot).plan().release_role
    require_role(establishment, cast(Person, request.user), role)
    return _carry_out(request, establishment, lot, "release")


@login_required
@require_POST
def lot_dispatch(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record what leaves of a lot."""
    establishment = get_establishment(request, slug, Role.MAKER, Role.RESPONSIBLE)
    return _carry_out(request, establishment, find_lot(establishment, pk), "dispatch")


@login_required
@require_POST
def lot_left_on_hold(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record that goods left though they were on hold or not released."""
    establishment = get_establishment(request, slug, Role.MAKER, Role.RESPONSIBLE)
    return _carry_out(request, establishment, find_lot(establishment, pk), "left")


def _carry_out(request: HttpRequest, establishment: Establishment, lot: Lot, name: str) -> HttpResponse:
    """Do what a form of the lot's page asks, or show the page again with what was typed and why not."""
    task, typed = lot_forms.TASKS[name], typed_by(request)
    form = task.form(request.POST.dict(), auto_id=f"{name}_%s")
    try:
        check_form(form)
        once(request, establishment, lambda: task.act(request, establishment, lot, typed))
    except NotAllowed:
        raise
    except Refused as refusal:
        form.data = {**request.POST.dict(), **typed}
        refuse(form, refusal, DISPATCH_FIELDS)
        return lot_page(request, establishment, lot, {name: form}, refusal.status)
    messages.success(request, str(task.done))
    return redirect("lot", establishment.slug, lot.pk)


def read_day(text: str) -> date:
    """Read the day in an address, or answer 404."""
    try:
        day = date.fromisoformat(text)
    except ValueError as error:
        raise Http404 from error
    if day.isoformat() != text or not 2000 <= day.year <= 2200:
        raise Http404
    return day


@login_required
@require_safe
def day(request: HttpRequest, slug: str, day: str) -> HttpResponse:
    """Show a day."""
    establishment = get_establishment(request, slug)
    return _day_page(request, establishment, read_day(day))


def _day_page(
    request: HttpRequest,
    establishment: Establishment,
    chosen: date,
    bound: Mapping[str, Form] | None = None,
    status: int = 200,
) -> HttpResponse:
    context = day_context(establishment, chosen, cast(Person, request.user), request.roles)  # type: ignore[attr-defined]
    signing = SignDayForm(initial={"seen": context["seen"]}, auto_id="sign_%s")
    context |= {
        "forms": {"sign": signing, "none": NoProductionForm(auto_id="none_%s"), **(bound or {})},
        "may_print": may(request, *WRITERS, Role.ADMINISTRATOR),
        "section": "week",
    }
    return render_page(request, establishment, "records/signoff/day.html", context, status=status)


@login_required
@require_POST
def day_sign(request: HttpRequest, slug: str, day: str) -> HttpResponse:
    """Sign a day as its reviewer."""
    establishment = get_establishment(request, slug, Role.REVIEWER)
    chosen = read_day(day)
    form = SignDayForm(request.POST, auto_id="sign_%s")
    try:
        check_form(form)
        once(request, establishment, lambda: _sign(request, establishment, chosen))
    except NotAllowed:
        raise
    except Refused as refusal:
        seen = fingerprint(sheet_of(establishment, chosen, on_screen(establishment)))
        form.data = {**request.POST.dict(), "seen": seen}
        refuse(form, refusal)
        return _day_page(request, establishment, chosen, {"sign": form}, refusal.status)
    messages.success(request, _("The day is signed."))
    return redirect("day", slug, chosen.isoformat())


def _sign(request: HttpRequest, establishment: Establishment, chosen: date) -> None:
    """Sign what was on the page: a day that has changed since is shown again first."""
    person, note = cast(Person, request.user), request.POST.get("note", "")
    proof = prove(establishment=establishment, person=person, password=request.POST.get("password", ""))
    sheet = sheet_of(establishment, chosen, on_screen(establishment))
    if request.POST.get("seen", "") != fingerprint(sheet):
        raise Refused(_("The day has changed since this page was opened. Look at it again, then sign."))
    claim = claim_of(request, establishment, "day_signed", {"note": note}, day=chosen)
    sign_day(establishment=establishment, proof=proof, day=chosen, note=note, claim=claim)


@login_required
@require_POST
def day_no_production(request: HttpRequest, slug: str, day: str) -> HttpResponse:
    """Note a day without production."""
    establishment = get_establishment(request, slug, *WRITERS)
    chosen = read_day(day)
    form = NoProductionForm(request.POST, auto_id="none_%s")
    try:
        check_form(form)
        once(request, establishment, lambda: _note_no_production(request, establishment, chosen))
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _day_page(request, establishment, chosen, {"none": form}, refusal.status)
    messages.success(request, _("The day without production is noted."))
    return _back(request, slug, chosen)


def _back(request: HttpRequest, slug: str, chosen: date) -> HttpResponse:
    """Lead back to where the button was: the page of today, or that of the day."""
    if request.POST.get("from") == "today":
        return redirect("today", slug)
    return redirect("day", slug, chosen.isoformat())


@login_required
@require_POST
def day_production_undo(request: HttpRequest, slug: str, day: str) -> HttpResponse:
    """Take back that a day is without production."""
    establishment = get_establishment(request, slug, *WRITERS)
    chosen = read_day(day)
    once(request, establishment, lambda: _undo_no_production(request, establishment, chosen))
    messages.success(request, _("It is taken back: the day is one of work."))
    return _back(request, slug, chosen)


def _undo_no_production(request: HttpRequest, establishment: Establishment, chosen: date) -> None:
    person, why = cast(Person, request.user), request.POST.get("why", "")
    claim = claim_of(request, establishment, "no_production_undone", {"why": why}, day=chosen)
    undo_no_production(establishment=establishment, by=person, day=chosen, why=why, claim=claim)


def _note_no_production(request: HttpRequest, establishment: Establishment, chosen: date) -> None:
    person, why = cast(Person, request.user), request.POST.get("why", "")
    claim = claim_of(request, establishment, "no_production_day", {"why": why}, day=chosen)
    note_no_production(establishment=establishment, by=person, day=chosen, why=why, claim=claim)


@login_required
@require_safe
def week(request: HttpRequest, slug: str) -> HttpResponse:
    """Show what a reviewer looks through once a week."""
    establishment = get_establishment(request, slug)
    context = {**week_context(establishment, request.roles), "section": "week"}  # type: ignore[attr-defined]
    return render_page(request, establishment, "records/signoff/week.html", context)
