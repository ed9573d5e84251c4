"""Deviations of a load of milk: over every lot that its milk went into, also those that have left."""

from typing import Any

from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.deviations.models import Deviation
from records.deviations.queries import open_deviations
from records.deviations.services import open_deviation
from records.receiving.models import MilkLoad
from records.receiving.queries import lots_of_loads
from safetyplan.establishments.models import Establishment


def lots_with(establishment: Establishment, load: MilkLoad) -> list[Lot]:
    """Give the lots into which milk of a load went, the first one first."""
    return [row.lot for row in lots_of_loads(establishment, [load.identity])[load.identity]]


def milk_words(load: MilkLoad) -> str:
    """Name the milk of a load that is to be held."""
    words = _("milk of load %(code)s in %(tank)s") if load.tank else _("milk of load %(code)s")
    return words % {"code": load.code, "tank": load.tank}


def open_for(establishment: Establishment, load: MilkLoad | None, **about: Any) -> Deviation:
    """Open a deviation; one of a load concerns every lot with its milk. Arguments as in `open_deviation`."""
    if load is None:
        return open_deviation(establishment=establishment, **about)
    about["description"] = f"{_('Load %(code)s.') % {'code': load.code}} {about['description']}"
    lots = lots_with(establishment, load)
    opened = [open_deviation(establishment=establishment, **{**about, "lot": lot}) for lot in lots]
    return opened[0] if opened else open_deviation(establishment=establishment, **about)


def open_of_load(establishment: Establishment, slot: str, lot: Lot | None = None) -> Deviation | None:
    """Find the open deviation of a load's slot, or the one that concerns a lot too."""
    rows = open_deviations(establishment).filter(slot=slot)
    return (rows.filter(lot=lot) if lot is not None else rows).first()
