"""Reads about prints and the age of the newest anchor."""

from uuid import UUID

from django.db.models import QuerySet

from records.batches.models import Lot
from records.deviations.models import Deviation
from records.deviations.queries import lots_concerned
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


def tag_subject(establishment: Establishment, subject: str) -> tuple[Deviation, Lot | None]:
    """Give the deviation that a hold tag names, and of several lots the one it is for ("number/lot").

    ValueError, Deviation.DoesNotExist or Lot.DoesNotExist when there is none.
    """
    number, slash, lot = subject.partition("/")
    rows = Deviation.objects.of(establishment).select_related("lot")
    if not slash:
        return rows.get(pk=UUID(subject)), None
    found: Deviation = rows.get(number=int(number))
    named: Lot = Lot.objects.of(establishment).get(pk=UUID(lot))
    if named not in lots_concerned(establishment, [found])[found.pk]:
        raise ValueError(f"no lot of deviation {number}: {lot}")
    return found, named


def version_printed(establishment: Establishment, number: str) -> PlanApproved:
    """Give the version of the plan that an issue names; PlanApproved.DoesNotExist without one."""
    rows = PlanApproved.objects.of(establishment).select_related("entry", "supersedes")
    if not (number.isascii() and number.isdigit()):
        raise PlanApproved.DoesNotExist
    found: PlanApproved = rows.get(number=int(number))
    return found
