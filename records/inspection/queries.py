"""Reads about prints and the age of the newest anchor."""

from django.db.models import QuerySet

from records.inspection.models import PrintIssue, PrintKept
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.models import StoredFile
from safetyplan.plans.models import PlanApproved


def issues(establishment: Establishment) -> "QuerySet[PrintIssue]":
    """Give the issues, newest first."""
    rows: QuerySet[PrintIssue] = PrintIssue.objects.of(establishment).select_related("author")
    return rows.order_by("-number")


def kept_bytes(issue: PrintIssue) -> bytes:
    """Give the bytes of an issue as they were kept."""
    kept = PrintKept.objects.of(issue.establishment).get(issue=issue)
    stored = StoredFile.objects.of(issue.establishment).get(sha256=kept.sha256)
    return bytes(stored.content)


def version_printed(establishment: Establishment, number: str) -> PlanApproved:
    """Give the version of the plan that an issue names; PlanApproved.DoesNotExist without one."""
    rows = PlanApproved.objects.of(establishment).select_related("entry", "supersedes")
    if not (number.isascii() and number.isdigit()):
        raise PlanApproved.DoesNotExist
    found: PlanApproved = rows.get(number=int(number))
    return found
