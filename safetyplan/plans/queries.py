"""Reads about plans."""

from datetime import datetime

from django.db.models import QuerySet

from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until
from safetyplan.plans.models import PlanApproved, PlanDraft


def versions(establishment: Establishment, as_of: int | None = None) -> "QuerySet[PlanApproved]":
    """Give the approved versions, newest first."""
    return until(PlanApproved.objects.of(establishment), as_of).order_by("-number")


def in_force(establishment: Establishment, at: datetime, as_of: int | None = None) -> PlanApproved | None:
    """Give the version in force at an instant."""
    return versions(establishment, as_of).filter(in_force_from__lte=at).first()


def draft_of(establishment: Establishment) -> PlanDraft | None:
    """Give the working draft."""
    return PlanDraft.objects.of(establishment).first()
