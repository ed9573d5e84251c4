"""The milk of a lot: from which loads, and how much of each."""

from dataclasses import replace
from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.receiving.kinds import LOT_MILK
from records.receiving.models import LotMilk
from records.receiving.queries import balance_of, in_unit_of, load_of, milk_of_lots
from records.receiving.refusing import check_left
from records.receiving.typed import volume_typed
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import replaced
from safetyplan.integrity import ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import number, reason


def put_milk(
    *,
    establishment: Establishment,
    by: Person,
    lot: Lot,
    load: UUID,
    volume: str,
    sure: bool = False,
    claim: Claim | None = None,
) -> LotMilk:
    """Record that milk of a load went into a lot: not more than is left of it, and none that is refused.

    Whoever calls this looks at the checks of the load too: see `records.checks.gate`.
    """
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        found = load_of(establishment, load)
        if found is None or found.voided:
            raise BadInput(_("This load of milk is not known."), part="load")
        if any(row.load_id == load for row in milk_of_lots(establishment, [lot.pk])[lot.pk]):
            raise Refused(_("Milk of this load is named already: correct that entry."), part="load")
        typed = volume_typed(volume, unit=found.volume_unit, sure=sure)
        check_left(balance_of(establishment, found), Decimal(typed))
        row = LotMilk(lot=lot, load_id=load, volume_text=typed, volume_unit=found.volume_unit, reason="")
        ledger.append(kind=LOT_MILK, row=row, establishment=establishment, author=by, claim=claim)
    return row


def correct_milk(
    *,
    establishment: Establishment,
    by: Person,
    original: LotMilk,
    volume: str,
    why: str,
    sure: bool = False,
    claim: Claim | None = None,
) -> LotMilk:
    """Correct how much of a load went into a lot; 0 says that none did. The first value stays."""
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        if replaced(original):
            raise Refused(_("This was already corrected. Correct the newest entry."))
        load = load_of(establishment, original.load_id)
        assert load is not None
        unit = load.volume_unit
        typed = number(volume, quantity="volume", unit=unit, part="volume", confirmed=sure)
        left = balance_of(establishment, load)
        check_left(replace(left, used=left.used - in_unit_of(load, original)), typed.value)
        row = LotMilk(
            lot_id=original.lot_id,
            load_id=original.load_id,
            volume_text=trim(typed.value),
            volume_unit=unit,
            supersedes=original,
            reason=reason(why),
        )
        ledger.append(kind=LOT_MILK, row=row, establishment=establishment, author=by, claim=claim)
    return row
