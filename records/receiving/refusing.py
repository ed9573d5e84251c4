"""Refusing milk of a load, and telling the authority of it."""

from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from records.receiving import kinds
from records.receiving.models import AuthorityNotice, MilkLoad, MilkOutcome, MilkRefused
from records.receiving.queries import MilkBalance, balance_of, in_unit_of, load_of
from records.receiving.typed import needed, tolerance, volume_typed
from safetyplan.calculation.rounding import amount, trim
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import replaced
from safetyplan.integrity import ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, reason


@dataclass(frozen=True)
class RefusalContent:
    """What a person says of milk that is refused; no volume means all that is left."""

    outcome: str
    why: str
    told: str
    refused_at: datetime
    volume: str = ""
    late_reason: str = ""
    sure: bool = False


@dataclass(frozen=True)
class NoticeContent:
    """What a person says of telling the authority; without `informed_at` it still has to be done."""

    authority: str
    legal_basis: str
    deadline: datetime | None = None
    informed_at: datetime | None = None
    reference: str = ""


def standing(establishment: Establishment, load: MilkLoad) -> MilkLoad:
    """Give the newest record of a load; refuse a stale one and one that was voided."""
    newest = load_of(establishment, load.identity)
    assert newest is not None
    if newest.pk != load.pk:
        raise Refused(_("This receipt was already corrected. Look at the newest one and correct that."))
    if newest.voided:
        raise Refused(_("This receipt was voided."))
    return newest


def refuse_milk(
    *,
    establishment: Establishment,
    by: Person,
    load: MilkLoad,
    content: RefusalContent,
    claim: Claim | None = None,
) -> MilkRefused:
    """Record that milk of a load was not taken, or taken out again: what became of it and who was told."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        newest = standing(establishment, load)
        left = balance_of(establishment, newest)
        row = _refusal(establishment, newest, content, left)
        ledger.append(kind=kinds.MILK_REFUSED, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _refusal(
    establishment: Establishment,
    load: MilkLoad,
    content: RefusalContent,
    left: MilkBalance,
    original: MilkRefused | None = None,
    why: str = "",
) -> MilkRefused:
    unit = load.volume_unit
    if not content.volume.strip() and left.left > 0:
        typed = trim(left.left)
    else:
        typed = volume_typed(content.volume, unit=unit, sure=content.sure)
    check_left(left, Decimal(typed))
    if content.outcome not in MilkOutcome.values:
        raise BadInput(_("Say what becomes of the milk."), part="outcome")
    if content.refused_at < load.received_at:
        raise BadInput(_("This is before the load was received."), part="refused_at")
    late = check_observed(
        establishment,
        content.refused_at,
        None,
        tolerance(establishment),
        content.late_reason or why,
        part="refused_at",
    )
    return MilkRefused(
        load_id=load.identity,
        volume_text=typed,
        volume_unit=unit,
        outcome=content.outcome,
        refused_at=content.refused_at,
        told=clean(content.told, most=200, part="told"),
        late=late,
        late_reason=clean(content.late_reason, part="late_reason"),
        supersedes=original,
        why=reason(content.why, part="why"),
        reason=why,
    )


def check_left(left: MilkBalance, wanted: Decimal, part: str = "volume") -> None:
    """Refuse to take more of a load than is left of it."""
    if wanted <= left.left:
        return
    if left.wholly_refused:
        raise Refused(_("This load was refused: none of it can be used."), part=part)
    words = _("Of this load %(left)s are left: %(used)s were used, %(refused)s refused.")
    told = {
        "left": amount(trim(left.left), left.unit),
        "used": amount(trim(left.used), left.unit),
        "refused": amount(trim(left.refused), left.unit),
    }
    raise BadInput(words % told, part=part)


def correct_refusal(
    *,
    establishment: Establishment,
    by: Person,
    original: MilkRefused,
    content: RefusalContent,
    why: str,
    claim: Claim | None = None,
) -> MilkRefused:
    """Record a corrected refusal; the first one stays readable."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        if replaced(original):
            raise Refused(_("This refusal was already corrected. Correct the newest one."))
        load = load_of(establishment, original.load_id)
        assert load is not None
        left = balance_of(establishment, load)
        again = replace(left, refused=left.refused - in_unit_of(load, original))
        row = _refusal(establishment, load, content, again, original, reason(why))
        ledger.append(kind=kinds.MILK_REFUSED, row=row, establishment=establishment, author=by, claim=claim)
    return row


def note_authority(
    *,
    establishment: Establishment,
    by: Person,
    load: MilkLoad,
    content: NoticeContent,
    supersedes: AuthorityNotice | None = None,
    why: str = "",
    claim: Claim | None = None,
) -> AuthorityNotice:
    """Record that the authority has to be told of a load, or was told; a change gives its reason."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        if supersedes is not None:
            reason(why)
            if replaced(supersedes):
                raise Refused(_("This was already changed. Look at the newest entry."))
        basis = needed(
            content.legal_basis,
            part="legal_basis",
            message=_("Name the legal basis, as your authority or the plan gives it."),
            most=300,
        )
        informed = content.informed_at
        if informed is not None:
            if informed < load.received_at:
                raise BadInput(_("This is before the load was received."), part="informed_at")
            check_observed(establishment, informed, None, 7 * 24 * 60, why or basis, part="informed_at")
        row = AuthorityNotice(
            load_id=load.identity,
            authority=needed(content.authority, part="authority", message=_("Name the authority.")),
            legal_basis=basis,
            deadline=content.deadline,
            informed_at=informed,
            reference=clean(content.reference, most=120, part="reference"),
            supersedes=supersedes,
            reason=clean(why),
        )
        ledger.append(
            kind=kinds.AUTHORITY_NOTICE, row=row, establishment=establishment, author=by, claim=claim
        )
    return row
