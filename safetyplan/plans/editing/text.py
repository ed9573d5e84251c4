"""The draft as a document: written in a text box, brought as a file, taken along as a file."""

import json
from typing import Any, cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from safetyplan.establishments.access import EVERYONE, get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity.form_refusals import check_form, refuse
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from safetyplan.plans import drafting
from safetyplan.plans.changes import Change, compare
from safetyplan.plans.document import read_text
from safetyplan.plans.editing.overview import parts_of
from safetyplan.plans.file_form import file_text
from safetyplan.plans.forms import DraftForm, FileForm
from safetyplan.plans.models import PlanApproved, PlanDraft
from safetyplan.plans.queries import draft_of, versions
from safetyplan.plans.services import read_draft_text


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def plan_text(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the draft as a document, or save it from the text box or from a file."""
    writing = request.method == "POST"
    establishment = get_establishment(request, slug, *((Role.QUALIFIED,) if writing else EVERYONE))
    if not writing:
        return _page(request, establishment, {}, 200)
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
        return _page(request, establishment, {"file": form}, refusal.status)
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
        return _page(request, establishment, {"draft": form}, refusal.status, **extra)
    messages.success(request, _("The draft is saved."))
    return redirect("plan_draft", establishment.slug)


def _page(
    request: HttpRequest, establishment: Establishment, bound: dict[str, Form], status: int, **extra: Any
) -> HttpResponse:
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    draft = draft_of(establishment)
    newest = versions(establishment).first()
    context = {
        "section": "plan",
        "parts": parts_of(draft),
        "part": "plan_text",
        "draft": draft,
        "newest": newest,
        "old_form": draft is not None and read_text(draft.text).schema == 1,
        "may_prepare": Role.QUALIFIED in roles,
        "forms": {**_forms(draft, newest), **bound},
    }
    return render(request, "plans/editing/text.html", {**context, **extra}, status=status)


def _forms(draft: PlanDraft | None, newest: PlanApproved | None) -> dict[str, Form]:
    revision = draft.revision if draft else ""
    shown = draft or newest
    text = file_text(shown.text) if shown else ""
    reason = draft.reason if draft else ""
    return {
        "draft": DraftForm(
            initial={"revision": revision, "text": text, "reason": reason}, auto_id="draft_%s"
        ),
        "file": FileForm(initial={"revision": revision}, auto_id="file_%s"),
    }


def conflict(establishment: Establishment, typed: str) -> dict[str, Any]:
    """Give the other person's text beside the one typed, and what changes from theirs to the one typed."""
    draft = draft_of(establishment)
    if draft is None:
        return {"theirs": "", "their_changes": None}
    changes: list[Change] | None = None
    try:
        changes = compare(read_text(draft.text), read_draft_text(typed)[1])
    except BadInput:
        changes = None
    return {"theirs": file_text(draft.text), "their_changes": changes}


def faulty_line(text: str) -> str:
    """Give the line at which a text stops being JSON, with its number; '' when it is JSON."""
    try:
        json.loads(text)
    except json.JSONDecodeError as error:
        lines = text.splitlines() or [""]
        line = lines[min(error.lineno, len(lines)) - 1]
        return _("Line %(number)d: %(line)s") % {"number": error.lineno, "line": line.strip()[:200]}
    except RecursionError:
        return ""
    return ""
