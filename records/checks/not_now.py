"""When there is nothing to record now at a check, and where it is recorded instead."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse

from records.batches.models import Lot
from records.checks.due import SlotState, Status
from records.checks.models import Reading
from records.checks.places import Place, slot_state, state_on_day
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import clock
from safetyplan.words import name_words


@dataclass(frozen=True)
class NotNow:
    """Why a check is not recorded now: it is recorded already, waits for an event, or opens later."""

    why: str
    opens_at: datetime | None = None
    event: str = ""
    event_name: str = ""
    readings: Sequence[Reading] = ()


def state_of_slot(establishment: Establishment, place: Place, slot: str) -> SlotState | None:
    """Give where a check stands; None for a reading beyond those the plan asks for."""
    now = clock.now(establishment)
    if place.name.ordinal is None:
        return None
    if place.lot is not None or place.load is not None:
        return slot_state(establishment, place, slot, now)
    return state_on_day(establishment, slot, place.name, now)


def not_now(state: SlotState | None, place: Place) -> NotNow | None:
    """Tell whether and why a check should not be recorded under its own number now."""
    if state is None:
        return None
    if state.status == Status.RECORDED:
        return NotNow("recorded", readings=state.effective)
    if state.status == Status.BY_EXCEPTION:
        return NotNow("by_exception")
    if state.slot.waits_for and place.lot is not None:
        return NotNow("waiting", event=state.slot.waits_for, event_name=awaited_name(state, place.lot))
    if state.status == Status.LATER:
        return NotNow("later", opens_at=state.slot.opens_at)
    return None


def awaited_name(state: SlotState, lot: Lot) -> str:
    """Give the name the plan has for the event that a check of a lot waits for."""
    event = state.plan_version.plan().product(lot.product_code).event(state.slot.waits_for)
    return event.name if event else name_words(state.slot.waits_for)


def not_recorded_url(slug: str, state: SlotState) -> str:
    """Give where a check that is not recorded yet is recorded, or the event it waits for; "" when not now."""
    if state.status in (Status.DUE, Status.OVERDUE, Status.MISSING):
        return reverse("capture", args=[slug, state.slot.id])
    if state.status == Status.WAITING and state.lot is not None:
        return reverse("lot_event", args=[slug, state.lot.pk, state.slot.waits_for])
    return ""
