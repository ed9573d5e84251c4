"""What the records say is open: deviations and holds."""

from records.deviations.queries import OPEN_DEVIATION, OPEN_HOLD, open_deviations, states
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.index import Item


def build(establishment: Establishment) -> set[Item]:
    """Give the open deviations and holds, each for every lot that it concerns.

    A deviation that was opened for no lot of its own stands there for itself too.
    """
    found: set[Item] = set()
    for state in states(establishment, open_deviations(establishment)):
        deviation = state.deviation
        found.add((OPEN_DEVIATION, deviation.pk, deviation.lot_id))
        for one in state.affected:
            lot = one.lot.pk if one.lot else None
            found.add((OPEN_DEVIATION, deviation.pk, lot))
            if one.hold_required or one.holds:
                found.add((OPEN_HOLD, deviation.pk, lot))
    return found
