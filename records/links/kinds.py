"""The record kind of links between lots."""

from records.links.models import LotLink
from safetyplan.integrity.kinds import declare

LOT_LINK = declare(
    LotLink,
    "lot_link",
    "from_lot",
    "to_lot",
    "kind",
    "quantity_text",
    "quantity_unit",
    "pieces",
    "linked_at",
    "disposition",
    "known",
    "note",
    "late",
    "late_reason",
    "withdrawn",
    "supersedes",
    "reason",
)
