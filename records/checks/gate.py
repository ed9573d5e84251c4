"""The gate before an event of a lot: no starter while a result that the plan asks for is open or not within.

What happened is recorded all the same; a deviation is opened with it, and the lot is held.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.batches.queries import effective_events, version_of
from records.checks import judging
from records.checks.due import GOOD, SlotState, load_states, lot_states
from records.checks.of_load import extend
from records.checks.slots import load_slot_id
from records.deviations.models import Cause, Deviation
from records.deviations.queries import open_for_control
from records.deviations.services import open_deviation
from records.receiving.models import MilkLoad
from records.receiving.queries import loads_by_identity, milk_of_lots
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import clock
from safetyplan.plans.document import Control, Plan
from safetyplan.plans.models import PlanApproved


@dataclass(frozen=True)
class Hindrance:
    """One result that is missing or not within before an event of a lot: of the lot, of a load, or no load.

    state: None where nothing says which milk went into the lot.
    """

    control: Control
    version: PlanApproved
    words: str
    state: SlotState | None = None

    @property
    def slot(self) -> str:
        """Give the slot of the check; none where no load is named."""
        return self.state.slot.id if self.state else ""


def hindrances(
    establishment: Establishment, lot: Lot, event: str, at: datetime | None = None
) -> list[Hindrance]:
    """Give what stands in the way of an event of a lot at an instant (now, when none is given)."""
    moment = at or clock.now(establishment)
    version = version_of(establishment, lot)
    found = [
        _hindrance(state, moment)
        for state in lot_states(establishment, [lot], moment)[lot.pk]
        if state.slot.control.before_event == event and not _shown(state, moment)
    ]
    named = milk_of_lots(establishment, [lot.pk])[lot.pk]
    loads = loads_by_identity(establishment, [row.load_id for row in named])
    if not loads:
        return found + _no_load(version, lot, event)
    for states in load_states(establishment, list(loads.values()), moment).values():
        found += [
            _hindrance(state, moment)
            for state in states
            if _gates(state.slot.control, lot, event) and not _shown(state, moment)
        ]
    return found


def gates_of(plan: Plan, lot: Lot, event: str) -> list[Control]:
    """Give the controls of loads that must show control before an event of a lot."""
    return [control for control in plan.controls if control.of_load and _gates(control, lot, event)]


def _gates(control: Control, lot: Lot, event: str) -> bool:
    """Tell whether a check of a load comes before an event; without products it holds for all."""
    return control.before_event == event and (not control.products or lot.product_code in control.products)


def _shown(state: SlotState, at: datetime) -> bool:
    """Tell whether the results observed by an instant show control; a later result does not count back."""
    if state.result is not None and state.result not in GOOD:
        return False
    return any(reading.observed_at <= at for reading in state.answering)


def _hindrance(state: SlotState, at: datetime) -> Hindrance:
    control = state.slot.control
    told = {"check": f"{control.code} {control.name}"}
    if state.load is not None:
        told["load"] = state.load.code
        pending = _("%(check)s of load %(load)s: the result is not there yet.")
        bad = _("%(check)s of load %(load)s: the result does not show control. %(said)s")
    else:
        pending = _("%(check)s: the result is not there yet.")
        bad = _("%(check)s: the result does not show control. %(said)s")
    if not any(reading.observed_at <= at for reading in state.answering):
        return Hindrance(control, state.plan_version, pending % told, state)
    said = state.answering[-1].sentence_text
    return Hindrance(control, state.plan_version, bad % {**told, "said": said}, state)


def _no_load(version: PlanApproved, lot: Lot, event: str) -> list[Hindrance]:
    words = _("%(check)s: nothing says which load the milk of this lot came from.")
    return [
        Hindrance(control, version, words % {"check": f"{control.code} {control.name}"})
        for control in gates_of(version.plan(), lot, event)
    ]


def open_at_gate(
    establishment: Establishment, by: Person, lot: Lot, event: LotEvent, found: Sequence[Hindrance]
) -> list[Deviation]:
    """Open a deviation for each result that was missing when an event happened; the lot is held.

    Where a deviation of the load is open already, the lot comes under that one.
    """
    opened = []
    for one in found:
        told = {"event": event.event_name, "what": one.words}
        said = _("%(event)s was done before control was shown. %(what)s") % told
        if one.state is not None and one.state.load is not None:
            present, added = extend(establishment, by, one.slot, lot, said)
        else:
            present, added = open_for_control(establishment, lot, one.control.code), False
        if present is None:
            present, added = _open(establishment, by, lot, one, event, said), True
        opened += [present] if added else []
    return opened


def _open(
    establishment: Establishment, by: Person, lot: Lot, one: Hindrance, event: LotEvent, said: str
) -> Deviation:
    return open_deviation(
        establishment=establishment,
        by=by,
        cause=Cause.NOT_SHOWN,
        plan=one.version.plan(),
        control=one.control,
        slot=one.slot,
        lot=lot,
        hold_required=True,
        event=event,
        description=said,
        limit_words=judging.words(one.control),
    )


def open_for_milk(
    establishment: Establishment, by: Person, lot: Lot, loads: Sequence[MilkLoad]
) -> list[Deviation]:
    """Open what has to be open once milk of some loads is in a lot: bad results, gates already passed."""
    now, opened = clock.now(establishment), []
    for states in load_states(establishment, list(loads), now).values():
        for state in states:
            bad = state.result is not None and state.result not in GOOD
            missed = any(state.answers(deviation) for deviation in state.deviations)
            if (bad or missed) and state.slot.control.rank != "prp":
                opened += _of_milk(establishment, by, lot, state)
    for load in loads:
        receipt = load_slot_id(load.identity, "", 0)
        present, added = extend(establishment, by, receipt, lot, _milk_into(load.code))
        opened += [present] if present is not None and added else []
    for event in effective_events(establishment, [lot.pk]):
        late = hindrances(establishment, lot, event.event, event.observed_at)
        opened += open_at_gate(establishment, by, lot, event, late)
    return opened


def _milk_into(code: str) -> str:
    return _("Milk of load %(code)s went into it.") % {"code": code}


def _of_milk(establishment: Establishment, by: Person, lot: Lot, state: SlotState) -> list[Deviation]:
    """Bring a lot under the deviation of a bad result of its milk; where none is open, open one."""
    assert state.load is not None
    for slot in {state.slot.id, *(deviation.slot for deviation in state.deviations)}:
        present, added = extend(establishment, by, slot, lot, _milk_into(state.load.code))
        if present is not None:
            return [present] if added else []
    return [_milk_deviation(establishment, by, lot, state)]


def _milk_deviation(establishment: Establishment, by: Person, lot: Lot, state: SlotState) -> Deviation:
    assert state.load is not None
    control = state.slot.control
    said = state.answering[-1].sentence_text if state.answering else _("It was not made in its window.")
    told = {"load": state.load.code, "check": f"{control.code} {control.name}", "said": said}
    return open_deviation(
        establishment=establishment,
        by=by,
        cause=Cause.OUTSIDE_LIMIT if state.answering else Cause.NOT_MADE,
        plan=state.plan_version.plan(),
        control=control,
        slot=state.slot.id,
        lot=lot,
        hold_required=True,
        reading_id=state.answering[-1].pk if state.answering else None,
        description=_("Milk of load %(load)s went into this lot. %(check)s: %(said)s") % told,
        limit_words=judging.words(control),
    )
