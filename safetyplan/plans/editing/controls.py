"""The screens of controls: the list, one control, a new one, taking one out."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.plans.editing import controls_change
from safetyplan.plans.editing.controls_forms import NEW, ControlForm, NewControlForm, RemoveForm, texts_of
from safetyplan.plans.editing.controls_page import control_page, groups_of, stale
from safetyplan.plans.editing.frame import Data, Work, begin, item_of, save, show, work_on
from safetyplan.plans.parts import Control


@login_required
@require_safe
def plan_controls(request: HttpRequest, slug: str) -> HttpResponse:
    """List the controls of the draft with their limits and findings."""
    work = work_on(request, slug)
    groups = list(groups_of(work))
    unset = sum(bool(one.open_limit) for group in groups for one in group.listed)
    return show(work, "plans/editing/controls.html", "plan_controls", groups=groups, unset=unset)


def _control(work: Work, code: str) -> Control:
    found = work.plan.control(code)
    if found is None:
        raise Http404
    return found


def _refused(work: Work, request: HttpRequest) -> int:
    """Give the status of a form that was not saved."""
    return Refused.status if stale(work, request.POST.get("revision", "")) else BadInput.status


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def plan_control(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Show one control and change it."""
    work = work_on(request, slug)
    control = _control(work, code)
    if request.method != "POST":
        initial = {"revision": str(work.draft.revision), **texts_of(control)}
        return control_page(work, ControlForm(plan=work.plan, control=control, initial=initial), control)
    form = ControlForm(request.POST, plan=work.plan, control=control)

    def change(data: Data) -> None:
        controls_change.put(form.cleaned_data, work.plan, control, item_of(data["controls"], code))

    done = _("%(code)s is saved in the draft.") % {"code": code}
    response = save(work, form, change, to=("plan_controls",), done=done)
    return response or control_page(work, form, control, status=_refused(work, request))


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def plan_control_add(request: HttpRequest, slug: str) -> HttpResponse:
    """Make a new control; its limit comes next."""
    work = work_on(request, slug)
    if request.method != "POST":
        initial = {"revision": str(work.draft.revision), **NEW, "rank": request.GET.get("class", "")}
        return control_page(work, NewControlForm(plan=work.plan, initial=initial), None)
    form = NewControlForm(request.POST, plan=work.plan)
    made: dict[str, Any] = {}

    def change(data: Data) -> None:
        typed = form.cleaned_data
        made["code"] = controls_change.new_code(typed["code"], typed["rank"], data)
        made["limit"] = controls_change.open_limit()
        controls_change.put(typed, work.plan, None, made)
        data["controls"].append(made)

    response = save(work, form, change, to=("plan_controls",), done=_("Added. Set its limit next."))
    if response is not None:
        return redirect("plan_limit", slug, made["code"])
    return control_page(work, form, None, status=_refused(work, request))


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def plan_control_remove(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Take a control out of the draft, unless something of the plan names it."""
    work = work_on(request, slug)
    control = _control(work, code)
    if request.method != "POST":
        return _remove_page(work, begin(work, RemoveForm), control)
    form = RemoveForm(request.POST)

    def change(data: Data) -> None:
        if controls_change.named_by(work.plan, code):
            raise Refused(_("%(code)s is named elsewhere in the plan: see below.") % {"code": code})
        data["controls"].remove(item_of(data["controls"], code))

    done = _("%(code)s is taken out of the draft.") % {"code": code}
    response = save(work, form, change, to=("plan_controls",), done=done)
    return response or _remove_page(work, form, control, status=Refused.status)


def _remove_page(work: Work, form: RemoveForm, control: Control, *, status: int = 200) -> HttpResponse:
    """Show what taking a control out means, and what names it."""
    named = controls_change.named_by(work.plan, control.code)
    context = {"form": form, "control": control, "named": named}
    return show(work, "plans/editing/control_remove.html", "plan_controls", status=status, **context)
