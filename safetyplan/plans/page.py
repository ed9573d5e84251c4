"""The pages of the plan: a version to read, the overview of the draft."""

from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from django.forms import Form

from safetyplan.establishments.access import WRITERS
from safetyplan.establishments.models import Establishment, Role, Training
from safetyplan.establishments.shown import People
from safetyplan.integrity import canonical, clock
from safetyplan.plans import plan_check
from safetyplan.plans.around import Around
from safetyplan.plans.changes import compare
from safetyplan.plans.described import controls_words, flow
from safetyplan.plans.document import Plan, read_text
from safetyplan.plans.editing.hazards_page import card
from safetyplan.plans.editing.overview import first_step, parts_of, rules, summaries
from safetyplan.plans.editing.programmes_page import programmes_shown
from safetyplan.plans.flow_diagram import flow_svg
from safetyplan.plans.forms import ApproveForm
from safetyplan.plans.models import PlanApproved, PlanDraft
from safetyplan.plans.queries import around_of, draft_of, in_force, versions


def signed_versions(establishment: Establishment, people: People) -> list[dict[str, Any]]:
    """Give the change log: every version with who prepared it, who signed it, from when."""
    return [
        {
            "shown": people.shown(version),
            "prepared_by": people.name(version.prepared_by_id),
            "from": people.when(version.in_force_from),
            "roles": role_words(canonical.loads(version.signed_roles.encode())),
            "before": version.number - 1,
        }
        for version in versions(establishment)
    ]


def role_words(roles: list[str]) -> str:
    """Name roles in words."""
    return ", ".join(str(Role(role).label) for role in roles)


def coming(establishment: Establishment, at: datetime) -> "QuerySet[PlanApproved]":
    """Give the approved versions that do not hold yet."""
    return versions(establishment).filter(in_force_from__gt=at)


def version_page(
    establishment: Establishment, version: PlanApproved | None, roles: list[str]
) -> dict[str, Any]:
    """Give everything the page of a version shows."""
    people = People(establishment)
    at = clock.now(establishment)
    now = in_force(establishment, at)
    context: dict[str, Any] = {
        "section": "plan",
        "version": version,
        "is_in_force": version is not None and now is not None and version.pk == now.pk,
        "present": now,
        "coming": [(v.number, people.when(v.in_force_from)) for v in coming(establishment, at)],
        "draft": draft_of(establishment),
        "log": signed_versions(establishment, people),
        "may_prepare": Role.QUALIFIED in roles,
        "may_approve": Role.RESPONSIBLE in roles,
        "may_print": not {*WRITERS, Role.ADMINISTRATOR}.isdisjoint(roles),
    }
    if version is not None:
        context.update(plan_words(version.plan(), around_of(establishment)))
    return context


def plan_words(plan: Plan, around: Around) -> dict[str, Any]:
    """Give the whole plan in words, a draft's or a version's."""
    return {
        "plan": plan,
        "products": [(product, flow(plan, product), flow_svg(plan, product)) for product in plan.products],
        "hazards": [card(plan, hazard) for hazard in plan.hazards],
        "controls": controls_words(plan),
        "findings": plan_check.check(plan, around),
        **programmes_shown(plan, around),
    }


def overview_page(
    establishment: Establishment, roles: list[str], *, approve: Form | None = None
) -> dict[str, Any]:
    """Give everything the overview of the draft shows; `approve` is an approval that was refused."""
    people = People(establishment)
    draft = draft_of(establishment)
    newest = versions(establishment).first()
    context: dict[str, Any] = {
        "section": "plan",
        "parts": parts_of(draft),
        "part": "plan_draft",
        "draft": draft,
        "newest": newest,
        "may_prepare": Role.QUALIFIED in roles,
        "may_approve": Role.RESPONSIBLE in roles,
        "approve": approve or _approve_form(draft),
    }
    if draft is not None:
        context |= _left_to_do(establishment, draft, newest)
        context["prepared"] = _prepared(establishment, draft, people)
    return context


def _left_to_do(
    establishment: Establishment, draft: PlanDraft, newest: PlanApproved | None
) -> dict[str, Any]:
    """Give what the plan check finds in the draft, part by part, and what changes by it."""
    plan = read_text(draft.text)
    findings = plan_check.check(plan, around_of(establishment))
    shown = summaries(plan, findings, establishment.slug)
    return {
        "plan": plan,
        "findings": findings,
        "blocked": [f for f in findings if f.level == "error"],
        "summaries": shown,
        "next_step": first_step(shown),
        "rules": rules(),
        "changes": compare(newest.plan(), plan) if newest else None,
    }


def _approve_form(draft: PlanDraft | None) -> ApproveForm:
    initial = {"revision": draft.revision, "reason": draft.reason} if draft else {}
    return ApproveForm(initial=initial, auto_id="approve_%s")


def _prepared(establishment: Establishment, draft: PlanDraft, people: People) -> dict[str, Any]:
    trainings = Training.objects.of(establishment).filter(person=draft.prepared_by_id)
    return {
        "who": people.name(draft.prepared_by_id),
        "when": people.when(draft.changed_at),
        "trainings": list(trainings.order_by("-trained_on")[:3]),
    }
