"""Screen of the confirmations: figures one by one, the table of targets, the flow walked on site.

It works on the draft or, without one, on the newest approved version. What is confirmed here is a record.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from safetyplan.establishments.access import EVERYONE, get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity.form_refusals import check_form, refuse
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import NotAllowed, Refused
from safetyplan.integrity.signatures import prove
from safetyplan.plans.confirmations import FLOW, TARGETS, given_for
from safetyplan.plans.confirming import WHO_CONFIRMS, confirm_figure, confirm_flow, confirm_targets
from safetyplan.plans.editing.confirm_forms import FigureForm, FlowForm, TargetsForm
from safetyplan.plans.editing.confirm_page import Bound, confirm_page
from safetyplan.plans.editing.frame import PARTS
from safetyplan.plans.figures import figures, flow_value, targets_value
from safetyplan.plans.parts import Plan
from safetyplan.plans.queries import around_of, draft_of, plan_at_work, versions

# without a draft there is nothing to edit: only these two
READING = (("plan", gettext_lazy("The plan in force")), ("plan_confirm", gettext_lazy("Confirm")))


@dataclass(frozen=True)
class Desk:
    """The plan at work, draft or newest version, as one request sees it."""

    request: HttpRequest
    establishment: Establishment
    person: Person
    roles: tuple[str, ...]
    plan: Plan

    def proof(self, form: Form) -> SignatureProof:
        """Check the password again."""
        password = form.cleaned_data.get("password", "")
        return prove(establishment=self.establishment, person=self.person, password=password)


def _desk(request: HttpRequest, slug: str) -> Desk:
    """First line of every view here: everybody of the dairy reads, those who confirm write."""
    who = WHO_CONFIRMS if request.method == "POST" else EVERYONE
    establishment = get_establishment(request, slug, *who)
    plan = plan_at_work(establishment)
    if plan is None:
        raise Http404
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    return Desk(request, establishment, cast(Person, request.user), tuple(roles), plan)


@login_required
@require_safe
def plan_confirm(request: HttpRequest, slug: str) -> HttpResponse:
    """Show what is confirmed, and what is not."""
    return _page(_desk(request, slug), {})


@login_required
@require_POST
def plan_confirm_figure(request: HttpRequest, slug: str) -> HttpResponse:
    """Confirm one figure on a source."""
    desk = _desk(request, slug)
    what = request.POST.get("what", "")
    found = {figure.what: (at, figure) for at, figure in enumerate(figures(desk.plan))}
    at, figure = found.get(what, (0, None))

    def act(form: Form) -> None:
        typed = {name: form.cleaned_data.get(name, "") for name in ("what", "value", "source")}
        confirm_figure(establishment=desk.establishment, by=desk.person, **typed)

    provenance = figure.provenance if figure else ""
    form = FigureForm(request.POST, provenance=provenance, auto_id=f"figure{at}_%s")
    key, value = (what, figure.value) if figure else ("elsewhere", "")
    return _answer(desk, form, act, key, value, "figures", _("The figure is confirmed."))


@login_required
@require_POST
def plan_confirm_targets(request: HttpRequest, slug: str) -> HttpResponse:
    """Sign the table of operating targets."""
    desk = _desk(request, slug)

    def act(form: Form) -> None:
        value = form.cleaned_data.get("value", "")
        confirm_targets(establishment=desk.establishment, proof=desk.proof(form), value=value)

    form = TargetsForm(request.POST, auto_id="targets_%s")
    return _answer(desk, form, act, TARGETS, targets_value(desk.plan), "targets", _("The table is signed."))


@login_required
@require_POST
def plan_confirm_flow(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Sign that a flow was walked on site."""
    desk = _desk(request, slug)
    at, product = next(((at, p) for at, p in enumerate(desk.plan.products) if p.code == code), (0, None))
    if product is None:
        raise Http404

    def act(form: Form) -> None:
        typed = {name: form.cleaned_data.get(name, "") for name in ("value", "note")}
        proof = desk.proof(form)
        confirm_flow(establishment=desk.establishment, proof=proof, product=code, **typed)

    form = FlowForm(request.POST, auto_id=f"flow{at}_%s")
    return _answer(desk, form, act, f"{FLOW}{code}", flow_value(product), "flows", _("The flow is signed."))


def _answer(
    desk: Desk, form: Form, act: Callable[[Form], None], key: str, value: str, part: str, done: str
) -> HttpResponse:
    """Do what the form asks; refused, show it again with what was typed and with what stands there now."""
    try:
        check_form(form)
        with transaction.atomic():
            act(form)
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        form.data = {**desk.request.POST.dict(), "value": value}
        return _page(desk, {key: form}, refusal.status)
    messages.success(desk.request, done)
    return redirect(f"{reverse('plan_confirm', args=[desk.establishment.slug])}#{part}")


def _page(desk: Desk, bound: Bound, status: int = 200) -> HttpResponse:
    draft = draft_of(desk.establishment)
    context: dict[str, Any] = {
        "section": "plan",
        "parts": PARTS if draft else READING,
        "part": "plan_confirm",
        "draft": draft,
        "version": None if draft else versions(desk.establishment).first(),
        "plan": desk.plan,
        "may_prepare": Role.QUALIFIED in desk.roles,
        "may_confirm": bool(set(desk.roles) & set(WHO_CONFIRMS)),
        **confirm_page(desk.plan, given_for(desk.establishment), around_of(desk.establishment), bound),
    }
    return render(desk.request, "plans/editing/confirm.html", context, status=status)
