"""The page that compares two versions of the plan, or the draft with a version, and says who signed them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.pages import render_page
from safetyplan.establishments.shown import People
from safetyplan.integrity.form_refusals import PlainForm
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans import changes as told
from safetyplan.plans.changes import Change, compare
from safetyplan.plans.document import Plan, read_text
from safetyplan.plans.models import PlanApproved, PlanDraft
from safetyplan.plans.queries import draft_of, versions

DRAFT = "draft"
PARTS: tuple[tuple[str, Promise], ...] = (
    (told.CONTROLS, gettext_lazy("Controls")),
    (told.HAZARDS, gettext_lazy("Hazard analysis")),
    (told.PRODUCTS, gettext_lazy("Products and how they are made")),
    (told.PREREQUISITES, gettext_lazy("Prerequisite programmes")),
    (told.VERIFICATIONS, gettext_lazy("Verification")),
    (told.VALIDATIONS, gettext_lazy("Validation")),
    (told.PROFILE, gettext_lazy("Regulatory profile")),
    (told.RECALL, gettext_lazy("Recall and positive results")),
    (told.PLAN, gettext_lazy("The plan as a whole")),
)


class CompareForm(PlainForm):
    """Which two versions."""

    old = forms.ChoiceField(label=gettext_lazy("From"))
    new = forms.ChoiceField(label=gettext_lazy("To"))

    def __init__(self, *args: Any, choices: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("old", "new"):
            self.fields[name].choices = choices  # type: ignore[attr-defined]


@dataclass(frozen=True)
class Side:
    """One side of the comparison: an approved version or the draft."""

    name: str
    plan: Plan
    version: PlanApproved | None = None
    draft: PlanDraft | None = None


def _named(number: int) -> str:
    return _("Version %(number)d") % {"number": number}


def _side(chosen: str, listed: Sequence[PlanApproved], draft: PlanDraft | None, part: str) -> Side:
    """Find a side by what was chosen; a version or draft that is not there is refused at its field."""
    if chosen == DRAFT:
        if draft is None:
            raise BadInput(_("There is no draft now."), part=part)
        return Side(_("Draft"), read_text(draft.text), draft=draft)
    version = next((v for v in listed if str(v.number) == chosen), None)
    if version is None:
        raise BadInput(_("There is no such version. Choose one of the list."), part=part)
    return Side(_named(version.number), version.plan(), version=version)


def _usual(listed: Sequence[PlanApproved], draft: PlanDraft | None) -> tuple[str, str]:
    """Give what is compared unless something else is asked for: the newest step of the plan."""
    numbers = [str(version.number) for version in listed]
    row = [*([DRAFT] if draft else []), *numbers]
    newest = row[0] if row else ""
    return (row[1] if len(row) > 1 else newest), newest


def grouped(found: Sequence[Change]) -> list[tuple[Promise, list[Change]]]:
    """Give the changes by the part of the plan they stand in; parts that stay are left out."""
    groups = [(title, [change for change in found if change.part == part]) for part, title in PARTS]
    return [(title, changes) for title, changes in groups if changes]


def _signed(people: People, old: Side, new: Side, listed: Sequence[PlanApproved]) -> list[dict[str, Any]]:
    """Give who signed each version, and why: those on the way from one side to the other, and both."""
    ends = sorted(side.version.number for side in (old, new) if side.version)
    newest = listed[0].number if listed else 0
    first, last = ends[0], newest if old.draft or new.draft else ends[-1]
    return [
        {
            "name": _named(version.number),
            "version": version,
            "signed": people.when(version.recorded_at),
            "prepared_by": people.name(version.prepared_by_id),
            "since": people.when(version.in_force_from),
        }
        for version in reversed(listed)
        if first <= version.number <= last
    ]


def _context(establishment: Establishment, asked: dict[str, str]) -> dict[str, Any]:
    """Give everything the page shows; BadInput when it is asked for something that is not there."""
    listed, draft = list(versions(establishment)), draft_of(establishment)
    usual = _usual(listed, draft)
    chosen = {"old": asked.get("old") or usual[0], "new": asked.get("new") or usual[1]}
    choices = [
        *([(DRAFT, _("Draft"))] if draft else []),
        *((str(v.number), _named(v.number)) for v in listed),
    ]
    form = CompareForm(initial=chosen, choices=choices, auto_id="compare_%s")
    context: dict[str, Any] = {"section": "plan", "form": form, "any": bool(listed), "status": 200}
    if not listed:
        return context
    try:
        old, new = (_side(chosen[part], listed, draft, part) for part in ("old", "new"))
    except BadInput as refusal:
        return {**context, "refused": refusal.message, "status": refusal.status}
    people, found = People(establishment), compare(old.plan, new.plan)
    written = new.draft or old.draft
    return {
        **context,
        "old": old,
        "new": new,
        "same": chosen["old"] == chosen["new"],
        "backwards": _order(old) > _order(new),
        "count": len(found),
        "groups": grouped(found),
        "signed": _signed(people, old, new, listed) if old.version or new.version else [],
        "draft": written,
        "drafted_by": people.name(written.prepared_by_id) if written else "",
        "drafted": people.when(written.changed_at) if written else "",
    }


def _order(side: Side) -> float:
    return side.version.number if side.version else float("inf")


@login_required
@require_safe
def plan_compare(request: HttpRequest, slug: str) -> HttpResponse:
    """Show what differs between two versions, or between the draft and a version."""
    establishment = get_establishment(request, slug)
    context = _context(establishment, {name: request.GET.get(name, "") for name in ("old", "new")})
    return render_page(request, establishment, "plans/compare.html", context, status=context["status"])
