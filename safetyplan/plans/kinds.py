"""The record kinds of the plan: an approved version, what was confirmed for it, duties done."""

from safetyplan.integrity.kinds import declare
from safetyplan.plans.models import (
    DutyDone,
    EvidenceKept,
    FigureConfirmed,
    FlowConfirmed,
    PlanApproved,
    ReanalysisTrigger,
    TargetsConfirmed,
)

PLAN_APPROVED = declare(
    PlanApproved,
    "plan_approved",
    "number",
    "text",
    "reason",
    "prepared_by",
    "in_force_from",
    "warnings_reason",
    "supersedes",
)
FIGURE_CONFIRMED = declare(FigureConfirmed, "figure_confirmed", "what", "figure", "words", "source")
TARGETS_CONFIRMED = declare(TargetsConfirmed, "targets_confirmed", "table")
FLOW_CONFIRMED = declare(FlowConfirmed, "flow_confirmed", "product", "flow", "note")
EVIDENCE_KEPT = declare(EvidenceKept, "evidence_kept", "name", "media_type", "size", "sha256")
REANALYSIS_TRIGGER = declare(ReanalysisTrigger, "reanalysis_trigger", "trigger", "text", "happened_on")
DUTY_DONE = declare(DutyDone, "duty_done", "duty", "outcome", "text", "done_on")
