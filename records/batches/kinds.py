"""The record kinds of lots."""

from records.batches.models import Lot, LotAddition, LotEvent, LotEventVoided, PlanApplied
from safetyplan.calculation.codes import skeleton
from safetyplan.integrity.kinds import declare

LOT = declare(
    Lot,
    "lot_started",
    "code",
    "product_code",
    "product_name",
    "plan_version",
    "vat",
    "milk_text",
    "milk_unit",
    "started_at",
    "late_reason",
    derived={"code_skeleton": lambda row: skeleton(row.code)},
)
LOT_EVENT = declare(
    LotEvent,
    "lot_event",
    "lot",
    "event",
    "event_name",
    "observed_at",
    "details",
    "pieces",
    "mass_text",
    "late",
    "late_reason",
    "supersedes",
    "reason",
)
LOT_EVENT_VOIDED = declare(LotEventVoided, "lot_event_voided", "event", "reason")
LOT_ADDITION = declare(
    LotAddition,
    "lot_addition",
    "lot",
    "event",
    "detail",
    "label",
    "kind",
    "code",
    "ingredient",
    "ingredient_name",
    "dose_text",
    "dose_unit",
    "unfit",
    derived={"code_skeleton": lambda row: skeleton(row.code)},
)
PLAN_APPLIED = declare(PlanApplied, "plan_applied", "lot", "plan_version", "reason", "changes")
