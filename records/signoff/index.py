"""What the records say is open: lots of which something is still here."""

from records.batches.models import Dispatch
from records.batches.queries import OPEN_LOT, lots
from records.signoff.release import balance, is_gone
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.index import Item


def build(establishment: Establishment) -> set[Item]:
    """Give the lots that have not wholly left: a lot closes with the dispatch of its last pieces."""
    sent = Dispatch.objects.of(establishment).filter(left_on_hold=False)
    last = dict(sent.order_by("entry__sequence").values_list("lot", "entry__sequence"))
    return {
        (OPEN_LOT, lot.pk, lot.pk)
        for lot in lots(establishment)
        if lot.pk not in last or not is_gone(balance(establishment, lot, as_of=last[lot.pk]))
    }
