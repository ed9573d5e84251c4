"""The screen of a limit: choose its kind, fill it in, see what it would say, save it."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.shape import Limit
from safetyplan.integrity.form_refusals import refuse, typed_by
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.editing.controls_page import stale
from safetyplan.plans.editing.frame import Work, item_of, save, work_on
from safetyplan.plans.editing.limit_change import About, NewLimit, new_limit
from safetyplan.plans.editing.limit_forms import LimitForm, reshaped, settled
from safetyplan.plans.editing.limit_preview import Case
from safetyplan.plans.editing.limit_typed import LimitReader, Texts, known_of
from safetyplan.plans.editing.limits_page import (
    control_of,
    form_of,
    limit_page,
    opened,
    present_limit,
    try_reading,
)
from safetyplan.plans.parts import PROVENANCES, Control
from safetyplan.plans.queries import around_of


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def plan_limit(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Show a limit and what it would say; change it, try it, save it."""
    work = work_on(request, slug)
    control = control_of(work, code)
    if request.method != "POST":
        texts = opened(work, control, request.GET.get("kind", ""))
        limit = present_limit(control, texts)
        return limit_page(work, control, form_of(work, control, texts, limit), limit)
    texts = typed_by(request)
    act = texts.pop("act", "save")
    if act.partition(":")[0] in ("add", "drop", "shape"):
        texts = settled(reshaped(texts, act))
        return limit_page(work, control, form_of(work, control, texts), None)
    return _work_through(work, control, settled(texts), saving=act != "try")


def _work_through(work: Work, control: Control, texts: Texts, *, saving: bool) -> HttpResponse:
    """Read what was typed; then save it, or only judge with it."""
    document, about, refusals = _read(control, texts)
    limit = load(document) if document is not None else None
    form = form_of(work, control, texts, limit)
    if document is not None and limit is not None and about is not None and not refusals and saving:
        return _save(work, control, form, limit, new_limit_of(work, control, document, about))
    yours, untried = (None, []) if limit is None or saving else _try(work, limit, texts)
    for refusal in (*refusals, *untried):
        refuse(form, refusal)
    status = BadInput.status if refusals or untried else 200
    return limit_page(work, control, form, limit, yours=yours, status=status)


def _try(work: Work, limit: Limit, texts: Texts) -> tuple[Case | None, list[BadInput]]:
    """Judge the reading that was typed, or the one that was offered for it and chosen."""
    yours, untried = try_reading(work, limit, texts)
    if any(_take_offer(texts, refusal) for refusal in untried):
        return try_reading(work, limit, texts)
    return yours, untried


def _read(control: Control, texts: Texts) -> tuple[dict[str, Any] | None, About | None, list[BadInput]]:
    """Read limit and reasons; where a refusal had an offer and one was chosen, take that one."""
    known = known_of(control.limit.to_document())
    while True:
        reader = LimitReader(texts, known)
        document = reader.read()
        if not any(_take_offer(texts, refusal) for refusal in reader.refusals):
            break
    refusals = list(reader.refusals)
    try:
        about: About | None = _about(texts)
    except BadInput as refusal:
        about = None
        refusals.append(refusal)
    return document, about, refusals


def _take_offer(texts: Texts, refusal: Refused) -> bool:
    """Put the offer that was chosen at a field into it; one that only had to be confirmed is sure now."""
    picked = texts.pop(f"{refusal.part}_offer", "")
    if not (picked.isascii() and picked.isdigit()) or int(picked) >= len(refusal.offers):
        return False
    offer = refusal.offers[int(picked)]
    texts[refusal.part] = str(offer["raw"]).strip()
    if offer["confirmed"]:
        texts[f"{refusal.part}_sure"] = texts[refusal.part]
    return True


def _about(texts: Texts) -> About:
    """Read what is said about the figure."""
    provenance = texts.get("provenance", "")
    if provenance and provenance not in PROVENANCES:
        raise BadInput(_("Choose one of those offered."), part="provenance")
    return About(
        justification=clean(texts.get("justification", ""), most=2000, part="justification"),
        figure_source=clean(texts.get("figure_source", ""), part="figure_source"),
        provenance=provenance,
        parameter=clean(texts.get("parameter", ""), most=60, part="parameter"),
    )


def new_limit_of(work: Work, control: Control, document: dict[str, Any], about: About) -> NewLimit:
    """Work out what follows from the limit that was typed."""
    return new_limit(work.plan, control, document, about, around_of(work.establishment))


def _save(work: Work, control: Control, form: LimitForm, limit: Limit, new: NewLimit) -> HttpResponse:
    """Save it and say what follows; a draft that changed meanwhile is refused with all that was typed."""

    def change(data: dict[str, Any]) -> None:
        new.put(item_of(data["controls"], control.code))

    to = ("plan_control", control.code) if new.moved else ("plan_controls",)
    done = _("The limit of %(code)s is saved in the draft.") % {"code": control.code}
    response = save(work, form, change, to=to, done=done)
    if response is None:
        status = Refused.status if stale(work, form.texts.get("revision", "")) else BadInput.status
        return limit_page(work, control, form, limit, status=status)
    for notice in new.notices:
        messages.info(work.request, notice)
    return response
