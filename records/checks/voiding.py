"""Voiding an event that should not be there: what hung on it is judged again, and both results stay."""

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.kinds import LOT_EVENT_VOIDED
from records.batches.models import LotEvent, LotEventVoided
from records.batches.using import untie_things
from records.checks.doubted import reach_of_event
from records.checks.missed import open_missed
from records.checks.rejudging import judge_again_after
from records.deviations.models import Deviation
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import replaced
from safetyplan.integrity import ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import Refused
from safetyplan.integrity.typed_values import reason


def refuse_voided(establishment: Establishment, event: LotEvent) -> None:
    """Refuse to change an event that is void."""
    if LotEventVoided.objects.of(establishment).filter(event=event).exists():
        raise Refused(_("This event was voided. Record it anew."))


def void_event(
    *, establishment: Establishment, by: Person, original: LotEvent, why: str, claim: Claim | None = None
) -> tuple[LotEventVoided, list[Deviation]]:
    """Void an event. Nothing counts from it any more; a deviation it opened stays, others may open."""
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        if replaced(original):
            raise Refused(_("This event was already corrected. Void the newest entry."))
        refuse_voided(establishment, original)
        row = LotEventVoided(event=original, reason=reason(why))
        ledger.append(kind=LOT_EVENT_VOIDED, row=row, establishment=establishment, author=by, claim=claim)
        untie_things(establishment, by, original, row.reason)
        opened = judge_again_after(establishment, by, original.lot, original, voided=True)
        opened += open_missed(establishment, [original.lot])
        opened += reach_of_event(establishment, by, original)
    return row, opened
