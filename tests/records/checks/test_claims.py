"""The address of claims: stored once, signed by whom it names, refused in words, nothing lost."""

import hashlib
import json
from base64 import b64decode
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from django.test import Client

from records.batches.models import Lot, LotEvent
from records.checks import capture, claims
from records.checks.due import lot_states
from records.checks.models import Reading
from records.deviations.models import Deviation
from safetyplan.establishments.models import Role
from safetyplan.establishments.services import MemberSpec, change_membership, revoke_credential
from safetyplan.integrity import canonical, clock, seals
from safetyplan.integrity.models import Entry, RefusedClaim
from safetyplan.integrity.verification import verify
from tests.builders import Device, a_device, an_event, at, hours, lot_slot
from tests.cast import Cast
from tests.records.checks.sending import milk, send, send_raw, told

CREATED, OK = HTTPStatus.CREATED, HTTPStatus.OK
UNREADABLE = HTTPStatus.UNPROCESSABLE_ENTITY


# Stored once ---------------------------------------------------------------------------------------


def test_a_claim_is_stored_judged_and_answered_without_a_session(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    answer = send(client, phone, milk(phone, lot))
    body = json.loads(answer.content)
    assert answer.status_code == CREATED
    assert body["judgement"]["state"] == "within"
    assert "3.8 °C" in body["judgement"]["text"]
    assert body["judgement"]["limit"] == "temperature at most 7 °C"
    assert body["judgement"]["margin"] == "3.2 °C"  # 7 - 3.8, by hand
    assert (body["deviation_url"], body["next_url"], body["duplicate"]) == ("", "", False)
    assert Reading.objects.of(working.dairy).get().author == working.maker


def test_the_receipt_names_the_claim_and_is_signed_by_the_server(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot)
    body = json.loads(send(client, phone, claim).content)
    entry = Entry.objects.of(working.dairy).get(pk=claim["uuid"])
    assert body["receipt"] == {
        "v": 1,
        "uuid": claim["uuid"],
        "claim_hash": hashlib.sha256(canonical.dumps(claim)).hexdigest(),
        "sequence": entry.sequence,
        "hash": entry.hash,
        "recorded_at": "2026-05-14T07:30:00.000Z",
    }
    key = Ed25519PublicKey.from_public_bytes(b64decode(seals.opening_of(working.dairy).public_key))
    key.verify(b64decode(body["signature"]), canonical.dumps(body["receipt"]))


def test_the_same_claim_twice_is_stored_once_with_the_same_receipt(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot)
    first, second = send(client, phone, claim), send(client, phone, claim)
    assert (first.status_code, second.status_code) == (CREATED, OK)
    one, two = json.loads(first.content), json.loads(second.content)
    assert one["receipt"] == two["receipt"]
    assert one["signature"] == two["signature"]
    assert (one["duplicate"], two["duplicate"]) == (False, True)
    assert Reading.objects.of(working.dairy).count() == 1


def test_another_claim_under_a_used_number_is_refused(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot)
    send(client, phone, claim)
    other = {**milk(phone, lot, "9.9"), "uuid": claim["uuid"]}
    assert send(client, phone, other).status_code == UNREADABLE
    assert [r.value_text for r in Reading.objects.of(working.dairy)] == ["3.8"]


def test_whoever_is_signed_in_the_author_is_who_signed_the_claim(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    client.force_login(working.owner)
    assert send(client, phone, milk(phone, lot)).status_code == CREATED
    assert Reading.objects.of(working.dairy).get().author == working.maker


def test_an_event_is_answered_without_a_judgement(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    content = {
        "lot": str(lot.pk),
        "event": "starter_added",
        "observed_at": canonical.instant(hours(0.4)),
        "details": [{"name": "culture", "raw": "MA K81", "unit": "", "confirmed": False}],
        "late_reason": "",
        "reason": "",
        "supersedes": None,
    }
    answer = send(client, phone, phone.claim("lot_event", content))
    assert answer.status_code == CREATED
    assert json.loads(answer.content)["judgement"] is None
    assert LotEvent.objects.of(working.dairy).get().event == "starter_added"


def test_a_missed_limit_names_the_deviation_and_leaves_the_page_to_say_what_to_do(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    body = json.loads(send(client, phone, milk(phone, lot, "9.5")).content)
    deviation = Deviation.objects.of(working.dairy).get()
    assert body["judgement"]["state"] == "outside_limit"
    assert body["deviation_url"] == f"/near/deviations/{deviation.pk}/"
    assert body["next_url"] == ""


def test_a_good_value_of_a_check_with_an_open_deviation_leads_to_the_deviation(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    send(client, phone, milk(phone, lot, "9.5"))
    body = json.loads(send(client, phone, milk(phone, lot, "3.9")).content)
    assert body["judgement"]["state"] == "within"
    assert body["next_url"] == body["deviation_url"] != ""


def test_a_correction_leads_to_the_page_of_the_reading(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    send(client, phone, milk(phone, lot))
    original = Reading.objects.of(working.dairy).get()
    claim = milk(phone, lot, "3.7")
    claim["content"] |= {"supersedes": str(original.pk), "reason": "misread"}
    body = json.loads(send(client, phone, claim).content)
    assert body["next_url"] == f"/near/readings/{claim['uuid']}/"


# Who ----------------------------------------------------------------------------------------------


def test_a_wrong_signature_is_refused(working: Cast, lot: Lot, phone: Device, client: Client) -> None:
    claim = milk(phone, lot)
    raw, other = canonical.dumps(claim), canonical.dumps(milk(phone, lot))
    headers = {"Idempotency-Key": claim["uuid"]}
    assert send_raw(client, raw, phone.sign(other), headers=headers).status_code == HTTPStatus.UNAUTHORIZED
    assert send_raw(client, raw, phone.sign(raw), headers=headers).status_code == CREATED


@pytest.mark.parametrize("signature", [None, "", "not base64!", "AAAA"])
def test_something_that_is_no_signature_is_refused(
    working: Cast, lot: Lot, phone: Device, client: Client, signature: str | None
) -> None:
    answer = send(client, phone, milk(phone, lot), headers={"X-Claim-Signature": signature})
    assert answer.status_code == HTTPStatus.UNAUTHORIZED


def test_a_revoked_credential_is_refused_and_the_device_is_told_to_sign_in_anew(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    assert send(client, phone, milk(phone, lot)).status_code == CREATED
    revoke_credential(
        establishment=working.dairy, by=working.owner, credential=phone.credential, reason="phone lost"
    )
    answer = send(client, phone, milk(phone, lot))
    assert answer.status_code == HTTPStatus.CONFLICT
    assert told(answer)["part"] == "credential"


def test_a_credential_of_another_establishment_is_not_known_here(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    stranger = a_device(working.other_dairy, working.stranger)
    claim = {**milk(phone, lot), "credential": str(stranger.credential.pk)}
    claim |= {"person": str(working.stranger.pk), "device": str(stranger.credential.device)}
    answer = send(client, stranger, claim)
    assert answer.status_code == HTTPStatus.CONFLICT
    assert told(answer)["part"] == "credential"
    assert not Reading.objects.of(working.dairy).exists()


def test_a_claim_for_another_establishment_is_refused_here(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = {**milk(phone, lot), "establishment": str(working.other_dairy.pk)}
    assert send(client, phone, claim).status_code == HTTPStatus.NOT_FOUND
    assert (
        send(client, phone, milk(phone, lot), address="/nowhere/claims/").status_code == HTTPStatus.NOT_FOUND
    )
    assert not Reading.objects.of(working.dairy).exists()


def test_a_claim_that_names_another_person_than_its_key_is_refused(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = {**milk(phone, lot), "person": str(working.helper.pk)}
    assert send(client, phone, claim).status_code == HTTPStatus.FORBIDDEN


def test_fields_of_authorship_inside_the_content_change_nothing(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot, "9.9")
    claim["content"] |= {
        "author": str(working.owner.pk),
        "state": "within",
        "recorded_at": "2020-01-01T00:00:00.000Z",
        "sequence": 1,
    }
    assert send(client, phone, claim).status_code == CREATED
    row = Reading.objects.of(working.dairy).get()
    assert (row.author, row.state, row.recorded_at) == (working.maker, "outside_limit", hours(0.5))


def test_a_person_without_the_role_any_more_cannot_record(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    assert send(client, phone, milk(phone, lot)).status_code == CREATED
    member = MemberSpec("Maker Person", "MK", (Role.REVIEWER,), reason="changed work")
    change_membership(establishment=working.dairy, by=working.owner, person=working.maker, member=member)
    answer = send(client, phone, milk(phone, lot))
    assert answer.status_code == HTTPStatus.FORBIDDEN
    assert "Maker" in told(answer)["message"]


# The request ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "status"),
    [
        ({"content_type": "text/plain"}, 415),
        ({"content_type": "application/x-www-form-urlencoded"}, 415),
        ({"headers": {"Idempotency-Key": None}}, 400),
        ({"headers": {"Idempotency-Key": str(uuid4())}}, 400),
        ({"headers": {"Origin": "https://elsewhere.test"}}, 403),
        ({"headers": {"Origin": "null"}}, 403),
    ],
)
def test_a_request_that_is_not_as_devices_send_it_is_refused(
    working: Cast, lot: Lot, phone: Device, client: Client, changes: dict[str, Any], status: int
) -> None:
    claim = milk(phone, lot)
    assert send(client, phone, claim, **changes).status_code == status
    own = {"headers": {"Origin": "http://testserver"}}
    assert send(client, phone, claim, **own).status_code == CREATED


def test_a_claim_is_sent_with_post_only(working: Cast, client: Client) -> None:
    assert client.get("/near/claims/").status_code == HTTPStatus.METHOD_NOT_ALLOWED


def test_a_body_that_is_too_large_is_refused_unread(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    answer = send_raw(client, b" " * (capture.LARGEST + 1), "")
    assert answer.status_code == HTTPStatus.REQUEST_ENTITY_TOO_LARGE
    assert not RefusedClaim.objects.of(working.dairy).exists()


DEEP = b'{"v":' + b"[" * 5000 + b"]" * 5000 + b"}"


@pytest.mark.parametrize(
    "raw",
    [
        b" ",
        b"no json",
        b"[]",
        b"\xff\xfe",
        b'{"v":NaN}',
        b'{"v":Infinity}',
        b'{"v":1,"v":1}',
        b'{"v":1.5}',
        b'{ "v":1}',
        b'{"v":1}',
        DEEP,
    ],
)
def test_bytes_that_are_no_claim_are_refused_and_kept(
    working: Cast, lot: Lot, phone: Device, client: Client, raw: bytes
) -> None:
    answer = send_raw(client, raw, phone.sign(raw))
    assert answer.status_code == UNREADABLE
    assert told(answer)["message"]
    assert bytes(RefusedClaim.objects.of(working.dairy).get().raw) == raw


@pytest.mark.parametrize(
    ("name", "value", "part"),
    [
        ("slot", "nonsense", "slot"),
        ("slot", "day:2026-05-14:NONE:0", "slot"),
        ("slot", 7, "slot"),
        ("observed_at", "yesterday", "observed_at"),
        ("observed_at", None, "observed_at"),
        ("instrument", "none", ""),
        ("instrument", "00000000-0000-4000-8000-000000000000", "instrument"),
        ("parts", "4.2", "parts"),
        ("parts", [], "temperature"),
        ("supersedes", "00000000-0000-4000-8000-000000000000", "supersedes"),
    ],
)
def test_content_that_cannot_be_right_is_refused_at_its_part(
    working: Cast, lot: Lot, phone: Device, client: Client, name: str, value: Any, part: str
) -> None:
    claim = milk(phone, lot)
    claim["content"][name] = value
    answer = send(client, phone, claim)
    assert answer.status_code == UNREADABLE
    assert told(answer)["part"] == part
    assert not Reading.objects.of(working.dairy).exists()


@pytest.mark.parametrize("ordinal", ["1", "7", "00", "-1"])
def test_a_check_that_the_plan_does_not_have_is_refused(
    working: Cast, lot: Lot, phone: Device, client: Client, ordinal: str
) -> None:
    claim = milk(phone, lot)
    claim["content"]["slot"] = lot_slot(lot, "OPRP3", ordinal)
    assert told(send(client, phone, claim))["part"] == "slot"


def test_one_check_has_one_spelling(working: Cast, lot: Lot, phone: Device, client: Client) -> None:
    claim = milk(phone, lot)
    claim["content"]["slot"] = f"lot:{str(lot.pk).upper()}:OPRP3:0"
    assert send(client, phone, claim).status_code == UNREADABLE
    assert send(client, phone, milk(phone, lot)).status_code == CREATED


def test_a_value_that_is_doubtful_comes_back_with_offers_and_the_raw_bytes_are_kept(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot, "39F")
    answer = send(client, phone, claim)
    error = told(answer)
    assert answer.status_code == UNREADABLE
    assert error["part"] == "temperature"
    assert any("°C" in offer["label"] for offer in error["offers"])
    assert bytes(RefusedClaim.objects.of(working.dairy).get().raw) == canonical.dumps(claim)


def test_a_value_typed_before_its_window_leaves_the_check_to_be_made(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    an_event(working, lot, "starter_added", hours(0.3))
    with at(working.dairy, hours(4)):
        early = phone.reading(lot_slot(lot, "CCP2"), hours(4), ph="6.2")
        assert json.loads(send(client, phone, early).content)["judgement"]["state"] == "not_yet_due"
    with at(working.dairy, hours(40)):
        state = standing(working, lot, "CCP2")
    assert str(state) == "missing"


def standing(cast: Cast, lot: Lot, control: str) -> Any:
    """Give where a check of the lot stands now."""
    found = lot_states(cast.dairy, [lot], clock.now(cast.dairy))[lot.pk]
    return next(s.status for s in found if s.slot.control.code == control)


def test_a_failure_of_the_server_keeps_the_claim_and_tells_no_detail(
    working: Cast, lot: Lot, phone: Device, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(**_given: Any) -> None:
        raise ZeroDivisionError("secret detail")

    claim = milk(phone, lot)
    with monkeypatch.context() as patched:
        patched.setattr(claims, "accept_claim", fail)
        answer = send(client, phone, claim)
    kept = RefusedClaim.objects.of(working.dairy).get()
    assert answer.status_code == HTTPStatus.INTERNAL_SERVER_ERROR
    assert str(kept.pk) in told(answer)["message"]
    assert b"secret detail" not in answer.content
    assert bytes(kept.raw) == canonical.dumps(claim)
    assert kept.claim_uuid == claim["uuid"]
    assert send(client, phone, claim).status_code == CREATED


def test_after_everything_was_tried_the_ledger_verifies(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    claim = milk(phone, lot)
    send(client, phone, claim)
    send(client, phone, claim)
    send(client, phone, milk(phone, lot, "9.5"))
    send_raw(client, b"no json", "")
    assert verify(working.dairy) == []
