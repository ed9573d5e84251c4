"""Reads about additions: what is in a lot, and which lots got a lot of an ingredient."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from records.batches.models import LotAddition, LotEvent, LotEventVoided
from safetyplan.calculation.codes import skeleton
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until


def additions(establishment: Establishment, as_of: int | None = None) -> "QuerySet[LotAddition]":
    """Give the additions whose event stands: neither corrected nor voided."""
    rows: QuerySet[LotAddition] = until(LotAddition.objects.of(establishment), as_of)
    corrected = until(LotEvent.objects.of(establishment), as_of).filter(supersedes=OuterRef("event"))
    voided = until(LotEventVoided.objects.of(establishment), as_of).filter(event=OuterRef("event"))
    standing = rows.exclude(Exists(corrected)).exclude(Exists(voided))
    return standing.select_related("lot", "event", "author").order_by("event__observed_at", "entry__sequence")


def additions_of(
    establishment: Establishment, lots: Iterable[UUID], as_of: int | None = None
) -> list[LotAddition]:
    """Give what went into some lots, in the order in which it did."""
    return list(additions(establishment, as_of).filter(lot__in=list(lots)))


def additions_with_code(establishment: Establishment, code: str) -> list[LotAddition]:
    """Give the additions of the ingredient lots with a code; one that looks the same counts."""
    return list(additions(establishment).filter(code_skeleton=skeleton(code.strip())))


def additions_with(establishment: Establishment, ingredient: Any) -> list[LotAddition]:
    """Give the additions of one ingredient lot, by its identity."""
    return list(additions(establishment).filter(ingredient=ingredient))
