"""What the records say is open: deviations and holds."""

from records.deviations.models import HoldConfirmed
from records.deviations.queries import OPEN_DEVIATION, OPEN_HOLD, open_deviations
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.index import Item


def build(establishment: Establishment) -> set[Item]:
    """Give the open deviations and holds."""
    held = set(HoldConfirmed.objects.of(establishment).values_list("deviation", flat=True))
    found: set[Item] = set()
    for deviation in open_deviations(establishment):
        found.add((OPEN_DEVIATION, deviation.pk, deviation.lot_id))
        if deviation.hold_required or deviation.pk in held:
            found.add((OPEN_HOLD, deviation.pk, deviation.lot_id))
    return found
