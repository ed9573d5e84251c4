"""The record kinds of deviations."""

from records.deviations.models import (
    ActionTaken,
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

DEVIATION = declare(
    Deviation,
    "deviation",
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
HOLD = declare(
    HoldConfirmed,
    "hold_confirmed",
    "deviation",
    "place",
    "tag",
    "pieces",
    "mass_text",
    "held_at",
    "supersedes",
    "reason",
)
ACTION = declare(ActionTaken, "action_taken", "deviation", "action_code", "text", "done_at")
EVALUATION = declare(Evaluation, "evaluation", "deviation", "text", "evidence")
DISPOSITION = declare(Disposition, "disposition", "deviation", "lot", "lines", "pieces", "mass_text", "note")
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
