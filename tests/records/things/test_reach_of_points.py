"""A shared thing that is measured at several points: control at one of them shows nothing of another."""

import pytest

from records.batches.models import Lot
from records.checks.slots import thing_slot_id
from records.checks.thing_records import use_thing
from records.deviations.models import Deviation
from records.deviations.queries import states
from records.things.queries import Life
from records.things.using import UseContent
from tests.builders import T0, a_lot, a_reading, at, hours
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve
from tests.records.things.plan import WARMTH, daily, with_things
from tests.records.things.stage import a_thing

Room = tuple[Cast, Life, list[Lot]]
LEFT, RIGHT, LEFT_LATER, RIGHT_LATER = range(4)


def asked(cast: Cast, *points: str, day: int = 10, hour: int = 7) -> None:
    """Put a plan in force that asks for the warmth of each room at some points, twice a day."""
    plan = with_things()
    plan["controls"].append(daily("RM1", WARMTH, each="room", points=points, times=("08:00", "12:00")))
    approve(cast, plan, T0.replace(day=day, hour=hour))


@pytest.fixture
def room(db: None) -> Room:
    """Tell of a room with two points, and of three lots that are not in it yet."""
    cast = make_cast()
    asked(cast, "Left", "Right")
    with at(cast.dairy, hours(-1)):
        life = a_thing(cast, kind="room", code="R1", begun=hours(-1))
        lots = [a_lot(cast, code, started=hours(-1)) for code in ("L-1", "L-2", "L-3")]
    return cast, life, lots


def read(room: Room, point: int | str, hour: float, temperature: str) -> None:
    """Read one point, by its ordinal on the day."""
    cast, life, _lots = room
    with at(cast.dairy, hours(hour)):
        slot = thing_slot_id(life.id, "RM1", T0.date(), point)
        a_reading(cast, slot, hours(hour), temperature=temperature)


def put_in(room: Room, number: int, start: float, end: float | None = None) -> None:
    """Put a lot into the room."""
    cast, life, lots = room
    with at(cast.dairy, hours(end if end is not None else start)):
        content = UseContent(
            hours(start), hours(end) if end is not None else None, late_reason="In the evening"
        )
        use_thing(establishment=cast.dairy, by=cast.maker, life=life, lots=[lots[number]], content=content)


def concerned(room: Room) -> list[str]:
    """Give the codes of the lots in the deviations of the room."""
    found = states(room[0].dairy, Deviation.objects.of(room[0].dairy).filter(control="RM1"))
    return sorted({one.lot.code for state in found for one in state.affected if one.lot})


def test_a_good_reading_at_another_point_does_not_end_the_doubt(room: Room) -> None:
    put_in(room, 0, -0.5)
    read(room, LEFT, 0, "19")
    read(room, RIGHT, 0.05, "9")
    put_in(room, 1, 1)

    assert concerned(room) == ["L-1", "L-2"]


def test_a_good_reading_at_the_same_point_ends_it(room: Room) -> None:
    put_in(room, 0, -0.5)
    read(room, LEFT, 0, "19")
    read(room, LEFT_LATER, 4, "9")
    put_in(room, 1, 4.5)

    assert concerned(room) == ["L-1"]


def test_a_good_reading_at_another_point_does_not_begin_it(room: Room) -> None:
    put_in(room, 0, -0.9, -0.6)
    read(room, RIGHT, 0, "9")
    read(room, LEFT, 0.05, "19")

    assert concerned(room) == ["L-1"]


def test_a_good_reading_at_the_same_point_begins_it(room: Room) -> None:
    read(room, LEFT, 0, "9")
    put_in(room, 0, -0.9, -0.6)
    read(room, LEFT_LATER, 4, "19")

    assert concerned(room) == []


def test_one_that_names_no_point_is_doubted_until_every_point_is_good(room: Room) -> None:
    read(room, "extra", 0, "19")
    read(room, LEFT_LATER, 4, "9")
    put_in(room, 0, 4.5)
    read(room, RIGHT_LATER, 5, "9")
    put_in(room, 1, 5.5)

    assert concerned(room) == ["L-1"]


def test_one_that_names_no_point_reaches_as_far_back_as_the_point_that_was_not_read(room: Room) -> None:
    read(room, LEFT, 0, "9")
    put_in(room, 0, -0.9, -0.6)
    read(room, "extra", 1, "19")

    assert concerned(room) == ["L-1"]
    assert Deviation.objects.of(room[0].dairy).filter(control="RM1").count() == 1


def test_what_took_the_place_of_a_point_is_good_since_that_one_was(room: Room) -> None:
    put_in(room, 0, -0.9, -0.6)
    read(room, LEFT, 0, "9")
    read(room, RIGHT, 0.05, "9")
    asked(room[0], "Middle", "Right", day=14, hour=9)
    put_in(room, 1, 2.5, 3)
    read(room, 7, 3.5, "9")
    read(room, 6, 4, "19")

    assert concerned(room) == ["L-2"]


def test_a_point_that_a_plan_adds_is_not_shown_by_the_others_before_it(room: Room) -> None:
    read(room, LEFT, 0, "9")
    asked(room[0], "Left", "Middle", "Right", day=14, hour=9)
    put_in(room, 0, -0.9, -0.6)
    read(room, 10, 4, "19")  # ordinals begin at 6, after the four of the plan before

    assert concerned(room) == ["L-1"]


def test_a_good_one_that_names_no_point_ends_nothing(room: Room) -> None:
    read(room, LEFT, 0, "19")
    read(room, "extra", 1, "9")
    put_in(room, 0, 2)

    assert concerned(room) == ["L-1"]


def test_what_a_later_plan_asks_instead_of_a_point_ends_the_doubt_of_that_point(room: Room) -> None:
    read(room, LEFT, 0, "19")
    asked(room[0], "Middle", "Right", day=14, hour=9)
    put_in(room, 0, 2.5)
    read(room, 6, 4, "9")  # the first two of the new plan were due before it was in force
    put_in(room, 1, 4.5)

    assert concerned(room) == ["L-1"]
