"""The capture page: its data block, who may open it, and what it says when there is nothing to record."""

import json
from base64 import b64decode
from collections.abc import Iterator
from datetime import timedelta
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from records.batches.models import Lot
from records.checks.page_data import limit_text, measure_next, target_text, unit_choices
from records.checks.services import void_reading
from records.instruments.services import register_instrument
from safetyplan.calculation.limits.catalogue import load
from safetyplan.establishments.models import EstablishmentDetails
from safetyplan.establishments.services import Details, change_details
from safetyplan.integrity import canonical
from safetyplan.integrity.models import Entry
from safetyplan.plans.queries import in_force
from tests.builders import HOLD_PARTS, T0, a_lot, a_reading, an_event, at, day_slot, hours, lot_slot
from tests.cast import Cast
from tests.remembering import told_again

OK, NOT_FOUND, FORBIDDEN = HTTPStatus.OK, HTTPStatus.NOT_FOUND, HTTPStatus.FORBIDDEN
REACHED = {
    "kind": "reached_by",
    "part": "ph",
    "quantity": "ph",
    "unit": "pH",
    "direction": "at_most",
    "event": "starter_added",
    "tolerance": "0.05",
    "points": [
        {"hours": "6", "limit": "5.80", "target": None, "window_before_minutes": 60},
        {"hours": "24", "limit": "4.60", "target": "4.50", "window_before_minutes": 120},
    ],
}


@pytest.fixture
def lot(working: Cast) -> Iterator[Lot]:
    """Start a lot, and stop the clock half an hour later."""
    with at(working.dairy, hours(0.5)):
        yield told_again("a lot", lambda: a_lot(working))


@pytest.fixture
def maker(working: Cast, client: Client) -> Client:
    """Sign the maker in."""
    client.force_login(working.maker)
    return client


def check(slot: str) -> str:
    """Give the address of a check's capture page."""
    return f"/near/checks/{slot}/"


def data(answer: Any) -> dict[str, Any]:
    """Give the data block of a capture page."""
    block: dict[str, Any] = answer.context["capture_data"]
    return block


def test_the_data_block_of_a_check_has_everything_the_page_asks_for(
    working: Cast, lot: Lot, maker: Client
) -> None:
    block = data(maker.get(check(lot_slot(lot, "OPRP3"))))
    version = in_force(working.dairy, hours(1))
    assert version is not None
    assert len(b64decode(block.pop("server_public_key"))) == 32
    assert len(block.pop("csrf")) > 30
    assert block == {
        "claims_url": "/near/claims/",
        "enrol_url": "/near/devices/",
        "next_url": "/near/today/",
        "due_url": "/near/today/",
        "establishment": str(working.dairy.pk),
        "person": str(working.maker.pk),
        "zone": "Europe/Dublin",
        "slot": lot_slot(lot, "OPRP3"),
        "control": "OPRP3",
        "lot": str(lot.pk),
        "plan_version": str(version.pk),
        "event": None,
        "parts": [
            {
                "name": "temperature",
                "label": "temperature",
                "entry": "number",
                "unit": {"code": "degC", "symbol": "°C"},
                "units": [{"code": "degC", "symbol": "°C"}, {"code": "degF", "symbol": "°F"}],
                "negative": True,
                "options": [],
                "required": True,
            }
        ],
        "table": block["table"],
        "texts": {
            "limit": "temperature at most 7 °C",
            "target": "temperature at most 4 °C",
            "outside_heading": "",
            "actions": [
                {
                    "code": "OPRP3-1",
                    "text": "Do not use the milk until the responsible person has decided",
                }
            ],
            "measure_next": "Measure again in 30 minutes.",
        },
        "instruments": [],
        "instrument": "",
        "overdue_instrument": "warn",
        "photo": "",
        "scan_url": "/near/scan/",
        "lot_find_url": "/near/lots/find/",
        "late_after_minutes": 30,
        "supersedes": None,
        "correction": False,
        "observed_at": None,
    }
    assert (block["table"]["judge"], block["table"]["at_most"]) == ("bound", "7")


def test_the_block_stands_in_the_page_as_data_and_no_script_is_inline(
    working: Cast, lot: Lot, maker: Client
) -> None:
    text = maker.get(check(lot_slot(lot, "OPRP3"))).content.decode()
    before, after = text.split('<script id="capture-data" type="application/json">')
    assert json.loads(after.split("</script>")[0])["control"] == "OPRP3"
    assert before.count("<script") == before.count("<script src=")


def test_a_deadline_is_judged_by_the_recorded_event(working: Cast, lot: Lot, maker: Client) -> None:
    an_event(working, lot, "starter_added", hours(0.4))
    with at(working.dairy, hours(24)):
        block = data(maker.get(check(lot_slot(lot, "CCP2"))))
    assert block["table"]["judge"] == "deadline"
    assert block["table"]["deadline"] == canonical.instant(hours(24.4))
    assert block["parts"][0]["negative"] is False


def test_a_hold_asks_for_its_parts_in_order_with_options_in_words(
    working: Cast, lot: Lot, maker: Client
) -> None:
    parts = data(maker.get(check(lot_slot(lot, "CCP1"))))["parts"]
    assert [part["name"] for part in parts] == list(HOLD_PARTS)
    assert [part["entry"] for part in parts][:3] == ["time", "time", "number"]
    assert parts[-1]["options"] == [{"code": "on", "label": "on"}, {"code": "off", "label": "off"}]


def test_only_instruments_that_measure_this_are_offered(working: Cast, lot: Lot, maker: Client) -> None:
    for code, name, quantity in (
        ("T-1", "Probe", "temperature"),
        ("T-2", "Spare probe", "temperature"),
        ("P-1", "pH meter", "ph"),
    ):
        register_instrument(
            establishment=working.dairy, by=working.owner, code=code, name=name, quantity=quantity
        )
    block = data(maker.get(check(lot_slot(lot, "OPRP3"))))
    labels = [row["label"] for row in block["instruments"]]
    assert labels == ["T-1 Probe", "T-2 Spare probe", "not listed"]
    assert block["instrument"] == block["instruments"][0]["id"]  # the plan names the "probe"


def test_an_establishment_that_works_in_fahrenheit_is_offered_it_first(
    working: Cast, lot: Lot, maker: Client
) -> None:
    details = Details("Near Test Dairy", "1 Lane", time_zone="Europe/Dublin", temperature_unit="degF")
    change_details(establishment=working.dairy, by=working.owner, details=details)
    part = data(maker.get(check(lot_slot(lot, "OPRP3"))))["parts"][0]
    assert part["unit"]["code"] == "degF"
    assert [unit["code"] for unit in part["units"]] == ["degF", "degC"]


@pytest.mark.parametrize(
    ("unit", "offered"),
    [
        ("degC", ["degF", "degC"]),
        ("L", ["gal_us", "L"]),
        ("mL", ["mL"]),
        ("kg", ["lb", "kg"]),
        ("pH", ["pH"]),
        ("", []),
    ],
)
def test_units_are_offered_only_where_a_whole_establishment_chooses_them(
    unit: str, offered: list[str]
) -> None:
    details = EstablishmentDetails(temperature_unit="degF", volume_unit="gal_us", mass_unit="lb")
    assert unit_choices(unit, details) == offered


def test_the_words_of_a_limit_are_those_of_its_own_point() -> None:
    limit = load(REACHED)
    assert limit_text(limit, 0) == "pH at most 5.80 within 6 h of starter added"
    assert target_text(limit, 0) == ""
    assert limit_text(limit, 1) == "pH at most 4.60 within 24 h of starter added"
    assert target_text(limit, 1) == "pH at most 4.50 within 24 h of starter added"


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        (0, ""),
        (30, "Measure again in 30 minutes."),
        (60, "Measure again in 1 hour."),
        (120, "Measure again in 2 hours."),
    ],
)
def test_when_to_measure_next_is_said_in_hours_or_minutes(minutes: int, said: str) -> None:
    assert measure_next(minutes) == said


# Nothing to record now -----------------------------------------------------------------------------


def test_a_check_that_is_recorded_already_offers_another_reading(
    working: Cast, lot: Lot, maker: Client
) -> None:
    reading = a_reading(working, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8").reading
    answer = maker.get(check(lot_slot(lot, "OPRP3")))
    text = answer.content.decode()
    assert "recorded already" in text
    assert f"/near/readings/{reading.pk}/" in text
    assert check(lot_slot(lot, "OPRP3", "extra")) in text
    assert "capture_data" not in answer.context
    extra = data(maker.get(check(lot_slot(lot, "OPRP3", "extra"))))
    assert extra["slot"] == lot_slot(lot, "OPRP3", "extra")


def test_a_voided_check_can_be_recorded_again(working: Cast, lot: Lot, maker: Client) -> None:
    reading = a_reading(working, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8").reading
    void_reading(establishment=working.dairy, by=working.maker, original=reading, why="other lot")
    assert data(maker.get(check(lot_slot(lot, "OPRP3"))))["control"] == "OPRP3"


def test_a_check_that_waits_for_an_event_leads_to_recording_it(
    working: Cast, lot: Lot, maker: Client
) -> None:
    text = maker.get(check(lot_slot(lot, "CCP2"))).content.decode()
    assert "Starter added" in text
    assert f"/near/lots/{lot.pk}/events/starter_added/" in text


def test_a_check_whose_window_is_not_open_says_from_when(working: Cast, lot: Lot, maker: Client) -> None:
    an_event(working, lot, "starter_added", hours(0.4))
    text = maker.get(check(lot_slot(lot, "CCP2"))).content.decode()
    # 07:24 UTC, in Dublin 08:24 (summer time); 24 h later, 120 min before: 06:24 the next day.
    assert "2026-05-15 06:24" in text
    assert check(lot_slot(lot, "CCP2", "extra")) in text


def test_a_missed_check_can_still_be_recorded(working: Cast, lot: Lot, maker: Client) -> None:
    an_event(working, lot, "starter_added", hours(0.4))
    with at(working.dairy, hours(30)):
        assert data(maker.get(check(lot_slot(lot, "CCP2"))))["control"] == "CCP2"


# Events and corrections ----------------------------------------------------------------------------


def test_an_event_asks_for_the_details_of_the_plan_in_the_plans_unit(
    working: Cast, lot: Lot, maker: Client
) -> None:
    block = data(maker.get(f"/near/lots/{lot.pk}/events/starter_added/"))
    assert (block["event"], block["slot"], block["table"]) == ("starter_added", None, None)
    assert block["next_url"] == f"/near/lots/{lot.pk}/"
    asked = {part["name"]: part for part in block["parts"]}
    assert [asked[name]["required"] for name in ("culture", "dose", "milk_temperature")] == [
        True,
        False,
        False,
    ]
    assert [unit["code"] for unit in asked["milk_temperature"]["units"]] == ["degC"]


def test_an_event_that_is_recorded_already_is_shown_first(working: Cast, lot: Lot, maker: Client) -> None:
    event = an_event(working, lot, "starter_added", hours(0.4))
    address = f"/near/lots/{lot.pk}/events/starter_added/"
    text = maker.get(address).content.decode()
    assert f"/near/events/{event.pk}/correct/" in text
    assert data(maker.get(f"{address}?again=1"))["event"] == "starter_added"


def test_the_correction_of_a_reading_names_it_and_shows_what_was_recorded(
    working: Cast, lot: Lot, maker: Client
) -> None:
    reading = a_reading(working, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3,8").reading
    answer = maker.get(f"/near/readings/{reading.pk}/correct/")
    block = data(answer)
    assert (block["supersedes"], block["correction"]) == (str(reading.pk), True)
    assert block["observed_at"] == canonical.instant(hours(0.4))
    assert block["slot"] == reading.slot
    assert "First recorded: 3.8 °C, Maker Person, 2026-05-14 08:30" in answer.content.decode()


def test_a_reading_that_was_corrected_leads_to_the_newest_one(working: Cast, lot: Lot, maker: Client) -> None:
    first = a_reading(working, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8").reading
    void = void_reading(
        establishment=working.dairy, by=working.maker, original=first, why="other lot"
    ).reading
    answer = maker.get(f"/near/readings/{first.pk}/correct/")
    assert answer["Location"] == f"/near/readings/{void.pk}/"


def test_the_correction_of_an_event_names_it(working: Cast, lot: Lot, maker: Client) -> None:
    event = an_event(working, lot, "starter_added", hours(0.4))
    answer = maker.get(f"/near/events/{event.pk}/correct/")
    block = data(answer)
    assert (block["supersedes"], block["correction"], block["event"]) == (
        str(event.pk),
        True,
        "starter_added",
    )
    assert "2026-05-14 08:24; Culture and lot MA K81" in answer.content.decode()


# Who may open it -----------------------------------------------------------------------------------


def addresses(cast: Cast, lot: Lot) -> list[str]:
    """Give every capture address of the lot."""
    reading = a_reading(cast, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8").reading
    event = an_event(cast, lot, "starter_added", hours(0.4))
    return [
        check(lot_slot(lot, "CCP1")),
        check(day_slot(T0, "PRP1")),
        f"/near/lots/{lot.pk}/events/rennet_added/",
        f"/near/readings/{reading.pk}/correct/",
        f"/near/events/{event.pk}/correct/",
    ]


@pytest.mark.parametrize(
    ("who", "status"),
    [
        ("maker", OK),
        ("owner", FORBIDDEN),
        ("reviewer", FORBIDDEN),
        ("inspector", FORBIDDEN),
        ("stranger", NOT_FOUND),
    ],
)
def test_only_makers_open_the_capture_pages(
    working: Cast, lot: Lot, client: Client, who: str, status: int
) -> None:
    listed = addresses(working, lot)
    client.force_login(getattr(working, who))
    assert [client.get(address).status_code for address in listed] == [status] * len(listed)


def test_without_a_session_a_capture_page_leads_to_the_sign_in_and_back(
    working: Cast, lot: Lot, client: Client
) -> None:
    address = check(day_slot(T0, "PRP1"))
    assert client.get(address)["Location"].startswith("/sign-in/?next=/near/checks/day")


def test_what_does_not_exist_here_is_not_found(working: Cast, lot: Lot, maker: Client) -> None:
    unknown = uuid4()
    for address in (
        check("nonsense"),
        check(f"lot:{unknown}:CCP1:0"),
        check(lot_slot(lot, "CCP9")),
        check(lot_slot(lot, "CCP1", 1)),
        check(day_slot(T0, "PRP1", 5)),
        check(day_slot(T0 + timedelta(days=400), "CCP1")),
        f"/near/lots/{unknown}/events/starter_added/",
        f"/near/lots/{lot.pk}/events/unknown/",
        f"/near/readings/{unknown}/correct/",
        f"/near/events/{unknown}/correct/",
    ):
        assert maker.get(address).status_code == NOT_FOUND, address


def test_opening_capture_pages_records_nothing(working: Cast, lot: Lot, maker: Client) -> None:
    listed = addresses(working, lot)
    before = Entry._base_manager.count()
    for address in listed:
        maker.get(address)
    assert Entry._base_manager.count() == before
