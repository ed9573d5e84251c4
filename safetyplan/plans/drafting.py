"""From what a page sends to the services of the plan."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _

from safetyplan.calculation.times import parse_local
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.signatures import prove
from safetyplan.integrity.typed_values import in_words
from safetyplan.plans.forms import CAPACITIES, LATER, LONGEST, NOW
from safetyplan.plans.models import PlanApproved, PlanDraft
from safetyplan.plans.queries import draft_of, versions
from safetyplan.plans.services import approve_plan, save_draft

SENT_TWICE = timedelta(minutes=10)
NO_REVISION = -1
FARTHEST = timedelta(days=366)


def text_of_file(upload: Any) -> str:
    """Read an uploaded plan file as text."""
    if not isinstance(upload, UploadedFile):
        raise BadInput(_("Choose a plan file."), part="file")
    content = upload.read(LONGEST + 1)
    if len(content) > LONGEST:
        raise BadInput(_("The file is larger than 2 MB: it cannot be a plan."), part="file")
    try:
        text: str = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(
            _("The file is not text in UTF-8. Save it as a JSON text file."), part="file"
        ) from error
    if not text.strip():
        raise BadInput(_("The file is empty."), part="file")
    return text


def revision_of(text: str) -> int | None:
    """Read the revision a form was shown; '' is no draft, anything odd matches nothing."""
    if not text:
        return None
    return int(text) if text.isascii() and text.isdigit() else NO_REVISION


def save(establishment: Establishment, by: Person, text: str, reason: str, revision: str) -> PlanDraft:
    """Save the draft."""
    try:
        return save_draft(
            establishment=establishment, by=by, text=text, reason=reason, revision=revision_of(revision)
        )
    except RecursionError as error:
        raise BadInput(_("The document is nested too deeply to be a plan."), part="text") from error


def approve_once(establishment: Establishment, by: Person, typed: Mapping[str, Any]) -> PlanApproved:
    """Approve the draft; the same form sent twice approves once."""
    ledger.lock(establishment)
    newest = versions(establishment).first()
    if newest is not None and draft_of(establishment) is None:
        since = clock.now(establishment) - SENT_TWICE
        if newest.author_id == by.pk and newest.recorded_at >= since:
            return newest
    begins = in_force_from(establishment, typed)
    if typed.get("capacity", "") not in dict(CAPACITIES):
        raise BadInput(_("Say as whom you sign."), part="capacity")
    proof = prove(establishment=establishment, person=by, password=typed.get("password", ""))
    return approve_plan(
        establishment=establishment,
        proof=proof,
        revision=revision_of(typed.get("revision", "")) or NO_REVISION,
        reason=typed.get("reason", ""),
        warnings_reason=typed.get("warnings_reason", ""),
        in_force_from=begins,
        capacity=typed["capacity"],
    )


def in_force_from(establishment: Establishment, typed: Mapping[str, Any]) -> datetime | None:
    """Read the local day and time from which a version is to hold; None is now."""
    if typed.get("takes_effect", NOW) != LATER:
        return None
    day, time = str(typed.get("from_date", "")), str(typed.get("from_time", ""))
    if not day.strip():
        raise BadInput(_("Give the day from which it holds."), part="from_date")
    if not time.strip():
        raise BadInput(_("Give the time from which it holds."), part="from_time")
    now = clock.now(establishment)
    fold = str(typed.get("from_time_offer", ""))
    with in_words("from_time"):
        begins = parse_local(
            day,
            time,
            zone_of(establishment),
            now=now + 2 * FARTHEST,
            fold=int(fold) if fold in ("0", "1") else None,
            confirmed=True,
        )
    if begins < now:
        raise BadInput(_("A plan cannot take effect in the past."), part="from_date")
    if begins - now > FARTHEST:
        raise BadInput(_("A plan takes effect within a year of being signed."), part="from_date")
    return begins
