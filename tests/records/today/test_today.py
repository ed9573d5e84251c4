"""The page of today: what is missed, due, on hold, open and unsigned, and for whom it has links."""

from datetime import UTC, datetime, timedelta
from http import HTTPStatus
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from records.batches.models import Lot
from records.checks.tick import tick
from records.deviations.services import confirm_hold
from records.signoff.services import sign_day
from records.today import queries
from records.today.queries import Today
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.models import Entry
from tests.builders import (
    T0,
    a_lot,
    a_reading,
    an_event,
    an_unforeseen_one,
    at,
    day_slot,
    hours,
    lot_slot,
)
from tests.cast import Cast

MISSED_BEFORE = day_slot(T0 - timedelta(days=1), "PRP1", 1)


def today(cast: Cast) -> Today:
    """Compose the page of the dairy as things stand now."""
    return queries.today(cast.dairy, ZoneTime(zone_of(cast.dairy)), clock.now(cast.dairy))


def listed(states: Any) -> dict[str, str]:
    """Give the status of each check by its control."""
    return {s.slot.control.code: str(s.status) for s in states}


def page(client: Client) -> str:
    """Give the page of today."""
    return client.get("/near/today/").content.decode()


def test_the_window_that_closes_first_comes_first_and_what_is_missed_or_opens_later_is_apart(
    working: Cast,
) -> None:
    with at(working.dairy, hours(0.5)):
        a_lot(working)
        found = today(working)
    # The plan holds since the 13th, 08:00 in Dublin, so the evening check of the cold store was missed.
    # Now it is 08:30 in Dublin: the sanitiser was due at 06:30 (window to 10:30), the cold store at 07:00
    # (to 11:00), the milk at 08:00 (to 09:30); the heat treatment is due at 09:30, open since 08:00.
    assert [(s.slot.control.code, str(s.status)) for s in found.checks_now] == [
        ("OPRP3", "overdue"),
        ("PRP3", "overdue"),
        ("PRP1", "overdue"),
        ("CCP1", "due"),
    ]
    assert [s.slot.id for s in found.checks_missed] == [MISSED_BEFORE]
    assert [(s.slot.id, str(s.status)) for s in found.checks_later] == [(day_slot(T0, "PRP1", 1), "later")]


def test_a_recorded_check_is_no_longer_listed(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        lot = a_lot(working)
        a_reading(working, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8")
        assert "OPRP3" not in listed(today(working).checks_now)


def test_a_missed_prerequisite_is_listed_until_it_is_explained(working: Cast, client: Client) -> None:
    client.force_login(working.maker)
    with at(working.dairy, hours(5)):
        missed = [s.slot.id for s in today(working).checks_missed]
        assert missed == [MISSED_BEFORE, day_slot(T0, "PRP1")]
        address = f"/near/checks/{day_slot(T0, 'PRP1')}/explain/"
        assert address in page(client)
        answer = client.post(
            address, {"reason": "display broken", "uuid": "11111111-1111-4111-8111-111111111111"}
        )
        assert answer.status_code == HTTPStatus.FOUND
        assert [s.slot.id for s in today(working).checks_missed] == [MISSED_BEFORE]


def test_a_check_of_yesterday_evening_is_still_listed_after_midnight(working: Cast) -> None:
    late = datetime(
        2026, 5, 14, 23, 30, tzinfo=UTC
    )  # 00:30 in Dublin: the evening check of the 14th is missed
    with at(working.dairy, late):
        missed = [s.slot.id for s in today(working).checks_missed]
    assert day_slot(T0, "PRP1", 1) in missed


def missed_acid(cast: Cast) -> Lot:
    """Start a lot, add the starter, and let the time for the acid check pass."""
    with at(cast.dairy, hours(1)):
        lot = a_lot(cast, started=hours(1))
        an_event(cast, lot, "starter_added", hours(1))
    with at(cast.dairy, hours(26)):
        tick(cast.dairy)
    return lot


def test_a_missed_critical_check_is_listed_as_a_hold_until_the_hold_is_confirmed(working: Cast) -> None:
    missed_acid(working)
    with at(working.dairy, hours(26)):
        found = today(working)
        state = next(s for s in found.holds if s.deviation.control == "CCP2")
        assert state.hold is None
        assert "CCP2" not in listed(found.checks_now)
        confirm_hold(
            establishment=working.dairy,
            by=working.maker,
            deviation=state.deviation,
            place="Cold store",
            tag="H-1",
            pieces="280",
            mass_typed="33.6",
        )
        again = next(s for s in today(working).holds if s.deviation.control == "CCP2")
    assert again.hold is not None


def test_a_critical_check_missed_a_moment_ago_is_listed_although_no_deviation_is_open_yet(
    working: Cast,
) -> None:
    with at(working.dairy, hours(1)):
        lot = a_lot(working, started=hours(1))
        an_event(working, lot, "starter_added", hours(1))
    with at(working.dairy, hours(25) + timedelta(minutes=5)):
        first, second = today(working).checks_now[:2]
    assert [(s.slot.control.code, str(s.status)) for s in (first, second)] == [
        ("CCP1", "missing"),
        ("CCP2", "missing"),
    ]


def test_a_hold_that_nobody_confirmed_comes_before_one_that_is_confirmed(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        for code in ("A-1", "A-2"):
            lot = a_lot(working, code=code)
            a_reading(working, lot_slot(lot, "OPRP3"), hours(0.4), temperature="9.5")
        first, second = today(working).holds
        confirm_hold(
            establishment=working.dairy,
            by=working.maker,
            deviation=first.deviation,
            place="Cold store",
            tag="H-1",
            pieces="1",
            mass_typed="",
        )
        assert [s.deviation.pk for s in today(working).holds] == [second.deviation.pk, first.deviation.pk]


def test_a_deviation_without_a_hold_is_listed_as_open(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        an_unforeseen_one(working, "The tap drips into the drain")
        found = today(working)
    assert [s.deviation.description for s in found.deviations] == ["The tap drips into the drain"]
    assert not found.holds


def test_days_without_a_signature_are_listed_and_signed_ones_are_not(working: Cast) -> None:
    with at(working.dairy, hours(5)):
        a_reading(working, day_slot(T0, "PRP1"), hours(4), late_reason="busy", temperature="3.5")
    with at(working.dairy, hours(12)):
        a_reading(working, day_slot(T0, "PRP1", 1), hours(11), late_reason="busy", temperature="3.5")
    with at(working.dairy, hours(24)):
        assert [mark.day.day for mark in today(working).days] == [13, 14]
        sign_day(establishment=working.dairy, proof=working.proof(working.reviewer), day=T0.date())
        assert [mark.day.day for mark in today(working).days] == [13]


def test_a_signed_day_that_changed_needs_signing_again(working: Cast) -> None:
    with at(working.dairy, hours(5)):
        a_reading(working, day_slot(T0, "PRP1"), hours(4), late_reason="busy", temperature="3.5")
    with at(working.dairy, hours(12)):
        a_reading(working, day_slot(T0, "PRP1", 1), hours(11), late_reason="busy", temperature="3.5")
    with at(working.dairy, hours(24)):
        sign_day(establishment=working.dairy, proof=working.proof(working.reviewer), day=T0.date())
        a_reading(working, day_slot(T0, "PRP1", "extra"), hours(3), late_reason="on paper", temperature="3.6")
        marks = {mark.day.day: mark.again for mark in today(working).days}
    assert marks == {13: False, 14: True}


def test_an_open_lot_offers_the_event_that_comes_next(working: Cast, client: Client) -> None:
    client.force_login(working.maker)
    with at(working.dairy, hours(0.5)):
        lot = a_lot(working)
        assert f"/near/lots/{lot.pk}/events/starter_added/" in page(client)
        an_event(working, lot, "starter_added", hours(0.4))
        text = page(client)
    assert f"/near/lots/{lot.pk}/events/starter_added/" not in text
    assert f"/near/lots/{lot.pk}/events/rennet_added/" in text


def test_an_event_that_was_passed_over_waits_behind_what_is_still_ahead(working: Cast) -> None:
    with at(working.dairy, hours(0.4)):
        lot = a_lot(working)
        an_event(working, lot, "starter_added", hours(0.2))
        an_event(working, lot, "ladled", hours(0.3), pieces="40")
        (found,) = today(working).lots
    codes = [event.code for event in found.to_record]
    assert codes == ["drained", "salted", "packed", "rennet_added"]


def test_an_establishment_without_a_plan_is_led_to_the_plan(cast: Cast, client: Client) -> None:
    client.force_login(cast.maker)
    text = page(client)
    assert "no approved plan yet" in text
    assert "/near/lots/new/" not in text


def test_a_maker_gets_links_to_record_and_an_inspector_reads_the_same_without(
    working: Cast, client: Client
) -> None:
    with at(working.dairy, hours(0.5)):
        lot = a_lot(working)
        client.force_login(working.maker)
        made = page(client)
        client.force_login(working.inspector)
        inspected = page(client)
    capture = f"/near/checks/{lot_slot(lot, 'OPRP3')}/"
    for text in (made, inspected):
        assert "OPRP3 Milk at receipt" in text
        assert "temperature at most 7 °C" in text
        assert "due 08:00, until 09:30" in text
    assert capture in made
    assert "/near/lots/new/" in made
    for address in ("/near/checks/", "/near/lots/new/", "/events/", "/near/deviations/new/"):
        assert address not in inspected


@pytest.mark.parametrize(
    ("who", "status"),
    [("owner", 200), ("maker", 200), ("reviewer", 200), ("inspector", 200), ("stranger", 404)],
)
def test_every_member_sees_today_and_a_stranger_finds_nothing(
    working: Cast, client: Client, who: str, status: int
) -> None:
    client.force_login(getattr(working, who))
    assert client.get("/near/today/").status_code == status


def test_the_page_needs_the_same_queries_for_one_lot_and_for_many(working: Cast, client: Client) -> None:
    client.force_login(working.maker)
    counts = []
    with at(working.dairy, hours(1)):
        for wanted in (2, 8):
            for number in range(wanted):
                lot = a_lot(working, code=f"L{wanted}-{number}", started=hours(0.9))
                an_event(working, lot, "starter_added", hours(0.9))
                a_reading(working, lot_slot(lot, "OPRP3"), hours(1), temperature="9.5")
            with CaptureQueriesContext(connection) as seen:
                page(client)
            counts.append(len(seen))
    assert counts[0] == counts[1]


def test_looking_at_today_records_nothing_even_when_a_deviation_is_overdue(
    working: Cast, client: Client
) -> None:
    client.force_login(working.maker)
    with at(working.dairy, hours(1)):
        lot = a_lot(working, started=hours(1))
        an_event(working, lot, "starter_added", hours(1))
    with at(working.dairy, hours(40)):
        before = Entry._base_manager.count()
        page(client)
        assert Entry._base_manager.count() == before
