"""What opens the work is asked for before a lot is started: on Today, when it is recorded, on the sheet."""

from datetime import timedelta

import pytest

from records.checks.due import Status
from records.signoff.queries import DaySheet, day_sheet
from records.signoff.services import note_no_production
from records.today import queries
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from tests.builders import T0, a_lot, a_reading, at, day_slot, hours, plan_in_force
from tests.cast import Cast

DAY = T0.date()
OPENING = day_slot(T0, "PRP3")  # the sanitiser of the demonstration: days of production, 06:30, until 10:30


@pytest.fixture(autouse=True)
def planned(cast: Cast) -> None:
    """Bring the plan of the demonstration into force the day before."""
    with at(cast.dairy, T0 - timedelta(days=1)):
        plan_in_force(cast)


def sheet(cast: Cast) -> DaySheet:
    """Compose the sheet of the day as things stand now."""
    return day_sheet(cast.dairy, DAY, ZoneTime(zone_of(cast.dairy)), clock.now(cast.dairy))


def on_sheet(cast: Cast) -> list[Status]:
    """Tell where the opening check stands on the sheet; nothing where it is not asked for."""
    return [state.status for state in sheet(cast).states if state.slot.id == OPENING]


def on_today(cast: Cast) -> bool:
    """Tell whether Today asks for the opening check now."""
    found = queries.today(cast.dairy, ZoneTime(zone_of(cast.dairy)), clock.now(cast.dairy))
    return OPENING in [state.slot.id for state in found.checks_now]


def test_the_opening_check_is_due_before_the_first_lot_and_can_be_recorded(cast: Cast) -> None:
    with at(cast.dairy, hours(1)):
        assert (on_today(cast), on_sheet(cast)) == (True, [Status.OVERDUE])
        a_reading(cast, OPENING, hours(1), strength="150")
        assert (on_today(cast), on_sheet(cast)) == (False, [Status.RECORDED])


def test_a_day_on_which_no_lot_follows_misses_no_opening_check(cast: Cast) -> None:
    with at(cast.dairy, hours(3)):
        assert (on_today(cast), on_sheet(cast)) == (False, [])


def test_an_opening_check_that_was_recorded_stays_on_the_sheet_when_no_lot_follows(cast: Cast) -> None:
    with at(cast.dairy, hours(1)):
        a_reading(cast, OPENING, hours(1), strength="150")
    with at(cast.dairy, hours(30)):
        assert on_sheet(cast) == [Status.RECORDED]


def test_a_lot_that_is_started_after_its_window_shows_that_the_opening_check_is_missing(cast: Cast) -> None:
    with at(cast.dairy, hours(3)):
        a_lot(cast, started=hours(3))
        assert on_sheet(cast) == [Status.MISSING]


def test_a_day_noted_as_without_a_make_asks_for_no_opening_check(cast: Cast) -> None:
    with at(cast.dairy, hours(1)):
        note_no_production(establishment=cast.dairy, by=cast.maker, day=DAY, why="Market day")
        assert (on_today(cast), on_sheet(cast)) == (False, [])
        assert any(state.slot.control.code == "PRP1" for state in sheet(cast).states)
