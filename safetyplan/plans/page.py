"""The pages of the plan: a version to read, the draft to work on."""

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.forms import Form
from django.utils.translation import gettext as _

from safetyplan.establishments.models import Establishment, Role, Training
from safetyplan.establishments.shown import People
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans import plan_check
from safetyplan.plans.around import Around
from safetyplan.plans.changes import Change, compare
from safetyplan.plans.described import controls_words, flow, hazards_words
from safetyplan.plans.document import Plan, read_text
from safetyplan.plans.forms import ApproveForm, DraftForm, FileForm
from safetyplan.plans.models import PlanApproved, PlanDraft
from safetyplan.plans.queries import around_of, draft_of, in_force, versions
from safetyplan.plans.services import dump_pretty, read_draft_text

EXAMPLE = Path(settings.BASE_DIR) / "fixtures" / "reference" / "first_plan.json"

ORDER = [
    "schema",
    "title",
    "form_number",
    "language",
    "late_after_minutes",
    "release_role",
    "products",
    "hazards",
    "controls",
    "kind",
    "code",
    "class",
    "name",
    "description",
    "milk",
    "shelf_life_days",
    "storage",
    "label",
    "step",
    "events",
    "steps",
    "limit",
    "monitoring",
    "what",
    "how",
    "who",
    "instrument",
    "when",
    "part",
    "quantity",
    "unit",
    "direction",
    "event",
    "corrective_actions",
    "text",
    "measure_next_minutes",
    "verification",
]


@cache
def example() -> str:
    """Give the example to start a plan from: steps and hazards, no limit for acid."""
    return EXAMPLE.read_text(encoding="utf-8")


def pretty(text: str) -> str:
    """Write the canonical text of a plan for people: its parts in the order in which a plan is told."""
    return dump_pretty(_in_order(canonical.loads(text.encode())))


def _in_order(value: Any) -> Any:
    if isinstance(value, list):
        return [_in_order(item) for item in value]
    if not isinstance(value, dict):
        return value
    keys = sorted(value, key=lambda key: (ORDER.index(key) if key in ORDER else len(ORDER), key))
    return {key: _in_order(value[key]) for key in keys}


def signed_versions(establishment: Establishment, people: People) -> list[dict[str, Any]]:
    """Give the change log: every version with who prepared it, who signed it, from when."""
    return [
        {
            "shown": people.shown(version),
            "prepared_by": people.name(version.prepared_by_id),
            "from": people.when(version.in_force_from),
            "roles": role_words(canonical.loads(version.signed_roles.encode())),
        }
        for version in versions(establishment)
    ]


def role_words(roles: list[str]) -> str:
    """Name roles in words."""
    return ", ".join(str(Role(role).label) for role in roles)


def version_page(
    establishment: Establishment, version: PlanApproved | None, roles: list[str]
) -> dict[str, Any]:
    """Give everything the page of a version shows."""
    people = People(establishment)
    now = in_force(establishment, clock.now(establishment))
    context: dict[str, Any] = {
        "section": "plan",
        "version": version,
        "is_in_force": version is not None and now is not None and version.pk == now.pk,
        "present": now,
        "draft": draft_of(establishment),
        "log": signed_versions(establishment, people),
        "may_prepare": Role.QUALIFIED in roles,
        "may_approve": Role.RESPONSIBLE in roles,
    }
    if version is not None:
        context.update(_plan_words(version.plan(), around_of(establishment)))
    return context


def _plan_words(plan: Plan, around: Around) -> dict[str, Any]:
    return {
        "plan": plan,
        "products": [(product, flow(plan, product)) for product in plan.products],
        "hazards": hazards_words(plan),
        "controls": controls_words(plan),
        "findings": plan_check.check(plan, around),
    }


def draft_page(
    establishment: Establishment,
    roles: list[str],
    *,
    bound: Mapping[str, Form] | None = None,
    start: str = "",
) -> dict[str, Any]:
    """Give everything the page of the draft shows; `bound` holds a form that was refused."""
    people = People(establishment)
    draft = draft_of(establishment)
    newest = versions(establishment).first()
    context: dict[str, Any] = {
        "section": "plan",
        "draft": draft,
        "newest": newest,
        "may_prepare": Role.QUALIFIED in roles,
        "may_approve": Role.RESPONSIBLE in roles,
        "forms": {**_forms(draft, newest, start), **(bound or {})},
        "example_shown": draft is None and start == "example",
    }
    if draft is not None:
        plan = read_text(draft.text)
        findings = plan_check.check(plan, around_of(establishment))
        context |= {
            "findings": findings,
            "blocked": [f for f in findings if f.level == "error"],
            "changes": compare(newest.plan(), plan) if newest else None,
            "prepared": _prepared(establishment, draft, people),
        }
    return context


def _forms(draft: PlanDraft | None, newest: PlanApproved | None, start: str) -> dict[str, Form]:
    revision = draft.revision if draft else ""
    text = pretty(draft.text) if draft else ""
    if not draft and start == "example":
        text = example()
    elif not draft and newest:
        text = pretty(newest.text)
    reason = draft.reason if draft else ""
    return {
        "draft": DraftForm(
            initial={"revision": revision, "text": text, "reason": reason}, auto_id="draft_%s"
        ),
        "file": FileForm(initial={"revision": revision}, auto_id="file_%s"),
        "approve": ApproveForm(initial={"revision": revision, "reason": reason}, auto_id="approve_%s"),
    }


def _prepared(establishment: Establishment, draft: PlanDraft, people: People) -> dict[str, Any]:
    trainings = Training.objects.of(establishment).filter(person=draft.prepared_by_id)
    return {
        "who": people.name(draft.prepared_by_id),
        "when": people.when(draft.changed_at),
        "trainings": list(trainings.order_by("-trained_on")[:3]),
    }


def conflict(establishment: Establishment, typed: str) -> dict[str, Any]:
    """Give the other person's text beside the one typed, and what changes from theirs to the one typed."""
    draft = draft_of(establishment)
    if draft is None:
        return {"theirs": "", "their_changes": None}
    changes: list[Change] | None = None
    try:
        changes = compare(read_text(draft.text), read_draft_text(typed)[1])
    except BadInput:
        changes = None
    return {"theirs": pretty(draft.text), "their_changes": changes}


def faulty_line(text: str) -> str:
    """Give the line at which a text stops being JSON, with its number; '' when it is JSON."""
    try:
        json.loads(text)
    except json.JSONDecodeError as error:
        lines = text.splitlines() or [""]
        line = lines[min(error.lineno, len(lines)) - 1]
        return _("Line %(number)d: %(line)s") % {"number": error.lineno, "line": line.strip()[:200]}
    except RecursionError:
        return ""
    return ""
