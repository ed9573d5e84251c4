"""The record kind of an approved plan."""

from safetyplan.integrity.kinds import declare
from safetyplan.plans.models import PlanApproved

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
