"""A prerequisite check outside its limit asks for what was done and for a measurement after it."""

import json

import pytest

from records.checks.corrections import OPEN_CORRECTION, make_correction, open_readings, states_of
from records.checks.services import correct_reading, void_reading
from records.deviations.queries import deviations
from safetyplan.integrity import index
from safetyplan.integrity.models import OpenItem
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.verification import verify
from tests.builders import T0, a_device, a_reading, day_slot, hours
from tests.records.checks.sending import send
from tests.records.receiving.stage import Dairy, content_of
from tests.web import signed_in, text_of

pytestmark = pytest.mark.django_db


def weak(door: Dairy, strength: str = "60", hour: float = 0.1) -> object:
    """Record the strength of the sanitiser."""
    return a_reading(door.cast, day_slot(T0, "PRP3", "extra"), hours(hour), strength=strength)


def still_open(door: Dairy) -> int:
    return len(open_readings(door.cast.dairy))


def test_a_weak_sanitiser_opens_a_correction_and_no_deviation(door: Dairy) -> None:
    with door.at(0.2):
        found = weak(door)

    assert found.deviation is None  # type: ignore[attr-defined]
    assert still_open(door) == 1
    assert deviations(door.cast.dairy).count() == 0


def test_it_is_closed_by_what_was_done_and_a_good_measurement(door: Dairy) -> None:
    with door.at(0.5):
        reading = weak(door).reading  # type: ignore[attr-defined]
        make_correction(reading=reading, text="Mixed anew", done_at=hours(0.3), **door.about)
        with_words_only = still_open(door)
        weak(door, "150", 0.4)

    assert (with_words_only, still_open(door)) == (1, 0)
    assert not list(verify(door.cast.dairy))


def test_a_good_measurement_alone_does_not_say_what_was_done(door: Dairy) -> None:
    with door.at(0.5):
        reading = weak(door).reading  # type: ignore[attr-defined]
        weak(door, "150", 0.4)
        before = still_open(door)
        make_correction(reading=reading, text="Mixed anew", done_at=hours(0.3), **door.about)

    assert (before, still_open(door)) == (1, 0)


def test_why_it_was_not_measured_again_closes_it_too(door: Dairy) -> None:
    with door.at(0.5):
        reading = weak(door).reading  # type: ignore[attr-defined]
        why = {"no_recheck": "Poured away, nothing left to measure"}
        make_correction(reading=reading, text="Poured away", **why, **door.about)

    assert still_open(door) == 0


def test_a_reading_put_right_or_voided_asks_for_nothing_more(door: Dairy) -> None:
    with door.at(0.5):
        first, second = weak(door), weak(door, "70", 0.2)
        before = still_open(door)
        correct_reading(
            original=first.reading,  # type: ignore[attr-defined]
            content=content_of(first.reading, strength="160"),  # type: ignore[attr-defined]
            why="Strip held wrongly",
            **door.about,
        )
        void_reading(original=second.reading, why="Entered twice", **door.about)  # type: ignore[attr-defined]

    assert (before, still_open(door)) == (2, 0)


def test_a_reading_corrected_to_a_weak_one_opens_it(door: Dairy) -> None:
    with door.at(0.5):
        first = weak(door, "150")
        correct_reading(
            original=first.reading,  # type: ignore[attr-defined]
            content=content_of(first.reading, strength="60"),  # type: ignore[attr-defined]
            why="Wrong strip",
            **door.about,
        )

    assert still_open(door) == 1


@pytest.mark.parametrize(("text", "done"), [("", 0.3), ("ok", 0.3), ("Mixed anew", 0.05)])
def test_what_was_done_is_said_in_words_and_after_the_reading(door: Dairy, text: str, done: float) -> None:
    with door.at(0.5):
        reading = weak(door).reading  # type: ignore[attr-defined]
        with pytest.raises(BadInput):
            make_correction(reading=reading, text=text, done_at=hours(done), **door.about)
        make_correction(reading=reading, text="Mixed anew", done_at=hours(0.3), **door.about)

    assert len(states_of(door.cast.dairy, [reading])[0].made) == 1


def test_a_reading_within_its_limit_asks_for_no_correction(door: Dairy) -> None:
    with door.at(0.5):
        reading = weak(door, "150").reading  # type: ignore[attr-defined]
        with pytest.raises(Refused, match="does not ask"):
            make_correction(reading=reading, text="Mixed anew", **door.about)


def test_a_smell_that_is_off_is_a_correction_of_its_load(door: Dairy) -> None:
    with door.at(0.5):
        load, other = door.load(received_at=hours(0)), door.load("M-2", received_at=hours(0))
        reading = door.read(load, "PRP4", 0.2, smell="off").reading
        make_correction(reading=reading, text="Smelt again by two", done_at=hours(0.3), **door.about)
        door.read(other, "PRP4", 0.4, smell="clean")
        of_another = still_open(door)
        a_reading(door.cast, f"load:{load.pk}:PRP4:extra", hours(0.45), smell="clean")

    assert (of_another, still_open(door)) == (1, 0)


def test_the_list_of_open_corrections_is_what_the_records_say(door: Dairy) -> None:
    with door.at(0.5):
        reading = weak(door).reading  # type: ignore[attr-defined]
    place = door.cast.dairy
    item = (OPEN_CORRECTION, reading.pk, None)
    assert item in index.stored(place)
    assert item in index.rebuilt(place)

    OpenItem.objects.of(place).filter(what=OPEN_CORRECTION).delete()

    assert list(verify(place))


def test_the_device_is_led_to_the_correction(door: Dairy) -> None:
    with door.at(0.2):
        phone = a_device(door.cast.dairy, door.cast.maker)
        claim = phone.reading(day_slot(T0, "PRP3", "extra"), hours(0.1), strength="60")
        answer = send(signed_in(door.cast.maker), phone, claim)
        page = signed_in(door.cast.maker).get(json.loads(answer.content)["deviation_url"])

    assert "Mix anew and test again before use" in text_of(page)


def test_the_page_records_what_was_done_once_and_today_asks_until_then(door: Dairy) -> None:
    client = signed_in(door.cast.maker)
    with door.at(0.5):
        reading = weak(door).reading  # type: ignore[attr-defined]
        address = f"/near/readings/{reading.pk}/correction/"
        before = text_of(client.get("/near/today/"))
        sent = {
            "uuid": "6a2f41a3-c54c-4a7e-9fd6-0d3a1f4d9d11",
            "action_code": "PRP3-1",
            "on_date": "2026-05-14",
            "on_time": "08:20",
            "no_recheck": "The bucket is empty",
        }
        first, second = client.post(address, sent), client.post(address, sent)
        after = text_of(client.get("/near/today/"))

    assert address in before
    assert (first.status_code, second.status_code) == (302, 302)
    assert [row.text for row in states_of(door.cast.dairy, [reading])[0].made] == [
        "Mix anew and test again before use"
    ]
    assert address not in after
