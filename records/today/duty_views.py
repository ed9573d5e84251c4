"""The page of the plan's duties: what is due, note what is new, sign what was done."""

from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from records.today.duties import known_of
from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_refusals import check_form, refuse
from safetyplan.integrity.refusals import NotAllowed, Refused
from safetyplan.plans import duty_pages


def _page(
    request: HttpRequest,
    establishment: Establishment,
    bound: dict[str, Form] | None = None,
    status: int = 200,
) -> HttpResponse:
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context = duty_pages.page(establishment, known_of(establishment), roles, bound)
    return render_page(request, establishment, "plans/duties.html", context, status=status)


@login_required
@require_safe
def plan_duties(request: HttpRequest, slug: str) -> HttpResponse:
    """Show what is due for the plan."""
    return _page(request, get_establishment(request, slug))


@login_required
@require_POST
def plan_trigger(request: HttpRequest, slug: str) -> HttpResponse:
    """Note that something new asks for a reanalysis."""
    establishment = get_establishment(request, slug, *duty_pages.MAY_NOTE)
    form = duty_pages.TriggerForm(request.POST, auto_id="trigger_%s")
    try:
        check_form(form)
        duty_pages.note(establishment, cast(Person, request.user), request.POST.dict())
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _page(request, establishment, {"trigger": form}, refusal.status)
    messages.success(request, _("It is noted: the plan is due to be analysed again."))
    return redirect("plan_duties", slug)


@login_required
@require_POST
def plan_duty_sign(request: HttpRequest, slug: str) -> HttpResponse:
    """Sign that a duty of the plan was done."""
    establishment = get_establishment(request, slug, *duty_pages.MAY_SIGN)
    known = known_of(establishment)
    form = duty_pages.DutyForm(request.POST, plan=known.plan if known else None, auto_id="duty_%s")
    try:
        check_form(form)
        duty_pages.sign(establishment, cast(Person, request.user), request.POST.dict())
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _page(request, establishment, {"duty": form}, refusal.status)
    messages.success(request, _("It is signed."))
    return redirect("plan_duties", slug)
