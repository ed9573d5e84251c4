"""Shared things that an event names: a lot goes into a brine or a room, is washed, comes out again."""

from typing import Any

from django.utils.translation import gettext as _

from records.batches.details import Row, rows_of
from records.batches.models import LotEvent
from records.things.models import ThingUse
from records.things.queries import Life, life_of, thing_called, uses
from records.things.services import void_entry
from records.things.using import UseContent, correct_use, end_use, record_uses
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.document import Event
from safetyplan.plans.parts import EACH


def use_things(
    establishment: Establishment, by: Person, planned: Event, event: LotEvent, rows: tuple[Row, ...]
) -> None:
    """Record the uses that an event tells of: of a thing that the lot is in already, that it came out."""
    things = {detail.name for detail in planned.details if detail.entry == "thing"}
    for row in rows:
        if row["name"] in things:
            _use(establishment, by, event, row)


def _use(establishment: Establishment, by: Person, event: LotEvent, row: Row) -> None:
    life = thing_called(establishment, row["value"], row["of"])
    if life is None:
        words = _("%(code)s is not known: record first that it was made or taken into use.")
        raise BadInput(words % {"code": row["value"]}, part=row["name"])
    why = event.late_reason or _("told with: %(event)s") % {"event": event.event_name}
    inside = uses(establishment).filter(thing=life.id, lot=event.lot, until_at__isnull=True).first()
    about: dict[str, Any] = {"establishment": establishment, "by": by, "life": life}
    try:
        if inside is not None:
            end_use(use=inside, until_at=event.observed_at, late_reason=why, **about)
        else:
            content = UseContent(from_at=event.observed_at, note=event.event_name, late_reason=why)
            record_uses(lots=[event.lot], content=content, event=event, **about)
    except BadInput as refusal:
        raise BadInput(refusal.message, part=row["name"]) from refusal


def untie_things(establishment: Establishment, by: Person, event: LotEvent, why: str) -> None:
    """Void the uses that an event told of; one that it ended is not ended any more."""
    for use in uses(establishment).filter(event=event):
        void_entry(establishment=establishment, by=by, row=use, why=why)
    for use, life in _ended_by(establishment, event):
        about: dict[str, Any] = {"establishment": establishment, "by": by, "use": use, "life": life}
        correct_use(from_at=use.from_at, until_at=None, why=why, **about)


def move_things(establishment: Establishment, by: Person, original: LotEvent, event: LotEvent) -> None:
    """Move the uses that an event began or ended to the time to which it was corrected."""
    about: dict[str, Any] = {"establishment": establishment, "by": by, "why": event.reason}
    at = event.observed_at
    for use in uses(establishment).filter(event=original):
        life = life_of(establishment, use.thing_id)
        assert life is not None
        until = at if use.until_at == use.from_at else use.until_at
        correct_use(use=use, life=life, from_at=at, until_at=until, **about)
    for use, life in _ended_by(establishment, original):
        correct_use(use=use, life=life, from_at=use.from_at, until_at=at, **about)


def _ended_by(establishment: Establishment, event: LotEvent) -> list[tuple[ThingUse, Life]]:
    """Give the uses that ended with an event: of the things it names, at its time, begun by another."""
    found: list[tuple[ThingUse, Life]] = []
    for row in rows_of(event):
        life = thing_called(establishment, row["value"], row["of"]) if row.get("of") in EACH else None
        if life is not None:
            ended = uses(establishment).filter(thing=life.id, lot=event.lot, until_at=event.observed_at)
            found += [(use, life) for use in ended.exclude(event=event)]
    return found
