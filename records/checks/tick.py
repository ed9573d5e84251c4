"""The tick: opens the deviation of each critical check whose window has passed. Idempotent; actor: clock."""

from datetime import timedelta

from django.db import transaction

from records.batches.queries import open_lots
from records.checks.missed import open_missed, open_missed_loads
from records.deviations.models import Deviation
from records.receiving.queries import loads_between
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import clock, ledger

# Longer than any window after a receipt that a plan may state, and than a server is likely to be off.
LOADS_BACK = timedelta(days=31)


def tick(establishment: Establishment) -> list[Deviation]:
    """Open what must be open by now; give the deviations that were opened."""
    with transaction.atomic():
        ledger.lock(establishment)
        now = clock.now(establishment)
        loads = loads_between(establishment, now - LOADS_BACK, now)
        return [
            *open_missed(establishment, open_lots(establishment)),
            *open_missed_loads(establishment, loads),
        ]
