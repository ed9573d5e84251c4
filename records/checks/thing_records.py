"""What is recorded of shared things and touches checks: uses, the order of a wash, a corrected birth."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.checks import judging, kinds
from records.checks.again import judged_again
from records.checks.doubted import reach_of_use
from records.checks.due import Status, day_states, thing_states
from records.checks.models import Reading, RejudgedByBirth
from records.checks.opening import deviation_for, opens
from records.checks.places import Place, judge_in
from records.checks.rejudging import Second
from records.checks.services import ReadingContent, Recorded, record_reading
from records.checks.slots import EXTRA, day_slot_id, parse_slot, thing_slot_id
from records.deviations.models import Deviation
from records.deviations.queries import states
from records.deviations.services import add_affected_lot
from records.things.models import Thing, ThingUse
from records.things.queries import MADE, Life
from records.things.services import Birth, correct_thing, fresh
from records.things.using import UseContent, correct_use, record_uses
from safetyplan.calculation.judgement import State
from safetyplan.calculation.limits.in_order import InOrder
from safetyplan.calculation.limits.shape import events_of, nested
from safetyplan.establishments.access import membership_for
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import latest, roles_of, zone_of
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.plans.parts import Control
from safetyplan.plans.queries import in_force
from safetyplan.words import render


@dataclass
class Used:
    """Uses that were recorded, the deviations that name their lots, and the check of their order."""

    rows: list[ThingUse]
    deviations: list[Deviation] = field(default_factory=list)
    order: Recorded | None = None


def use_thing(
    *,
    establishment: Establishment,
    by: Person,
    life: Life,
    lots: Sequence[Lot],
    content: UseContent,
    event: LotEvent | None = None,
    claim: Claim | None = None,
) -> Used:
    """Record that lots used a thing; name them where a reading of it is outside its limit.

    Of several lots done in order, the plan's check of the order is recorded too, if it has one.
    """
    with transaction.atomic():
        ledger.lock(establishment)
        rows = record_uses(
            establishment=establishment,
            by=by,
            life=life,
            lots=lots,
            content=content,
            event=event,
            claim=claim,
        )
        used = Used(rows, reach_of_use(establishment, by, life, rows[0]))
        if content.in_order and len(rows) > 1:
            washed = [row.lot for row in rows]
            used.order = _check_order(establishment, by, life, washed, content)
            _name_younger(establishment, by, used.order, washed)
    return used


def change_use(
    *,
    establishment: Establishment,
    by: Person,
    life: Life,
    use: ThingUse,
    from_at: datetime,
    until_at: datetime | None,
    why: str,
    claim: Claim | None = None,
) -> Used:
    """Correct the times of a use; lots that it brings into a deviation are named there."""
    with transaction.atomic():
        ledger.lock(establishment)
        row = correct_use(
            establishment=establishment,
            by=by,
            use=use,
            life=life,
            from_at=from_at,
            until_at=until_at,
            why=why,
            claim=claim,
        )
        return Used([row], reach_of_use(establishment, by, life, row))


def order_control(establishment: Establishment, life: Life, at: datetime) -> Control | None:
    """Find the plan's check of the order in which lots are done with a thing."""
    version = in_force(establishment, at)
    for control in version.plan().controls if version else ():
        fits = control.when.each == life.kind or (control.of_day and life.kind == "preparation")
        if fits and any(isinstance(one, InOrder) for one in nested(control.limit)):
            return control
    return None


def _check_order(
    establishment: Establishment, by: Person, life: Life, lots: Sequence[Lot], content: UseContent
) -> Recorded | None:
    control = order_control(establishment, life, content.from_at)
    membership = membership_for(establishment, by)
    if control is None or membership is None or Role.MAKER not in roles_of(membership):
        return None
    part = next(one.part for one in nested(control.limit) if isinstance(one, InOrder))
    said = {"name": part, "raw": ", ".join(lot.code for lot in lots), "unit": "", "confirmed": False}
    reading = ReadingContent(
        slot=_order_slot(establishment, life, control, content.from_at),
        observed_at=content.from_at,
        parts=[said],
        late_reason=content.late_reason,
    )
    return record_reading(establishment=establishment, by=by, content=reading)


def _name_younger(
    establishment: Establishment, by: Person, order: Recorded | None, lots: Sequence[Lot]
) -> None:
    """Name in the deviation of a broken order each lot that was done after an older one."""
    if order is None or order.deviation is None:
        return
    known = states(establishment, [order.deviation])[0]
    for place, lot in enumerate(lots):
        older = [one.code for one in lots[:place] if one.started_at < lot.started_at]
        if older and known.is_open and known.of(lot) is None:
            why = _("%(lot)s was done after the older %(older)s.")
            add_affected_lot(
                establishment=establishment,
                by=by,
                deviation=order.deviation,
                lot=lot,
                why=why % {"lot": lot.code, "older": ", ".join(older)},
            )


def _order_slot(establishment: Establishment, life: Life, control: Control, at: datetime) -> str:
    """Give the check of the order that is open on the day; else a further reading of it."""
    local, now = ZoneTime(zone_of(establishment)), clock.now(establishment)
    day = local.local(at).date()
    find = thing_states if control.of_thing else day_states
    for state in find(establishment, day, local, now):
        mine = state.slot.control.code == control.code and state.slot.thing in (None, life.id)
        if mine and state.status not in (Status.RECORDED, Status.EXPLAINED, Status.BY_EXCEPTION):
            return state.slot.id
    if control.of_thing:
        return thing_slot_id(life.id, control.code, day, EXTRA)
    return day_slot_id(day, control.code, EXTRA)


def correct_birth(
    *,
    establishment: Establishment,
    by: Person,
    life: Life,
    birth: Birth,
    why: str,
    claim: Claim | None = None,
) -> tuple[Thing, list[Deviation]]:
    """Correct a thing's birth; what counts from it is judged again, both results stay on record."""
    with transaction.atomic():
        ledger.lock(establishment)
        row = correct_thing(establishment=establishment, by=by, life=life, birth=birth, why=why, claim=claim)
        opened = _judge_again(establishment, by, fresh(establishment, life), row)
    return row, opened


def _judge_again(establishment: Establishment, by: Person, life: Life, birth: Thing) -> list[Deviation]:
    prefix = f"thing:{life.id}:"
    rows = latest(Reading.objects.of(establishment)).filter(
        slot__gte=prefix, slot__lt=f"thing:{life.id};", voided=False
    )
    found = list(rows.select_related("plan_version", "author").order_by("entry__sequence"))
    again = judged_again(establishment, [row.pk for row in found])
    opened: list[Deviation] = []
    for reading in found:
        control = reading.plan_version.plan().control(reading.control)
        if control is None or MADE not in events_of(control.limit):
            continue
        place = Place(parse_slot(reading.slot), None, reading.plan_version, control, thing=life)
        later = again[reading.pk]
        second = _second(establishment, place, reading, State(later[-1].state if later else reading.state))
        opened += _keep(establishment, by, birth, second)
    return opened


def _second(establishment: Establishment, place: Place, reading: Reading, before: State) -> Second:
    with timezone.override(zone_of(establishment)):
        parts = judging.kept_parts(reading)
        judgement = judge_in(place, None, reading.observed_at, parts, [], kept=True)
        said = " ".join(str(render(s)) for s in (judgement.sentence, *judgement.warnings))
    return Second(reading, place, before, judgement, said)


def _keep(establishment: Establishment, by: Person, birth: Thing, second: Second) -> list[Deviation]:
    row = RejudgedByBirth(
        reading=second.reading,
        birth=birth,
        state_before=str(second.before),
        state=str(second.judgement.state),
        sentence=second.sentence,
        sentence_text=second.said,
    )
    ledger.append(kind=kinds.REJUDGED_BY_BIRTH, row=row, establishment=establishment, author=by)
    if not opens(second.place, second.judgement.state) or opens(second.place, second.before):
        return []
    found = deviation_for(
        establishment,
        by,
        second.place,
        second.reading,
        None,
        None,
        second.judgement.state,
        second.said,
    )
    return [found] if found else []
