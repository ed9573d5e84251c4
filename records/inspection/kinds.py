"""The record kinds of prints."""

from records.inspection.models import PrintIssue, PrintKept
from safetyplan.integrity.kinds import declare

PRINT_ISSUE = declare(
    PrintIssue,
    "print_issue",
    "number",
    "what",
    "subject",
    "as_of",
    "language",
    "paper",
    "template_version",
    "seal_note",
    "offsets",
)
PRINT_KEPT = declare(PrintKept, "print_kept", "issue", "sha256", "size")
