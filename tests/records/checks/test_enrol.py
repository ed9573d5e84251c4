"""Enrolling a device: who may, once per key, refused in words."""

import json
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from safetyplan.establishments.models import Credential
from safetyplan.establishments.services import revoke_credential
from tests.builders import Device
from tests.cast import Cast
from tests.records.checks.sending import told

CREATED, OK = HTTPStatus.CREATED, HTTPStatus.OK
UNREADABLE = HTTPStatus.UNPROCESSABLE_ENTITY


# Enrolling a device --------------------------------------------------------------------------------


def enrol(client: Client, value: Any, address: str = "/near/devices/") -> Any:
    """Send the public half of a key."""
    return client.post(address, json.dumps(value), content_type="application/json")


@pytest.fixture
def key(phone: Device) -> dict[str, str]:
    """Give a device's number and a public key that can be read."""
    return {
        "device": str(uuid4()),
        "device_label": "Chrome, Android",
        "public_key": phone.credential.public_key,
    }


def test_a_maker_enrols_a_device_and_the_same_key_is_enrolled_once(
    working: Cast, client: Client, key: dict[str, str]
) -> None:
    client.force_login(working.maker)
    first, second = enrol(client, key), enrol(client, key)
    assert (first.status_code, second.status_code) == (OK, OK)
    assert json.loads(first.content) == json.loads(second.content)
    row = Credential.objects.of(working.dairy).get(pk=json.loads(first.content)["credential"])
    assert (row.person, str(row.device), row.device_label) == (
        working.maker,
        key["device"],
        "Chrome, Android",
    )


def test_a_revoked_key_is_enrolled_anew(working: Cast, client: Client, key: dict[str, str]) -> None:
    client.force_login(working.maker)
    first = json.loads(enrol(client, key).content)["credential"]
    row = Credential.objects.of(working.dairy).get(pk=first)
    revoke_credential(establishment=working.dairy, by=working.maker, credential=row, reason="mistake")
    assert json.loads(enrol(client, key).content)["credential"] != first


@pytest.mark.parametrize(
    ("who", "status"),
    [("maker", 200), ("helper", 200), ("inspector", 403), ("reviewer", 403), ("stranger", 404)],
)
def test_only_who_may_record_enrols_a_device(
    working: Cast, client: Client, key: dict[str, str], who: str, status: int
) -> None:
    client.force_login(getattr(working, who))
    assert enrol(client, key).status_code == status


def test_enrolling_without_a_session_is_refused_in_words(
    working: Cast, client: Client, key: dict[str, str]
) -> None:
    answer = enrol(client, key)
    assert answer.status_code == HTTPStatus.UNAUTHORIZED
    assert "Sign in" in told(answer)["message"]


def test_enrolling_needs_the_token_against_forged_forms(working: Cast, key: dict[str, str]) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(working.maker)
    assert enrol(strict, key).status_code == HTTPStatus.FORBIDDEN
    assert not Credential.objects.of(working.dairy).filter(device=key["device"]).exists()


@pytest.mark.parametrize(
    ("name", "value", "part"),
    [
        ("device", "one", "device"),
        ("device", 1, "device"),
        ("public_key", "AAAA", "public_key"),
        ("public_key", None, "public_key"),
        ("device_label", [], "device_label"),
    ],
)
def test_a_key_that_cannot_be_read_is_refused_at_its_part(
    working: Cast, client: Client, key: dict[str, str], name: str, value: Any, part: str
) -> None:
    client.force_login(working.maker)
    answer = enrol(client, {**key, name: value})
    assert answer.status_code == UNREADABLE
    assert told(answer)["part"] == part


@pytest.mark.parametrize("raw", ["", "[]", "{", '"text"', "[" * 5000])
def test_a_body_that_is_no_key_is_refused(working: Cast, client: Client, raw: str) -> None:
    client.force_login(working.maker)
    answer = client.post("/near/devices/", raw, content_type="application/json")
    assert answer.status_code == UNREADABLE
