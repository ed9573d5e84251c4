"""Screens of the programmes: the lists on one page; a form to add, to change and to remove each item."""

from collections.abc import Mapping
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from safetyplan.plans.editing.evidence import keep_upload
from safetyplan.plans.editing.frame import Data, Work, item_of, refused_status, save, show, work_on
from safetyplan.plans.editing.programmes_data import (
    PREREQUISITE,
    VALIDATION,
    VERIFICATION,
    Programme,
    items_of,
    leaning_on,
    put_item,
    put_texts,
    take_item,
)
from safetyplan.plans.editing.programmes_forms import ItemForm, PositiveActionForm, RecallForm, RemoveForm
from safetyplan.plans.editing.programmes_page import programmes_page
from safetyplan.plans.queries import around_of

PART = "plan_programmes"
both = require_http_methods(["GET", "HEAD", "POST"])


@login_required
@require_safe
def plan_programmes(request: HttpRequest, slug: str) -> HttpResponse:
    """List prerequisites, verification, validation, recall and actions after a positive result."""
    work = work_on(request, slug)
    return show(work, "plans/editing/programmes.html", PART, **programmes_page(work))


@login_required
@both
def plan_prerequisite_add(request: HttpRequest, slug: str) -> HttpResponse:
    """Add a prerequisite programme."""
    return _item(work_on(request, slug), PREREQUISITE)


@login_required
@both
def plan_prerequisite(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Change a prerequisite programme."""
    return _item(work_on(request, slug), PREREQUISITE, code)


@login_required
@both
def plan_prerequisite_remove(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Remove a prerequisite programme that no hazard names."""
    return _remove(work_on(request, slug), PREREQUISITE, code)


@login_required
@both
def plan_verification_add(request: HttpRequest, slug: str) -> HttpResponse:
    """Add to the verification schedule."""
    return _item(work_on(request, slug), VERIFICATION)


@login_required
@both
def plan_verification(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Change an activity of the verification schedule."""
    return _item(work_on(request, slug), VERIFICATION, code)


@login_required
@both
def plan_verification_remove(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Remove an activity of the verification schedule."""
    return _remove(work_on(request, slug), VERIFICATION, code)


@login_required
@both
def plan_validation_add(request: HttpRequest, slug: str) -> HttpResponse:
    """Add a validation, with its document if there is one."""
    return _item(work_on(request, slug), VALIDATION)


@login_required
@both
def plan_validation(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Change a validation."""
    return _item(work_on(request, slug), VALIDATION, code)


@login_required
@both
def plan_validation_remove(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Remove a validation; a document kept with it stays kept."""
    return _remove(work_on(request, slug), VALIDATION, code)


@login_required
@both
def plan_recall(request: HttpRequest, slug: str) -> HttpResponse:
    """Write the recall procedure."""
    return _texts(work_on(request, slug), "recall", RecallForm, _("The recall procedure"))


@login_required
@both
def plan_positive(request: HttpRequest, slug: str) -> HttpResponse:
    """Write what is done after a positive result."""
    title = _("After a positive result")
    return _texts(work_on(request, slug), "positive_action", PositiveActionForm, title)


def _item(work: Work, programme: Programme, code: str = "") -> HttpResponse:
    """Show the form of an item, or save it."""
    item = item_of(items_of(work.data, programme), code) if code else {}
    form = _form(work, programme.form, item, kept=item.get("controls", ()), **_named(programme, item))

    def change(data: Data) -> None:
        put_item(data, programme, code, {**form.content(), **_file(work, form)})

    extra = {
        "title": programme.change if code else programme.add,
        "item": item,
        "kept": item.get("file", "") in around_of(work.establishment).files,
        "file_again": bool(work.request.FILES),
    }
    return _answer(work, form, change, "plans/editing/programme_form.html", extra)


def _named(programme: Programme, item: Mapping[str, Any]) -> dict[str, Any]:
    return {"named": item.get("file", "")} if programme is VALIDATION else {}


def _file(work: Work, form: ItemForm) -> dict[str, str]:
    """Keep a document sent along; give what the document of the plan then says of it."""
    kept = keep_upload(work.establishment, work.person, form.cleaned_data.get("file"))
    if kept is not None:
        return {"file": kept.sha256, "file_name": kept.name}
    return {"file": "", "file_name": ""} if form.cleaned_data.get("without_file") else {}


def _texts(work: Work, key: str, form_class: type[ItemForm], title: str) -> HttpResponse:
    """Show the form of a procedure, or save it."""
    form = _form(work, form_class, work.data.get(key, {}))
    extra: dict[str, Any] = {"title": title, "item": {}}
    return _answer(
        work,
        form,
        lambda data: put_texts(data, key, form.content()),
        "plans/editing/programme_form.html",
        extra,
    )


def _form(work: Work, form_class: type[ItemForm], item: Mapping[str, Any], **more: Any) -> ItemForm:
    if work.request.method == "POST":
        return form_class(work.request.POST, work.request.FILES, plan=work.plan, **more)
    initial = {**item, "revision": str(work.draft.revision)}
    return form_class(initial=initial, plan=work.plan, **more)


def _remove(work: Work, programme: Programme, code: str) -> HttpResponse:
    """Ask whether an item is to be removed, or remove it; what hazards name is not removed."""
    item = item_of(items_of(work.data, programme), code)
    posted = work.request.method == "POST"
    form = RemoveForm(work.request.POST) if posted else RemoveForm(initial={"revision": work.draft.revision})
    extra = {
        "title": programme.remove,
        "item": item,
        "leaning": leaning_on(work.plan, programme, code),
    }
    template = "plans/editing/programme_remove.html"
    return _answer(work, form, lambda data: take_item(data, programme, code), template, extra)


def _answer(work: Work, form: Any, change: Any, template: str, extra: dict[str, Any]) -> HttpResponse:
    """Save what was sent; show the screen with what is wrong, or for the first time."""
    if work.request.method != "POST":
        return show(work, template, PART, form=form, **extra)
    answer = save(work, form, change, to=(PART,))
    return answer or show(work, template, PART, status=refused_status(form), form=form, **extra)
