"""Screens of the regulatory profile: its figures, one figure changed with a reason, another profile."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.plans.editing.frame import Data, Work, item_of, refused_status, save, show, work_on
from safetyplan.plans.editing.profile_forms import BackForm, ParameterForm, ProfileForm
from safetyplan.plans.editing.profile_values import (
    block_of,
    differences,
    name_of,
    own_figure,
    own_profile,
    profile_says,
    shown,
    words_of,
)
from safetyplan.plans.parts import Parameter
from safetyplan.reference.profiles import Profile, profiles

PART = "plan_profile"


@login_required
@require_safe
def plan_profile(request: HttpRequest, slug: str) -> HttpResponse:
    """Show every figure of the plan's profile with its source."""
    work = work_on(request, slug)
    itself = own_profile(work.plan)
    present = work.plan.profile
    newer = itself is not None and present is not None and itself.read_on > present.read_on
    context: dict[str, Any] = {
        "itself": itself,
        "figures": shown(work.plan),
        "newer": itself.read_on if itself and newer else "",
        "findings": [finding for finding in work.findings() if finding.id in ("P043", "P045")],
    }
    return show(work, "plans/editing/profile.html", PART, **context)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def plan_parameter(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Change one figure of the profile, with the reason."""
    work = work_on(request, slug)
    parameter = _parameter(work, code)
    if request.method != "POST":
        return _parameter_page(work, parameter, _first_form(work, parameter))
    form = ParameterForm(request.POST, parameter=parameter)

    def change(data: Data) -> None:
        typed = {name: form.cleaned_data[name] for name in ("value", "citation", "reason")}
        _change_figure(data, parameter, own_figure(work.plan, code), {**typed, "unit": form.unit_typed()})

    return _answer(work, form, change, parameter)


@login_required
@require_POST
def plan_parameter_back(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Put a changed figure back to what the profile says."""
    work = work_on(request, slug)
    parameter = _parameter(work, code)
    form = BackForm(request.POST)

    def change(data: Data) -> None:
        itself = own_profile(work.plan)
        figure = itself.parameter(code) if itself else None
        if itself is None or figure is None:
            raise Refused(_("The profile says nothing about it: there is nothing to put back."))
        items = data["profile"]["parameters"]
        back = next(one for one in block_of(itself)["parameters"] if one["code"] == code)
        items[items.index(item_of(items, code))] = back

    return _answer(work, form, change, parameter)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def plan_profile_change(request: HttpRequest, slug: str) -> HttpResponse:
    """Choose another profile; show what differs; take it over once that was seen."""
    work = work_on(request, slug)
    if request.method == "POST":
        return _take_profile(work, _profile(request.POST.get("to", "")))
    if "to" in request.GET:
        return _compare(work, _profile(request.GET["to"]))
    context: dict[str, Any] = {"profiles": profiles().values(), "present": work.plan.profile}
    return show(work, "plans/editing/profile_choose.html", PART, **context)


def _take_profile(work: Work, profile: Profile) -> HttpResponse:
    form = ProfileForm(work.request.POST)

    def change(data: Data) -> None:
        if form.cleaned_data.get("read_on") != profile.read_on:
            raise Refused(_("The profile was read anew meanwhile. Look at the differences again."))
        data["profile"] = block_of(profile)

    answer = save(work, form, change, to=(PART,), done=_("The profile is changed in the draft."))
    if answer is not None:
        return answer
    status = refused_status(form)
    form.data = {**form.data.dict(), "read_on": profile.read_on}  # type: ignore[attr-defined]
    return _compare(work, profile, form, status)


def _compare(work: Work, profile: Profile, form: Any = None, status: int = 200) -> HttpResponse:
    first = {"revision": str(work.draft.revision), "to": profile.code, "read_on": profile.read_on}
    context = {
        "profile": profile,
        "present": work.plan.profile,
        "present_name": _name(work),
        "differences": differences(work.plan, profile),
        "form": form or ProfileForm(initial=first),
    }
    return show(work, "plans/editing/profile_compare.html", PART, status=status, **context)


def _name(work: Work) -> str:
    itself = own_profile(work.plan)
    return itself.name if itself else (work.plan.profile.code if work.plan.profile else "")


def _profile(code: str) -> Profile:
    found = profiles().get(code)
    if found is None:
        raise Http404
    return found


def _parameter(work: Work, code: str) -> Parameter:
    found = work.plan.profile.parameter(code) if work.plan.profile else None
    if found is None:
        raise Http404
    return found


def _change_figure(data: Data, parameter: Parameter, itself: Any, typed: dict[str, str]) -> None:
    """Put a figure chosen here into the document; one that is the profile's own is no change."""
    if itself is not None and (itself.value, itself.unit) == (typed["value"], typed["unit"]):
        message = _("The profile says the same. Put the figure back if that is what you want.")
        raise BadInput(message, part="value")
    item_of(data["profile"]["parameters"], parameter.code).update(typed, provenance="own")


def _first_form(work: Work, parameter: Parameter) -> ParameterForm:
    """Give the form with the figure as it stands; its source only where the figure was chosen here."""
    own = parameter.provenance == "own"
    initial = {
        "revision": str(work.draft.revision),
        "value": parameter.value,
        "unit": parameter.unit,
        "citation": parameter.citation if own else "",
        "reason": parameter.reason,
    }
    return ParameterForm(initial=initial, parameter=parameter)


def _answer(work: Work, form: Any, change: Callable[[Data], None], parameter: Parameter) -> HttpResponse:
    answer = save(work, form, change, to=(PART,))
    if answer is not None:
        return answer
    return _parameter_page(work, parameter, form, refused_status(form))


def _parameter_page(work: Work, parameter: Parameter, form: Any, status: int = 200) -> HttpResponse:
    itself = own_figure(work.plan, parameter.code)
    back = isinstance(form, BackForm)
    context = {
        "parameter": parameter,
        "name": name_of(parameter.code),
        "words": words_of(parameter),
        "itself": itself,
        "itself_words": words_of(itself) if itself else "",
        "differs": bool(profile_says(work.plan, parameter)) or parameter.provenance == "own",
        "form": _first_form(work, parameter) if back else form,
        "back": form if back else BackForm(initial={"revision": str(work.draft.revision)}),
    }
    return show(work, "plans/editing/profile_figure.html", PART, status=status, **context)
