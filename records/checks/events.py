"""Recording what happens to a lot, with the gate before it."""

from django.db import transaction

from records.batches.models import Lot, LotEvent
from records.batches.services import EventContent, record_event
from records.checks.doubted import reach_of_event
from records.checks.gate import hindrances, open_at_gate
from records.deviations.models import Deviation
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import ledger
from safetyplan.integrity.ledger import Claim


def record_lot_event(
    *,
    establishment: Establishment,
    by: Person,
    lot: Lot,
    content: EventContent,
    claim: Claim | None = None,
) -> tuple[LotEvent, list[Deviation]]:
    """Record something that happened to a lot; where a result had to come first and did not, it deviates."""
    with transaction.atomic():
        ledger.lock(establishment)
        missing = hindrances(establishment, lot, content.event, content.observed_at)
        event = record_event(establishment=establishment, by=by, lot=lot, content=content, claim=claim)
        opened = open_at_gate(establishment, by, lot, event, missing)
        return event, [*opened, *reach_of_event(establishment, by, event)]
