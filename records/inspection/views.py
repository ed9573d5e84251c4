"""The visit: prints and their files, record seals, the export, the check of the records."""

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any, cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.forms import Form
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from records.batches.views import may
from records.inspection.models import PrintIssue
from records.inspection.queries import kept_bytes
from records.inspection.services import BLANK_DAY, DAY, PLAN, SHEET, issue_print
from records.inspection.visit_page import (
    BlankDayForm,
    PrintDayForm,
    PrintLotForm,
    PrintPlanForm,
    PrintSheetForm,
    file_name,
    subject_of,
    version_asked,
    visit_context,
)
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.pages import render_page
from safetyplan.integrity import seals, verifier
from safetyplan.integrity.export import export_lines
from safetyplan.integrity.form_refusals import refuse
from safetyplan.integrity.models import RecordSeal
from safetyplan.integrity.refusals import NotAllowed, Refused
from safetyplan.integrity.verification import verify

PRINTERS = (*WRITERS, Role.ADMINISTRATOR)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def visit(request: HttpRequest, slug: str) -> HttpResponse:
    """Show prints, seals and export; a POST checks the records now and shows what was found."""
    establishment = get_establishment(request, slug)
    extra: dict[str, Any] = {}
    if request.method == "POST":
        extra = {"checked": True, "findings": verify(establishment)}
    return _page(request, establishment, extra)


def _page(
    request: HttpRequest, establishment: Establishment, extra: Mapping[str, Any], status: int = 200
) -> HttpResponse:
    context = visit_context(establishment, request.GET.get("before", ""))
    context |= {
        "print_plan": PrintPlanForm(auto_id="plan_%s"),
        "print_sheet": PrintSheetForm(establishment, auto_id="sheet_%s"),
        "print_lot": PrintLotForm(auto_id="lot_%s"),
        "print_day": PrintDayForm(initial={"subject": context["today"]}, auto_id="day_%s"),
        "blank_day": BlankDayForm(initial={"subject": context["today"]}, auto_id="blank_%s"),
        "may_print": may(request, *PRINTERS),
        "section": "visit",
        **extra,
    }
    return render_page(request, establishment, "records/inspection/visit.html", context, status=status)


@login_required
@require_POST
def print_issue(request: HttpRequest, slug: str) -> HttpResponse:
    """Issue a print and show it."""
    establishment = get_establishment(request, slug, *PRINTERS)
    what, typed = request.POST.get("what", "")[:20], request.POST.get("subject", "").strip()[:60]
    try:
        return _issue(request, establishment, what, subject_of(establishment, what, typed))
    except NotAllowed:
        raise
    except Refused as refusal:
        name, form = _refused(request, what)
        refuse(form, refusal, {"": "subject"})
        return _page(request, establishment, {name: form}, refusal.status)


def _issue(request: HttpRequest, establishment: Establishment, what: str, subject: str) -> HttpResponse:
    person = cast(Person, request.user)
    issue = issue_print(establishment=establishment, by=person, what=what, subject=subject)
    messages.success(request, _("Print issue %(number)d is kept.") % {"number": issue.number})
    return redirect("print_file", establishment.slug, issue.number)


@login_required
@require_POST
def plan_print(request: HttpRequest, slug: str) -> HttpResponse:
    """Issue a print of a version of the plan (`version`; without one that in force) and show it."""
    establishment = get_establishment(request, slug, *PRINTERS)
    form = PrintPlanForm(request.POST, auto_id="plan_%s")
    try:
        return _issue(request, establishment, PLAN, version_asked(establishment, request.POST))
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _page(request, establishment, {"print_plan": form}, refusal.status)


@login_required
@require_POST
def plan_blank_sheet(request: HttpRequest, slug: str) -> HttpResponse:
    """Issue a blank sheet for a check (`control`) of a version of the plan and show it."""
    establishment = get_establishment(request, slug, *PRINTERS)
    form = PrintSheetForm(establishment, request.POST, auto_id="sheet_%s")
    try:
        version = version_asked(establishment, request.POST)
        code = request.POST.get("control", "").strip()
        return _issue(request, establishment, SHEET, f"{version}/{code}")
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _page(request, establishment, {"print_sheet": form}, refusal.status)


def _refused(request: HttpRequest, what: str) -> tuple[str, Form]:
    if what == BLANK_DAY:
        return "blank_day", BlankDayForm(request.POST, auto_id="blank_%s")
    if what == DAY:
        return "print_day", PrintDayForm(request.POST, auto_id="day_%s")
    return "print_lot", PrintLotForm(request.POST, auto_id="lot_%s")


@login_required
@require_safe
def print_file(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Give the bytes of an issue as they were kept."""
    establishment = get_establishment(request, slug)
    issue: PrintIssue = get_object_or_404(PrintIssue.objects.of(establishment), number=number)
    response = HttpResponse(kept_bytes(issue), content_type="application/pdf")
    name = file_name(establishment, issue)
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["Cache-Control"] = "private"
    return response


@login_required
@require_POST
def export(request: HttpRequest, slug: str) -> FileResponse:
    """Give everything recorded as one file, sealed; a mere inspector's copy takes the seals there are."""
    establishment = get_establishment(request, slug)
    if may(request, *PRINTERS):
        seals.seal(establishment=establishment, reason="export")
    # Written out first: no read of the database may stay open while a slow line takes the file.
    file = TemporaryFile()  # noqa: SIM115 - the response closes it
    for line in export_lines(establishment):
        file.write(line)
    file.seek(0)
    return FileResponse(
        file, as_attachment=True, filename=f"records-{slug}.jsonl", content_type="application/jsonl"
    )


@login_required
@require_safe
def seal_note(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Give the signed note of a seal, to be kept outside."""
    establishment = get_establishment(request, slug)
    found: RecordSeal = get_object_or_404(RecordSeal.objects.of(establishment), pk=pk)
    response = HttpResponse(found.note, content_type="text/plain; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="seal-{slug}-{found.size}.txt"'
    return response


@login_required
@require_safe
def verifier_file(request: HttpRequest, slug: str) -> HttpResponse:
    """Give the stand-alone program that checks an export."""
    get_establishment(request, slug)
    text = Path(str(verifier.__file__)).read_text("utf-8")
    response = HttpResponse(text, content_type="text/x-python; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="verifier.py"'
    return response
