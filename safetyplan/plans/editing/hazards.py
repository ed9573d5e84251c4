"""Screens of the hazard analysis: all hazards step by step, one to write or change, one to take away."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from safetyplan.plans import plan_check
from safetyplan.plans.document import read
from safetyplan.plans.editing.frame import (
    Data,
    PartForm,
    Work,
    begin,
    free_code,
    item_of,
    save,
    show,
    work_on,
)
from safetyplan.plans.editing.hazards_form import HazardForm, initial_new, initial_of
from safetyplan.plans.editing.hazards_list import list_page
from safetyplan.plans.editing.hazards_page import card, product_named, sheet
from safetyplan.plans.editing.places import place_of
from safetyplan.plans.parts import Hazard
from safetyplan.plans.plan_check import Finding
from safetyplan.plans.queries import around_of

PART = "plan_hazards"
METHODS = ["GET", "HEAD", "POST"]
STALE = 409


@login_required
@require_safe
def plan_hazards(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the hazard analysis of one product, step by step."""
    work = work_on(request, slug)
    findings = work.findings()
    shown = sheet(work.plan, product_named(work.plan, request.GET.get("product", "")), findings)
    general = [one for one in findings if place_of(one, work.plan) == (PART,)]
    whole = "whole" in request.GET
    return show(work, "plans/editing/hazards.html", PART, sheet=shown, findings=general, whole=whole)


@login_required
@require_http_methods(METHODS)
def plan_hazard_add(request: HttpRequest, slug: str) -> HttpResponse:
    """Pick a hazard from the list or write one of one's own, and add it to the draft."""
    work = work_on(request, slug)
    if request.method != "POST":
        chosen = {key: str(value) for key, value in request.GET.items()}
        wanted = work.may_prepare and ("own" in chosen or bool(chosen.get("agent")))
        return _adding(work, _new_form(work, chosen) if wanted else None)
    form = HazardForm(work.plan, request.POST)

    def add(data: Data) -> None:
        data["hazards"].append(form.document(free_code(data["hazards"], "H")))

    done = save(work, form, add, to=(PART,), done=_("The hazard is in the draft."))
    return _back(work, done, form) if done else _adding(work, form)


def _new_form(work: Work, chosen: dict[str, str]) -> HazardForm:
    initial = {"revision": str(work.draft.revision), **initial_new(work.plan, chosen)}
    return HazardForm(work.plan, initial=initial)


def _adding(work: Work, form: HazardForm | None) -> HttpResponse:
    chosen = {key: str(value) for key, value in work.request.GET.items()}
    context = {"form": form, **list_page(work.plan, chosen)}
    return show(work, "plans/editing/hazard_add.html", PART, status=refused(work), **context)


@login_required
@require_http_methods(METHODS)
def plan_hazard(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Show one hazard, or change it."""
    work = work_on(request, slug)
    hazard = hazard_of(work, code)
    if request.method != "POST":
        initial = {"revision": str(work.draft.revision), **initial_of(hazard)}
        return _one(work, hazard, HazardForm(work.plan, present=hazard, initial=initial))
    form = HazardForm(work.plan, request.POST, present=hazard)

    def change(data: Data) -> None:
        present = item_of(data["hazards"], code)
        kept = {} if form.cleaned_data["step"] != hazard.step else _determination(present)
        present.clear()
        present.update(form.document(code) | kept)

    done = save(work, form, change, to=(PART,), done=_said(hazard, form))
    return _back(work, done, form) if done else _one(work, hazard, form)


def _determination(hazard: Data) -> Data:
    return {"determination": hazard["determination"]} if "determination" in hazard else {}


def _said(hazard: Hazard, form: HazardForm) -> str:
    """Say what was done; answers given for another step do not hold any more."""
    if hazard.determination is not None and form.data.get("step", "") != hazard.step:
        return _("Saved. The hazard stands at another step now: go through the decision tree again.")
    return _("Saved in the draft.")


def _one(work: Work, hazard: Hazard, form: HazardForm) -> HttpResponse:
    status = refused(work)
    context = {
        "form": form,
        "card": card(work.plan, hazard, work.findings(hazard.code)),
        "stale": status == STALE,
    }
    return show(work, "plans/editing/hazard.html", PART, status=status, **context)


@login_required
@require_http_methods(METHODS)
def plan_hazard_remove(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Ask whether a hazard is to be taken away, naming what depends on it; then take it away."""
    work = work_on(request, slug)
    hazard = hazard_of(work, code)
    form: PartForm = begin(work, PartForm)
    if request.method == "POST":
        form = PartForm(request.POST)

        def remove(data: Data) -> None:
            data["hazards"].remove(item_of(data["hazards"], code))

        done = save(work, form, remove, to=(PART,), done=_("The hazard is taken out of the draft."))
        if done:
            return done
    context = {
        "form": form,
        "card": card(work.plan, hazard),
        "others": ", ".join(controlled_too(work, hazard)),
        "left": left_behind(work, code),
    }
    return show(work, "plans/editing/hazard_remove.html", PART, status=refused(work), **context)


def hazard_of(work: Work, code: str) -> Hazard:
    """Find a hazard of the draft by its code; 404 when it is not there."""
    item_of(work.data["hazards"], code)
    return next(hazard for hazard in work.plan.hazards if hazard.code == code)


def controlled_too(work: Work, hazard: Hazard) -> list[str]:
    """Name the other hazards that the same control or programme is there for."""
    others = [h for h in work.plan.hazards if h.controlled_by == hazard.controlled_by and h != hazard]
    return [f"{other.code} {other.name}" for other in others]


def left_behind(work: Work, code: str) -> list[Finding]:
    """Give what the plan check would find besides, were a hazard taken away."""
    data = work.data
    data["hazards"] = [item for item in data["hazards"] if item["code"] != code]
    now = set(work.findings())
    return [one for one in plan_check.check(read(data), around_of(work.establishment)) if one not in now]


def refused(work: Work) -> int:
    """Give the status of a page: 409 for a draft changed meanwhile, 422 for what cannot be taken."""
    if work.request.method != "POST":
        return 200
    return 422 if work.request.POST.get("revision", "") == str(work.draft.revision) else STALE


def _back(work: Work, response: HttpResponse, form: HazardForm) -> HttpResponse:
    """Lead back to the step of the hazard on the sheet of its product."""
    typed = form.cleaned_data
    product = product_named(work.plan, typed["products"][0] if typed["products"] else "")
    place = "site"
    if typed["step"] and product is not None:
        codes = [step.code for step in product.steps]
        place = f"step-{codes.index(typed['step']) + 1}"
    query = urlencode({"product": product.code if product else ""})
    response["Location"] += f"?{query}#{place}"
    return response
