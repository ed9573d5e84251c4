"""The bundle: what the page of today knows, with the data blocks, in a constant number of queries."""

import json
from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from records.checks.places import find_place
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.backups import note_backed_up
from tests.builders import a_lot, a_reading, an_event, at, day_slot, hours, lot_slot
from tests.cast import Cast
from tests.web import entries, signed_in


def bundle(working: Cast, client: Client, hour: float = 1.0) -> dict[str, Any]:
    """Fetch the bundle."""
    with at(working.dairy, hours(hour)):
        answer = client.get("/near/bundle/")
    assert answer.status_code == 200
    assert answer["Cache-Control"] == "no-store"
    found: dict[str, Any] = json.loads(answer.content)
    return found


def test_a_check_carries_the_data_block_of_its_own_capture_page(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        lot = a_lot(working)
    client = signed_in(working.maker)
    found = bundle(working, client)
    with at(working.dairy, hours(1)):
        page = client.get(f"/near/checks/{lot_slot(lot, 'OPRP3')}/")

    line = next(check for check in found["checks"] if check["slot"] == lot_slot(lot, "OPRP3"))
    block = {**found["shared"], **line["data"]}
    expected = page.context["capture_data"]
    assert {k: v for k, v in block.items() if k != "csrf"} == {
        k: v for k, v in expected.items() if k != "csrf"
    }
    assert line["url"] == f"/near/checks/{lot_slot(lot, 'OPRP3')}/"
    assert line["subject"] == f"{lot.code} · {lot.product_name}"


def test_the_list_holds_what_can_be_recorded_and_not_what_is(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        lot = a_lot(working)
        a_reading(working, lot_slot(lot, "OPRP3"), hours(0.5), temperature="3.8")
    slots = {check["slot"] for check in bundle(working, signed_in(working.maker))["checks"]}

    assert lot_slot(lot, "OPRP3") not in slots
    assert lot_slot(lot, "CCP2") in slots  # waits for the starter
    assert day_slot(hours(24), "PRP1") in slots  # of tomorrow


def test_a_lot_names_what_comes_next_with_its_block(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        lot = a_lot(working, started=hours(0.8))
        an_event(working, lot, "starter_added", hours(0.9))
    found = bundle(working, signed_in(working.maker))

    [line] = found["lots"]
    assert "starter_added" not in [event["event"] for event in line["events"]]
    assert line["events"][0]["data"]["event"] == line["events"][0]["event"]
    assert line["events"][0]["data"]["lot"] == str(lot.pk)


def test_it_says_who_may_record_and_how_far_the_ledger_is_backed_up(working: Cast) -> None:
    assert bundle(working, signed_in(working.maker))["backed_up"] == 0
    note_backed_up(establishment=working.dairy, sequence=7, at=clock.now(working.dairy))
    found = bundle(working, signed_in(working.maker))

    assert found["backed_up"] == 7
    assert {person["person"] for person in found["people"]} == {
        str(working.maker.pk),
        str(working.helper.pk),
    }
    assert found["made_at"] == canonical.instant(hours(1))


def test_it_needs_the_same_queries_for_one_lot_and_for_six_and_writes_nothing(working: Cast) -> None:
    client, counts = signed_in(working.maker), set()
    for number in (1, 5):
        with at(working.dairy, hours(1)):
            for more in range(number):
                lot = a_lot(working, f"TF-{number}{more:03}", started=hours(0.8))
                an_event(working, lot, "starter_added", hours(0.9))
        bundle(working, client)
        before = entries(working.dairy)
        with CaptureQueriesContext(connection) as seen:
            bundle(working, client)
        counts.add(len(seen))
        assert entries(working.dairy) == before
    assert len(counts) == 1


def test_who_may_not_record_gets_no_bundle_and_who_may_does(working: Cast, client: Client) -> None:
    assert client.get("/near/bundle/").status_code == 401
    assert signed_in(working.stranger).get("/near/bundle/").status_code == 404
    assert signed_in(working.inspector).get("/near/bundle/").status_code == 403
    assert bundle(working, signed_in(working.maker))["person"] == str(working.maker.pk)


def test_every_slot_of_the_list_is_one_that_the_plan_knows(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        a_lot(working, started=hours(0.8))
        found = bundle(working, signed_in(working.maker))
        for check in found["checks"]:
            assert find_place(working.dairy, check["slot"], hours(1)).control.code == check["data"]["control"]
