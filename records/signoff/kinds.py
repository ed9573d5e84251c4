"""The record kinds of sign-off, release and dispatch."""

from records.batches.models import Dispatch
from records.signoff.models import DaySigned, LotRelease, NoProductionDay, NoProductionUndone
from safetyplan.integrity.kinds import declare

NO_PRODUCTION = declare(NoProductionDay, "no_production_day", "day", "reason")
NO_PRODUCTION_UNDONE = declare(NoProductionUndone, "no_production_undone", "noted", "reason")
DAY_SIGNED = declare(
    DaySigned,
    "day_signed",
    "day",
    "expected",
    "records",
    "self_reviewed",
    "self_review_reason",
    "note",
    "supersedes",
)
LOT_RELEASE = declare(LotRelease, "lot_released", "lot", "pieces", "mass_text", "shown", "note")
DISPATCH = declare(
    Dispatch, "dispatched", "lot", "customer", "pieces", "mass_text", "left_at", "left_on_hold", "note"
)
