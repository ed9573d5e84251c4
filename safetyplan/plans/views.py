"""Pages of the plan: read a version, see what the draft still needs, approve it, begin a revision."""

from typing import Any, cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.shown import People
from safetyplan.integrity import clock
from safetyplan.integrity.form_refusals import check_form, refuse
from safetyplan.integrity.refusals import NotAllowed, Refused
from safetyplan.plans import drafting
from safetyplan.plans.forms import ApproveForm
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.page import overview_page, version_page
from safetyplan.plans.queries import in_force, versions
from safetyplan.plans.services import revise


def roles_of_request(request: HttpRequest) -> list[str]:
    """Give the roles that get_establishment found."""
    found: list[str] = request.roles  # type: ignore[attr-defined]
    return found


@login_required
@require_safe
def plan(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the version in force."""
    establishment = get_establishment(request, slug)
    version = in_force(establishment, clock.now(establishment))
    context = version_page(establishment, version, roles_of_request(request))
    return render(request, "plans/plan.html", context)


@login_required
@require_safe
def plan_version(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Show any approved version."""
    establishment = get_establishment(request, slug)
    version = get_object_or_404(versions(establishment), number=number)
    return render(request, "plans/plan.html", version_page(establishment, version, roles_of_request(request)))


@login_required
@require_safe
def plan_draft(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the overview of the draft: what is left to do, what changes, the approval."""
    return _overview(request, get_establishment(request, slug))


def _overview(
    request: HttpRequest, establishment: Establishment, *, status: int = 200, **extra: Any
) -> HttpResponse:
    approve = extra.pop("approve", None)
    context = overview_page(establishment, roles_of_request(request), approve=approve)
    return render(request, "plans/draft.html", {**context, **extra}, status=status)


@login_required
@require_POST
def plan_approve(request: HttpRequest, slug: str) -> HttpResponse:
    """Approve the draft with a signature; it takes effect now or from the moment stated."""
    establishment = get_establishment(request, slug, Role.RESPONSIBLE)
    form = ApproveForm(request.POST, auto_id="approve_%s")
    try:
        check_form(form)
        with transaction.atomic():
            version = drafting.approve_once(establishment, cast(Person, request.user), request.POST)
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal, {"in_force_from": "from_date"})
        return _overview(request, establishment, status=refusal.status, approve=form)
    return _approved(request, establishment, version)


def _approved(
    request: HttpRequest, establishment: Establishment, version: PlanApproved
) -> HttpResponseRedirect:
    """Say from when the version holds; after the very first plan lead to what is due today."""
    if version.in_force_from > clock.now(establishment):
        begins = People(establishment).when(version.in_force_from)
        said = _("Version %(number)d is approved. It takes effect on %(begins)s.")
        messages.success(request, said % {"number": version.number, "begins": begins})
        return redirect("plan_version", establishment.slug, version.number)
    if version.number > 1:
        messages.success(request, _("Version %(number)d is in force.") % {"number": version.number})
        return redirect("plan", establishment.slug)
    messages.success(request, _("Your first plan is in force. This page shows what is due: start a lot."))
    return redirect("today", establishment.slug)


@login_required
@require_POST
def plan_revise(request: HttpRequest, slug: str) -> HttpResponse:
    """Begin a revision: a draft copied from the newest version."""
    establishment = get_establishment(request, slug, Role.QUALIFIED)
    try:
        revise(establishment=establishment, by=cast(Person, request.user))
    except NotAllowed:
        raise
    except Refused as refusal:
        return _overview(request, establishment, status=refusal.status, refused=refusal.message)
    messages.success(
        request, _("A draft was copied from the newest version. Nothing changes until it is approved.")
    )
    return redirect("plan_draft", slug)
