"""The tick: opens the deviation of each critical check whose window has passed. Idempotent; actor: clock."""

from django.db import transaction

from records.batches.queries import open_lots
from records.checks.due import lot_states
from records.checks.services import open_not_made
from records.deviations.models import Deviation
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import clock, ledger


def tick(establishment: Establishment) -> list[Deviation]:
    """Open what must be open by now; give the deviations that were opened."""
    now = clock.now(establishment)
    opened = []
    with transaction.atomic():
        ledger.lock(establishment)
        for states in lot_states(establishment, open_lots(establishment), now).values():
            for state in states:
                if state.slot.control.is_ccp and state.settled_missing and not state.deviations:
                    opened.append(open_not_made(establishment, state))
    return opened
