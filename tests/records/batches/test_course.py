"""The course of a make: what comes next, what may come again, and instants that no clock change moves."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.batches.course import Course, Happened, course
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.plans.document import STARTED, Event

BEGIN = datetime(2026, 5, 14, 6, 0, tzinfo=UTC)
PLAN = (
    Event("starter", "Starter added", 8, (), after_event=STARTED, after_minutes=30),
    Event("rennet", "Rennet added", 8, (), after_event="starter", after_minutes=45),
    Event("cut", "Cut", 8, (), after_event="rennet", after_minutes=40),
    Event("stirred", "Stirred", 8, (), repeats=True, every_minutes=15),
    Event("turned", "Turned", 48, (), repeats=True),
    Event("packed", "Packed", 96, ()),
)


def after(minutes: float) -> datetime:
    """Give an instant some minutes after the beginning."""
    return BEGIN + timedelta(minutes=minutes)


def at(*happened: tuple[str, float]) -> Course:
    """Give the course when some events happened, each some minutes after the beginning."""
    return course(PLAN, BEGIN, [Happened(event, after(minutes)) for event, minutes in happened])


def test_the_first_event_comes_first_so_long_after_the_start_as_the_plan_says() -> None:
    found = at()

    assert found.next is not None
    assert (found.next.event.code, found.next.usual_at) == ("starter", after(30))
    assert [coming.event.code for coming in found.later] == ["rennet", "cut", "stirred", "turned", "packed"]


def test_a_timer_counts_from_when_the_event_happened_not_from_when_it_was_usual() -> None:
    found = at(("starter", 50))

    assert found.next is not None
    assert (found.next.event.code, found.next.usual_at) == ("rennet", after(95))


def test_where_an_event_was_recorded_twice_the_first_counts() -> None:
    found = at(("starter", 50), ("starter", 60))

    assert found.next is not None
    assert found.next.usual_at == after(95)


def test_what_was_passed_over_is_not_forgotten_and_the_make_goes_on() -> None:
    found = at(("starter", 30), ("cut", 120))

    assert [coming.event.code for coming in found.earlier] == ["rennet"]
    assert found.next is not None
    assert found.next.event.code == "stirred"


def test_what_repeats_counts_from_the_last_time_and_moves_nothing_on() -> None:
    found = at(("starter", 30), ("stirred", 100), ("stirred", 112))

    assert found.next is not None
    assert found.next.event.code == "rennet"
    [again] = found.repeating
    assert (again.times, again.usual_at) == ((after(100), after(112)), after(127))


def test_without_a_usual_pause_what_repeats_has_no_timer_and_stands_last() -> None:
    found = at(("turned", 200), ("stirred", 210))

    assert [(coming.event.code, coming.usual_at) for coming in found.repeating] == [
        ("stirred", after(225)),
        ("turned", None),
    ]


def test_when_everything_happened_nothing_comes_next() -> None:
    found = at(*((event.code, 10 * number) for number, event in enumerate(PLAN)))

    assert found.next is None
    assert (found.earlier, found.later) == ((), ())


ZONES = ("Europe/Dublin", "Australia/Lord_Howe", "America/St_Johns", "Pacific/Apia", "UTC")


@given(
    zone=st.sampled_from(ZONES),
    begun=st.integers(0, 2 * 365 * 24 * 60),
    minutes=st.integers(0, 3 * 24 * 60),
)
def test_a_timer_runs_as_long_as_the_plan_says_whatever_the_clock_on_the_wall_does(
    zone: str, begun: int, minutes: int
) -> None:
    begin = after(begun)
    planned = (
        Event("starter", "Starter", 8, ()),
        Event("drained", "Drained", 80, (), after_event="starter", after_minutes=minutes),
    )

    found = course(planned, begin, [Happened("starter", begin.astimezone(ZoneInfo(zone)))])

    assert found.next is not None
    assert found.next.usual_at is not None
    assert (found.next.usual_at.astimezone(UTC) - begin) == timedelta(minutes=minutes)


@pytest.mark.parametrize(
    ("begin", "minutes", "shown"),
    [
        # Directive 2000/84/EC: clocks go forward on the last Sunday of March at 01:00 UTC, back in October
        (datetime(2026, 3, 29, 0, 30, tzinfo=UTC), 60, "02:30"),
        (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), 60, "01:30"),
        (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), 90, "02:00"),
        (datetime(2026, 10, 24, 19, 0, tzinfo=UTC), 24 * 60, "19:00"),
    ],
)
def test_the_time_on_the_wall_of_a_timer_is_right_in_the_nights_the_clocks_change(
    begin: datetime, minutes: int, shown: str
) -> None:
    planned = (Event("drained", "Drained", 80, (), after_event=STARTED, after_minutes=minutes),)

    found = course(planned, begin, [])

    assert found.next is not None
    assert found.next.usual_at is not None
    local = ZoneTime(ZoneInfo("Europe/Dublin")).local(found.next.usual_at)
    assert f"{local:%H:%M}" == shown
