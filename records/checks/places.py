"""Where a check belongs: its lot, plan version and control; and how a reading is judged there."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.queries import effective_events
from records.checks import judging
from records.checks.due import SlotState, day_states, facts, lot_states
from records.checks.models import Reading
from records.checks.slots import SlotName, extra_ordinal, parse_slot
from safetyplan.calculation.judgement import Judgement
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.document import Control
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.queries import in_force


@dataclass(frozen=True)
class Place:
    """Where a slot belongs: its lot, plan version and control."""

    name: SlotName
    lot: Lot | None
    version: PlanApproved
    control: Control


def find_place(establishment: Establishment, slot: str, at: datetime) -> Place:
    """Find the lot, plan version and control of a slot."""
    try:
        name = parse_slot(slot)
    except ValueError as error:
        raise BadInput(_("This check is not known."), part="slot") from error
    lot: Lot | None = None
    if name.lot is not None:
        lot = Lot.objects.of(establishment).select_related("plan_version").filter(pk=name.lot).first()
        version = lot.plan_version if lot else None
    else:
        version = _version_of_day(establishment, slot, name, at)
    control = version.plan().control(name.control) if version else None
    if version is None or control is None or control.of_lot != (lot is not None):
        raise BadInput(_("The plan does not know this check."), part="slot")
    if lot is not None and lot.product_code not in control.products:
        raise BadInput(_("The plan does not ask for this check on this product."), part="slot")
    if lot is not None and name.ordinal is not None and name.ordinal >= control.limit.points():
        raise BadInput(_("The plan does not know this check."), part="slot")
    return Place(name, lot, version, control)


def _version_of_day(
    establishment: Establishment, slot: str, name: SlotName, at: datetime
) -> PlanApproved | None:
    if name.day is None or name.ordinal is None:
        return in_force(establishment, at)
    local = ZoneTime(zone_of(establishment))
    states = day_states(establishment, name.day, local, clock.now(establishment))
    return next((state.plan_version for state in states if state.slot.id == slot), None)


def slot_state(establishment: Establishment, place: Place, slot: str, now: datetime) -> SlotState | None:
    """Give the state of a slot of a lot; None for any other slot."""
    if place.lot is None:
        return None
    found = lot_states(establishment, [place.lot], now)[place.lot.pk]
    return next((state for state in found if state.slot.id == slot), None)


def effective_readings(establishment: Establishment, lot: Lot, control: str) -> list[Reading]:
    """Give a lot's readings of a control that stand, in the order they were observed."""
    rows = latest(Reading.objects.of(establishment).filter(lot=lot, control=control, voided=False))
    return list(rows.order_by("observed_at", "entry__sequence"))


def judge_at(
    establishment: Establishment,
    place: Place,
    observed_at: datetime,
    parts: Sequence[Mapping[str, str]],
    supersedes: Reading | None,
) -> Judgement:
    """Judge the parts of a reading where it belongs: by its events, its point, and the readings before it."""
    events: dict[str, datetime] = {}
    earlier: list[Reading] = []
    lot_facts = None
    if place.lot is not None:
        lot_facts = facts(place.lot, effective_events(establishment, [place.lot.pk]))
        events = {"started": place.lot.started_at, **lot_facts.events}
        earlier = [
            r
            for r in effective_readings(establishment, place.lot, place.control.code)
            if r.observed_at < observed_at and (supersedes is None or r.pk != supersedes.pk)
        ]
    ordinal = place.name.ordinal
    if ordinal is None:
        ordinal = extra_ordinal(place.control, lot_facts, observed_at)
    return judging.judge(
        place.control.limit, ordinal, parts, observed_at=observed_at, earlier=earlier, events=events
    )
