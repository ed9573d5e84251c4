"""Uses of shared things, which tie lots together: salted in a brine, washed with a wash, in a room."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any
from uuid import uuid4

from django.db import transaction
from django.utils.translation import gettext as _

from records.things.kinds import THING_USE
from records.things.models import ThingKind, ThingUse
from records.things.queries import Life, uses
from records.things.services import fresh, late, refuse_outside, refuse_replaced
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import clean, reason, whole_number

MOMENTARY = (ThingKind.PREPARATION,)
"""Kinds that a lot uses for a moment; in the others it stays until it is taken out."""


@dataclass(frozen=True)
class UseContent:
    """What a person says of the use of a thing; without `until_at` the lot is still in it.

    pieces: as typed, of each lot. in_order: the order in which the lots are named is the order of the work.
    """

    from_at: datetime
    until_at: datetime | None = None
    pieces: str = ""
    note: str = ""
    late_reason: str = ""
    in_order: bool = False


def record_uses(
    *,
    establishment: Establishment,
    by: Person,
    life: Life,
    lots: Sequence[Any],
    content: UseContent,
    event: Any = None,
    claim: Claim | None = None,
) -> list[ThingUse]:
    """Record that lots used a thing, in one go. A wash is used for a moment; elsewhere a lot stays."""
    require_role(establishment, by, *WRITERS)
    if not lots:
        raise BadInput(_("Choose at least one lot."), part="lots")
    with transaction.atomic():
        ledger.lock(establishment)
        present = fresh(establishment, life)
        until = content.from_at if present.kind in MOMENTARY else content.until_at
        _check_times(present, content.from_at, until)
        is_late = late(establishment, content.from_at, content.late_reason, part="from_at")
        if until is not None:
            late(establishment, until, content.late_reason, part="until_at")
        go = uuid4() if len(lots) > 1 or content.in_order else None
        rows = [_use(establishment, present, lot, content, until, is_late=is_late) for lot in _distinct(lots)]
        for place, row in enumerate(rows, start=1):
            row.event, row.go, row.place = event, go, place if content.in_order else None
            of_first = claim if place == 1 else None
            ledger.append(kind=THING_USE, row=row, establishment=establishment, author=by, claim=of_first)
    return rows


def _distinct(lots: Sequence[Any]) -> list[Any]:
    return list({lot.pk: lot for lot in lots}.values())


def _check_times(life: Life, from_at: datetime, until_at: datetime | None) -> None:
    refuse_outside(life, from_at, part="from_at")
    if until_at is None:
        if life.ended_at is not None:
            raise BadInput(_("%(thing)s has ended: say until when.") % {"thing": life.title}, part="until_at")
        return
    if until_at < from_at:
        raise BadInput(_("The end is before the beginning."), part="until_at")
    refuse_outside(life, until_at, part="until_at")


def _use(
    establishment: Establishment,
    life: Life,
    lot: Any,
    content: UseContent,
    until: datetime | None,
    *,
    is_late: bool,
) -> ThingUse:
    if content.from_at < lot.started_at:
        raise BadInput(_("This is before lot %(lot)s was started.") % {"lot": lot.code}, part="from_at")
    standing = uses(establishment).filter(thing=life.id, lot=lot, until_at__isnull=True).first()
    if standing is not None and until is None:
        raise Refused(_("Lot %(lot)s is in it already: take it out first.") % {"lot": lot.code}, part="lots")
    return ThingUse(
        thing=life.first,
        lot=lot,
        from_at=content.from_at,
        until_at=until,
        pieces=whole_number(content.pieces, part="pieces") if content.pieces.strip() else None,
        note=clean(content.note, part="note"),
        late=is_late,
        late_reason=clean(content.late_reason, part="late_reason"),
        voided=False,
    )


def end_use(
    *,
    establishment: Establishment,
    by: Person,
    use: ThingUse,
    life: Life,
    until_at: datetime,
    late_reason: str = "",
    claim: Claim | None = None,
) -> ThingUse:
    """Record that a lot was taken out of a thing."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        refuse_replaced(use)
        if use.until_at is not None:
            raise Refused(_("Lot %(lot)s was taken out already.") % {"lot": use.lot.code})
        _check_times(fresh(establishment, life), use.from_at, until_at)
        is_late = late(establishment, until_at, late_reason, part="until_at")
        row = _again(use, from_at=use.from_at, until_at=until_at)
        row.late, row.late_reason = is_late or use.late, clean(late_reason) or use.late_reason
        ledger.append(kind=THING_USE, row=row, establishment=establishment, author=by, claim=claim)
    return row


def correct_use(
    *,
    establishment: Establishment,
    by: Person,
    use: ThingUse,
    life: Life,
    from_at: datetime,
    until_at: datetime | None,
    why: str,
    claim: Claim | None = None,
) -> ThingUse:
    """Correct the times of a use; the first ones stay readable."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        refuse_replaced(use)
        _check_times(fresh(establishment, life), from_at, until_at)
        if from_at < use.lot.started_at:
            raise BadInput(
                _("This is before lot %(lot)s was started.") % {"lot": use.lot.code}, part="from_at"
            )
        row = _again(use, from_at=from_at, until_at=until_at)
        row.reason = reason(why)
        row.late = late(establishment, from_at, why, part="from_at")
        ledger.append(kind=THING_USE, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _again(use: ThingUse, *, from_at: datetime, until_at: datetime | None) -> ThingUse:
    return ThingUse(
        thing_id=use.thing_id,
        lot_id=use.lot_id,
        event_id=use.event_id,
        from_at=from_at,
        until_at=until_at,
        pieces=use.pieces,
        go=use.go,
        place=use.place,
        note=use.note,
        late=use.late,
        late_reason=use.late_reason,
        voided=False,
        supersedes=use,
    )


def out_of_order(lots: Sequence[Any]) -> list[tuple[Any, Any]]:
    """Give each pair of neighbours in which an older lot was washed before a younger one."""
    return [(first, then) for first, then in pairwise(lots) if then.started_at > first.started_at]
