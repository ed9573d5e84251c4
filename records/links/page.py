"""The forms of a lot's links: filled in beforehand, and what was typed into the services."""

from typing import Any, cast
from uuid import UUID

from django.http import HttpRequest
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.posting import claim_of, moment, now_typed
from records.batches.queries import lots, open_lots
from records.deviations.models import Disposition
from records.links.forms import FIELDS, UNITS, CorrectForm, LinkForm
from records.links.models import LotLink
from records.links.queries import reworks
from records.links.services import LinkContent, correct_link, link_lots
from safetyplan.calculation.unit_tables import UNITS as KNOWN_UNITS
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import details_of, zone_of
from safetyplan.integrity.form_refusals import Typed, taking_offers
from safetyplan.integrity.refusals import BadInput

RECENT = 50


def _lot_choices(establishment: Establishment, lot: Lot) -> list[tuple[str, str]]:
    found = {one.pk: one for one in (*open_lots(establishment), *lots(establishment)[:RECENT])}
    return [(str(pk), f"{one.code} · {one.product_name}") for pk, one in found.items() if pk != lot.pk]


def _disposition_words(disposition: Disposition) -> str:
    told = {"number": disposition.deviation.number, "name": disposition.signed_name}
    return _("Deviation %(number)d, signed by %(name)s") % told


def link_form(establishment: Establishment, lot: Lot, data: Typed | None = None) -> LinkForm:
    """Make the form of a new link, as typed or with the present moment."""
    listed = _lot_choices(establishment, lot)
    others = Lot.objects.of(establishment).filter(pk__in=[pk for pk, _name in listed])
    return LinkForm(
        data,
        initial={**now_typed(establishment), "kind": "whey"},
        lots=listed,
        dispositions=[
            (str(d.pk), f"{_disposition_words(d)} ({source.code})")
            for source in (lot, *others)
            for d in (reworks(establishment, source) if source.pk == lot.pk or data else ())
        ],
        unit=_volume_unit(establishment),
    )


def correct_form(establishment: Establishment, row: LotLink, data: Typed | None = None) -> CorrectForm:
    """Make the form that puts a link right, with what it says now."""
    local = ZoneTime(zone_of(establishment)).local(row.linked_at)
    initial = {
        "kind": row.kind,
        "quantity": row.quantity_text,
        "pieces": "" if row.pieces is None else str(row.pieces),
        "on_date": f"{local:%Y-%m-%d}",
        "on_time": f"{local:%H:%M}",
        "disposition": str(row.disposition_id or ""),
        "note": row.note,
    }
    kept = [(str(row.disposition.pk), _disposition_words(row.disposition))] if row.disposition else []
    return CorrectForm(
        data,
        initial=initial,
        lots=[],
        dispositions=kept,
        unit=_volume_unit(establishment),
    )


def _volume_unit(establishment: Establishment) -> str:
    return KNOWN_UNITS[details_of(establishment).volume_unit].symbol


def add_link(request: HttpRequest, establishment: Establishment, lot: Lot, typed: Typed) -> Any:
    """Record the link that was typed."""

    def act(said: Typed) -> Any:
        other = _other(establishment, lot, said.get("other", ""))
        inward = said.get("way") != "out"
        return link_lots(
            establishment=establishment,
            by=cast(Person, request.user),
            from_lot=other if inward else lot,
            to_lot=lot if inward else other,
            content=_content(establishment, said),
            claim=claim_of(request, establishment, "lot_link", said, lot=lot.pk),
        )

    return taking_offers(typed, act, fields=FIELDS, units=UNITS)


def change_link(request: HttpRequest, establishment: Establishment, row: LotLink, typed: Typed) -> Any:
    """Record the correction of a link that was typed."""

    def act(said: Typed) -> Any:
        return correct_link(
            establishment=establishment,
            by=cast(Person, request.user),
            original=row,
            content=_content(establishment, said),
            why=said.get("reason", ""),
            claim=claim_of(request, establishment, "lot_link", said, supersedes=row.pk),
        )

    return taking_offers(typed, act, fields=FIELDS, units=UNITS)


def _other(establishment: Establishment, lot: Lot, typed: str) -> Lot:
    try:
        found: Lot | None = Lot.objects.of(establishment).filter(pk=UUID(typed)).first()
    except ValueError:
        found = None
    if found is None or found.pk == lot.pk:
        raise BadInput(_("Choose the other lot."), part="other")
    return found


def _content(establishment: Establishment, said: Typed) -> LinkContent:
    late = said.get("late_reason", "") or said.get("reason", "")
    return LinkContent(
        kind=said.get("kind", ""),
        quantity=said.get("quantity", ""),
        pieces=said.get("pieces", ""),
        linked_at=moment(establishment, said, reason=late),
        disposition=_disposition(establishment, said.get("disposition", "")),
        known=bool(said.get("known")),
        note=said.get("note", ""),
        late_reason=late,
    )


def _disposition(establishment: Establishment, typed: str) -> Disposition | None:
    if not typed:
        return None
    try:
        found: Disposition | None = Disposition.objects.of(establishment).filter(pk=UUID(typed)).first()
    except ValueError:
        found = None
    if found is None:
        raise BadInput(_("Choose a decision of the list."), part="disposition")
    return found
