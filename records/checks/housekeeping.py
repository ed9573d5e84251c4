"""What the clock does: opens what must be open, and seals the ledger at least once a day."""

import logging
from datetime import timedelta

from django.db import transaction

from records.checks.tick import tick
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.seals import newest_seal, seal

DAILY = timedelta(hours=24)
log = logging.getLogger("safetyplan.housekeeping")


def seal_daily(establishment: Establishment) -> bool:
    """Seal the ledger when it has grown and the newest seal is a day old."""
    with transaction.atomic():
        last = newest_seal(establishment)
        size, _hash = ledger.head(establishment)
        old = last is None or clock.now(establishment) - last.sealed_at >= DAILY
        if size == 0 or not old or (last is not None and last.size == size):
            return False
        seal(establishment=establishment, reason="daily")
    return True


def run() -> None:
    """Do the clock's work for every establishment; one that fails does not stop the others."""
    for establishment in Establishment.objects.all():
        try:
            tick(establishment)
            seal_daily(establishment)
        except Exception:
            log.exception("housekeeping failed for %s", establishment.slug)
