"""What a device keeps to work without the server: the due list with its data blocks, lots, people, seal.

It is composed of the same states of checks as the page of today, in a number of queries that does not grow
with lots or checks. Form, version 1:

    v, made_at, establishment, slug, name, demonstration, zone
    shared     what all data blocks have in common (static/js/capture.js says what a data block holds)
    person     who asked; people: [{person, name, initials}] who may record
    checks     [{slot, name, subject, lot, limit, critical, missed, opens_at, due_at, closes_at, waits_for,
               url, data}]
    lots       [{lot, code, product, url, events: [{event, name, url, data}]}], the next event first
    seal       {size, root, note} of the newest record seal, or null
    backed_up  the newest sequence known to be in a backup (0: none)
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from records.batches.models import Lot
from records.batches.queries import events_by_lot, open_lots
from records.checks.due import SlotState, Status, facts
from records.checks.page_data import Kit, check_data, happening_data, kit_of, limit_text, target_text
from records.checks.places import Place
from records.checks.slots import LotFacts, parse_slot
from records.receiving.models import MilkLoad
from records.things.queries import Life
from records.today.queries import OpenLot, checks_at, lots_to_record
from safetyplan.establishments.localtime import LocalTime
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.queries import is_current, memberships, roles_of
from safetyplan.integrity import canonical, seals
from safetyplan.integrity.backups import backed_up_sequence

Data = dict[str, Any]
DAYS_AHEAD = 2
LEFT_OUT = (Status.RECORDED, Status.BY_EXCEPTION, Status.EXPLAINED)


def _time(at: datetime | None) -> str | None:
    return None if at is None else canonical.instant(at)


def _subject(lot: Lot | None, load: MilkLoad | None, thing: Life | None) -> str:
    if load is not None:
        return load.code
    if thing is not None:
        return thing.title
    return f"{lot.code} · {lot.product_name}" if lot is not None else ""


def own(kit: Kit, block: Data) -> Data:
    """Leave out of a data block what all of them share."""
    return {key: value for key, value in block.items() if kit.base.get(key) != value or key not in kit.base}


def check_line(kit: Kit, state: SlotState, known: LotFacts | None, now: datetime) -> Data:
    """Give one check of the list, with the data block by which it is recorded."""
    slot, control = state.slot, state.slot.control
    place = Place(
        parse_slot(slot.id), state.lot, state.plan_version, control, load=state.load, thing=state.thing
    )
    return {
        "slot": slot.id,
        "name": f"{control.code} {control.name}" + (f": {slot.point}" if slot.point else ""),
        "subject": _subject(state.lot, state.load, state.thing),
        "lot": str(slot.lot) if slot.lot else None,
        "limit": limit_text(control.limit, slot.ordinal) or target_text(control.limit, slot.ordinal),
        "critical": control.is_ccp,
        "missed": state.status == Status.MISSING,
        "opens_at": _time(slot.opens_at),
        "due_at": _time(slot.due_at),
        "closes_at": _time(slot.closes_at),
        "waits_for": slot.waits_for,
        "url": reverse("capture", args=[kit.slug, slot.id]),
        "data": own(kit, check_data(kit, place, slot.id, known, now)),
    }


def _wanted(state: SlotState) -> bool:
    """Leave out what is recorded, and a miss for which a deviation is open: the work goes on there."""
    return state.status not in LEFT_OUT and not (state.status == Status.MISSING and state.covered)


def check_lines(
    establishment: Establishment, kit: Kit, lots: Sequence[Lot], clock: LocalTime, now: datetime
) -> Iterator[Data]:
    """Give the checks that can be recorded now or in the days to come."""
    events = events_by_lot(establishment, [lot.pk for lot in lots])
    known = {lot.pk: facts(lot, events[lot.pk]) for lot in lots}
    for state in checks_at(establishment, lots, clock, now, ahead=DAYS_AHEAD):
        if _wanted(state):
            yield check_line(kit, state, known.get(state.lot.pk) if state.lot else None, now)


def lot_line(kit: Kit, line: OpenLot) -> Data:
    """Give an open lot with what is to be recorded of it."""
    lot = line.lot
    return {
        "lot": str(lot.pk),
        "code": lot.code,
        "product": lot.product_name,
        "url": reverse("lot", args=[kit.slug, lot.pk]),
        "events": [
            {
                "event": event.code,
                "name": event.name,
                "url": reverse("lot_event", args=[kit.slug, lot.pk, event.code]),
                "data": own(kit, happening_data(kit, lot, line.version, event)),
            }
            for event in line.to_record
        ],
    }


def people_line(establishment: Establishment, now: datetime) -> list[Data]:
    """Give those who may record, for the tiles of a shared device."""
    rows = memberships(establishment).select_related("person")
    return [
        {"person": str(row.person_id), "name": row.printed_name, "initials": row.initials}
        for row in rows
        if Role.MAKER in roles_of(row) and is_current(row, now.date())
    ]


def seal_line(establishment: Establishment) -> Data | None:
    """Give the newest record seal as a device compares it with the last one it saw."""
    seal = seals.newest_seal(establishment)
    return None if seal is None else {"size": seal.size, "root": seal.root, "note": seal.note}


def bundle_of(request: HttpRequest, establishment: Establishment, clock: LocalTime, now: datetime) -> Data:
    """Compose the bundle."""
    kit = kit_of(request, establishment)
    lots = open_lots(establishment)
    return {
        "v": 1,
        "made_at": canonical.instant(now),
        "establishment": str(establishment.pk),
        "slug": establishment.slug,
        "name": kit.details.name,
        "demonstration": establishment.demonstration,
        "zone": kit.details.time_zone,
        "shared": kit.base,
        "person": str(request.user.pk),
        "people": people_line(establishment, now),
        "checks": list(check_lines(establishment, kit, lots, clock, now)),
        "lots": [lot_line(kit, line) for line in lots_to_record(establishment, lots)],
        "seal": seal_line(establishment),
        "backed_up": backed_up_sequence(establishment),
    }
