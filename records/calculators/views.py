"""The calculators: the list, one calculator with its result, and attaching a result to a deviation.

A calculation is sent by POST because a log may be long; it writes nothing. Only attaching records something.
"""

from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from records.batches.posting import claim_of, once
from records.calculators.forms import AttachCalculationForm, CalculatorForm
from records.calculators.page import calculator_page, listed, open_choices
from records.deviations.calculations import attach_calculation
from records.deviations.models import Deviation
from records.deviations.queries import open_deviations
from safetyplan.calculation.worked.catalogue import CALCULATORS
from safetyplan.calculation.worked.shape import Calculator, Task, Worked
from safetyplan.calculators.reading import fields_of, unit_of, work
from safetyplan.establishments.access import EVERYONE, WRITERS, get_establishment
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity.form_refusals import Typed, check_form, refuse, taking_offers, typed_by
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused

PAGE = "records/calculators/calculator.html"


def _find(calculator: str, task: str) -> tuple[Calculator, Task]:
    try:
        found = CALCULATORS[calculator]
        return found, found.task(task.replace("-", "_"))
    except KeyError as error:
        raise Http404(_("There is no such calculator.")) from error


@login_required
@require_safe
def calculators(request: HttpRequest, slug: str) -> HttpResponse:
    """List the calculators."""
    get_establishment(request, slug)
    context = {"calculators": listed(), "chosen": request.GET.get("deviation", "")}
    return render(request, "records/calculators/list.html", context)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def calculator(request: HttpRequest, slug: str, calculator: str, task: str) -> HttpResponse:
    """Ask for the inputs of a calculator and show its result with the working."""
    establishment = get_establishment(request, slug, *EVERYONE)
    found, chosen = _find(calculator, task)
    deviation = request.POST.get("deviation") or request.GET.get("deviation", "")
    context: dict[str, Any] = calculator_page(found, chosen, deviation)
    if request.method != "POST":
        context["form"] = CalculatorForm(chosen)
        return render(request, PAGE, context)
    typed = typed_by(request)
    form, worked, status = _worked(chosen, request, typed)
    context |= {"form": form, **_result(request, establishment, found, chosen, worked, typed)}
    return render(request, PAGE, context, status=status)


def _worked(task: Task, request: HttpRequest, typed: Typed) -> tuple[CalculatorForm, Worked | None, int]:
    """Compute from what was typed; on a refusal the form carries the words and everything typed."""
    form = CalculatorForm(task, request.POST)
    try:
        check_form(form)
        units = {ask.name: unit_of(ask, typed) for ask in task.asks if ask.entry == "number"}
        worked = taking_offers(typed, lambda current: work(task, current), units=units)
    except Refused as refusal:
        form.data = {**request.POST.dict(), **typed}
        refuse(form, refusal)
        return form, None, refusal.status
    return CalculatorForm(task, {name: typed.get(name, "") for name in fields_of(task)}), worked, 200


def _result(
    request: HttpRequest,
    establishment: Establishment,
    calculator: Calculator,
    task: Task,
    worked: Worked | None,
    typed: Typed,
) -> dict[str, Any]:
    if worked is None:
        return {}
    shown = calculator_page(calculator, task, typed.get("deviation", ""), worked=worked, typed=typed)
    if set(request.roles) & set(WRITERS):  # type: ignore[attr-defined]
        choices = open_choices(establishment)
        shown["attach"] = AttachCalculationForm(
            initial={"deviation": typed.get("deviation", "")}, deviations=choices, auto_id="attach_%s"
        )
        shown["may_attach"] = bool(choices)
    return shown


@login_required
@require_POST
def calculation_attach(request: HttpRequest, slug: str, calculator: str, task: str) -> HttpResponse:
    """Attach a calculation to a deviation; it is computed again from what was typed."""
    establishment = get_establishment(request, slug, *WRITERS)
    found, chosen = _find(calculator, task)
    typed = typed_by(request)
    form = AttachCalculationForm(request.POST, deviations=open_choices(establishment), auto_id="attach_%s")
    try:
        check_form(form)
        deviation = _deviation(establishment, typed.get("deviation", ""))
        once(request, establishment, lambda: _attach(request, establishment, deviation, found, chosen))
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        calculated, worked, _status = _worked(chosen, request, dict(typed))
        context = calculator_page(found, chosen, typed.get("deviation", ""))
        context |= {"form": calculated, **_result(request, establishment, found, chosen, worked, typed)}
        context |= {"attach": form, "may_attach": True}
        return render(request, PAGE, context, status=refusal.status)
    messages.success(request, _("The calculation is attached."))
    return redirect(f"{reverse('deviation', args=[slug, deviation.pk])}#evaluate")


def _deviation(establishment: Establishment, pk: str) -> Deviation:
    if not pk:
        raise BadInput(_("Choose the deviation."), part="deviation")
    found = open_deviations(establishment).filter(pk=UUID(pk)).first()
    if found is None:
        raise Refused(_("This deviation is closed."), part="deviation")
    return found


def _attach(
    request: HttpRequest,
    establishment: Establishment,
    deviation: Deviation,
    calculator: Calculator,
    task: Task,
) -> object:
    typed = typed_by(request)
    inputs = {name: typed.get(name, "") for name in fields_of(task)}
    note = typed.get("note", "")
    about = {"deviation": deviation.pk, "calculator": calculator.slug, "task": task.name}
    claim = claim_of(request, establishment, "calculation_attached", {**inputs, "note": note}, **about)
    return attach_calculation(
        establishment=establishment,
        by=cast(Person, request.user),
        deviation=deviation,
        calculator=calculator.slug,
        task=task.name,
        typed=inputs,
        note=note,
        claim=claim,
    )
