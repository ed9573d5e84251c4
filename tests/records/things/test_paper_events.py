"""What happened to lots, entered later from a filled sheet: one line for each time, stored in their order."""

from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.test import Client

from records.batches.models import Lot, LotEvent
from records.checks.models import PaperLine, PaperSheet, Reading
from records.checks.voiding import void_event
from records.inspection import paper_events
from tests.builders import T0, a_lot, at, hours
from tests.cast import Cast
from tests.records.rules.limits import approve
from tests.records.things.plan import with_things
from tests.records.things.sheets import EVENING, FRIDGE, helper, line, send, sheet, url
from tests.records.things.stage import cast
from tests.web import entries, text_of

__all__ = ["cast", "helper", "sheet"]  # the fixtures


def happened(lot: Lot, event: str, **typed: str) -> dict[str, str]:
    """Type one line of an event."""
    told = {"date": "2026-05-14", "time": "08:30", "who": "MK", **typed}
    return {f"{name}:{lot.pk}:{event}": text for name, text in told.items()}


@pytest.fixture
def fresh(cast: Cast) -> Lot:
    with at(cast.dairy, hours(0.2)):
        return a_lot(cast, started=hours(0))


def test_an_event_of_a_lot_is_entered_later_with_who_did_it(
    cast: Cast, helper: Client, sheet: PaperSheet, fresh: Lot
) -> None:
    starter = {"d_culture": "MA K81", "d_dose": "1,5", "d_milk_temperature": "22.0"}
    answer = send(cast, helper, sheet, happened(fresh, "starter_added", **starter))
    assert answer.status_code == 302, text_of(answer)
    event = LotEvent.objects.of(cast.dairy).get()
    assert (event.author, event.observed_at) == (cast.helper, hours(0.5))
    assert (event.late, event.late_reason) == (True, "from paper sheet no. 12-1, done by MK")
    assert '"1.5"' in event.details
    made = PaperLine.objects.of(cast.dairy).get()
    assert (made.slot, made.measured_by, made.initials) == (f"event:{event.pk}", cast.maker, "MK")
    with at(cast.dairy, EVENING):
        page = text_of(helper.get(url(cast, sheet)))
    assert "Starter added <bdi>" in page
    assert f"time:{fresh.pk}:starter_added" not in page


def test_events_in_order_are_stored_once_and_the_others_stay_as_typed(
    cast: Cast, helper: Client, sheet: PaperSheet, fresh: Lot
) -> None:
    uuid = str(uuid4())
    good = happened(fresh, "starter_added", d_culture="MA K81")
    bad = happened(fresh, "ladled", d_pieces="many", time="09:00")
    check = line(0, FRIDGE, v_temperature="3.8")
    for _time in range(2):
        answer = send(cast, helper, sheet, good, bad, check, uuid=uuid)
    assert answer.status_code == 422
    assert 'value="many"' in text_of(answer)
    assert "1 line is not stored: see below." in text_of(answer)
    assert list(LotEvent.objects.of(cast.dairy).values_list("event", flat=True)) == ["starter_added"]
    assert Reading.objects.of(cast.dairy).count() == 1
    assert PaperLine.objects.of(cast.dairy).count() == 2


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"time": ""}, "Enter the time that stands on the sheet."),
        ({"time": "24:00"}, "00:00"),
        ({"time": "07:10"}, "before the lot was started"),
        ({"date": "2026-05-15"}, "is still to come"),
        ({"who": "ZZ"}, "Nobody here has these initials."),
        ({"who": ""}, "Whose initials"),
        ({"d_milk_temperature": "72F"}, "Did you mean"),
        ({"d_milk_temperature": "Temp: 22"}, "number"),
        ({"d_culture": ""}, "is missing"),
    ],
)
def test_an_event_that_cannot_be_read_from_the_sheet_is_refused_and_stays(
    cast: Cast, helper: Client, sheet: PaperSheet, fresh: Lot, typed: dict[str, str], words: str
) -> None:
    before = entries(cast.dairy)
    told = {"d_culture": "MA K81", "d_milk_temperature": "22", **typed}
    answer = send(cast, helper, sheet, happened(fresh, "starter_added", **told))
    assert answer.status_code in (409, 422)
    assert words in text_of(answer)
    assert entries(cast.dairy) == before
    for text in told.values():
        assert not text or f'value="{text}"' in text_of(answer)


def test_an_offer_for_an_event_is_taken(cast: Cast, helper: Client, sheet: PaperSheet, fresh: Lot) -> None:
    typed = happened(fresh, "starter_added", d_culture="MA K81", d_milk_temperature="72F")
    typed[f"offer_milk_temperature:{fresh.pk}:starter_added"] = "0"
    assert send(cast, helper, sheet, typed).status_code == 302
    assert '"22.2"' in LotEvent.objects.of(cast.dairy).get().details


# What happened several times ---------------------------------------------------------------------------

EARLIER = "first put the earlier line of the same right"
Times = tuple[str, ...]


@pytest.fixture
def drained(cast: Cast) -> Lot:
    """Start a lot whose plan lets it be drained several times."""
    plan = with_things()
    events = next(product["events"] for product in plan["products"] if product["code"] == "TF")
    next(event for event in events if event["code"] == "drained")["repeats"] = True
    approve(cast, plan, T0.replace(day=11))
    with at(cast.dairy, hours(0.2)):
        return a_lot(cast, started=hours(0))


def at_times(lot: Lot, *times: str) -> list[dict[str, str]]:
    """Type the lines of one event, one time in each."""
    keys = ["drained", *(f"drained:{number}" for number in range(1, 4))]
    return [happened(lot, key, time=time) for key, time in zip(keys, times, strict=False)]


def made(cast: Cast) -> list[str]:
    """Give the times of what was recorded, in UTC."""
    rows = LotEvent.objects.of(cast.dairy).order_by("observed_at")
    return [f"{event.observed_at:%H:%M}" for event in rows]


@pytest.mark.parametrize("times", [("09:00", "10:30", "12:00"), ("12:00", "9:00", "10:30")])
def test_what_happened_several_times_is_entered_in_one_sending_in_its_order(
    cast: Cast, helper: Client, sheet: PaperSheet, drained: Lot, times: Times
) -> None:
    answer = send(cast, helper, sheet, *at_times(drained, *times))

    assert answer.status_code == 302
    assert made(cast) == ["08:00", "09:30", "11:00"]


@pytest.mark.parametrize(
    ("times", "kept"),
    [(("09:00", "10:30", "late"), 2), (("9.7x", "10:30"), 1), (("10:30", "07:10", "12:00"), 2)],
)
def test_the_later_lines_wait_for_one_that_is_refused_and_all_are_stored_once_it_is_right(
    cast: Cast,
    helper: Client,
    sheet: PaperSheet,
    drained: Lot,
    times: Times,
    kept: int,
) -> None:
    uuid = str(uuid4())
    refused = send(cast, helper, sheet, *at_times(drained, *times), uuid=uuid)
    before = made(cast)
    right = ["11:15" if time in ("late", "9.7x", "07:10") else time for time in times]
    again = send(cast, helper, sheet, *at_times(drained, *right), uuid=uuid)

    assert refused.status_code in (409, 422)
    assert (before, text_of(refused).count(EARLIER)) == ([], kept)
    assert all(f'value="{time}"' in text_of(refused) for time in times)
    assert "<details open><summary>Drained: more times on the sheet" in text_of(refused)
    assert (again.status_code, len(made(cast))) == (302, len(times))


def test_the_earlier_lines_are_stored_before_one_that_is_refused(
    cast: Cast, helper: Client, sheet: PaperSheet, drained: Lot
) -> None:
    lines = at_times(drained, "09:00", "10:30", "12:00")
    lines[1][f"who:{drained.pk}:drained:1"] = "ZZ"

    answer = send(cast, helper, sheet, *lines)

    assert (answer.status_code, made(cast)) == (422, ["08:00"])
    assert "Nobody here has these initials." in text_of(answer)


@pytest.mark.parametrize("first", ["09:00", "9:00"])
def test_a_line_that_says_the_same_as_another_is_asked_about_and_not_stored_twice(
    cast: Cast, helper: Client, sheet: PaperSheet, drained: Lot, first: str
) -> None:
    uuid = str(uuid4())
    lines = at_times(drained, first, "09:00")
    answer = send(cast, helper, sheet, *lines, uuid=uuid)
    again = send(cast, helper, sheet, lines[1], uuid=uuid)  # as the page shows it now

    for page in (answer, again):
        assert (page.status_code, made(cast)) == (422, ["08:00"])
        assert "Another line says the same: it has its record." in text_of(page)


def test_a_line_whose_record_was_voided_is_stored_again(
    cast: Cast, helper: Client, sheet: PaperSheet, drained: Lot
) -> None:
    send(cast, helper, sheet, *at_times(drained, "09:00"))
    with at(cast.dairy, EVENING):
        void_event(
            establishment=cast.dairy,
            by=cast.maker,
            original=LotEvent.objects.of(cast.dairy).get(),
            why="Wrong lot",
        )

    answer = send(cast, helper, sheet, *at_times(drained, "09:00"))

    assert (answer.status_code, made(cast)) == (302, ["08:00", "08:00"])


def test_two_of_one_minute_that_say_different_things_are_both_stored(
    cast: Cast, helper: Client, sheet: PaperSheet, drained: Lot
) -> None:
    plan = with_things()
    events = next(product["events"] for product in plan["products"] if product["code"] == "TF")
    next(event for event in events if event["code"] == "starter_added")["repeats"] = True
    approve(cast, plan, T0.replace(day=12))
    with at(cast.dairy, hours(0.2)):
        lot = a_lot(cast, "L-9", started=hours(0))
    cultures = {"starter_added": "MA K81", "starter_added:1": "PC 22"}

    send(cast, helper, sheet, *(happened(lot, key, d_culture=name) for key, name in cultures.items()))

    assert made(cast) == ["07:30", "07:30"]


@pytest.mark.parametrize("answers", [[False, True], [False, True, True, True]])
def test_lines_sent_twice_at_once_are_stored_once_and_nobody_is_told_to_correct_them(
    cast: Cast,
    helper: Client,
    sheet: PaperSheet,
    drained: Lot,
    monkeypatch: pytest.MonkeyPatch,
    answers: list[bool],
) -> None:
    uuid, told = str(uuid4()), iter(answers)
    lines = at_times(drained, "09:00", "10:30")[: len(answers) // 2]
    send(cast, helper, sheet, *lines, uuid=uuid)
    stored = made(cast)
    monkeypatch.setattr(paper_events, "already_recorded", lambda *_about: next(told))

    answer = send(cast, helper, sheet, *lines, uuid=uuid)

    assert (answer.status_code, made(cast)) == (200, stored)


def test_lines_of_the_night_of_two_hours_are_stored_in_their_order(
    cast: Cast, helper: Client, sheet: PaperSheet, drained: Lot
) -> None:
    uuid, morning = str(uuid4()), datetime(2026, 10, 25, 9, tzinfo=UTC)
    lines = at_times(drained, "00:30", "01:30")
    lines[0][f"date:{drained.pk}:drained"] = lines[1][f"date:{drained.pk}:drained:1"] = "2026-10-25"
    asked = send(cast, helper, sheet, *lines, uuid=uuid, moment=morning)
    before = made(cast)
    lines[1][f"offer_on_time:{drained.pk}:drained:1"] = "1"
    answer = send(cast, helper, sheet, *lines, uuid=uuid, moment=morning)

    assert (asked.status_code, before) == (422, ["23:30"])
    assert (answer.status_code, made(cast)) == (302, ["23:30", "01:30"])


def test_a_sheet_with_twenty_lots_is_sent_whole(cast: Cast, helper: Client, sheet: PaperSheet) -> None:
    with at(cast.dairy, hours(0.2)):
        lots = [a_lot(cast, f"L-{number}", started=hours(0)) for number in range(20)]
    empty = {f"d_{number}:{lot.pk}:starter_added": "" for lot in lots for number in range(60)}

    answer = send(cast, helper, sheet, empty, happened(lots[7], "starter_added", d_culture="MA K81"))

    assert (answer.status_code, made(cast)) == (302, ["07:30"])
