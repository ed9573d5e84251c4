"""One reading with its history; voiding one; explaining a check that was not made."""

from collections.abc import Iterator
from http import HTTPStatus
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from records.batches.models import Lot
from records.batches.services import EventContent
from records.checks.models import CheckExplained, Reading
from records.checks.services import ReadingContent, correct_event, correct_reading
from safetyplan.integrity.models import Entry
from safetyplan.integrity.verification import verify
from tests.builders import T0, a_device, a_lot, a_reading, an_event, at, day_slot, hours, lot_slot
from tests.cast import Cast
from tests.remembering import told_again

OK, NOT_FOUND, FORBIDDEN = HTTPStatus.OK, HTTPStatus.NOT_FOUND, HTTPStatus.FORBIDDEN
UNREADABLE, FOUND = HTTPStatus.UNPROCESSABLE_ENTITY, HTTPStatus.FOUND


@pytest.fixture
def lot(working: Cast) -> Iterator[Lot]:
    """Start a lot, and stop the clock half an hour later."""
    with at(working.dairy, hours(0.5)):
        yield told_again("a lot", lambda: a_lot(working))


@pytest.fixture
def milk(working: Cast, lot: Lot) -> Reading:
    """Record the milk's temperature from the maker's phone."""
    phone = a_device(working.dairy, working.maker)
    record = phone.send(phone.reading(lot_slot(lot, "OPRP3"), hours(0.4), temperature="3,8")).record
    assert isinstance(record, Reading)
    return record


def corrected(cast: Cast, original: Reading, value: str) -> Reading:
    """Correct a reading."""
    content = ReadingContent(
        slot=original.slot,
        observed_at=original.observed_at,
        parts=[{"name": "temperature", "raw": value, "unit": "", "confirmed": False}],
    )
    return correct_reading(
        establishment=cast.dairy, by=cast.maker, original=original, content=content, why="misread the display"
    ).reading


def page(client: Client, pk: UUID) -> str:
    """Give the page of a reading."""
    return client.get(f"/near/readings/{pk}/").content.decode()


def test_a_reading_shows_value_limit_result_person_device_and_ledger_entry(
    working: Cast, milk: Reading, client: Client
) -> None:
    client.force_login(working.inspector)
    text = page(client, milk.pk)
    for expected in (
        "3.8 °C",
        "typed: <bdi>3,8</bdi>",
        "Within the limit",
        "temperature at most 7 °C",
        "Maker Person (MK)",
        "2026-05-14 08:24",  # 07:24 UTC in Dublin's summer time
        "Test phone",
        f"no. {milk.entry.sequence}",
        milk.entry.hash,
        "&quot;raw&quot;:&quot;3,8&quot;",
    ):
        assert expected in text


def test_a_corrected_reading_keeps_the_first_value_struck_with_who_when_and_why(
    working: Cast, milk: Reading, client: Client
) -> None:
    new = corrected(working, milk, "9.5")
    client.force_login(working.inspector)
    first, second = page(client, milk.pk), page(client, new.pk)
    for text in (first, second):
        assert "<del>3.8 °C</del>" in text
        assert "9.5 °C" in text
        assert "misread the display" in text
        assert "Outside the limit" in text
        assert milk.entry.hash in text
        assert new.entry.hash in text


def test_a_reading_judged_again_shows_both_results(working: Cast, lot: Lot, client: Client) -> None:
    starter = an_event(working, lot, "starter_added", hours(0.4))
    with at(working.dairy, hours(24)):
        reading = a_reading(working, lot_slot(lot, "CCP2"), hours(24), ph="4.55").reading
        content = EventContent(
            event="starter_added",
            observed_at=hours(0.1),
            details=({"name": "culture", "raw": "MA K81", "unit": "", "confirmed": False},),
            reason="clock of the vat room was wrong",
            late_reason="found at the review",
        )
        correct_event(establishment=working.dairy, by=working.maker, original=starter, content=content)
    client.force_login(working.inspector)
    text = page(client, reading.pk)
    assert "Judged again" in text
    assert "Starter added" in text


def test_only_makers_see_the_buttons_to_correct_and_void(
    working: Cast, milk: Reading, client: Client
) -> None:
    client.force_login(working.inspector)
    assert f"/near/readings/{milk.pk}/void/" not in page(client, milk.pk)
    client.force_login(working.maker)
    text = page(client, milk.pk)
    assert f"/near/readings/{milk.pk}/void/" in text
    assert f"/near/readings/{milk.pk}/correct/" in text


def test_a_reading_with_a_deviation_leads_to_it(working: Cast, lot: Lot, client: Client) -> None:
    done = a_reading(working, lot_slot(lot, "OPRP3"), hours(0.4), temperature="9.5")
    assert done.deviation is not None
    client.force_login(working.inspector)
    assert f"/near/deviations/{done.deviation.pk}/" in page(client, done.reading.pk)


def test_the_page_of_a_reading_needs_the_same_queries_whatever_was_corrected(
    working: Cast, milk: Reading, client: Client
) -> None:
    client.force_login(working.maker)
    newest, counts = milk, set()
    for value in ("3.9", "4.0", "4.1"):
        newest = corrected(working, newest, value)
        with CaptureQueriesContext(connection) as seen:
            page(client, newest.pk)
        counts.add(len(seen))
    assert len(counts) == 1


# Void ----------------------------------------------------------------------------------------------


def void(client: Client, pk: UUID, reason: str, uuid: str | None = None) -> Any:
    """Send the form that voids a reading."""
    return client.post(f"/near/readings/{pk}/void/", {"reason": reason, "uuid": uuid or str(uuid4())})


def test_a_reading_is_voided_with_a_reason_and_stays_readable(
    working: Cast, milk: Reading, client: Client
) -> None:
    client.force_login(working.maker)
    answer = void(client, milk.pk, "belongs to another lot")
    row = Reading.objects.of(working.dairy).get(supersedes=milk)
    assert answer["Location"] == f"/near/readings/{row.pk}/"
    text = page(client, row.pk)
    assert "<del>3.8 °C</del>" in text
    assert "belongs to another lot" in text
    assert verify(working.dairy) == []


def test_voiding_twice_with_the_same_form_stores_once(working: Cast, milk: Reading, client: Client) -> None:
    client.force_login(working.maker)
    once = str(uuid4())
    first, second = void(client, milk.pk, "other lot", once), void(client, milk.pk, "other lot", once)
    assert first["Location"] == second["Location"]
    assert Reading.objects.of(working.dairy).count() == 2


@pytest.mark.parametrize("reason", ["", "  ", "no"])
def test_a_void_without_a_reason_is_refused_and_what_was_typed_stays(
    working: Cast, milk: Reading, client: Client, reason: str
) -> None:
    client.force_login(working.maker)
    answer = void(client, milk.pk, reason, "11111111-1111-4111-8111-111111111111")
    assert answer.status_code == UNREADABLE
    assert answer.context["form"].errors["reason"]
    assert 'value="11111111-1111-4111-8111-111111111111"' in answer.content.decode()
    assert Reading.objects.of(working.dairy).count() == 1


def test_too_long_a_reason_stays_in_the_field(working: Cast, milk: Reading, client: Client) -> None:
    client.force_login(working.maker)
    answer = void(client, milk.pk, "x" * 501)
    assert answer.status_code == UNREADABLE
    assert "x" * 501 in answer.content.decode()


def test_a_reading_that_was_corrected_meanwhile_is_not_voided(
    working: Cast, milk: Reading, client: Client
) -> None:
    new = corrected(working, milk, "3.9")
    client.force_login(working.maker)
    answer = void(client, milk.pk, "other lot")
    assert answer.status_code == HTTPStatus.CONFLICT
    assert "already corrected" in answer.content.decode()
    assert void(client, new.pk, "other lot").status_code == FOUND


def test_a_form_without_its_number_is_refused(working: Cast, milk: Reading, client: Client) -> None:
    client.force_login(working.maker)
    answer = client.post(f"/near/readings/{milk.pk}/void/", {"reason": "other lot"})
    assert answer.status_code == UNREADABLE
    assert Reading.objects.of(working.dairy).count() == 1


# Explain -------------------------------------------------------------------------------------------


def explain(client: Client, slot: str, reason: str) -> Any:
    """Send the form that explains a check."""
    return client.post(f"/near/checks/{slot}/explain/", {"reason": reason, "uuid": str(uuid4())})


def test_a_prerequisite_check_is_explained_with_a_reason(working: Cast, lot: Lot, client: Client) -> None:
    client.force_login(working.maker)
    slot = day_slot(T0, "PRP1")
    assert "Cold store" in client.get(f"/near/checks/{slot}/explain/").content.decode()
    assert explain(client, slot, "display out of order").status_code == FOUND
    assert CheckExplained.objects.of(working.dairy).get().reason == "display out of order"


def test_explaining_twice_stores_once(working: Cast, lot: Lot, client: Client) -> None:
    client.force_login(working.maker)
    slot = day_slot(T0, "PRP1")
    first, second = explain(client, slot, "display broken"), explain(client, slot, "display broken")
    assert (first.status_code, second.status_code) == (FOUND, FOUND)
    assert CheckExplained.objects.of(working.dairy).count() == 1


def test_a_reason_that_is_too_short_is_refused_and_kept(working: Cast, lot: Lot, client: Client) -> None:
    client.force_login(working.maker)
    answer = explain(client, day_slot(T0, "PRP1"), "no")
    assert answer.status_code == UNREADABLE
    assert ">\nno</textarea>" in answer.content.decode()
    assert not CheckExplained.objects.of(working.dairy).exists()


def test_a_critical_check_cannot_be_explained_away(working: Cast, lot: Lot, client: Client) -> None:
    client.force_login(working.maker)
    slot = lot_slot(lot, "CCP1")
    assert "<form" not in client.get(f"/near/checks/{slot}/explain/").content.decode().split("<main")[1]
    assert explain(client, slot, "forgotten on the day").status_code == HTTPStatus.CONFLICT
    assert not CheckExplained.objects.of(working.dairy).exists()


def test_a_recorded_check_is_not_explained(working: Cast, lot: Lot, client: Client) -> None:
    a_reading(working, day_slot(T0, "PRP1"), hours(0.2), temperature="3.5")
    client.force_login(working.maker)
    assert explain(client, day_slot(T0, "PRP1"), "display broken").status_code == HTTPStatus.CONFLICT


# Who -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("who", "read", "void_it", "explain_it"),
    [
        ("maker", OK, FOUND, FOUND),
        ("owner", OK, FORBIDDEN, FOUND),
        ("reviewer", OK, FORBIDDEN, FOUND),
        ("inspector", OK, FORBIDDEN, FORBIDDEN),
        ("stranger", NOT_FOUND, NOT_FOUND, NOT_FOUND),
    ],
)
def test_each_role_may_do_its_own(
    working: Cast, milk: Reading, client: Client, who: str, read: int, void_it: int, explain_it: int
) -> None:
    client.force_login(getattr(working, who))
    assert client.get(f"/near/readings/{milk.pk}/").status_code == read
    assert void(client, milk.pk, "other lot").status_code == void_it
    assert explain(client, day_slot(T0, "PRP1"), "display broken").status_code == explain_it


def test_a_reading_of_another_establishment_is_not_found(
    working: Cast, milk: Reading, client: Client
) -> None:
    client.force_login(working.stranger)
    for end in ("", "correct/", "void/"):
        assert client.get(f"/near-far/readings/{milk.pk}/{end}").status_code in (NOT_FOUND, FORBIDDEN)
    client.force_login(working.maker)
    assert client.get(f"/near/readings/{milk.pk}/").status_code == OK


def test_looking_at_readings_records_nothing(working: Cast, milk: Reading, client: Client) -> None:
    client.force_login(working.maker)
    before = Entry._base_manager.count()
    for end in ("", "void/", "correct/"):
        client.get(f"/near/readings/{milk.pk}/{end}")
    client.get(f"/near/checks/{day_slot(T0, 'PRP1')}/explain/")
    assert Entry._base_manager.count() == before
