"""The flow of a product: its steps in order, with their branches; one more, one changed, one less."""

from typing import Any
from urllib.parse import quote

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.document import Product, Step
from safetyplan.plans.editing.codes import as_lines, code_from, lines_of
from safetyplan.plans.editing.flow_data import codes, leads_to, move, place_after, take_out, without_way
from safetyplan.plans.editing.frame import (
    Data,
    PartForm,
    Work,
    begin,
    item_of,
    refused_status,
    save,
    show,
    work_on,
)
from safetyplan.plans.editing.places import address
from safetyplan.plans.editing.products import OF_THE_FLOW, READ_WRITE, product_of
from safetyplan.plans.editing.products_data import item_words, names_step, naming_step
from safetyplan.plans.editing.removing import PART, Removal, remove
from safetyplan.plans.editing.step_forms import KIND_WORDS, StepEditForm, StepForm
from safetyplan.plans.flow_diagram import controls_at, flow_svg

MOVES = {"up": -1, "down": 1}


def moved_by(request: HttpRequest, items: list[Data]) -> None:
    """Move the item that a button names: its name is the way, its value the code."""
    way = next((name for name in MOVES if name in request.POST), "")
    if request.POST.get(way) not in codes(items):
        raise BadInput(_("Choose what is moved, up or down."))
    move(items, request.POST[way], MOVES[way])


def at_item(answer: HttpResponse, request: HttpRequest) -> HttpResponse:
    """Lead back to the item that was moved, so that it can be moved on."""
    code = next((request.POST[name] for name in MOVES if name in request.POST), "")
    answer["Location"] += f"#item-{quote(code)}"
    return answer


def _step_of(product: Product, code: str) -> Step:
    found = product.step(code)
    if found is None:
        raise Http404
    return found


@login_required
@require_http_methods(READ_WRITE)
def plan_steps(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Show the flow of a product, or move one of its steps up or down."""
    work = work_on(request, slug)
    product = product_of(work, code)
    if request.method != "POST":
        return _flow(work, product, begin(work, PartForm))
    form = PartForm(request.POST)

    def change(data: Data) -> None:
        moved_by(request, item_of(data["products"], code)["steps"])

    answer = save(work, form, change, to=("plan_steps", code), done=_("Moved."))
    return at_item(answer, request) if answer else _flow(work, product, form, refused_status(form))


def _flow(work: Work, product: Product, form: PartForm, status: int = 200) -> HttpResponse:
    slug, lost = work.establishment.slug, without_way(product)
    steps = [
        {
            "step": step,
            "kind": KIND_WORDS[step.kind],
            "leads_to": leads_to(product, step),
            "lost": step.code in lost,
            "controls": [control.code for control in controls_at(work.plan, product, step)],
            "hazards": [
                hazard.code for hazard in work.plan.hazards if names_step(hazard, product, step.code)
            ],
            "address": address(slug, "plan_step", product.code, step.code),
            "remove": address(slug, "plan_step_remove", product.code, step.code),
        }
        for step in product.steps
    ]
    return show(
        work,
        "plans/editing/steps.html",
        PART,
        product=product,
        steps=steps,
        diagram=flow_svg(work.plan, product),
        form=form,
        findings=[f for f in work.findings(product.code) if f.id in OF_THE_FLOW],
        status=status,
    )


@login_required
@require_http_methods(READ_WRITE)
def plan_step_add(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Add a step after another one; without a name of one, as the first."""
    work = work_on(request, slug)
    product = product_of(work, code)
    after = request.GET.get("after", "")
    if after and product.step(after) is None:
        raise Http404
    if request.method != "POST":
        return _add_page(work, product, after, begin(work, StepForm))
    form = StepForm(request.POST)

    def change(data: Data) -> None:
        steps = item_of(data["products"], code)["steps"]
        typed = _typed(form)
        place_after(steps, after, {"code": code_from(typed["name"], codes(steps), "step"), **typed})

    answer = save(work, form, change, to=("plan_steps", code), done=_("The step is in the flow."))
    return answer or _add_page(work, product, after, form, refused_status(form))


def _add_page(work: Work, product: Product, after: str, form: StepForm, status: int = 200) -> HttpResponse:
    return show(
        work,
        "plans/editing/step_add.html",
        PART,
        product=product,
        after=product.step(after),
        form=form,
        status=status,
    )


def _typed(form: StepForm) -> Data:
    """Give the keys of the document for what was typed."""
    typed: Data = form.cleaned_data
    name = clean(typed["name"], most=120, part="name")
    if not name:
        raise BadInput(_("Give the step a name."), part="name")
    return {
        "name": name,
        "kind": form.one_kind,
        "inputs": [clean(line, most=200, part="inputs") for line in lines_of(typed["inputs"])],
        "note": clean(typed["note"], part="note"),
    }


@login_required
@require_http_methods(READ_WRITE)
def plan_step(request: HttpRequest, slug: str, code: str, step: str) -> HttpResponse:
    """Show a step, or save it."""
    work = work_on(request, slug)
    product = product_of(work, code)
    found = _step_of(product, step)
    if request.method != "POST":
        return _step_page(work, product, found, begin(work, StepEditForm, **_initial(found)))
    form = StepEditForm(request.POST)
    form.offer(product, step)

    def change(data: Data) -> None:
        item = item_of(item_of(data["products"], code)["steps"], step)
        if form.one_kind == "end" and form.cleaned_data["next"]:
            raise BadInput(_("Nothing follows an end: choose no step here, or another kind."), part="next")
        item.update(_typed(form), next=form.cleaned_data["next"])

    answer = save(work, form, change, to=("plan_steps", code), done=_("The step is saved in the draft."))
    return answer or _step_page(work, product, found, form, refused_status(form))


def _initial(step: Step) -> dict[str, Any]:
    return {
        "name": step.name,
        "kind": step.kind,
        "inputs": as_lines(step.inputs),
        "note": step.note,
        "next": list(step.next),
    }


def _step_page(
    work: Work, product: Product, step: Step, form: StepEditForm, status: int = 200
) -> HttpResponse:
    form.offer(product, step.code)
    return show(
        work,
        "plans/editing/step.html",
        PART,
        product=product,
        step=step,
        named_by=[item_words(item) for item in naming_step(work.plan, product, step.code)],
        form=form,
        status=status,
    )


@login_required
@require_http_methods(READ_WRITE)
def plan_step_remove(request: HttpRequest, slug: str, code: str, step: str) -> HttpResponse:
    """Ask before a step is removed, or remove it; not while a hazard or control names it."""
    work = work_on(request, slug)
    product = product_of(work, code)
    found = _step_of(product, step)

    def out(data: Data) -> None:
        item = item_of(data["products"], code)
        item["steps"] = take_out(item["steps"], step)

    removal = Removal(
        name=found.name,
        question=_("What led to this step then leads to whatever followed it."),
        naming=lambda plan: naming_step(plan, product, step),
        take_out=out,
        to=("plan_steps", code),
        done=_("The step is out of the flow. Look at the flow again: something else follows now."),
    )
    return remove(work, removal)
