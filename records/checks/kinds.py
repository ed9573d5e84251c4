"""The record kinds of checks."""

from decimal import Decimal

from records.checks.models import (
    CheckExplained,
    ClockNoted,
    CorrectionMade,
    PaperLine,
    PaperSheet,
    Reading,
    Rejudged,
    RejudgedByBirth,
    RejudgedByInstrument,
    RejudgedByPlan,
    RejudgedByReceipt,
    RoundConfirmed,
)
from safetyplan.calculation.rounding import scaled
from safetyplan.integrity.kinds import declare


def scaled_value(row: Reading) -> int | None:
    """Give the scaled integer that stands beside a reading's value for queries."""
    return scaled(Decimal(row.value_text)) if row.value_text else None


READING = declare(
    Reading,
    "reading",
    "slot",
    "control",
    "control_name",
    "rank",
    "lot",
    "plan_version",
    "observed_at",
    "parts",
    "value_text",
    "unit",
    "instrument",
    "limit",
    "limit_words",
    "state",
    "margin_text",
    "margin_unit",
    "sentence",
    "sentence_text",
    "device_state",
    "late",
    "late_reason",
    "voided",
    "supersedes",
    "reason",
    derived={"value_scaled": scaled_value},
)
REJUDGED = declare(
    Rejudged, "reading_judged_again", "reading", "event", "state_before", "state", "sentence", "sentence_text"
)
REJUDGED_BY_PLAN = declare(
    RejudgedByPlan,
    "reading_judged_by_plan",
    "reading",
    "applied",
    "limit",
    "limit_words",
    "state_before",
    "state",
    "margin_text",
    "margin_unit",
    "sentence",
    "sentence_text",
)
REJUDGED_BY_INSTRUMENT = declare(
    RejudgedByInstrument,
    "reading_judged_by_instrument",
    "reading",
    "failed",
    "deviation",
    "state_before",
    "state",
    "sentence",
    "sentence_text",
    "recomputed",
    "would_state",
    "would_sentence",
    "would_text",
)
CHECK_EXPLAINED = declare(CheckExplained, "check_explained", "slot", "control", "control_name", "reason")
REJUDGED_BY_RECEIPT = declare(
    RejudgedByReceipt,
    "reading_judged_by_receipt",
    "reading",
    "receipt",
    "state_before",
    "state",
    "sentence",
    "sentence_text",
)
REJUDGED_BY_BIRTH = declare(
    RejudgedByBirth,
    "reading_judged_by_birth",
    "reading",
    "birth",
    "state_before",
    "state",
    "sentence",
    "sentence_text",
)
CORRECTION_MADE = declare(
    CorrectionMade, "correction_made", "reading", "action_code", "text", "done_at", "no_recheck"
)
ROUND_CONFIRMED = declare(
    RoundConfirmed,
    "round_confirmed",
    "day",
    "checks",
    "observed_at",
    "late",
    "late_reason",
    "voided",
    "supersedes",
    "reason",
)
PAPER_SHEET = declare(
    PaperSheet, "paper_sheet", "number", "day", "name", "media_type", "size", "sha256", "note"
)
PAPER_LINE = declare(
    PaperLine,
    "paper_line",
    "sheet",
    "row",
    "slot",
    "reading",
    "round",
    "measured_by",
    "initials",
    "observed_at",
)
CLOCK_NOTED = declare(
    ClockNoted,
    "clock_noted",
    "about",
    "device_captured_at",
    "sent_at",
    "received_at",
    "skew_seconds",
    "offset_seconds",
    "corrected",
)
