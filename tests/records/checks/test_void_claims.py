"""Undo on the device: a signed claim that voids a reading. It never launders, and is stored once."""

import json
from collections.abc import Iterator
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from records.batches.models import Lot
from records.checks.due import Status, lot_states
from records.checks.models import Reading
from records.deviations.models import Deviation
from records.deviations.queries import open_deviations
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.verification import verify
from tests.builders import Device, a_device, at, hours
from tests.cast import Cast
from tests.records.checks.sending import milk, send, told

CREATED, OK = HTTPStatus.CREATED, HTTPStatus.OK
UNREADABLE = HTTPStatus.UNPROCESSABLE_ENTITY


@pytest.fixture(autouse=True)
def _half_past(working: Cast) -> Iterator[None]:
    with at(working.dairy, hours(0.5)):
        yield


def undo(phone: Device, reading: str, why: str = "Undone on the device") -> dict[str, Any]:
    """Make the claim that undoes a reading."""
    moment = canonical.instant(clock.now(phone.dairy))
    return phone.claim("reading_void", {"reading": reading, "reason": why, "observed_at": moment})


def status_of(cast: Cast, lot: Lot, control: str) -> Status:
    """Tell where a check of the lot stands."""
    states = lot_states(cast.dairy, [lot], clock.now(cast.dairy))[lot.pk]
    return next(s.status for s in states if s.slot.control.code == control)


def test_an_undone_reading_is_void_and_its_check_is_due_again(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot)
    send(client, phone, claim)
    assert status_of(working, lot, "OPRP3") == Status.RECORDED

    answer = send(client, phone, undo(phone, claim["uuid"]))

    assert answer.status_code == CREATED
    assert json.loads(answer.content)["judgement"] is None
    void = Reading.objects.of(working.dairy).get(voided=True)
    assert (str(void.supersedes_id), void.author, void.reason) == (
        claim["uuid"],
        working.maker,
        "Undone on the device",
    )
    assert status_of(working, lot, "OPRP3") != Status.RECORDED
    assert verify(working.dairy) == []


def test_undoing_a_missed_limit_leaves_its_deviation_open(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot, "9.5")
    send(client, phone, claim)
    deviation = Deviation.objects.of(working.dairy).get()

    body = json.loads(send(client, phone, undo(phone, claim["uuid"])).content)

    assert [d.pk for d in open_deviations(working.dairy)] == [deviation.pk]
    assert body["deviation_url"] == f"/near/deviations/{deviation.pk}/"


def test_a_good_value_after_an_undone_missed_limit_does_not_close_the_deviation(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot, "9.5")
    send(client, phone, claim)
    send(client, phone, undo(phone, claim["uuid"]))
    assert send(client, phone, milk(phone, lot, "3.8")).status_code == CREATED
    assert len(open_deviations(working.dairy)) == 1


def test_an_undo_sent_twice_is_stored_once(working: Cast, lot: Lot, phone: Device, client: Client) -> None:
    claim = milk(phone, lot)
    send(client, phone, claim)
    void = undo(phone, claim["uuid"])
    first, second = send(client, phone, void), send(client, phone, void)
    assert (first.status_code, second.status_code) == (CREATED, OK)
    assert json.loads(first.content)["receipt"] == json.loads(second.content)["receipt"]
    assert Reading.objects.of(working.dairy).filter(voided=True).count() == 1


def test_a_reading_is_undone_only_once(working: Cast, lot: Lot, phone: Device, client: Client) -> None:
    claim = milk(phone, lot)
    send(client, phone, claim)
    assert send(client, phone, undo(phone, claim["uuid"])).status_code == CREATED
    assert send(client, phone, undo(phone, claim["uuid"])).status_code == HTTPStatus.CONFLICT


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ({"reading": str(uuid4())}, "reading"),
        ({"reading": None}, ""),
        ({"reason": ""}, "reason"),
        ({"reason": 7}, "reason"),
    ],
)
def test_an_undo_that_cannot_be_right_is_refused_at_its_part(
    working: Cast, lot: Lot, phone: Device, client: Client, change: dict[str, Any], part: str
) -> None:
    claim = milk(phone, lot)
    send(client, phone, claim)
    void = undo(phone, claim["uuid"])
    void["content"] |= change
    answer = send(client, phone, void)
    assert answer.status_code == UNREADABLE
    assert told(answer)["part"] == part
    assert not Reading.objects.of(working.dairy).filter(voided=True).exists()


def test_a_reading_of_another_dairy_is_not_known_here(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot)
    send(client, phone, claim)
    stranger = a_device(working.other_dairy, working.stranger)
    answer = send(client, stranger, undo(stranger, claim["uuid"]), address="/near-far/claims/")
    assert answer.status_code in (HTTPStatus.FORBIDDEN, UNREADABLE)
    assert not Reading.objects.of(working.dairy).filter(voided=True).exists()
