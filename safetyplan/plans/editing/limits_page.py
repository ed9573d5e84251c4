"""What the screen of a limit shows: the form, the words that will be printed, the worked cases."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from django.http import Http404, HttpResponse
from django.utils.translation import gettext as _

from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.limits.shape import Limit, nested
from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.editing.controls_page import findings_of
from safetyplan.plans.editing.frame import Work, show
from safetyplan.plans.editing.limit_forms import Choices, LimitForm, settled
from safetyplan.plans.editing.limit_kinds import KINDS
from safetyplan.plans.editing.limit_preview import (
    Case,
    cases_of,
    judged,
    moment_of,
    read_given,
    tried,
    tries_of,
)
from safetyplan.plans.editing.limit_scenes import At
from safetyplan.plans.editing.limit_typed import Texts, empty_texts, is_set, texts_of, turned
from safetyplan.plans.figures import concerns, is_figure, limit_value, parameter_words
from safetyplan.plans.parts import STARTED, Control, Plan
from safetyplan.plans.plan_check import NOT_RECORDED
from safetyplan.plans.queries import around_of
from safetyplan.plans.rules.limits import recorded
from safetyplan.reference.profiles import PARAMETERS
from safetyplan.words import name_words, render, sentence_case

PAGE = "plans/editing/limit.html"
USUAL_EVENT = "starter_added"


@dataclass(frozen=True)
class Kind:
    """One kind of limit as it is offered."""

    kind: str
    title: Any
    example: Any
    chosen: bool
    suggested: bool
    not_recorded: bool


def control_of(work: Work, code: str) -> Control:
    """Find the control; 404 when the draft has none of that code."""
    control = work.plan.control(code)
    if control is None:
        raise Http404
    return control


def event_choices(plan: Plan, control: Control, texts: Texts) -> Choices:
    """Give the events of the products of a control, the lot's own start, and those the limit names."""
    found: dict[str, str] = {STARTED: _("Start of the lot")}
    for product in plan.products:
        if not control.products or product.code in control.products:
            found |= {event.code: event.name for event in product.events if event.code not in found}
    for name, text in texts.items():
        if name.split("-")[-1] in ("event", "until") and text and text not in found:
            found[text] = _("%(event)s (not an event of these products)") % {"event": name_words(text)}
    return list(found.items())


def parameter_choices(plan: Plan, control: Control) -> Choices:
    """Give the figures of the profile that a limit may answer to."""
    found = {
        one.code: f"{sentence_case(str(PARAMETERS.get(one.code, one.code)))}: {parameter_words(one)}"
        for one in (plan.profile.parameters if plan.profile else ())
        if is_figure(one) and concerns(plan, one)
    }
    if control.parameter and control.parameter not in found:
        found[control.parameter] = control.parameter
    return list(found.items())


def opened(work: Work, control: Control, kind: str) -> Texts:
    """Give the texts of the form as it opens: the limit as it stands, another kind, or the one suggested."""
    document, about = control.limit.to_document(), control
    if kind and kind not in KINDS:
        raise Http404
    if isinstance(control.limit, OpenLimit):
        suggested = control.limit.suggests if control.limit.suggests in KINDS else "bound"
        texts = empty_texts(kind or suggested)
        about = replace(control, justification="", figure_source="", provenance="")
    else:
        texts = turned(document, kind) if kind and kind != document["kind"] else texts_of(document)
    offered = [code for code, _name in event_choices(work.plan, control, {})]
    if texts["kind"] == ReachedBy.kind and not texts["event"] and USUAL_EVENT in offered:
        texts["event"] = USUAL_EVENT
    return settled(texts) | {
        "justification": about.justification,
        "figure_source": about.figure_source,
        "provenance": about.provenance,
        "parameter": about.parameter,
        "revision": str(work.draft.revision),
    }


def form_of(work: Work, control: Control, texts: Texts, limit: Limit | None = None) -> LimitForm:
    """Make the form of a limit; a limit that holds together can be tried."""
    form = LimitForm(
        texts,
        events=event_choices(work.plan, control, texts),
        parameters=parameter_choices(work.plan, control),
        tries=tries_of(limit) if limit is not None else (),
    )
    if control.is_ccp:
        form.fields["justification"].help_text = _("Asked of every critical limit before approval.")
        form.fields["figure_source"].help_text = _("Text, table, page or trial. Asked before approval.")
    return form


def at_noon(work: Work) -> At:
    """Give the moment of the invented check."""
    return moment_of(clock.now(work.establishment), zone_of(work.establishment))


def try_reading(work: Work, limit: Limit, texts: Texts) -> tuple[Case | None, list[BadInput]]:
    """Judge the reading that was typed; every refusal at its field."""
    given, refusals = read_given(tries_of(limit), texts)
    if refusals:
        return None, refusals
    at = at_noon(work)
    try:
        example = tried(limit, given, at)
    except BadInput as refusal:
        return None, [refusal]
    return (judged(limit, example, at) if example else None), []


def kinds_offered(control: Control, chosen: str) -> Iterator[Kind]:
    """Give every kind of limit, the one that is suggested first."""
    suggested = control.limit.suggests if isinstance(control.limit, OpenLimit) else ""
    for shape in sorted(KINDS.values(), key=lambda shape: shape.kind != suggested):
        yield Kind(
            shape.kind,
            shape.title,
            shape.example,
            shape.kind == chosen,
            shape.kind == suggested,
            shape.kind in NOT_RECORDED,
        )


def is_confirmed(work: Work, control: Control) -> bool:
    """Tell whether the limit is confirmed as it now stands: as a figure, or in the signed table."""
    around = around_of(work.establishment)
    if isinstance(control.limit, OpenLimit):
        return False
    if control.is_ccp:
        return (f"limit:{control.code}", limit_value(control)) in around.confirmed
    return around.has_targets(work.plan)


def limit_page(
    work: Work,
    control: Control,
    form: LimitForm,
    limit: Limit | None,
    *,
    yours: Case | None = None,
    status: int = 200,
) -> HttpResponse:
    """Show the screen of a limit."""
    at = at_noon(work)
    lacking = {form.texts.get("kind", "")} & NOT_RECORDED
    if limit is not None:
        lacking = {one.kind for one in nested(limit) if not recorded(one)}
    return show(
        work,
        PAGE,
        "plan_controls",
        status=status,
        control=control,
        form=form,
        whole=form.root,
        kinds=list(kinds_offered(control, form.texts.get("kind", ""))),
        open_limit=control.limit if isinstance(control.limit, OpenLimit) else None,
        confirmed=is_confirmed(work, control),
        not_recorded=[KINDS[kind].title for kind in sorted(lacking)],
        words=[render(sentence) for sentence in limit.describe()] if limit is not None else [],
        cases=cases_of(limit, at) if limit is not None else [],
        yours=yours,
        noon=at.now,
        findings=findings_of(work.findings(), control),
        follows=form.texts.get("kind") == ReachedBy.kind,
    )


def present_limit(control: Control, texts: Texts) -> Limit | None:
    """Give the limit that stands in the plan when the form shows just that one."""
    document = control.limit.to_document()
    return load(document) if is_set(document) and texts.get("kind") == document["kind"] else None
