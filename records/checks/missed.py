"""Checks not made in their window at a critical control point: what has to be open, and when."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.checks import judging
from records.checks.due import SlotState, load_states, lot_states
from records.checks.of_load import open_for
from records.checks.slots import parse_slot
from records.deviations.models import Cause, Deviation
from records.receiving.models import MilkLoad
from records.receiving.queries import load_of
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import clock


def open_not_made(establishment: Establishment, state: SlotState) -> Deviation:
    """Open the deviation of a check that was not made in its window; the clock does it."""
    found = next((deviation for deviation in state.deviations if state.answers(deviation)), None)
    if found is not None:
        return found
    control = state.slot.control
    return open_for(
        establishment,
        state.load,
        by=None,
        cause=Cause.NOT_MADE,
        plan=state.plan_version.plan(),
        control=control,
        slot=state.slot.id,
        lot=state.lot,
        description=_("%(control)s: not recorded in its window. Control is not shown.")
        % {"control": f"{control.code} {control.name}"},
        limit_words=judging.words(control),
    )


def open_missed(establishment: Establishment, lots: Sequence[Lot]) -> list[Deviation]:
    """Open what must be open by now for some lots; give the deviations that were opened."""
    now = clock.now(establishment)
    found = lot_states(establishment, lots, now)
    missed = [s for states in found.values() for s in states if s.slot.control.is_ccp and s.settled_missing]
    return [open_not_made(establishment, state) for state in missed if not state.covered]


def open_missed_loads(establishment: Establishment, loads: Sequence[MilkLoad]) -> list[Deviation]:
    """Open what must be open by now for some loads of milk; give the deviations that were opened."""
    found = load_states(establishment, loads, clock.now(establishment))
    missed = [s for states in found.values() for s in states if s.slot.control.is_ccp and s.settled_missing]
    return [open_not_made(establishment, state) for state in missed if not state.covered]


def load_of_slot(establishment: Establishment, slot: str) -> MilkLoad | None:
    """Give the load of milk that a slot belongs to, as it stands; None for any other slot."""
    name = parse_slot(slot)
    return load_of(establishment, name.load) if name.load is not None else None
