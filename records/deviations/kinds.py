"""The record kinds of deviations."""

from records.deviations.models import (
    ActionTaken,
    AffectedLot,
    CalculationAttached,
    CauseFound,
    Closure,
    Deviation,
    Disposition,
    Evaluation,
    FileAttached,
    HoldConfirmed,
    RecallDecision,
)
from safetyplan.integrity.kinds import declare

_DEVIATION = (
    "number",
    "cause",
    "control",
    "control_name",
    "rank",
    "slot",
    "lot",
    "reading",
    "event",
    "description",
    "limit_words",
    "hold_required",
    "not_reheatable",
)
declare(Deviation, "deviation", *_DEVIATION)
DEVIATION = declare(Deviation, "deviation", *_DEVIATION, "held_what", version=2)
AFFECTED_LOT = declare(AffectedLot, "affected_lot", "deviation", "lot", "hold_required", "reason")
_HOLD = ("deviation", "place", "tag", "pieces", "mass_text", "held_at", "supersedes", "reason")
declare(HoldConfirmed, "hold_confirmed", *_HOLD)
HOLD = declare(HoldConfirmed, "hold_confirmed", *_HOLD, "lot", "volume_text", version=2)
ACTION = declare(ActionTaken, "action_taken", "deviation", "action_code", "text", "done_at")
EVALUATION = declare(Evaluation, "evaluation", "deviation", "text", "evidence")
_DISPOSITION = ("deviation", "lot", "lines", "pieces", "mass_text", "note")
declare(Disposition, "disposition", *_DISPOSITION)
DISPOSITION = declare(Disposition, "disposition", *_DISPOSITION, "volume_text", version=2)
CAUSE_FOUND = declare(
    CauseFound,
    "cause_found",
    "deviation",
    "cause",
    "prevention",
    "under_control",
    "reanalysis",
    "reanalysis_reason",
)
RECALL_DECISION = declare(RecallDecision, "recall_decision", "deviation", "recall", "reason")
CLOSURE = declare(Closure, "deviation_closed", "deviation", "recording_error", "reason", "self_reviewed")
FILE_ATTACHED = declare(
    FileAttached, "file_attached", "deviation", "lot", "name", "media_type", "size", "sha256"
)
CALCULATION_ATTACHED = declare(
    CalculationAttached,
    "calculation_attached",
    "deviation",
    "calculator",
    "task",
    "title",
    "inputs",
    "worked",
    "shown",
    "note",
)
