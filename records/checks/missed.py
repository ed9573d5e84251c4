"""Checks not made in their window at a critical control point: what has to be open, and when."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.checks import judging
from records.checks.due import SlotState, lot_states
from records.deviations.models import Cause, Deviation
from records.deviations.services import open_deviation
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import clock


def open_not_made(establishment: Establishment, state: SlotState) -> Deviation:
    """Open the deviation of a check that was not made in its window; the clock does it."""
    found = next((deviation for deviation in state.deviations if state.answers(deviation)), None)
    if found is not None:
        return found
    control = state.slot.control
    return open_deviation(
        establishment=establishment,
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
