"""Links of a lot in words, for pages and paper, and what is open on the lots linked with it."""

from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.inspection.telling import Teller
from records.links.models import LotLink
from records.links.queries import every_link_of, linked_deviations
from safetyplan.calculation.rounding import amount
from safetyplan.establishments.models import Establishment


def link_rows(
    teller: Teller, slug: str, establishment: Establishment, lot: Lot, as_of: int | None = None
) -> list[dict[str, Any]]:
    """Give the links of a lot, each with its history; a corrected or withdrawn one is struck."""
    found = every_link_of(establishment, lot, as_of)
    later = {row.supersedes_id: row for row in found if row.supersedes_id}
    return [_row(teller, slug, lot, row, later.get(row.pk)) for row in found if not row.withdrawn]


def _row(teller: Teller, slug: str, lot: Lot, row: LotLink, later: LotLink | None) -> dict[str, Any]:
    inward = row.to_lot_id == lot.pk
    other = row.from_lot if inward else row.to_lot
    notes = [row.note, _("late: %(why)s") % {"why": row.late_reason} if row.late else ""]
    if row.supersedes_id:
        notes.append(_("replaces the struck entry: %(why)s") % {"why": row.reason})
    if later is not None:
        words = (
            _("withdrawn %(at)s by %(who)s: %(why)s")
            if later.withdrawn
            else _("corrected %(at)s by %(who)s: %(why)s")
        )
        told = {
            "at": teller.time(later.recorded_at),
            "who": teller.initials(later.author_id),
            "why": later.reason,
        }
        notes.append(words % told)
    pieces = _("%(count)d pieces") % {"count": row.pieces} if row.pieces is not None else ""
    return {
        "row": row,
        "other": other,
        "way": _("came from") if inward else _("went into"),
        "kind": row.get_kind_display(),
        "quantity": ", ".join(filter(None, (amount(row.quantity_text, row.quantity_unit), pieces))),
        "at": teller.time(row.linked_at),
        "who": teller.initials(row.author_id),
        "struck": later is not None,
        "notes": [note for note in notes if note],
        "change": "" if later else reverse("link_change", args=[slug, row.pk]),
    }


def linked_notices(establishment: Establishment, lot: Lot) -> list[dict[str, Any]]:
    """Say what is open on the lots linked with a lot, for its page."""
    told = {
        True: _(
            "This lot was made with something of lot %(code)s, which has deviation %(number)d open: %(what)s"
        ),
        False: _("Something of this lot is in lot %(code)s, which has deviation %(number)d open: %(what)s"),
    }
    return [
        {
            "pk": linked.state.deviation.pk,
            "number": linked.state.deviation.number,
            "held": linked.held,
            "words": told[linked.before]
            % {
                "code": linked.lot_code,
                "number": linked.state.deviation.number,
                "what": linked.state.deviation.description,
            },
        }
        for linked in linked_deviations(establishment, lot)
    ]
