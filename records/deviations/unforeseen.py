"""A deviation that the plan did not foresee: which lots may be named, and opening it once."""

from datetime import timedelta
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.queries import lots, open_lots, version_of
from records.deviations.models import Cause, Deviation
from records.deviations.queries import open_deviations
from records.deviations.services import open_unforeseen
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.refusals import Refused
from safetyplan.plans.document import Plan
from safetyplan.plans.queries import in_force

RECENT = 50
SENT_TWICE = timedelta(minutes=10)


def lot_choices(establishment: Establishment) -> list[tuple[str, str]]:
    """List the lots a new deviation may name: those not wholly gone, and the newest ones."""
    found = {lot.pk: lot for lot in (*open_lots(establishment), *lots(establishment)[:RECENT])}
    return [(str(lot.pk), f"{lot.code} · {lot.product_name}") for lot in found.values()]


def _plan(establishment: Establishment, lot: Lot | None) -> Plan:
    version = version_of(establishment, lot) if lot else in_force(establishment, clock.now(establishment))
    if version is None:
        raise Refused(_("There is no approved plan yet: approve one first."))
    return version.plan()


def open_once(establishment: Establishment, by: Person, typed: dict[str, Any]) -> Deviation:
    """Open the deviation; the same words by the same person within ten minutes are the same deviation."""
    with transaction.atomic():
        ledger.lock(establishment)
        lot = lots(establishment).filter(pk=typed["lot"]).first() if typed["lot"] else None
        since = clock.now(establishment) - SENT_TWICE
        same = open_deviations(establishment).filter(
            cause=Cause.UNFORESEEN,
            author=by,
            lot=lot,
            description=typed["description"].strip(),
            recorded_at__gte=since,
        )
        return same.first() or open_unforeseen(
            establishment=establishment,
            by=by,
            plan=_plan(establishment, lot),
            lot=lot,
            description=typed["description"],
            held_what=typed.get("held_what", ""),
        )
