"""The pages at the door: forms that keep what was typed, lists, the day sheet and the log on paper."""

from io import BytesIO
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from records.checks.services import explain_check
from records.checks.tick import tick
from records.inspection.compose import render_issue
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from records.receiving.models import IngredientLot, MilkLoad, MilkRefused
from records.receiving.queries import balance_of
from records.receiving.refusing import refuse_milk
from records.signoff.queries import day_sheet
from records.signoff.services import sign_day
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.refusals import BadInput
from tests.builders import T0, hours
from tests.records.receiving.bad_inputs import ROWS, Bad
from tests.records.receiving.stage import Dairy, refusal
from tests.web import entries, signed_in, text_of

pytestmark = pytest.mark.django_db
MILK = {
    "code": "M-7",
    "species": "goat",
    "volume": "300",
    "tank": "Tank 1",
    "milking_1_date": "2026-05-13",
    "milking_1": "19:00",
    "milking_2_date": "2026-05-14",
    "milking_2": "07:30",
    "on_date": "2026-05-14",
    "on_time": "08:00",
}
INGREDIENT = {
    "kind": "culture",
    "name": "Mesophilic culture",
    "code": "K 1",
    "on_date": "2026-05-14",
    "on_time": "08:00",
    "unit": "kg",
}
REFUSE = {"outcome": "returned", "why": "Smells of silage", "on_date": "2026-05-14", "on_time": "08:05"}


@pytest.fixture
def maker(door: Dairy) -> Client:
    """Sign the maker in."""
    return signed_in(door.cast.maker)


def milk_address(door: Dairy) -> str:
    return f"/near/receiving/milk/{door.supplier.pk}/?{urlencode({'herd': str(door.herd.pk)})}"


def send_to(door: Dairy, bad: Bad) -> tuple[str, dict[str, str], Any]:
    """Give the address, the form and the records of a bad input."""
    if bad.form == "ingredient":
        return "/near/ingredients/new/", {**INGREDIENT}, IngredientLot
    if bad.form == "refuse":
        load = door.load("M-1", received_at=hours(0))
        return f"/near/receiving/loads/{load.pk}/refuse/", {**REFUSE}, MilkRefused
    return milk_address(door), {**MILK}, MilkLoad


@pytest.mark.parametrize("bad", ROWS, ids=[f"{b.row}-{b.form}-{b.field}-{n}" for n, b in enumerate(ROWS)])
def test_a_bad_input_is_refused_at_its_field_or_taken_as_meant(door: Dairy, maker: Client, bad: Bad) -> None:
    with door.at(0.15):
        if bad.row == 31:
            door.load("M-0", received_at=hours(0))
        address, form, model = send_to(door, bad)
        sent = {"uuid": str(uuid4()), **form, bad.field: bad.typed}
        before = model.objects.of(door.cast.dairy).count()
        answer = maker.post(address, sent)
    stored = model.objects.of(door.cast.dairy).order_by("entry__sequence").last()
    if bad.outcome == "A":
        assert answer.status_code == 302, text_of(answer)
        values = {str(getattr(stored, f.attname)) for f in model._meta.concrete_fields}
        noted = {d["value"] for d in stored.noted()} if model is MilkLoad else set()
        assert bad.stored in values | noted
        return
    page = text_of(answer)
    assert answer.status_code in (409, 422)
    assert model.objects.of(door.cast.dairy).count() == before
    assert 'class="errorlist"' in page
    assert ("_offer" in page) == (bad.outcome == "C")


def test_an_offer_that_is_taken_stores_the_converted_value(door: Dairy, maker: Client) -> None:
    sent = {"uuid": str(uuid4()), **MILK, "ph": "68", "ph_offer": "0"}
    with door.at(0.15):
        answer = maker.post(milk_address(door), sent)

    load = MilkLoad.objects.of(door.cast.dairy).get()
    assert answer.status_code == 302
    assert load.noted()[0]["value"] == "6.8"


def test_a_form_sent_twice_stores_one_load(door: Dairy, maker: Client) -> None:
    sent = {"uuid": str(uuid4()), **MILK}
    with door.at(0.15):
        answers = [maker.post(milk_address(door), sent) for _n in range(2)]

    assert [a.status_code for a in answers] == [302, 302]
    assert MilkLoad.objects.of(door.cast.dairy).count() == 1


def test_the_receipt_leads_to_the_plans_checks_one_after_the_other(door: Dairy, maker: Client) -> None:
    with door.at(0.15):
        first = maker.post(milk_address(door), {"uuid": str(uuid4()), **MILK}, follow=True)
        load = MilkLoad.objects.of(door.cast.dairy).get()
        door.read(load, "CCP3", 0.1, inhibitor="negative")
        second = maker.get(f"/near/receiving/loads/{load.pk}/next/")

    assert first.redirect_chain[-1][0] == f"/near/checks/load:{load.pk}:CCP3:0/"
    assert f'"next_url": "/near/receiving/loads/{load.pk}/next/"' in text_of(first)
    assert second["Location"] == f"/near/checks/load:{load.pk}:OPRP4:0/"


def test_what_the_plan_checks_is_not_asked_on_the_receipt_too(door: Dairy, maker: Client) -> None:
    with door.at(0.15):
        page = text_of(maker.get(milk_address(door)))

    assert 'name="temperature"' not in page
    assert 'name="inhibitor"' not in page
    assert 'name="filter"' in page


def test_today_asks_for_the_checks_of_a_load_and_warns_of_the_starter(door: Dairy, maker: Client) -> None:
    with door.at(0.6):
        load, lot = door.load("M-1", received_at=hours(0)), door.lot()
        door.fill(lot, load)
        today = text_of(maker.get("/near/today/"))
        event = text_of(maker.get(f"/near/lots/{lot.pk}/events/starter_added/"))

    assert f"/near/checks/load:{load.pk}:CCP3:0/" in today
    assert "CCP3 Inhibitor test of load M-1: the result is not there yet." in event


def test_the_pages_of_lot_and_load_name_each_other(door: Dairy, maker: Client) -> None:
    with door.at(0.6):
        load, lot = door.load("M-1", received_at=hours(0)), door.lot()
        door.fill(lot, load, "120")
        of_lot = text_of(maker.get(f"/near/lots/{lot.pk}/"))
        of_load = text_of(maker.get(f"/near/receiving/loads/{load.pk}/"))

    assert f"/near/receiving/loads/{load.pk}/" in of_lot
    assert "13 h 00 min" in of_lot
    assert f"/near/lots/{lot.pk}/" in of_load
    assert "180 L" in of_load


def test_the_list_shows_a_month_and_leads_to_older_ones(door: Dairy, maker: Client) -> None:
    with door.at(0.6):
        door.load("M-1", received_at=hours(0))
    with door.at(24 * 40):
        newest = text_of(maker.get("/near/receiving/"))
        older = text_of(maker.get("/near/receiving/?until=2026-05-31"))
        nonsense = maker.get("/near/receiving/?until=nonsense")

    assert "M-1" not in newest
    assert "M-1" in older
    assert nonsense.status_code == 200


def test_the_day_sheet_holds_what_came_in_and_wants_a_new_signature_after_a_refusal(door: Dairy) -> None:
    place = door.cast.dairy
    local = ZoneTime(zone_of(place))
    with door.at(0.6):
        load = door.load("M-1", received_at=hours(0))
    with door.at(30):
        _explain_all(door)
        sign_day(establishment=place, proof=door.cast.proof(door.cast.reviewer), day=T0.date())
        signed = day_sheet(place, T0.date(), local, clock.now(place))
        content = refusal(10, late_reason="Written down next day")
        refuse_milk(load=load, content=content, **door.about)
        after = day_sheet(place, T0.date(), local, clock.now(place))

    assert str(load.pk) in signed.record_ids()
    assert (signed.needs_signing_again, after.needs_signing_again) == (False, True)


def _explain_all(door: Dairy) -> None:
    place = door.cast.dairy
    tick(place)
    sheet = day_sheet(place, T0.date(), ZoneTime(zone_of(place)), clock.now(place))
    for state in sheet.unexplained():
        explain_check(establishment=place, by=door.cast.maker, slot=state.slot.id, why="Nobody was there")


@pytest.mark.parametrize("subject", ["2026-05", "2026-05-14"])
def test_the_receiving_log_prints_loads_refusals_and_readings_the_same_twice(
    door: Dairy, subject: str
) -> None:
    with door.at(0.6):
        load = door.load("M-1", received_at=hours(0))
        door.fill(door.lot(), load, "120")
        door.read(load, "CCP3", 0.5, inhibitor="negative")
        refuse_milk(load=load, content=refusal(0.5, "30"), **door.about)
        issue = issue_print(
            establishment=door.cast.dairy, by=door.cast.maker, what="receiving", subject=subject
        )
        door.load("M-2", received_at=hours(0.1))
    kept = kept_bytes(issue)
    text = "\n".join(page.extract_text() for page in PdfReader(BytesIO(kept)).pages)

    assert render_issue(issue) == kept
    for words in ("Load M-1 received", "REFUSED", "Smells of silage", "negative", "150 L", "120 L"):
        assert words in text.replace("\n", " ")
    assert "M-2" not in text


@pytest.mark.parametrize("subject", ["2026-13", "2026-5", "", "x" * 61, "2026-05-32"])
def test_a_log_of_no_period_is_refused(door: Dairy, subject: str) -> None:
    with door.at(0.6), pytest.raises(BadInput):
        issue_print(establishment=door.cast.dairy, by=door.cast.maker, what="receiving", subject=subject)


def test_reading_the_pages_writes_nothing(door: Dairy, maker: Client) -> None:
    with door.at(0.6):
        load = door.load("M-1", received_at=hours(0))
        before = entries(door.cast.dairy)
        pages = ("receiving/", "receiving/milk/", "suppliers/", "ingredients/", "ingredients/?all&page=2")
        answers = [maker.get(f"/near/{page}") for page in pages]
        answers.append(maker.get(f"/near/suppliers/{door.supplier.pk}/"))
        answers.append(maker.get(f"/near/receiving/loads/{load.pk}/"))

    assert {a.status_code for a in answers} == {200}
    assert entries(door.cast.dairy) == before


def test_the_number_of_queries_of_the_list_does_not_grow(door: Dairy, maker: Client) -> None:
    counts = []
    with door.at(2):
        for number in range(3):
            door.load(f"M-{number + 1}", received_at=hours(1))
            with CaptureQueriesContext(connection) as seen:
                maker.get("/near/receiving/")
            counts.append(len(seen))

    assert counts[1] == counts[2]


def test_a_refused_form_keeps_every_word(door: Dairy, maker: Client) -> None:
    sent = {"uuid": str(uuid4()), **MILK, "volume": "much", "tank": "Blue tank", "filter": "two hairs"}
    with door.at(0.15):
        page = text_of(maker.post(milk_address(door), sent))

    for words in ('value="much"', 'value="Blue tank"', 'value="two hairs"', 'value="19:00"'):
        assert words in page


def test_a_load_is_refused_on_its_page(door: Dairy, maker: Client) -> None:
    with door.at(0.3):
        load = door.load("M-1", received_at=hours(0))
        address = f"/near/receiving/loads/{load.pk}/refuse/"
        answer = maker.post(address, {"uuid": str(uuid4()), **REFUSE, "volume": ""})

    assert answer.status_code == 302
    assert balance_of(door.cast.dairy, load).wholly_refused
