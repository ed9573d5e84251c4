"""Differences, ages, use-by dates, one limit of several, sampling plans: from capture page to record."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from pytest_django.plugin import DjangoDbBlocker

from records.batches.services import EventContent
from records.checks.history import value_text
from records.checks.models import Reading, Rejudged
from records.checks.page_data import limit_text, target_text
from records.checks.services import ReadingContent, correct_event, correct_reading
from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.table import judge_by_table
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity.ledger import head
from safetyplan.integrity.refusals import BadInput
from tests.builders import T0, Device, a_device, a_lot, a_reading, an_event, at, day_slot, hours, lot_slot
from tests.calculation.kind_cases import MILK, STAPH
from tests.calculation.test_any_of import EITHER, FRESH
from tests.calculation.test_difference import NEEDLES, THERMOMETERS
from tests.calculation.test_not_after import CULTURE, FROM_EVENT, WASH
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve, document, extra_of, kept_parts, prerequisite
from tests.records.rules.sharing import undone

pytestmark = pytest.mark.django_db
NOON = hours(4)  # 11:00 UTC, 12:00 in Dublin
LIMITS = {
    "NEEDLE": NEEDLES,
    "THERMO": THERMOMETERS,
    "WASH": WASH,
    "CULTURE": CULTURE,
    "FRESH": FRESH,
    "EITHER": EITHER,
    "STAPH": STAPH,
}


def plan() -> dict[str, Any]:
    """Write a plan with one daily check for each kind, and one of a lot."""
    found = document()
    daily = [prerequisite(code, limit) for code, limit in LIMITS.items()]
    daily[0]["class"] = "oprp"  # only an operational one opens a deviation
    of_lot = prerequisite("DRAIN", FROM_EVENT)
    of_lot |= {"class": "oprp", "products": ["TF"]}
    of_lot["monitoring"] = {
        **of_lot["monitoring"],
        "when": {
            "kind": "after_event",
            "event": "starter_added",
            "after_minutes": 1440,
            "window_before_minutes": 1440,
            "window_after_minutes": 0,
        },
    }
    fast = {**FROM_EVENT, "hours": "2"}
    milk = {**of_lot, "code": "FAST", "limit": {"kind": "any_of", "members": [fast, MILK]}}
    milk["monitoring"] = {**of_lot["monitoring"], "when": {"kind": "after_event", "event": "started"}}
    return {**found, "controls": [*found["controls"], *daily, of_lot, milk]}


@pytest.fixture(scope="module")
def dairy(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Cast]:
    """Open a dairy with every kind in its plan."""
    with undone(django_db_blocker):
        cast = make_cast()
        approve(cast, plan(), T0.replace(day=13))
        yield cast


@pytest.fixture(scope="module")
def phone(dairy: Cast, django_db_blocker: DjangoDbBlocker) -> Iterator[Device]:
    """Enrol the maker's phone."""
    with undone(django_db_blocker), at(dairy.dairy, hours(0)):
        yield a_device(dairy.dairy, dairy.maker)


def recorded(cast: Cast, code: str, now: datetime = NOON, **parts: str) -> Reading:
    """Record a further reading of a daily check."""
    with at(cast.dairy, now):
        return a_reading(cast, extra_of(now, code), now, **parts).reading


@pytest.mark.parametrize(
    ("code", "parts", "state"),
    [
        ("NEEDLE", {"needles_out": "12", "needles_in": "12"}, "within"),
        ("NEEDLE", {"needles_out": "11", "needles_in": "12"}, "outside_limit"),
        ("THERMO", {"recorder": "64.0", "indicating": "64.2"}, "within"),
        ("THERMO", {"recorder": "64.3", "indicating": "64.2"}, "outside_limit"),
        ("THERMO", {"recorder": "63.5", "indicating": "64.2"}, "outside_target"),
        ("WASH", {"wash_prepared": "2026-05-13 12:00"}, "within"),
        ("WASH", {"wash_prepared": "2026-05-13 11:59"}, "outside_limit"),
        ("CULTURE", {"use_by": "2026-05-14"}, "within"),
        ("CULTURE", {"use_by": "2026-5-14"}, "within"),
        ("CULTURE", {"use_by": "2028-12-31"}, "within"),
        ("CULTURE", {"use_by": "2026-05-13"}, "outside_limit"),
        ("FRESH", {"milked": "2026-05-14 10:00"}, "within"),
        ("FRESH", {"temperature": "4"}, "within"),
        ("FRESH", {"milked": "2026-05-14 09:59", "temperature": "5.9"}, "outside_target"),
        ("FRESH", {"milked": "2026-05-14 09:59", "temperature": "6.1"}, "outside_limit"),
        ("FRESH", {"temperature": "6.1"}, "not_shown"),
        ("EITHER", {"temperature": "7", "result": "negative"}, "within"),
        ("STAPH", {f"sample_{n}": "90" for n in range(1, 6)}, "within"),
        ("STAPH", {"sample_1": "900", **{f"sample_{n}": "90" for n in range(2, 6)}}, "outside_target"),
        ("STAPH", {"sample_1": "1001"}, "outside_limit"),
        ("STAPH", {"sample_1": "90"}, "not_shown"),
    ],
)
def test_a_check_of_a_further_kind_is_recorded_with_its_result(
    dairy: Cast, code: str, parts: dict[str, str], state: str
) -> None:
    reading = recorded(dairy, code, **parts)
    assert reading.state == state
    assert reading.sentence_text
    assert {part["name"] for part in kept_parts(reading.parts)} == set(parts)


def test_a_use_by_date_is_good_to_the_last_instant_of_its_day_in_the_dairys_zone(dairy: Cast) -> None:
    last = datetime.fromisoformat("2026-05-14T22:59:59.999+00:00")  # summer time in Dublin is UTC + 1 h
    reading = recorded(dairy, "CULTURE", last, use_by="2026-05-14")
    assert kept_parts(reading.parts)[0]["value"] == "2026-05-14T22:59:59.999Z"
    assert kept_parts(reading.parts)[0]["raw"] == "2026-05-14"
    assert reading.state == "within"
    after = last + timedelta(milliseconds=1)
    assert recorded(dairy, "CULTURE", after, use_by="2026-05-14").state == "outside_limit"


@pytest.mark.parametrize(
    ("day", "kept"),
    [("2026-03-29", "2026-03-29T22:59:59.999Z"), ("2026-10-25", "2026-10-25T23:59:59.999Z")],
)
def test_the_day_on_which_the_clocks_change_ends_at_its_midnight(dairy: Cast, day: str, kept: str) -> None:
    reading = recorded(dairy, "CULTURE", use_by=day)
    assert kept_parts(reading.parts)[0]["value"] == kept


@pytest.mark.parametrize(
    ("code", "part", "text", "words"),
    [
        ("CULTURE", "use_by", "14.05.2026", "year-month-day"),
        ("CULTURE", "use_by", "2026-02-30", "no day"),
        ("CULTURE", "use_by", "1999-12-31", "The year"),
        ("CULTURE", "use_by", "2126-01-01", "The year"),
        ("CULTURE", "use_by", "tomorrow", "year-month-day"),
        ("CULTURE", "use_by", " ", "missing"),
        ("WASH", "wash_prepared", "2026-05-14", "hours and minutes"),
        ("WASH", "wash_prepared", "06:30", "year-month-day"),
        ("WASH", "wash_prepared", "2026-05-14 12:01", "after the check"),
        ("WASH", "wash_prepared", "2026-05-15 06:30", "still to come"),
        ("WASH", "wash_prepared", "2026-03-29 01:30", "did not exist"),
        ("NEEDLE", "needles_in", "", "missing"),
        ("NEEDLE", "needles_in", "11.5", "whole numbers"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words_and_nothing_is_stored(
    dairy: Cast, code: str, part: str, text: str, words: str
) -> None:
    before = head(dairy.dairy)
    others = {"needles_out": "12"} if code == "NEEDLE" else {}
    with pytest.raises(BadInput, match=words) as caught:
        recorded(dairy, code, **others, **{part: text})
    assert caught.value.part in (part, "")
    assert head(dairy.dairy) == before


def test_a_moment_in_the_hour_that_came_twice_is_the_first_so_that_it_is_the_older(dairy: Cast) -> None:
    now = datetime.fromisoformat("2026-10-25T12:00:00+00:00")
    reading = recorded(dairy, "WASH", now, wash_prepared="2026-10-25 01:30")
    assert kept_parts(reading.parts)[0]["value"] == "2026-10-25T00:30:00.000Z"


def test_a_use_in_the_hour_that_came_twice_is_the_second_so_that_it_is_the_later(dairy: Cast) -> None:
    starter, now = (datetime.fromisoformat(f"2026-10-{hour}:00:00+00:00") for hour in ("24T01", "25T03"))
    with at(dairy.dairy, starter):
        lot = a_lot(dairy, started=starter)
        an_event(dairy, lot, "starter_added", starter)
    with at(dairy.dairy, now):
        reading = a_reading(dairy, lot_slot(lot, "DRAIN"), now, drained="01:30").reading
    assert kept_parts(reading.parts)[0]["value"] == "2026-10-25T01:30:00.000Z"
    assert reading.state == "outside_limit"  # 24.5 h; the first 01:30 would have been 23.5 h


def test_a_check_without_any_entry_is_refused_because_it_shows_nothing(dairy: Cast) -> None:
    with pytest.raises(BadInput, match="Enter at least one of: milked or temperature"):
        recorded(dairy, "FRESH")
    assert recorded(dairy, "FRESH", temperature="4").state == "within"


def test_a_correction_leaves_the_first_value_and_the_deviation_stays(dairy: Cast) -> None:
    with at(dairy.dairy, NOON):
        slot = extra_of(NOON, "NEEDLE")
        first = a_reading(dairy, slot, NOON, needles_out="11", needles_in="12")
        parts = [
            {"name": n, "raw": "12", "unit": "", "confirmed": False} for n in ("needles_out", "needles_in")
        ]
        content = ReadingContent(slot=slot, observed_at=NOON, parts=parts)
        again = correct_reading(
            establishment=dairy.dairy,
            by=dairy.maker,
            original=first.reading,
            content=content,
            why="One lay under the press",
        )
    assert first.deviation is not None
    assert (again.reading.state, again.deviation) == ("within", first.deviation)


def test_the_age_since_an_event_of_the_lot_is_judged_again_when_the_event_is_corrected(dairy: Cast) -> None:
    with at(dairy.dairy, hours(1)):
        lot = a_lot(dairy, started=hours(0.5))
        event = an_event(dairy, lot, "starter_added", hours(1))
    with at(dairy.dairy, hours(25)):
        reading = a_reading(dairy, lot_slot(lot, "DRAIN"), hours(25), drained="09:00").reading
        assert reading.state == "within"  # 09:00 in Dublin is exactly 24 h after 09:00 of the day before
        moved = EventContent(
            event="starter_added",
            observed_at=hours(0.5),
            details=({"name": "culture", "raw": "MA K81", "unit": "", "confirmed": False},),
            late_reason="Read from the wall clock",
            reason="The clock was wrong",
        )
        _event, opened = correct_event(
            establishment=dairy.dairy, by=dairy.maker, original=event, content=moved
        )
    again = Rejudged.objects.of(dairy.dairy).get(reading=reading.pk)
    assert (again.state_before, again.state) == ("within", "outside_limit")
    assert "DRAIN" in [deviation.control for deviation in opened]


def test_an_event_inside_a_limit_of_several_is_judged_again_too(dairy: Cast) -> None:
    with at(dairy.dairy, hours(1)):
        lot = a_lot(dairy, started=hours(0.5))
        event = an_event(dairy, lot, "starter_added", hours(1))
    with at(dairy.dairy, hours(3)):
        assert a_reading(dairy, lot_slot(lot, "FAST"), hours(3), drained="11:00").reading.state == "within"
        moved = EventContent(
            event="starter_added",
            observed_at=hours(0.5),
            details=({"name": "culture", "raw": "MA K81", "unit": "", "confirmed": False},),
            late_reason="Read from the wall clock",
            reason="The clock was wrong",
        )
        correct_event(establishment=dairy.dairy, by=dairy.maker, original=event, content=moved)
    states = [(again.state_before, again.state) for again in Rejudged.objects.of(dairy.dairy)]
    assert states == [("within", "not_shown")]


def test_a_date_and_a_moment_are_shown_as_they_were_meant(dairy: Cast) -> None:
    dublin = zone_of(dairy.dairy)
    assert value_text(recorded(dairy, "CULTURE", use_by="2026-05-14"), dublin) == "2026-05-14"
    assert value_text(recorded(dairy, "WASH", wash_prepared="2026-05-14 09:30"), dublin) == "2026-05-14 09:30"


@pytest.mark.parametrize(
    ("code", "entered"),
    [
        (code, {**parts})
        for code, parts in [
            ("NEEDLE", {"needles_out": "12", "needles_in": "12"}),
            ("NEEDLE", {"needles_out": "13", "needles_in": "12"}),
            ("THERMO", {"recorder": "64,2", "indicating": "64.2"}),
            ("THERMO", {"recorder": "64.201", "indicating": "64.2"}),
            ("THERMO", {"recorder": "63.699", "indicating": "64.2"}),
            ("FRESH", {"temperature": "4.0"}),
            ("EITHER", {"temperature": "7", "result": "negative"}),
            ("EITHER", {"temperature": "7", "result": "positive"}),
            ("EITHER", {"temperature": "7"}),
            ("EITHER", {"temperature": "5", "result": "positive"}),
        ]
    ],
)
def test_what_a_device_says_by_its_table_is_what_the_server_records(
    dairy: Cast, phone: Device, code: str, entered: dict[str, str]
) -> None:
    parts = [{"name": name, "raw": raw, "unit": "", "confirmed": True} for name, raw in entered.items()]
    said = str(judge_by_table(load(LIMITS[code]).judging_table(0, {}), parts, NOON))  # type: ignore[arg-type]
    with at(dairy.dairy, NOON):
        claim = phone.reading(extra_of(NOON, code), NOON)
        claim["content"].update(parts=parts, device_state=said)
        record = phone.send(claim).record
    assert isinstance(record, Reading)
    assert (record.state, record.device_state) == (said, said)


def block(dairy: Cast, client: Client, code: str) -> dict[str, Any]:
    """Open the capture page of a daily check and give its data block."""
    client.force_login(dairy.maker)
    with at(dairy.dairy, NOON):
        answer: Any = client.get(f"/near/checks/{day_slot(T0, code)}/")
    found: dict[str, Any] = answer.context["capture_data"]
    return found


@pytest.mark.parametrize(
    ("code", "entries", "table"),
    [
        ("NEEDLE", [("needles out", "number", True), ("needles in", "number", True)], "difference"),
        ("WASH", [("wash prepared", "moment", True)], "on_receipt"),
        ("CULTURE", [("use-by date", "date", True)], "on_receipt"),
        ("FRESH", [("milked", "moment", False), ("temperature", "number", False)], "any_of"),
    ],
)
def test_the_capture_page_asks_for_the_parts_of_a_kind(
    dairy: Cast, client: Client, code: str, entries: list[tuple[str, str, bool]], table: str
) -> None:
    found = block(dairy, client, code)
    assert [(part["label"], part["entry"], part["required"]) for part in found["parts"]] == entries
    assert found["table"]["judge"] == table
    assert found["texts"]["limit"]


@pytest.mark.parametrize(
    ("limit", "text"),
    [
        (NEEDLES, "needles out and needles in are equal"),
        (THERMOMETERS, "recorder minus indicating thermometer at most 0 °C"),
        (WASH, "from wash prepared to this check at most 24 h"),
        (CULTURE, "use-by date not passed; its day is the last one"),
        (FRESH, "One of these is enough: from milked to this check at most 2 h or temperature at most 6 °C"),
    ],
)
def test_the_head_of_the_keypad_says_the_limit_in_few_words(limit: dict[str, Any], text: str) -> None:
    assert limit_text(load(limit), 0) == text


def test_the_target_of_a_difference_stands_beside_its_limit() -> None:
    assert target_text(load(THERMOMETERS), 0) == "recorder minus indicating thermometer at least -0.5 °C"
