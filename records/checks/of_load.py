"""Deviations of a load of milk: one over every lot that its milk went into, also those that have left."""

from typing import Any

from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.deviations.models import Deviation
from records.deviations.queries import open_deviations, state_of
from records.deviations.services import add_affected_lot, open_deviation
from records.receiving.models import MilkLoad
from records.receiving.queries import balance_of, lots_of_loads
from safetyplan.establishments.models import Establishment, Person


def lots_with(establishment: Establishment, load: MilkLoad) -> list[Lot]:
    """Give the lots into which milk of a load went, the first one first."""
    return [row.lot for row in lots_of_loads(establishment, [load.identity])[load.identity]]


def milk_words(load: MilkLoad) -> str:
    """Name the milk of a load that is to be held."""
    words = _("milk of load %(code)s in %(tank)s") if load.tank else _("milk of load %(code)s")
    return words % {"code": load.code, "tank": load.tank}


def open_for(establishment: Establishment, load: MilkLoad | None, **about: Any) -> Deviation:
    """Open a deviation; one of a load concerns every lot with its milk, and what is left in the tank.

    Arguments as in `open_deviation`.
    """
    if load is None:
        return open_deviation(establishment=establishment, **about)
    left = balance_of(establishment, load).left
    about["description"] = f"{_('Load %(code)s.') % {'code': load.code}} {about['description']}"
    return open_deviation(
        establishment=establishment,
        lots=lots_with(establishment, load),
        why_lots=_("Milk of load %(code)s went into it.") % {"code": load.code},
        held_what=milk_words(load) if left > 0 else "",
        **about,
    )


def extend(
    establishment: Establishment, by: Person, slot: str, lot: Lot, why: str
) -> tuple[Deviation | None, bool]:
    """Bring a lot under the open deviation of a load's check; tell whether the lot is new to it.

    None where no deviation of the check is open.
    """
    present = open_deviations(establishment).filter(slot=slot).first()
    if present is None:
        return None, False
    if state_of(establishment, present).of(lot) is not None:
        return present, False
    add_affected_lot(
        establishment=establishment, by=by, deviation=present, lot=lot, why=why, hold_required=True
    )
    return present, True
