"""Enter sheets that were filled in by hand: the sheets, one sheet with its lines, its photo."""

from io import BytesIO
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from records.batches.posting import once
from records.checks.models import PaperSheet
from records.checks.paper import Entered
from records.inspection import paper_events, paper_page
from records.inspection.telling import on_screen
from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.pages import render_page
from safetyplan.integrity.form_claims import form_uuid, new_uuid
from safetyplan.integrity.form_refusals import check_form, refuse, typed_by
from safetyplan.integrity.models import StoredFile
from safetyplan.integrity.refusals import NotAllowed, Refused

SHOWN = 50


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def paper_sheets(request: HttpRequest, slug: str) -> HttpResponse:
    """Keep the photo of a filled sheet, before its lines are entered."""
    establishment = get_establishment(request, slug, Role.MAKER)
    if request.method != "POST":
        return _sheets_page(request, establishment, paper_page.SheetForm())
    typed, form = typed_by(request), paper_page.SheetForm(request.POST, request.FILES)
    try:
        check_form(form)
        once(request, establishment, lambda: paper_page.keep(request, establishment, typed))
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _sheets_page(request, establishment, form, refusal.status)
    messages.success(request, _("The photo of the sheet is kept. Now enter its lines."))
    return redirect("paper_sheet", slug, form_uuid(request))


def _sheets_page(
    request: HttpRequest, establishment: Establishment, form: Any, status: int = 200
) -> HttpResponse:
    rows = PaperSheet.objects.of(establishment).select_related("author").order_by("-recorded_at")[:SHOWN]
    context = {"form": form, "sheets": list(rows), "section": "today"}
    return render_page(request, establishment, "records/inspection/paper_sheets.html", context, status=status)


def _find(establishment: Establishment, pk: UUID) -> PaperSheet:
    found: PaperSheet = get_object_or_404(PaperSheet.objects.of(establishment), pk=pk)
    return found


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def paper_sheet(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Enter the lines of a sheet: those in order are stored, the others stay with the reason."""
    establishment = get_establishment(request, slug, Role.MAKER)
    sheet, teller = _find(establishment, pk), on_screen(establishment)
    typed = typed_by(request) if request.method == "POST" else {}
    rows = paper_page.rows_of(establishment, sheet, teller, typed)
    events, status = paper_events.rows_of(establishment, sheet, teller, typed), 200
    if request.method == "POST":
        refusals, stored, rows, events = _enter(request, establishment, sheet, rows, events)
        _tell(request, stored, len(refusals))
        if stored and not refusals:
            return redirect("paper_sheet", slug, pk)
        status = refusals[0].status if refusals else 200
    context = paper_page.sheet_context(establishment, sheet, rows)
    context["events"] = paper_events.shown(events, sheet)
    context |= {"uuid": request.POST.get("uuid") or new_uuid(), "section": "today"}
    return render_page(request, establishment, "records/inspection/paper_sheet.html", context, status=status)


def _enter(
    request: HttpRequest,
    establishment: Establishment,
    sheet: PaperSheet,
    rows: list[paper_page.Row],
    events: list[paper_events.EventRow],
) -> tuple[list[Refused], list[Entered], list[paper_page.Row], list[paper_events.EventRow]]:
    """Record what was filled in; give the refusals, what was stored, and the lines that are left."""
    happened, events = paper_events.enter(request, establishment, sheet, events)
    posted = paper_page.enter(request, establishment, sheet, rows)
    stored = {entered.line.slot for entered in posted.stored}
    rows = [row for row in rows if row.refusal or (row.state.slot.id not in stored and row.fits)]
    refusals = [row.refusal for row in events if row.refusal]
    refusals += [row.refusal for row in posted.refused if row.refusal]
    return refusals, [*happened, *posted.stored], rows, events


def _tell(request: HttpRequest, stored: list[Entered], refused: int) -> None:
    """Say what was stored, what was not, and which deviations there are."""
    if stored:
        count = len(stored)
        words = ngettext("%(n)d line is stored.", "%(n)d lines are stored.", count)
        messages.success(request, words % {"n": count})
    for entered in stored:
        if entered.deviation is not None:
            told = {"number": entered.deviation.number}
            messages.warning(request, _("Deviation %(number)d: the photo is with it as evidence.") % told)
    if refused:
        words = ngettext(
            "%(n)d line is not stored: see below.", "%(n)d lines are not stored: see below.", refused
        )
        messages.error(request, words % {"n": refused})
    elif not stored:
        messages.info(request, _("Nothing new was filled in."))


@login_required
@require_safe
def paper_photo(request: HttpRequest, slug: str, pk: UUID) -> FileResponse:
    """Give the photo of a sheet to be saved, never to be shown as a page of ours."""
    establishment = get_establishment(request, slug)
    sheet = _find(establishment, pk)
    stored = get_object_or_404(StoredFile.objects.of(establishment), sha256=sheet.sha256)
    response = FileResponse(
        BytesIO(bytes(stored.content)),
        as_attachment=True,
        filename=sheet.name,
        content_type=sheet.media_type,
    )
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response["X-Content-Type-Options"] = "nosniff"
    return response
