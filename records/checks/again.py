"""Later judgements of readings: after a corrected event, or by a plan version applied to the lot."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from records.checks.models import Rejudged, RejudgedByPlan
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until

Again = Rejudged | RejudgedByPlan


def judged_again(
    establishment: Establishment, readings: Iterable[UUID], as_of: int | None = None
) -> dict[Any, list[Again]]:
    """Give every later judgement of some readings, by reading, in the order in which they were made."""
    ids = list(readings)
    events = _of(Rejudged.objects.of(establishment), ids, as_of).select_related("author", "event")
    plans = _of(RejudgedByPlan.objects.of(establishment), ids, as_of)
    plans = plans.select_related("author", "applied__plan_version").defer("applied__plan_version__text")
    found: dict[Any, list[Again]] = defaultdict(list)
    for row in sorted((*events, *plans), key=lambda row: row.at_sequence):
        found[row.reading_id].append(row)
    return found


def _of(rows: "QuerySet[Any]", ids: list[UUID], as_of: int | None) -> "QuerySet[Any]":
    chosen: QuerySet[Any] = until(rows, as_of).filter(reading__in=ids)
    ordered: QuerySet[Any] = chosen.annotate(at_sequence=F("entry__sequence"))
    return ordered
