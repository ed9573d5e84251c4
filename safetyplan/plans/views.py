"""Pages of the plan: read a version, write the draft, approve it, begin a revision."""

from typing import Any, cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.forms import Form
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from safetyplan.establishments.access import EVERYONE, get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity import clock
from safetyplan.integrity.form_refusals import check_form, refuse
from safetyplan.integrity.refusals import NotAllowed, Refused
from safetyplan.plans import drafting
from safetyplan.plans.forms import ApproveForm, DraftForm, FileForm
from safetyplan.plans.page import conflict, draft_page, faulty_line, version_page
from safetyplan.plans.queries import draft_of, in_force, versions
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
@require_http_methods(["GET", "HEAD", "POST"])
def plan_draft(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the draft, or save it from the text box or from a file."""
    writing = request.method == "POST"
    establishment = get_establishment(request, slug, *((Role.QUALIFIED,) if writing else EVERYONE))
    if not writing:
        context = draft_page(establishment, roles_of_request(request), start=request.GET.get("start", ""))
        return render(request, "plans/draft.html", context)
    if "file" in request.FILES or "text" not in request.POST:
        return _save_file(request, establishment)
    form = DraftForm(request.POST, auto_id="draft_%s")
    return _save(request, establishment, form, request.POST["text"], request.POST.get("reason", ""))


def _save_file(request: HttpRequest, establishment: Establishment) -> HttpResponse:
    """Save the draft from a file; a text that is refused is shown in the text box, to be mended."""
    revision = request.POST.get("revision", "")
    draft = draft_of(establishment)
    reason = draft.reason if draft else ""
    try:
        text = drafting.text_of_file(request.FILES.get("file"))
    except Refused as refusal:
        form = FileForm(request.POST, request.FILES, auto_id="file_%s")
        refuse(form, refusal)
        return _draft_again(request, establishment, {"file": form}, refusal.status)
    typed = {"revision": revision, "text": text, "reason": reason}
    return _save(request, establishment, DraftForm(typed, auto_id="draft_%s"), text, reason)


def _save(
    request: HttpRequest, establishment: Establishment, form: DraftForm, text: str, reason: str
) -> HttpResponse:
    by = cast(Person, request.user)
    revision = str(form.data.get("revision", ""))
    try:
        check_form(form)
        drafting.save(establishment, by, text, reason, revision)
    except NotAllowed:
        raise
    except Refused as refusal:
        extra: dict[str, Any] = {"fault": faulty_line(text)}
        refuse(form, refusal)
        draft = draft_of(establishment)
        if draft is not None and revision != str(draft.revision):
            form.data = {"text": text, "reason": reason, "revision": str(draft.revision)}
            extra = conflict(establishment, text)
        return _draft_again(request, establishment, {"draft": form}, refusal.status, **extra)
    messages.success(request, _("The draft is saved."))
    return redirect("plan_draft", establishment.slug)


def _draft_again(
    request: HttpRequest,
    establishment: Establishment,
    bound: dict[str, Form],
    status: int,
    **extra: Any,
) -> HttpResponse:
    context = draft_page(establishment, roles_of_request(request), bound=bound)
    return render(request, "plans/draft.html", {**context, **extra}, status=status)


@login_required
@require_POST
def plan_approve(request: HttpRequest, slug: str) -> HttpResponse:
    """Approve the draft with a signature; it takes effect now."""
    establishment = get_establishment(request, slug, Role.RESPONSIBLE)
    form = ApproveForm(request.POST, auto_id="approve_%s")
    try:
        check_form(form)
        with transaction.atomic():
            version = drafting.approve_once(establishment, cast(Person, request.user), request.POST)
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _draft_again(request, establishment, {"approve": form}, refusal.status)
    if version.number > 1:
        messages.success(request, _("Version %(number)d is in force.") % {"number": version.number})
        return redirect("plan", slug)
    return _first_plan(request, slug)


def _first_plan(request: HttpRequest, slug: str) -> HttpResponseRedirect:
    """After the very first plan the work begins: lead to what is due today."""
    messages.success(request, _("Your first plan is in force. This page shows what is due: start a lot."))
    return redirect("today", slug)


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
        return _draft_again(request, establishment, {}, refusal.status, refused=refusal.message)
    messages.success(
        request, _("A draft was copied from the newest version. Nothing changes until it is approved.")
    )
    return redirect("plan_draft", slug)
