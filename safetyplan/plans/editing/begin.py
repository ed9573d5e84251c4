"""The beginning of a plan: a model plan, an empty plan, a revision; and a further product for the draft."""

import json
from typing import Any, cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from safetyplan.establishments.access import EVERYONE, get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import details_of
from safetyplan.integrity.form_refusals import check_form, refuse
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.document import SCHEMA
from safetyplan.plans.editing.begin_forms import EMPTY, AddModelForm, BeginForm
from safetyplan.plans.editing.frame import Data, refused_status, save, work_on
from safetyplan.plans.editing.products_data import named, new_product
from safetyplan.plans.queries import draft_of, versions
from safetyplan.plans.services import save_draft
from safetyplan.reference.model_plans import ModelPlan, add_to, instantiate, model_plans
from safetyplan.reference.profiles import profiles


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def plan_begin(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the ways to begin, or make the draft; beside a draft, add a product to it."""
    writing = request.method == "POST"
    establishment = get_establishment(request, slug, *((Role.QUALIFIED,) if writing else EVERYONE))
    if not writing:
        return _page(request, establishment, status=200)
    return _add(request, slug) if "revision" in request.POST else _begin(request, establishment)


def _begin(request: HttpRequest, establishment: Establishment) -> HttpResponse:
    """Make the draft."""
    form = BeginForm(request.POST)
    try:
        check_form(form)
        document = _document(form.cleaned_data)
        by = cast(Person, request.user)
        save_draft(establishment=establishment, by=by, text=json.dumps(document), reason="", revision=None)
    except NotAllowed:
        raise
    except Refused as refusal:
        refuse(form, refusal)
        return _page(request, establishment, form=form, status=refusal.status)
    messages.success(request, _("The draft is there. Work through it: nothing of it counts yet."))
    return redirect("plan_draft", establishment.slug)


def _page(
    request: HttpRequest,
    establishment: Establishment,
    *,
    form: BeginForm | AddModelForm | None = None,
    status: int,
) -> HttpResponse:
    draft = draft_of(establishment)
    if form is None and draft is None:
        form = BeginForm(initial=_beginning(establishment))
    elif form is None and draft is not None:
        form = AddModelForm(initial={"revision": str(draft.revision)})
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    context = {
        "section": "plan",
        "form": form,
        "models": [*model_plans().values()],
        "adding": isinstance(form, AddModelForm),
        "draft": draft,
        "newest": versions(establishment).first(),
        "may_prepare": Role.QUALIFIED in roles,
    }
    return render(request, "plans/editing/begin.html", context, status=status)


def _beginning(establishment: Establishment) -> dict[str, str]:
    """Give what is likely: the rules that the establishment named, a title with its name."""
    details = details_of(establishment)
    return {
        "profile": details.regulatory_profile if details.regulatory_profile in profiles() else "",
        "title": _("Food-safety plan of %(dairy)s") % {"dairy": details.name},
    }


def _document(typed: dict[str, str]) -> Data:
    """Make the document of a new plan."""
    if not typed["family"]:
        raise BadInput(_("Choose a model plan, or an empty plan."), part="family")
    name, code = named(typed, ())
    if not typed["profile"]:
        raise BadInput(_("Choose whose rules apply to you."), part="profile")
    title = clean(typed["title"], most=200, part="title")
    if not title:
        raise BadInput(_("Give the plan a title."), part="title")
    if typed["family"] == EMPTY:
        return _empty_plan(typed["profile"], code=code, name=name, title=title)
    model = model_plans()[typed["family"]]
    return instantiate(model, profile=typed["profile"], code=code, name=name, title=title)


def _empty_plan(profile: str, *, code: str, name: str, title: str) -> Data:
    """Make a plan that holds nothing but its product's name and the figures of the profile."""
    nothing: Data = {
        "schema": SCHEMA,
        "title": title,
        "form_number": "FSP-1",
        "products": [new_product(code, name)],
        "hazards": [],
        "controls": [],
    }
    model = ModelPlan(EMPTY, "", "", (), nothing, {})
    return instantiate(model, profile=profile, code=code, name=name, title=title)


def _add(request: HttpRequest, slug: str) -> HttpResponse:
    """Add a product to the draft after a model plan."""
    work = work_on(request, slug)
    form = AddModelForm(request.POST)

    def change(data: Data) -> None:
        typed: dict[str, Any] = form.cleaned_data
        if not typed["family"]:
            raise BadInput(_("Choose a model plan."), part="family")
        if data.get("schema") != SCHEMA:
            raise BadInput(_("Write the plan again in its present form first."), part="family")
        name, code = named(typed, [product["code"] for product in data["products"]])
        more = add_to(data, model_plans()[typed["family"]], code=code, name=name)
        data.clear()
        data.update(more)

    done = _("The product is in the draft, with its hazards and controls. Work through them.")
    answer = save(work, form, change, to=("plan_products",), done=done)
    return answer or _page(request, work.establishment, form=form, status=refused_status(form))
