"""A check missed on a day on which the clocks are changed: it is found once, and the tick opens it once.

The dairy lies in Dublin: 01:30 is left out on 29 March 2026 and shown twice on 25 October 2026 (IANA time
zone database, worked by hand).
"""

import json
from datetime import UTC, date, datetime, timedelta

import pytest

from records.checks.due import SlotState, Status, day_states, lot_states
from records.checks.tick import tick
from records.deviations.queries import open_deviations
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from tests.builders import PLAN_FILE, a_lot, a_reading, an_event, at, day_slot, lot_slot, plan_in_force
from tests.cast import Cast

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def plan_at(cast: Cast, moment: datetime) -> None:
    """Put a plan in force whose cold store is read at 01:30."""
    document = json.loads(PLAN_FILE.read_text())
    cold = next(c for c in document["controls"] if c["code"] == "PRP1")
    cold["monitoring"]["when"] |= {
        "times": ["01:30"],
        "window_before_minutes": 60,
        "window_after_minutes": 30,
    }
    with at(cast.dairy, moment):
        plan_in_force(cast, document)


def cold_store(cast: Cast, day: date, now: datetime) -> list[SlotState]:
    """Give how the checks of the cold store stand on a day."""
    states = day_states(cast.dairy, day, ZoneTime(zone_of(cast.dairy)), now)
    return [state for state in states if state.slot.control.code == "PRP1"]


# in March 01:30 is as long past 01:00 as it would have been: 02:30 in summer time, 01:30 UTC
DAYS = [
    (date(2026, 3, 29), datetime(2026, 3, 29, 1, 30, tzinfo=UTC)),
    (date(2026, 10, 25), datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
]


@pytest.mark.parametrize(("day", "due"), DAYS)
def test_a_check_not_made_is_missing_once_on_a_day_of_23_or_25_hours(
    cast: Cast, day: date, due: datetime
) -> None:
    plan_at(cast, due - 48 * HOUR)

    found = cold_store(cast, day, due + HOUR)

    assert [(state.slot.due_at, state.status) for state in found] == [(due, Status.MISSING)]


@pytest.mark.parametrize(("day", "due"), DAYS)
def test_and_a_check_made_then_is_recorded_once(cast: Cast, day: date, due: datetime) -> None:
    plan_at(cast, due - 48 * HOUR)
    with at(cast.dairy, due):
        a_reading(
            cast, day_slot(datetime(day.year, day.month, day.day, tzinfo=UTC), "PRP1"), due, temperature="3"
        )

    assert [state.status for state in cold_store(cast, day, due + HOUR)] == [Status.RECORDED]


@pytest.mark.parametrize("day", [date(2026, 3, 28), date(2026, 10, 24)])
def test_a_critical_check_24_h_after_an_event_is_due_24_h_later_and_opened_once(
    cast: Cast, day: date
) -> None:
    evening = datetime(day.year, day.month, day.day, 18, tzinfo=UTC)
    plan_at(cast, evening - 48 * HOUR)
    with at(cast.dairy, evening):
        lot = a_lot(cast, started=evening)
        an_event(cast, lot, "starter_added", evening)
    due = evening + 24 * HOUR
    acid = lot_slot(lot, "CCP2")

    states = [s for s in lot_states(cast.dairy, [lot], due + HOUR)[lot.pk] if s.slot.id == acid]
    opened = []
    for moment in (due, due + HOUR, due + HOUR, due + 2 * HOUR):
        with at(cast.dairy, moment):
            opened.append([deviation.slot for deviation in tick(cast.dairy)].count(acid))

    assert [(state.slot.due_at, state.status) for state in states] == [(due, Status.MISSING)]
    assert opened == [0, 1, 0, 0]
    assert [d.slot for d in open_deviations(cast.dairy)].count(acid) == 1
