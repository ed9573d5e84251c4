"""Reads about lots."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from records.batches.models import Dispatch, Lot, LotEvent, LotEventVoided, PlanApplied
from safetyplan.calculation.codes import skeleton
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, until
from safetyplan.integrity.models import OpenItem
from safetyplan.plans.models import PlanApproved

OPEN_LOT = "lot"


@dataclass(frozen=True)
class Quantity:
    """How much of a lot: pieces and kilograms; litres of what is no lot yet."""

    pieces: int
    mass: Decimal
    volume: Decimal = Decimal(0)


NOTHING = Quantity(0, Decimal(0))


def lots(establishment: Establishment, as_of: int | None = None) -> "QuerySet[Lot]":
    """Give the lots, newest first."""
    return until(Lot.objects.of(establishment), as_of).select_related("plan_version").order_by("-started_at")


def open_lots(establishment: Establishment) -> list[Lot]:
    """Give the lots that have not wholly left, newest first."""
    items = OpenItem.objects.of(establishment).filter(what=OPEN_LOT).values("subject")
    return list(lots(establishment).filter(pk__in=items))


def similar_lot(establishment: Establishment, code: str) -> Lot | None:
    """Find a lot whose code looks the same (case, O and 0, I and 1)."""
    found: Lot | None = Lot.objects.of(establishment).filter(code_skeleton=skeleton(code)).first()
    return found


def applied_plans(
    establishment: Establishment, lot_ids: Iterable[UUID], as_of: int | None = None
) -> dict[Any, list[PlanApplied]]:
    """Give the plan versions that were applied to lots after their start, by lot, the newest last."""
    rows = until(PlanApplied.objects.of(establishment), as_of).filter(lot__in=list(lot_ids))
    found: dict[Any, list[PlanApplied]] = defaultdict(list)
    for row in rows.select_related("plan_version", "author").order_by("entry__sequence"):
        found[row.lot_id].append(row)
    return found


def versions_of(
    establishment: Establishment, lots: Sequence[Lot], as_of: int | None = None
) -> dict[UUID, PlanApproved]:
    """Give the plan version each lot follows: the newest applied to it, else the one it began with."""
    applied = applied_plans(establishment, [lot.pk for lot in lots], as_of)
    return {lot.pk: applied[lot.pk][-1].plan_version if applied[lot.pk] else lot.plan_version for lot in lots}


def version_of(establishment: Establishment, lot: Lot, as_of: int | None = None) -> PlanApproved:
    """Give the plan version a lot follows."""
    return versions_of(establishment, [lot], as_of)[lot.pk]


def versions_followed(establishment: Establishment, lot: Lot, as_of: int | None = None) -> list[PlanApproved]:
    """Give every plan version a lot has followed, the present one first."""
    applied = applied_plans(establishment, [lot.pk], as_of)[lot.pk]
    return [*(row.plan_version for row in reversed(applied)), lot.plan_version]


def effective_events(
    establishment: Establishment, lot_ids: Iterable[UUID], as_of: int | None = None
) -> "QuerySet[LotEvent]":
    """Give the lots' events that no correction supersedes and that are not void."""
    rows: QuerySet[LotEvent] = latest(LotEvent.objects.of(establishment).filter(lot__in=list(lot_ids)), as_of)
    voided = until(LotEventVoided.objects.of(establishment), as_of).filter(event=OuterRef("pk"))
    return rows.exclude(Exists(voided)).order_by("observed_at")


def standing_events(
    establishment: Establishment, events: Sequence[LotEvent], as_of: int | None = None
) -> list[LotEvent]:
    """Give those of some events that were neither corrected nor voided."""
    replaced = {event.supersedes_id for event in events}
    void = voided_events(establishment, events, as_of)
    return [event for event in events if event.pk not in replaced and event.pk not in void]


def voided_events(
    establishment: Establishment, events: Sequence[LotEvent], as_of: int | None = None
) -> dict[UUID, LotEventVoided]:
    """Give, by event, the record that voided it."""
    rows = until(LotEventVoided.objects.of(establishment), as_of)
    found = rows.filter(event__in=[event.pk for event in events]).select_related("author")
    return {row.event_id: row for row in found}


def events_by_lot(
    establishment: Establishment, lot_ids: Iterable[UUID], as_of: int | None = None
) -> dict[Any, list[LotEvent]]:
    """Give the effective events of several lots, by lot."""
    found: dict[Any, list[LotEvent]] = defaultdict(list)
    for event in effective_events(establishment, lot_ids, as_of):
        found[event.lot_id].append(event)
    return found


def first_times(events: Iterable[LotEvent]) -> dict[str, datetime]:
    """Give the time of each event; the first one counts when it was recorded twice."""
    times: dict[str, datetime] = {}
    for event in sorted(events, key=lambda e: e.observed_at):
        times.setdefault(event.event, event.observed_at)
    return times


def sent_by_lot(
    establishment: Establishment, lot_ids: Iterable[UUID], as_of: int | None = None
) -> dict[Any, int]:
    """Give how many pieces of each lot have left, those that left while on hold included."""
    rows = until(Dispatch.objects.of(establishment), as_of).filter(lot__in=list(lot_ids))
    found: dict[Any, int] = defaultdict(int)
    for lot_id, pieces in rows.values_list("lot", "pieces"):
        found[lot_id] += pieces
    return found


def made(events: Iterable[LotEvent]) -> Quantity | None:
    """Give how much a lot yielded: the newest event that counted pieces."""
    counted = [e for e in events if e.pieces is not None]
    if not counted:
        return None
    newest = max(counted, key=lambda e: e.observed_at)
    return Quantity(newest.pieces or 0, Decimal(newest.mass_text or "0"))
