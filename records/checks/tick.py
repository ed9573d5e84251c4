"""The tick: opens the deviation of each critical check whose window has passed. Idempotent; actor: clock."""

from django.db import transaction

from records.batches.queries import open_lots
from records.checks.missed import open_missed
from records.deviations.models import Deviation
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import ledger


def tick(establishment: Establishment) -> list[Deviation]:
    """Open what must be open by now; give the deviations that were opened."""
    with transaction.atomic():
        ledger.lock(establishment)
        return open_missed(establishment, open_lots(establishment))
