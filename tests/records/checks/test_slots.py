"""Due checks: each due instant exists once, absence is found, nothing is due twice; on any day, in any zone.

What is expected comes from walking the clock of the place minute by minute, never from the code itself. The
zones: two with the usual hour, one with half an hour (Lord Howe), one that changes at midnight (Azores), one
that has left out a whole day (Apia, 30 December 2011).
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from functools import cache
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from records.checks.due import SlotState, Status
from records.checks.slots import (
    LoadFacts,
    LotFacts,
    Slot,
    ThingFacts,
    day_slots,
    load_slots,
    lot_slots,
    parse_slot,
    slot_id,
    slot_order,
    thing_slots,
)
from safetyplan.establishments.localtime import ZoneTime, freeze
from safetyplan.plans.parts import STARTED, Control, Plan, When
from tests.records.checks.slot_plans import (
    BARE,
    EVENTS,
    EXPECTED,
    KINDS_OF_THING,
    PRODUCT,
    controls,
    days,
    lengths,
    plan_of,
    zones,
)

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
FEW = settings(max_examples=60, deadline=None)


@cache
def walked(zone: str, day: date) -> dict[tuple[date, str], datetime]:
    """Walk the clocks of a place through three days: the first instant at which each minute is shown."""
    begin = datetime(day.year, day.month, day.day, tzinfo=UTC) - 40 * HOUR
    shown: dict[tuple[date, str], datetime] = {}
    for minute in range(96 * 60):
        at = begin + minute * MINUTE
        local = at.astimezone(ZoneInfo(zone))
        shown.setdefault((local.date(), local.strftime("%H:%M")), at)
    return shown


def due_at(zone: str, day: date, clock_time: str) -> datetime | None:
    """Find when a check of a day is due: the first time shown, or past the minutes left out.

    Minutes left out are counted on from the last one shown before them. None on a day that never was.
    """
    shown = walked(zone, day)
    if not any(there == day for there, _time in shown):
        return None
    named = datetime.fromisoformat(f"{day.isoformat()} {clock_time}")
    left_out = 0
    while (named.date(), named.strftime("%H:%M")) not in shown:
        named -= MINUTE
        left_out += 1
    return shown[(named.date(), named.strftime("%H:%M"))] + left_out * MINUTE


Due = tuple[str, str, str, datetime]


def expected_of_day(zone: str, day: date, control: Control) -> Iterator[Due]:
    """Give what is due of a daily control: its code, the time as planned, the point, the instant."""
    for clock_time in control.when.times:
        at = due_at(zone, day, clock_time)
        if at is not None:
            for point in control.points or ("",):
                yield control.code, clock_time, point, at


def told(slot: Slot) -> Due:
    """Say of a slot what is compared: the time as planned is that of its place among the times."""
    assert slot.due_at is not None
    times = slot.control.when.times
    clock_time = times[slot.ordinal // (len(slot.control.points) or 1)]
    return slot.control.code, clock_time, slot.point, slot.due_at


def holds_together(slots: list[Slot]) -> None:
    """Hold every slot to its window, and its id to be its own, parsed and written back alike."""
    assert len({slot.id for slot in slots}) == len(slots)
    for slot in slots:
        name = parse_slot(slot.id)
        assert slot_id(name) == slot.id
        subject = (slot.lot, slot.load, slot.thing, slot.day, slot.control.code)
        assert (name.lot, name.load, name.thing, name.day, name.control) == subject
        number = name.ordinal
        assert number == slot.ordinal
        if slot.due_at is not None:
            assert slot.opens_at is not None
            assert slot.closes_at is not None
            when = slot.control.when
            assert minutes(slot.due_at - slot.opens_at) == before_of(slot)
            assert minutes(slot.closes_at - slot.due_at) == (0 if when.kind == "limit_points" else when.after)


def before_of(slot: Slot) -> int:
    """Give the minutes before the due time in which a value counts, as the plan has them."""
    if slot.control.when.kind != "limit_points":
        return slot.control.when.before
    points: list[dict[str, int]] = slot.control.limit.to_document()["points"]
    return points[slot.ordinal]["window_before_minutes"]


def minutes(span: timedelta) -> int:
    """Count whole minutes; the test fails on a part of one."""
    assert span % MINUTE == timedelta()
    return span // MINUTE


@FEW
@given(zone=zones, data=st.data())
def test_each_check_of_a_day_is_due_once_at_its_minute_and_nothing_else_is(
    zone: str, data: st.DataObject
) -> None:
    plan = plan_of(data.draw(controls))
    middle = data.draw(days(zone))
    made: list[Slot] = []
    expected: list[Due] = []
    for day in (middle - DAY, middle, middle + DAY):
        made += day_slots(plan, day, ZoneTime(ZoneInfo(zone)))
        for control in plan.controls:
            if control.when.kind == "daily" and control.when.each == "":
                expected += expected_of_day(zone, day, control)

    assert sorted(map(told, made)) == sorted(expected)
    assert len({(slot.day, *told(slot)[:3]) for slot in made}) == len(made)
    holds_together(made)


@FEW
@given(zone=zones, data=st.data())
def test_the_checks_of_a_thing_are_those_of_its_days_within_its_life(zone: str, data: st.DataObject) -> None:
    plan = plan_of(data.draw(controls))
    day = data.draw(days(zone))
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    things = [
        ThingFacts(
            id=data.draw(st.uuids(version=4)),
            kind=data.draw(KINDS_OF_THING),
            begun_at=noon + data.draw(lengths(-2 * 1440, 1440)),
            ended_at=data.draw(st.none() | st.just(noon + data.draw(lengths(-1440, 2 * 1440)))),
        )
        for _number in range(2)
    ]
    made: list[Slot] = []
    expected: list[tuple[object, Due]] = []
    for thing in things:
        made += thing_slots(plan, thing, day, ZoneTime(ZoneInfo(zone)))
        for control in (c for c in plan.controls if c.when.each == thing.kind):
            alive = [
                due
                for due in expected_of_day(zone, day, control)
                if thing.begun_at <= due[3] and not (thing.ended_at and thing.ended_at <= due[3])
            ]
            expected += [(thing.id, due) for due in alive]

    assert sorted(((slot.thing, told(slot)) for slot in made), key=str) == sorted(expected, key=str)
    holds_together(made)


@FEW
@given(zone=zones, data=st.data())
def test_the_checks_of_a_load_are_due_once_by_the_time_that_passes(zone: str, data: st.DataObject) -> None:
    plan = plan_of(data.draw(controls))
    day = data.draw(days(zone))
    received = walked(zone, day)[next(iter(walked(zone, day)))] + data.draw(lengths(0, 2 * 1440))
    load = LoadFacts(data.draw(st.uuids(version=4)), received)

    made = list(load_slots(plan, load))

    expected = {
        c.code: received.timestamp() + 60 * c.when.after_minutes
        for c in plan.controls
        if c.when.kind == "load"
    }
    assert {slot.control.code: instant_of(slot) for slot in made} == expected
    assert len(made) == len(expected)
    holds_together(made)


@FEW
@given(zone=zones, data=st.data())
def test_the_checks_of_a_lot_are_due_once_by_the_time_that_passes_across_any_change(
    zone: str, data: st.DataObject
) -> None:
    plan = plan_of(data.draw(controls))
    day = data.draw(days(zone))
    started = datetime(day.year, day.month, day.day, tzinfo=UTC) + data.draw(lengths(-1440, 1440))
    happened = data.draw(st.dictionaries(st.sampled_from(EVENTS), lengths(0, 1440), max_size=len(EVENTS)))
    events = {name: started + after for name, after in happened.items()}
    lot = LotFacts(data.draw(st.uuids(version=4)), PRODUCT, started, events)

    made = list(lot_slots(plan, lot))

    expected: list[tuple[str, int, float | None, str]] = []
    for control in plan.controls:
        for ordinal, event, after in asked_of_lot(control):
            base = {STARTED: started, **events}.get(event)
            due = None if base is None else base.timestamp() + 60 * after
            expected.append((control.code, ordinal, due, "" if base else event))
            if base is None:
                closes = next(s for s in made if (s.control, s.ordinal) == (control, ordinal)).closes_at
                late = 0 if control.when.kind == "limit_points" else control.when.after
                assert closes == started + EXPECTED[event] * HOUR + (after + late) * MINUTE
    found = [(s.control.code, s.ordinal, instant_of(s), s.waits_for) for s in made]
    assert sorted(found, key=str) == sorted(expected, key=str)
    holds_together(made)


def asked_of_lot(control: Control) -> list[tuple[int, str, int]]:
    """Give what a control asks of each lot: ordinal, event, minutes after it."""
    if PRODUCT not in control.products:
        return []
    if control.when.kind == "after_event":
        return [(0, control.when.event, control.when.after_minutes)]
    if control.when.kind != "limit_points":
        return []
    document = control.limit.to_document()
    points = enumerate(document["points"])
    return [(at, document["event"], round(60 * float(point["hours"]))) for at, point in points]


def instant_of(slot: Slot) -> float | None:
    """Give the due instant in seconds since 1970; None while it waits for an event."""
    return slot.due_at.timestamp() if slot.due_at else None


@FEW
@given(zone=zones, data=st.data())
def test_at_every_minute_each_check_stands_where_its_window_says_and_one_not_made_is_missing(
    zone: str, data: st.DataObject
) -> None:
    control = data.draw(controls.filter(lambda cs: any(c.of_day for c in cs)).map(
        lambda cs: next(c for c in cs if c.of_day)
    ))  # fmt: skip
    day = data.draw(days(zone))
    slots = list(day_slots(plan_of((control,)), day, ZoneTime(ZoneInfo(zone))))
    expected = list(expected_of_day(zone, day, control))
    shown = walked(zone, day)
    step = data.draw(st.integers(1, 37))
    for at in list(shown.values())[::step]:
        counted = [state_by_hand(at, due, control) for _code, _time, _point, due in expected]
        stands = [SlotState(slot, None, NO_VERSION, at).status for slot in slots]
        assert sorted(stands) == sorted(counted)


NO_VERSION: object = None  # no plan version is asked for where nothing was recorded


def state_by_hand(at: datetime, due: datetime, control: Control) -> Status:
    """Tell where a check stands at a minute, by counting the minutes to when it is due."""
    to_go = minutes(due - at)
    if to_go > control.when.before:
        return Status.LATER
    if to_go >= 0:
        return Status.DUE
    return Status.OVERDUE if -to_go <= control.when.after else Status.MISSING


# worked by hand from the rules of the IANA time zone database (europe, northamerica, australasia)
KNOWN = [
    ("Europe/Paris", "2026-03-29", "02:30", "2026-03-29T01:30", "left out: 03:30 in summer time"),
    ("Europe/Paris", "2026-10-25", "02:30", "2026-10-25T00:30", "twice: the first, in summer time"),
    ("Europe/Paris", "2026-10-25", "03:00", "2026-10-25T02:00", "once: after both"),
    ("America/New_York", "2026-03-08", "02:30", "2026-03-08T07:30", "left out: 03:30 in summer time"),
    ("America/New_York", "2026-11-01", "01:30", "2026-11-01T05:30", "twice: the first, in summer time"),
    ("Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03T15:45", "left out: 02:45 in summer time"),
    ("Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-04T14:45", "twice: the first, in summer time"),
    ("Atlantic/Azores", "2026-03-29", "00:30", "2026-03-29T01:30", "left out: 01:30 in summer time"),
    ("Atlantic/Azores", "2026-10-25", "00:30", "2026-10-25T00:30", "twice: the first, in summer time"),
    ("Pacific/Apia", "2011-12-29", "23:59", "2011-12-30T09:59", "the last minute before the day left out"),
    ("Pacific/Apia", "2011-12-31", "00:00", "2011-12-30T10:00", "the first minute after it"),
    ("Pacific/Apia", "2026-07-01", "07:00", "2026-06-30T18:00", "no summer time any more"),
]


def daily(*times: str) -> Plan:
    """Write a plan with one daily check."""
    return plan_of((Control(**{**BARE, "when": When("daily", times=times)}),))


@pytest.mark.parametrize(
    ("zone", "day", "clock_time", "due", "why"), KNOWN, ids=[f"{r[0]} {r[4]}" for r in KNOWN]
)
def test_a_time_left_out_or_shown_twice_is_due_exactly_once(
    zone: str, day: str, clock_time: str, due: str, why: str
) -> None:
    found = list(day_slots(daily(clock_time), date.fromisoformat(day), ZoneTime(ZoneInfo(zone))))

    assert [slot.due_at for slot in found] == [datetime.fromisoformat(due).replace(tzinfo=UTC)]
    assert due_at(zone, date.fromisoformat(day), clock_time) == found[0].due_at


def test_a_day_that_a_place_never_had_has_no_checks_and_the_days_around_it_have_theirs() -> None:
    apia, plan = ZoneTime(ZoneInfo("Pacific/Apia")), daily("00:00", "07:00", "23:59")
    counted = [len(list(day_slots(plan, date(2011, 12, day), apia))) for day in (29, 30, 31)]

    assert counted == [3, 0, 3]


@FEW
@given(zone=zones, data=st.data())
def test_paper_has_the_checks_at_the_instants_of_the_page(zone: str, data: st.DataObject) -> None:
    plan, day = plan_of(data.draw(controls)), data.draw(days(zone))
    around = datetime(day.year, day.month, day.day, tzinfo=UTC)
    paper = freeze(ZoneInfo(zone), around - 5 * DAY, around + 5 * DAY)

    on_paper = list(day_slots(plan, day, paper))

    assert on_paper == list(day_slots(plan, day, ZoneTime(ZoneInfo(zone))))


@pytest.mark.parametrize(
    ("text", "point"),
    [
        ("day:2026-05-14:PRP1:extra", None),
        ("day:2026-05-14:PRP1:extra-3", 3),
        (f"thing:{UUID(int=7)}:OPRP5:2026-05-14.extra-11", 11),
        (f"lot:{UUID(int=7)}:CCP2:extra", None),
    ],
)
def test_a_further_reading_names_its_point_and_is_written_back_alike(text: str, point: int | None) -> None:
    name = parse_slot(text)

    assert (name.ordinal, name.point, slot_id(name)) == (None, point, text)


@pytest.mark.parametrize(
    "text",
    [
        "day:2026-05-14:PRP1:extra-03",
        "day:2026-05-14:PRP1:extra-",
        "day:2026-05-14:PRP1:extra-x",
        "day:2026-05-14:PRP1:extra--1",
        "day:2026-05-14:PRP1:4-3",
        f"lot:{UUID(int=7)}:CCP2:extra-0",
        f"load:{UUID(int=7)}:PRP4:extra-0",
    ],
)
def test_a_point_is_spelt_in_one_way_and_belongs_to_a_check_of_a_day(text: str) -> None:
    with pytest.raises(ValueError, match=r"slot|invalid literal"):
        parse_slot(text)


def test_the_tenth_point_of_a_series_comes_after_the_ninth() -> None:
    day, thing = "day:2026-05-14:PRP1:", f"thing:{UUID(int=7)}:OPRP5:2026-05-14."
    ordered = [*(f"{day}{n}" for n in range(12)), f"{day}extra", *(f"{thing}{n}" for n in range(11))]

    assert sorted(reversed(ordered), key=slot_order) == ordered
