"""Sign a day; note a day without production."""

from datetime import date

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.checks.tick import tick
from records.signoff.kinds import DAY_SIGNED, NO_PRODUCTION, NO_PRODUCTION_UNDONE
from records.signoff.models import DaySigned, NoProductionDay, NoProductionUndone
from records.signoff.queries import DaySheet, day_sheet, latest_signature, no_production_on
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.localtime import ZoneTime, day_bounds
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import details_of, zone_of
from safetyplan.integrity import canonical, clock, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import Refused
from safetyplan.integrity.seals import seal
from safetyplan.integrity.signatures import sign
from safetyplan.integrity.typed_values import clean, reason


def note_no_production(
    *, establishment: Establishment, by: Person, day: date, why: str, claim: Claim | None = None
) -> NoProductionDay:
    """Record that there is no production on a day; stores and ageing lots stay due."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        start, end = day_bounds(ZoneTime(zone_of(establishment)), day)
        if Lot.objects.of(establishment).filter(started_at__gte=start, started_at__lt=end).exists():
            raise Refused(_("A lot was started on this day."))
        if no_production_on(establishment, day) is not None:
            raise Refused(_("This was noted already."))
        row = NoProductionDay(day=day, reason=clean(why, most=300))
        ledger.append(kind=NO_PRODUCTION, row=row, establishment=establishment, author=by, claim=claim)
    return row


def undo_no_production(
    *, establishment: Establishment, by: Person, day: date, why: str, claim: Claim | None = None
) -> NoProductionUndone:
    """Take back that a day is without production; the note stays readable. A signed day stays as it is."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        noted = no_production_on(establishment, day)
        if noted is None:
            raise Refused(_("This day is not noted as one without production."))
        if latest_signature(establishment, day) is not None:
            raise Refused(_("The day is signed: it cannot be taken back."))
        row = NoProductionUndone(noted=noted, reason=clean(why, most=300))
        ledger.append(kind=NO_PRODUCTION_UNDONE, row=row, establishment=establishment, author=by, claim=claim)
    return row


def refuse_gaps(sheet: DaySheet) -> None:
    """Refuse a signature while something of the day is open, naming each gap."""
    listed = [
        (sheet.still_due(), _("still due: %(checks)s")),
        (sheet.unexplained(), _("neither recorded nor explained: %(checks)s")),
        (sheet.open_gaps(), _("missing at a critical control point without a deviation: %(checks)s")),
    ]
    faults = [
        words % {"checks": ", ".join(f"{s.slot.control.code} {s.slot.control.name}" for s in found)}
        for found, words in listed
        if found
    ]
    if faults:
        raise Refused(_("The day cannot be signed yet: %(faults)s.") % {"faults": "; ".join(faults)})
    if not sheet.records() and not sheet.states and sheet.no_production is None:
        raise Refused(_("There is nothing to sign: note a day without production instead."))


def sign_day(
    *,
    establishment: Establishment,
    proof: SignatureProof,
    day: date,
    note: str = "",
    claim: Claim | None = None,
) -> DaySigned:
    """Sign a day as its reviewer. The expected list is frozen; own records are marked self-reviewed."""
    require_role(establishment, proof.person, Role.REVIEWER)
    tick(establishment)  # in its own transaction: what it opens stays when the signature is refused
    with transaction.atomic():
        ledger.lock(establishment)
        local = ZoneTime(zone_of(establishment))
        now = clock.now(establishment)
        if day > local.local(now).date():
            raise Refused(_("This day has not come yet."))
        sheet = day_sheet(establishment, day, local, now)
        refuse_gaps(sheet)
        last = latest_signature(establishment, day)
        if last is not None and not sheet.needs_signing_again:
            raise Refused(_("The day is signed and nothing has changed since."))
        own = [row for row in sheet.records() if row.author_id == proof.person.pk]
        details = details_of(establishment)
        if own and not details.self_review_allowed:
            raise Refused(
                _("%(count)d records of this day are your own: somebody else has to review them.")
                % {"count": len(own)}
            )
        row = DaySigned(
            day=day,
            expected=canonical.dumps(sheet.expected()).decode(),
            records=canonical.dumps(sheet.record_ids()).decode(),
            self_reviewed=canonical.dumps(sorted(str(r.pk) for r in own)).decode(),
            self_review_reason=details.self_review_reason if own else "",
            note=clean(note, most=1000, part="note")
            if last is None
            else reason(note, part="note", most=1000),
            supersedes=last,
        )
        signer = sign(row, establishment=establishment, proof=proof, meaning=_("Reviewed the day's records"))
        ledger.append(kind=DAY_SIGNED, row=row, establishment=establishment, author=signer, claim=claim)
        seal(establishment=establishment, reason="day_signed")
    return row
