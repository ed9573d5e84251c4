"""Taking turns on a shared device: the device's key signs a number of the server that is good once."""

import json
import logging
from datetime import timedelta
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from safetyplan.establishments.models import Challenge, Person, Role
from safetyplan.establishments.services import MemberSpec, change_membership, revoke_credential
from safetyplan.establishments.switching import MOST_OPEN, signed_text
from tests.builders import Device, a_device
from tests.cast import PASSWORD, Cast

OK, FORBIDDEN, UNAUTHORIZED = HTTPStatus.OK, HTTPStatus.FORBIDDEN, HTTPStatus.UNAUTHORIZED
TURN, CHALLENGE = "/near/devices/turn/", "/near/devices/challenge/"


@pytest.fixture
def tablet(cast: Cast) -> Device:
    """Enrol the maker on the shared tablet."""
    return a_device(cast.dairy, cast.maker)


def number(client: Client, address: str = CHALLENGE) -> str:
    """Ask for a number to sign."""
    nonce: str = json.loads(client.post(address).content)["nonce"]
    return nonce


def turn(client: Client, device: Device, nonce: str, /, **changes: Any) -> Any:
    """Take a turn: sign the number with the device's key and send it."""
    sent = {
        "nonce": nonce,
        "credential": str(device.credential.pk),
        "signature": device.sign(signed_text(device.dairy, device.credential, nonce)),
    }
    return client.post(TURN, json.dumps({**sent, **changes}), content_type="application/json")


def whose(client: Client) -> str | None:
    """Tell whose session it is."""
    return client.session.get("_auth_user_id")


def test_a_turn_signs_in_the_person_of_the_key(cast: Cast, client: Client, tablet: Device) -> None:
    client.force_login(cast.helper)
    answer = turn(client, tablet, number(client))
    body = json.loads(answer.content)
    assert answer.status_code == OK
    assert (body["person"], body["name"], body["initials"]) == (str(cast.maker.pk), "Maker Person", "MK")
    assert whose(client) == str(cast.maker.pk)
    assert body["session"] == client.session["signed_in_mark"]


def test_a_turn_is_taken_also_when_the_session_has_ended(cast: Cast, client: Client, tablet: Device) -> None:
    assert turn(client, tablet, number(client)).status_code == OK
    assert client.get("/near/today/").status_code == OK


def test_a_turn_gets_a_new_session(cast: Cast, client: Client, tablet: Device) -> None:
    client.force_login(cast.maker)
    before = client.session.session_key
    turn(client, tablet, number(client))
    assert client.session.session_key != before


def test_a_number_is_good_once(cast: Cast, client: Client, tablet: Device) -> None:
    nonce = number(client)
    assert turn(client, tablet, nonce).status_code == OK
    assert turn(Client(), tablet, nonce).status_code == UNAUTHORIZED


def test_a_number_is_good_for_two_minutes(cast: Cast, client: Client, tablet: Device) -> None:
    old, fresh = number(client), number(client)
    given = Challenge.objects.of(cast.dairy).filter(nonce=old)
    given.update(made_at=timezone.now() - timedelta(minutes=2, seconds=1))
    assert turn(client, tablet, old).status_code == UNAUTHORIZED
    assert turn(client, tablet, fresh).status_code == OK


def test_a_number_of_our_own_making_is_refused(cast: Cast, client: Client, tablet: Device) -> None:
    assert turn(client, tablet, "A" * 43).status_code == UNAUTHORIZED
    assert whose(client) is None


def test_a_number_of_another_dairy_is_refused(cast: Cast, client: Client, tablet: Device) -> None:
    other = number(client, "/near-far/devices/challenge/")
    assert turn(client, tablet, other).status_code == UNAUTHORIZED


def test_another_key_cannot_take_the_turn(cast: Cast, client: Client, tablet: Device) -> None:
    nonce, mine = number(client), a_device(cast.dairy, cast.helper)
    forged = mine.sign(signed_text(cast.dairy, tablet.credential, nonce))
    assert turn(client, tablet, nonce, signature=forged).status_code == UNAUTHORIZED
    assert whose(client) is None


def test_a_refused_try_uses_the_number_up(cast: Cast, client: Client, tablet: Device) -> None:
    nonce = number(client)
    assert turn(client, tablet, nonce, signature="AAAA").status_code == UNAUTHORIZED
    assert turn(client, tablet, nonce).status_code == UNAUTHORIZED


@pytest.mark.parametrize(
    "change", [{"credential": str(uuid4())}, {"credential": "none"}, {"nonce": 7}, {"signature": None}]
)
def test_what_is_no_turn_is_refused_in_words(
    cast: Cast, client: Client, tablet: Device, change: dict[str, Any]
) -> None:
    answer = turn(client, tablet, number(client), **change)
    assert answer.status_code in (FORBIDDEN, 422)
    assert json.loads(answer.content)["error"]["message"]
    assert whose(client) is None


@pytest.mark.parametrize("address", ["devices/", "devices/turn/", "scan/", "seals/alarm/"])
def test_a_form_where_a_device_speaks_is_refused(cast: Cast, client: Client, address: str) -> None:
    client.force_login(cast.maker)
    answer = client.post(f"/near/{address}", {"credential": "a field of a form"})
    assert answer.status_code == 415
    assert json.loads(answer.content)["error"]["message"]


def test_a_key_that_was_signed_off_takes_no_turn(cast: Cast, client: Client, tablet: Device) -> None:
    assert turn(client, tablet, number(client)).status_code == OK
    client.logout()
    revoke_credential(
        establishment=cast.dairy, by=cast.owner, credential=tablet.credential, reason="tablet lost"
    )
    answer = turn(client, tablet, number(client))
    assert answer.status_code == FORBIDDEN
    assert json.loads(answer.content)["error"]["part"] == "credential"
    assert whose(client) is None


def test_a_person_who_left_takes_no_turn(cast: Cast, client: Client, tablet: Device) -> None:
    member = MemberSpec("Maker Person", "MK", (Role.MAKER,), active=False, reason="left")
    change_membership(establishment=cast.dairy, by=cast.owner, person=cast.maker, member=member)
    assert turn(client, tablet, number(client)).status_code == UNAUTHORIZED


def test_a_person_whose_login_is_closed_takes_no_turn(cast: Cast, client: Client, tablet: Device) -> None:
    Person.objects.filter(pk=cast.maker.pk).update(is_active=False)
    assert turn(client, tablet, number(client)).status_code == UNAUTHORIZED


def test_a_flood_of_numbers_is_refused_and_ends_by_itself(cast: Cast, client: Client, tablet: Device) -> None:
    made = timezone.now()
    Challenge.objects.bulk_create(
        Challenge(establishment=cast.dairy, nonce=f"n{i}", made_at=made) for i in range(MOST_OPEN)
    )
    assert client.post(CHALLENGE).status_code == HTTPStatus.TOO_MANY_REQUESTS
    Challenge.objects.update(made_at=made - timedelta(minutes=3))
    assert turn(client, tablet, number(client)).status_code == OK


def test_who_took_a_turn_keeps_no_accounts_until_the_password_is_given(cast: Cast, client: Client) -> None:
    desk = a_device(cast.dairy, cast.owner)
    turn(client, desk, number(client))
    assert client.get("/near/people/add/").status_code == FORBIDDEN
    assert client.get("/near/today/").status_code == OK
    client.post("/sign-in/", {"username": "owner-near", "password": PASSWORD})
    client.logout()
    client.post("/sign-in/", {"username": "owner-near", "password": PASSWORD})
    assert client.get("/near/people/add/").status_code == OK


def test_the_security_log_says_how_the_person_was_recognised(
    cast: Cast, client: Client, tablet: Device, caplog: pytest.LogCaptureFixture
) -> None:
    nonce = number(client)
    with caplog.at_level(logging.INFO, "safetyplan.security"):
        turn(client, tablet, nonce)
    assert "sign-in ok by PIN on a device: name=maker-near" in caplog.text
    assert nonce not in caplog.text


def test_a_page_elsewhere_cannot_take_a_turn(cast: Cast, tablet: Device) -> None:
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(CHALLENGE).status_code == FORBIDDEN
