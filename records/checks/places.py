"""Where a check belongs: its lot, plan version and control; and how a reading is judged there."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.queries import effective_events, version_of, versions_followed
from records.checks import judging
from records.checks.due import SlotState, day_states, facts, load_states, lot_states, thing_states
from records.checks.models import Reading
from records.checks.slots import LotFacts, SlotName, extra_ordinal, parse_slot, point_name, slot_id
from records.receiving.models import MilkLoad
from records.receiving.queries import load_of
from records.things.queries import Life, life_of
from safetyplan.calculation.judgement import Judgement
from safetyplan.calculation.limits.in_order import InOrder, lot_codes
from safetyplan.calculation.limits.shape import nested
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.document import STARTED, Control
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.queries import in_force

RECEIVED, MILKED = "received", "milked"


@dataclass(frozen=True)
class Place:
    """Where a slot belongs: its lot, load of milk or shared thing, plan version and control."""

    name: SlotName
    lot: Lot | None
    version: PlanApproved
    control: Control
    load: MilkLoad | None = None
    thing: Life | None = None


def find_place(establishment: Establishment, slot: str, at: datetime) -> Place:
    """Find the lot, load or shared thing, plan version and control of a slot."""
    try:
        name = parse_slot(slot)
    except ValueError as error:
        raise BadInput(_("This check is not known."), part="slot") from error
    lot: Lot | None = None
    load: MilkLoad | None = None
    if name.lot is not None:
        lot = Lot.objects.of(establishment).select_related("plan_version").filter(pk=name.lot).first()
        version = version_of(establishment, lot) if lot else None
    elif name.load is not None:
        load = load_of(establishment, name.load)
        version = in_force(establishment, load.received_at) if load and not load.voided else None
    else:
        version = _version_of_day(establishment, slot, name, at)
    thing = life_of(establishment, name.thing) if name.thing is not None else None
    control = version.plan().control(name.control) if version else None
    if version is None or control is None or not _belongs(control, name, thing):
        raise BadInput(_("The plan does not know this check."), part="slot")
    if lot is not None and lot.product_code not in control.products:
        raise BadInput(_("The plan does not ask for this check on this product."), part="slot")
    if name.day is None and name.ordinal is not None and name.ordinal >= control.limit.points():
        raise BadInput(_("The plan does not know this check."), part="slot")
    if name.point is not None and name.point >= len(control.points):
        raise BadInput(_("The plan does not know this point of the check."), part="slot")
    return Place(name, lot, version, control, load, thing)


def _belongs(control: Control, name: SlotName, thing: Life | None = None) -> bool:
    """Tell whether a control is checked on what a slot names."""
    if control.of_thing or name.thing is not None:
        return thing is not None and control.of_thing and control.when.each == thing.kind
    return control.of_lot == (name.lot is not None) and control.of_load == (name.load is not None)


def asks_for(version: PlanApproved, name: SlotName, lot: Lot | None) -> Control | None:
    """Give the control by which a plan version asks for a check; None where it does not ask for it."""
    control = version.plan().control(name.control)
    if control is None or not _belongs(control, name):
        return None
    if lot is not None and lot.product_code not in control.products:
        return None
    free = name.ordinal is None or name.day is not None
    return control if free or int(name.ordinal or 0) < control.limit.points() else None


def place_of(establishment: Establishment, reading: Reading) -> Place:
    """Find where a recorded reading belongs: by the version its lot follows, while that asks for the check.

    What a later version does not ask for any more stays with the version it was recorded under.
    """
    name, lot = parse_slot(reading.slot), reading.lot
    if lot is not None:
        for version in versions_followed(establishment, lot):
            control = asks_for(version, name, lot)
            if control is not None:
                return Place(name, lot, version, control)
    load = load_of(establishment, name.load) if name.load else None
    if load is not None:
        asking = in_force(establishment, load.received_at)
        control = asks_for(asking, name, None) if asking else None
        if asking is not None and control is not None:
            return Place(name, None, asking, control, load)
    kept = reading.plan_version.plan().control(reading.control)
    assert kept is not None
    thing = life_of(establishment, name.thing) if name.thing is not None else None
    return Place(name, lot, reading.plan_version, kept, load, thing)


def controls_of(establishment: Establishment, readings: Sequence[Reading]) -> dict[UUID, Control | None]:
    """Give the control of each reading as its own plan version has it, in one query."""
    versions = PlanApproved.objects.of(establishment).filter(pk__in={r.plan_version_id for r in readings})
    plans = {version.pk: version.plan() for version in versions}
    return {row.pk: plans[row.plan_version_id].control(row.control) for row in readings}


def points_of(establishment: Establishment, readings: Sequence[Reading]) -> dict[UUID, str]:
    """Name the point at which each reading was taken, as its own plan version has it; "" without points."""
    controls = controls_of(establishment, readings)
    return {row.pk: point_at(row, controls[row.pk]) for row in readings}


def point_at(reading: Reading, control: Control | None) -> str:
    """Name the point at which a reading was taken, by its control; "" without points."""
    return point_name(parse_slot(reading.slot), control) if control is not None else ""


def further_slot(establishment: Establishment, name: SlotName, point: str) -> str:
    """Give the slot of a reading beyond those the plan asks for, of the same thing at the same point.

    "" where the plan in force has the point no more.
    """
    further = replace(name, ordinal=None, point=None)
    if not point:
        return slot_id(further)
    version = in_force(establishment, clock.now(establishment))
    control = version.plan().control(name.control) if version else None
    if control is None or point not in control.points:
        return ""
    return slot_id(replace(further, point=control.points.index(point)))


def measured_again(establishment: Establishment, reading: Reading) -> str:
    """Give the slot at which the same is measured again today; "" where the plan has its point no more."""
    name = parse_slot(reading.slot)
    if name.day is not None:
        name = replace(name, day=clock.now(establishment).astimezone(zone_of(establishment)).date())
    return further_slot(establishment, name, points_of(establishment, [reading])[reading.pk])


def _version_of_day(
    establishment: Establishment, slot: str, name: SlotName, at: datetime
) -> PlanApproved | None:
    if name.day is None or name.ordinal is None:
        return in_force(establishment, at)
    state = state_on_day(establishment, slot, name, clock.now(establishment))
    return state.plan_version if state else None


def states_on_day(establishment: Establishment, name: SlotName, now: datetime) -> list[SlotState]:
    """Give the checks of the day of a slot: those of the establishment, or of its shared things."""
    assert name.day is not None
    find = day_states if name.thing is None else thing_states
    return find(establishment, name.day, ZoneTime(zone_of(establishment)), now)


def state_on_day(establishment: Establishment, slot: str, name: SlotName, now: datetime) -> SlotState | None:
    """Give the state of a slot of a day, or of a shared thing on a day; None where it is not due."""
    found = states_on_day(establishment, name, now)
    return next((state for state in found if state.slot.id == slot), None)


def slot_state(establishment: Establishment, place: Place, slot: str, now: datetime) -> SlotState | None:
    """Give the state of a slot of a lot or of a load of milk; None for any other slot."""
    found: list[SlotState] = []
    if place.lot is not None:
        found = lot_states(establishment, [place.lot], now)[place.lot.pk]
    elif place.load is not None:
        found = load_states(establishment, [place.load], now)[place.load.identity]
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
    earlier: list[Reading] = []
    known = None
    if place.lot is not None:
        known = facts(place.lot, effective_events(establishment, [place.lot.pk]))
        earlier = [
            r
            for r in effective_readings(establishment, place.lot, place.control.code)
            if r.observed_at < observed_at and (supersedes is None or r.pk != supersedes.pk)
        ]
    return judge_in(place, known, observed_at, parts, earlier)


def lots_made(place: Place, parts: Sequence[Mapping[str, str]]) -> dict[str, datetime]:
    """Give when the lots were started whose codes a reading names, where the limit asks for their order."""
    asked = {one.part for one in nested(place.control.limit) if isinstance(one, InOrder)}
    codes = {code for part in parts if part["name"] in asked for code in lot_codes(part["value"])}
    if not codes:
        return {}
    rows = Lot.objects.of(place.version.establishment).filter(code__in=codes)
    return dict(rows.values_list("code", "started_at"))


def load_events(load: MilkLoad) -> dict[str, datetime]:
    """Give the instants from which limits of a load count: its receipt, and its oldest milking."""
    return {RECEIVED: load.received_at, MILKED: load.milked_at}


def judge_in(
    place: Place,
    known: LotFacts | None,
    observed_at: datetime,
    parts: Sequence[Mapping[str, str]],
    earlier: Sequence[Reading],
    *,
    kept: bool = False,
) -> Judgement:
    """Judge the parts of a reading by what is known of its lot and the readings before it."""
    events = {} if known is None else {STARTED: known.started_at, **known.events}
    if place.load is not None:
        events = load_events(place.load)
    if place.thing is not None:
        events = place.thing.events
    events |= lots_made(place, parts)
    ordinal = place.name.ordinal
    if ordinal is None:
        ordinal = extra_ordinal(place.control, known, observed_at)
    return judging.judge(
        place.control.limit,
        ordinal,
        parts,
        observed_at=observed_at,
        earlier=earlier,
        events=events,
        kept=kept,
    )
