"""Reads about plans."""

from datetime import datetime

from django.db.models import QuerySet

from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until, zone_of
from safetyplan.integrity import clock
from safetyplan.plans.around import Around
from safetyplan.plans.document import Plan, read_text
from safetyplan.plans.models import (
    EvidenceKept,
    FigureConfirmed,
    FlowConfirmed,
    PlanApproved,
    PlanDraft,
    TargetsConfirmed,
)


def versions(establishment: Establishment, as_of: int | None = None) -> "QuerySet[PlanApproved]":
    """Give the approved versions, newest first."""
    return until(PlanApproved.objects.of(establishment), as_of).order_by("-number")


def in_force(establishment: Establishment, at: datetime, as_of: int | None = None) -> PlanApproved | None:
    """Give the version in force at an instant."""
    return versions(establishment, as_of).filter(in_force_from__lte=at).first()


def late_after(establishment: Establishment, otherwise: int) -> int:
    """Give the minutes after which an entry is late by the plan in force; `otherwise` where there is none."""
    version = in_force(establishment, clock.now(establishment))
    return version.plan().late_after_minutes if version else otherwise


def draft_of(establishment: Establishment) -> PlanDraft | None:
    """Give the working draft."""
    return PlanDraft.objects.of(establishment).first()


def plan_at_work(establishment: Establishment) -> Plan | None:
    """Give the plan that is being worked on: the draft, or without one the newest version."""
    draft = draft_of(establishment)
    if draft is not None:
        return read_text(draft.text)
    newest = versions(establishment).first()
    return newest.plan() if newest else None


def around_of(establishment: Establishment, as_of: int | None = None) -> Around:
    """Give what stands beside the document: every confirmation, the files kept, today."""
    figures = until(FigureConfirmed.objects.of(establishment), as_of)
    targets = until(TargetsConfirmed.objects.of(establishment), as_of)
    flows = until(FlowConfirmed.objects.of(establishment), as_of)
    files = until(EvidenceKept.objects.of(establishment), as_of)
    return Around(
        confirmed=frozenset(figures.values_list("what", "figure")),
        targets=frozenset(targets.values_list("table", flat=True)),
        flows=frozenset(flows.values_list("product", "flow")),
        files=frozenset(files.values_list("sha256", flat=True)),
        today=clock.now(establishment).astimezone(zone_of(establishment)).date(),
    )
