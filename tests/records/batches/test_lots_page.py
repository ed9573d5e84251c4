"""The list of lots and the page that starts one."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from records.batches.models import Lot
from records.batches.services import start_lot
from records.deviations.services import open_unforeseen
from records.signoff import tables
from tests.builders import a_lot, at, hours
from tests.cast import Cast
from tests.records.inspection.browsing import address, as_person, field, words

pytestmark = pytest.mark.django_db


def typed(**changes: str) -> dict[str, str]:
    """What a maker types to start a lot at nine o'clock local time (08:00 UTC in summer)."""
    filled = {
        "uuid": str(uuid4()),
        "product": "TF",
        "code": "TF-0514",
        "vat": "Vat 1",
        "milk": "212",
        "on_date": "2026-05-14",
        "on_time": "09:00",
        "late_reason": "",
    }
    return {**filled, **changes}


def send(cast: Cast, **changes: str) -> tuple[Client, object]:
    client = as_person(cast.maker)
    with at(cast.dairy, hours(1)):
        return client, client.post(address("lot_new"), typed(**changes))


def test_the_form_comes_with_todays_code_and_the_present_time(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        page = as_person(working.maker).get(address("lot_new"), {"product": "TL"})
    assert [field(page, name) for name in ("code", "on_date", "on_time")] == [
        "TL-0514",
        "2026-05-14",
        "09:00",
    ]


def test_the_second_lot_of_a_day_gets_a_numbered_code(working: Cast) -> None:
    with at(working.dairy, hours(0.2)):
        a_lot(working)
    with at(working.dairy, hours(1)):
        page = as_person(working.maker).get(address("lot_new"))
    assert field(page, "code") == "TF-0514-2"


def test_a_lot_is_started_and_shown(working: Cast) -> None:
    client, response = send(working)
    lot = Lot.objects.of(working.dairy).get()
    assert response.status_code == 302  # type: ignore[attr-defined]
    assert (lot.code, lot.milk_text, lot.milk_unit, lot.author) == ("TF-0514", "212", "L", working.maker)
    assert lot.started_at == hours(1)
    with at(working.dairy, hours(1)):
        assert "TF-0514" in words(client.get(address("lot", lot.pk)))


def test_the_same_form_sent_twice_starts_one_lot(working: Cast) -> None:
    form = typed()
    client = as_person(working.maker)
    with at(working.dairy, hours(1)):
        answers = [client.post(address("lot_new"), form) for _ in range(2)]
    assert Lot.objects.of(working.dairy).count() == 1
    assert answers[0]["Location"] == answers[1]["Location"]


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"code": ""}, "Type the lot code."),
        ({"code": "TF<0514"}, "Only letters, digits, blanks"),
        ({"product": "XX"}, "Choose a product of the plan."),
        ({"milk": "two hundred"}, "This is not a number."),
        ({"milk": "1,100"}, "can be read in two ways"),
        ({"on_time": "25:00"}, "Write the time as hours and minutes"),
        ({"on_time": "11:00"}, "still to come"),
        ({"on_date": "14.5.2026"}, "Write the date as year-month-day"),
        ({"on_date": "2026-03-29", "on_time": "01:30"}, "did not exist"),
        ({"on_time": "08:10"}, "Give a reason"),
        ({"on_date": "2026-05-10"}, "Give the reason for the late entry"),
        ({"vat": "V" * 61}, "at most 60"),
    ],
)
def test_a_wrong_field_is_refused_and_what_was_typed_stays(
    working: Cast, changes: dict[str, str], message: str
) -> None:
    _client, response = send(working, **changes)
    assert response.status_code == 422  # type: ignore[attr-defined]
    assert message in words(response)
    kept = {name: field(response, name) for name in ("code", "vat", "milk", "on_date", "on_time")}
    wanted = typed(**changes)
    assert kept == {name: wanted[name] for name in kept}
    assert Lot.objects.of(working.dairy).count() == 0


def test_a_late_start_with_its_reason_is_taken(working: Cast) -> None:
    send(working, on_time="08:10", late_reason="No power in the morning")
    assert Lot.objects.of(working.dairy).get().late_reason == "No power in the morning"


def test_an_offered_reading_of_an_ambiguous_amount_can_be_chosen(working: Cast) -> None:
    send(working, milk="1,100", milk_offer="1")
    assert Lot.objects.of(working.dairy).get().milk_text == "1100"


def test_an_amount_in_another_unit_is_converted_when_chosen(working: Cast) -> None:
    send(working, milk="56 gal", milk_offer="0")
    lot = Lot.objects.of(working.dairy).get()
    # One US gallon is 3.785411784 L exactly (NIST Handbook 44, appendix C).
    assert (lot.milk_text, lot.milk_unit) == ("211.98", "L")


def test_a_code_that_looks_like_another_is_refused_and_a_different_one_taken(working: Cast) -> None:
    with at(working.dairy, hours(0.2)):
        a_lot(working, code="TF-0514")
    _client, alike = send(working, code="tf-O5I4")
    assert "looks like, lot TF-0514" in words(alike)
    send(working, code="TF-0514-2")
    assert Lot.objects.of(working.dairy).count() == 2


def test_without_a_plan_the_page_points_to_it_and_the_service_refuses(cast: Cast) -> None:
    client, response = send(cast)
    assert response.status_code == 409  # type: ignore[attr-defined]
    with at(cast.dairy, hours(1)):
        assert "There is no approved plan yet" in words(client.get(address("lot_new")))


def test_only_makers_start_lots(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        answers = {
            who: as_person(getattr(working, who)).post(address("lot_new"), typed()).status_code
            for who in ("reviewer", "inspector", "owner", "stranger", "maker")
        }
    assert answers == {"reviewer": 403, "inspector": 403, "owner": 403, "stranger": 404, "maker": 302}


def many(cast: Cast, count: int) -> None:
    """Start lots, one a minute."""
    for number in range(count):
        moment = hours(number / 60)
        with at(cast.dairy, moment):
            start_lot(
                establishment=cast.dairy,
                by=cast.maker,
                code=f"A{number}",
                product="TF",
                vat="",
                milk="",
                started_at=moment,
            )


def test_older_lots_follow_page_by_page_and_none_is_left_out(
    working: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tables, "PAGE", 3)
    many(working, 7)
    seen, before = [], ""
    while True:
        listing = tables.lot_listing(working.dairy, before)
        seen += [row["code"] for row in listing["rows"]]
        if not listing["older_url"]:
            break
        before = listing["older_url"].removeprefix("?before=")
    assert seen == [f"A{number}" for number in reversed(range(7))]


def test_a_place_in_the_list_that_is_none_shows_the_newest(working: Cast) -> None:
    many(working, 2)
    assert len(tables.lot_listing(working.dairy, "yesterday")["rows"]) == 2


def test_the_list_takes_the_same_number_of_queries_for_one_lot_and_for_many(working: Cast) -> None:
    client = as_person(working.reviewer)
    counts = []
    for more in (1, 8):
        present = Lot.objects.of(working.dairy).count()
        for number in range(present, present + more):
            with at(working.dairy, hours(number)):
                a_lot(working, code=f"Q{number}", started=hours(number))
        with at(working.dairy, hours(10)), CaptureQueriesContext(connection) as queries:
            client.get(address("lots"))
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_a_lot_with_an_open_deviation_says_on_hold_and_another_in_make(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        lot = a_lot(working, started=hours(1))
        a_lot(working, code="TF-0514-2", started=hours(1))
        open_unforeseen(
            establishment=working.dairy,
            by=working.maker,
            plan=lot.plan_version.plan(),
            lot=lot,
            description="Glass broke beside the vat",
        )
        page = words(as_person(working.inspector).get(address("lots")))
    assert page.count("On hold") == 1
    assert page.count("In make") == 1
    assert "Start a lot" not in page
