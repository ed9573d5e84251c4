"""Printing is an issue: sealed, recorded, rendered once, its bytes kept."""

from datetime import UTC, datetime, time, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import Min
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.deviations.models import Deviation
from records.inspection import kinds
from records.inspection.compose import TEMPLATE_VERSION, render_issue
from records.inspection.models import PrintIssue, PrintKept
from records.inspection.plan_given import first_moment
from records.inspection.queries import tag_subject, version_printed
from records.inspection.receiving_print import period_of
from records.instruments.models import Instrument, InstrumentCheck
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.localtime import freeze
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import details_of, zone_of
from safetyplan.integrity import canonical, clock, ledger
from safetyplan.integrity.files import keep_file
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.seals import seal
from safetyplan.plans.models import PlanApproved

LOT = "lot"
DAY = "day"
RECEIVING = "receiving"
TAG = "tag"
LABEL = "label"
PLAN = "plan"
SHEET = "sheet"
INSTRUMENT = "instrument"
REGISTER = "register"
BLANK_DAY = "blank_day"
SUBJECT_MOST = 60


def issue_print(*, establishment: Establishment, by: Person, what: str, subject: str) -> PrintIssue:
    """Issue a print: seal, record the issue, render, keep the bytes.

    The subject is the identity of a lot, of a deviation or of an instrument, a day (for its record or for
    blank sheets), the number of a version of the plan, for a blank sheet that number and the code of a
    control, "3/CCP1", for the tag of one of several lots the number of the deviation and the identity of the
    lot, for the receiving log its period. The register of instruments needs none.
    """
    require_role(establishment, by, *WRITERS, Role.ADMINISTRATOR)
    with transaction.atomic():
        ledger.lock(establishment)
        start = _start(establishment, what, subject)
        sealed = seal(establishment=establishment, reason="print")
        until = _until(establishment, what, subject) + timedelta(days=3)
        offsets = freeze(zone_of(establishment), start - timedelta(days=15), until)
        issue = PrintIssue(
            number=PrintIssue.objects.of(establishment).count() + 1,
            what=what,
            subject=subject,
            as_of=sealed.size,
            language=(get_language() or "en")[:10],
            paper=details_of(establishment).paper,
            template_version=TEMPLATE_VERSION,
            seal_note=sealed.note,
            offsets=canonical.dumps(offsets.document()).decode(),
        )
        ledger.append(kind=kinds.PRINT_ISSUE, row=issue, establishment=establishment, author=by)
        content = render_issue(issue)
        kept = PrintKept(issue=issue, sha256=keep_file(establishment, content), size=len(content))
        ledger.append(kind=kinds.PRINT_KEPT, row=kept, establishment=establishment, author=by)
    return issue


def _until(establishment: Establishment, what: str, subject: str) -> datetime:
    """Give the last instant a print may speak of: sheets may be printed for a day to come."""
    now = clock.now(establishment)
    if what == BLANK_DAY:
        return max(now, datetime.fromisoformat(subject).replace(tzinfo=UTC))
    return now


def _start(establishment: Establishment, what: str, subject: str) -> datetime:
    """Find what is to be printed and when it began."""
    if what in (PLAN, SHEET):
        return _start_of_plan(establishment, what, subject)
    if what in (INSTRUMENT, REGISTER):
        return _start_of_register(establishment, what, subject)
    try:
        if what in (LOT, LABEL):
            lot: Lot = Lot.objects.of(establishment).get(pk=UUID(subject))
            return lot.started_at
        if what == TAG:
            deviation, _lot = tag_subject(establishment, subject)
            return deviation.recorded_at
        if what == RECEIVING:
            return datetime.combine(period_of(subject)[0], time.min, tzinfo=UTC)
        if what == BLANK_DAY:
            day = datetime.fromisoformat(subject).replace(tzinfo=UTC)
            return min(day, clock.now(establishment))
        if what == DAY:
            return datetime.fromisoformat(subject).replace(tzinfo=UTC)
    except (ValueError, Lot.DoesNotExist, Deviation.DoesNotExist):
        pass
    raise BadInput(_("There is no such lot, day or hold to print."))


def _start_of_register(establishment: Establishment, what: str, subject: str) -> datetime:
    """Find the first of all that a print of instruments may tell: an entry, or a check entered late."""
    rows = Instrument.objects.of(establishment)
    if what == INSTRUMENT and not rows.filter(pk=_uuid(subject)).exists():
        raise BadInput(_("There is no such instrument to print."))
    entered = rows.aggregate(first=Min("recorded_at"))["first"]
    checked = InstrumentCheck.objects.of(establishment).aggregate(first=Min("checked_at"))["first"]
    known = [at for at in (entered, checked) if at is not None]
    return min(known) if known else clock.now(establishment)


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def _start_of_plan(establishment: Establishment, what: str, subject: str) -> datetime:
    number, _slash, code = subject.partition("/") if what == SHEET else (subject, "", "")
    try:
        version = version_printed(establishment, number)
    except PlanApproved.DoesNotExist:
        raise BadInput(_("There is no such version of the plan to print.")) from None
    if what == SHEET and version.plan().control(code) is None:
        raise BadInput(_("There is no such check in the plan to print a sheet for."), part="control")
    if len(subject) > SUBJECT_MOST:
        raise BadInput(_("The code of this check is too long to print a sheet for it."), part="control")
    return first_moment(establishment) or version.recorded_at
