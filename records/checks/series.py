"""A series: the points of one check at one time, gone round one after the other."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest

from records.checks import page_data
from records.checks.due import SlotState, Status
from records.checks.places import Place, states_on_day
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import clock

OPEN = (Status.DUE, Status.OVERDUE, Status.MISSING)


@dataclass(frozen=True)
class Series:
    """The points of a check at one time of a day, in the order of the plan."""

    states: Sequence[SlotState]

    @property
    def to_do(self) -> list[SlotState]:
        """Give the points that are still to be measured and can be measured now."""
        return [state for state in self.states if state.status in OPEN]


def series_key(state: SlotState) -> tuple[str, str, str, datetime | None] | None:
    """Tell which series a check belongs to; None when it is measured at one point only."""
    slot = state.slot
    if len(slot.control.points) < 2 or slot.day is None:
        return None
    return slot.control.code, slot.day.isoformat(), str(slot.thing or ""), slot.due_at


def series_of(establishment: Establishment, place: Place, slot: str) -> Series | None:
    """Give the series a check belongs to; None when there is none."""
    if place.name.day is None or len(place.control.points) < 2:
        return None
    states = states_on_day(establishment, place.name, clock.now(establishment))
    own = next((state for state in states if state.slot.id == slot), None)
    if own is None:
        return None
    return Series([state for state in states if series_key(state) == series_key(own)])


def series_data(
    request: HttpRequest, establishment: Establishment, place: Place, series: Series
) -> page_data.Data:
    """Give the data block of a series: that of its first check, and each point with its own check."""
    first = series.to_do[0]
    data = page_data.reading_data(request, establishment, place, first.slot.id)
    points = [
        {
            "slot": state.slot.id,
            "point": state.slot.point,
            "table": state.slot.control.limit.judging_table(state.slot.ordinal, {}),
            "state": None if state in series.to_do else str(state.result or "explained"),
        }
        for state in series.states
    ]
    return {**data, "series": points}
