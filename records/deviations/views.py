"""Pages of the deviations: the list, one deviation with its steps, a new one, attached documents."""

from collections.abc import Mapping
from io import BytesIO
from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.forms import Form
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from records.deviations import steps
from records.deviations.forms import NewDeviationForm
from records.deviations.listing import listing
from records.deviations.models import Deviation, FileAttached
from records.deviations.page import RIGHTS, Viewer, deviation_page, form_of
from records.deviations.queries import state_of
from records.deviations.tables import DeviationTable
from records.deviations.unforeseen import lot_choices, open_once
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity.form_refusals import check_form, refuse, typed_by
from safetyplan.integrity.models import StoredFile
from safetyplan.integrity.refusals import NotAllowed, Refused


@login_required
@require_safe
def deviations(request: HttpRequest, slug: str) -> HttpResponse:
    """List the deviations: the open ones, or all."""
    establishment = get_establishment(request, slug)
    chosen = listing(
        establishment, every=request.GET.get("show") == "all", before=request.GET.get("before", "")
    )
    table = DeviationTable(chosen["rows"], slug=slug, empty_text=chosen["empty"])
    may_open = set(request.roles) & set(WRITERS)  # type: ignore[attr-defined]
    context = {**chosen, "table": table, "section": "week", "may_open": may_open}
    return render(request, "records/deviations/list.html", context)


@login_required
@require_safe
def deviation(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one deviation and lead through the work on it."""
    establishment = get_establishment(request, slug)
    return _page(request, establishment, _find(establishment, pk))


def _find(establishment: Establishment, pk: UUID) -> Deviation:
    rows = Deviation.objects.of(establishment).select_related(
        "lot__plan_version", "reading__plan_version", "event"
    )
    found: Deviation = get_object_or_404(rows, pk=pk)
    return found


def _page(
    request: HttpRequest,
    establishment: Establishment,
    found: Deviation,
    bound: Mapping[str, Form] | None = None,
    status: int = 200,
) -> HttpResponse:
    roles = tuple(request.roles)  # type: ignore[attr-defined]
    viewer = Viewer(cast(Person, request.user).pk, roles)
    context = deviation_page(establishment, found, viewer, bound)
    context["may_print"] = set(roles) & {*WRITERS, Role.ADMINISTRATOR}
    return render(request, "records/deviations/deviation.html", context, status=status)


def _step(request: HttpRequest, slug: str, pk: UUID, name: str) -> HttpResponse:
    """Carry out one step, or show the page again with what was typed and why it is refused."""
    establishment = get_establishment(request, slug, *RIGHTS[name])
    found = _find(establishment, pk)
    form = form_of(name, establishment, state_of(establishment, found), request.POST, request.FILES)
    typed = typed_by(request)
    try:
        check_form(form)
        steps.carry_out(steps.Work(request, establishment, found), name, typed)
    except NotAllowed:
        raise
    except Refused as refusal:
        form.data = {**request.POST.dict(), **typed}
        refuse(form, refusal, steps.TASKS[name].fields)
        return _page(request, establishment, found, {name: form}, refusal.status)
    messages.success(request, str(steps.TASKS[name].done))
    return redirect(f"{reverse('deviation', args=[slug, pk])}#{name}")


@login_required
@require_POST
def deviation_lot(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Name a further lot."""
    return _step(request, slug, pk, "lot")


@login_required
@require_POST
def deviation_hold(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Confirm the hold."""
    return _step(request, slug, pk, "hold")


@login_required
@require_POST
def deviation_action(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record a corrective action."""
    return _step(request, slug, pk, "action")


@login_required
@require_POST
def deviation_evaluate(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record the evaluation."""
    return _step(request, slug, pk, "evaluate")


@login_required
@require_POST
def deviation_dispose(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Sign what becomes of the product."""
    return _step(request, slug, pk, "dispose")


@login_required
@require_POST
def deviation_cause(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record cause and prevention."""
    return _step(request, slug, pk, "cause")


@login_required
@require_POST
def deviation_recall(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Sign the recall decision."""
    return _step(request, slug, pk, "recall")


@login_required
@require_POST
def deviation_close(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Sign the closure."""
    return _step(request, slug, pk, "close")


@login_required
@require_POST
def deviation_attach(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Attach a document."""
    return _step(request, slug, pk, "attach")


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def deviation_new(request: HttpRequest, slug: str) -> HttpResponse:
    """Open a deviation that the plan did not foresee."""
    establishment = get_establishment(request, slug, *WRITERS)
    form = NewDeviationForm(request.POST or None, lots=lot_choices(establishment))
    status = 200
    if request.method == "POST":
        try:
            check_form(form)
            opened = open_once(establishment, cast(Person, request.user), form.cleaned_data)
            messages.success(request, _("The deviation is open."))
            return redirect("deviation", slug, opened.pk)
        except Refused as refusal:
            refuse(form, refusal)
            status = refusal.status
    context = {"form": form, "section": "week"}
    return render(request, "records/deviations/new.html", context, status=status)


@login_required
@require_safe
def file(request: HttpRequest, slug: str, pk: UUID) -> FileResponse:
    """Give an attached document to be saved, never to be shown as a page of ours."""
    establishment = get_establishment(request, slug)
    attached: Any = get_object_or_404(FileAttached.objects.of(establishment), pk=pk)
    stored = get_object_or_404(StoredFile.objects.of(establishment), sha256=attached.sha256)
    response = FileResponse(
        BytesIO(bytes(stored.content)),
        as_attachment=True,
        filename=attached.name,
        content_type=attached.media_type,
    )
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response
