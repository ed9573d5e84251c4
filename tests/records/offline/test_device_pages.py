"""The pages of the device: kept page, worker, manifest, import of unsent records, alarm; nothing is wiped."""

import json
import logging
import re
from base64 import b64decode, b64encode
from hashlib import sha256
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from records.batches.models import Lot
from records.checks.models import Reading
from records.offline.worker import kept_files
from records.photos.models import PhotoTaken
from safetyplan.integrity import canonical, seals
from safetyplan.integrity.models import RefusedClaim
from tests.builders import Device, a_device, a_lot, a_picture, at, hours
from tests.cast import PASSWORD, Cast
from tests.records.checks.sending import milk
from tests.web import entries, signed_in, text_of


@pytest.fixture
def lot(working: Cast) -> Lot:
    """Start a lot."""
    with at(working.dairy, hours(0.5)):
        return a_lot(working)


@pytest.fixture
def phone(working: Cast) -> Device:
    """Enrol the maker's phone."""
    with at(working.dairy, hours(0.4)):
        return a_device(working.dairy, working.maker)


# Kept page, worker, manifest -----------------------------------------------------------------------


def test_the_kept_page_holds_nobodys_name_and_no_token(working: Cast) -> None:
    answer = signed_in(working.maker).get("/near/offline/")

    text = text_of(answer)
    assert answer["X-Kept-Page"] == "1"
    for secret in ("Maker Person", working.maker.username, str(working.maker.pk), "csrfmiddlewaretoken"):
        assert secret not in text
    assert "Near Test Dairy" in text


def test_the_worker_keeps_every_script_and_changes_with_any_of_them(working: Cast, client: Client) -> None:
    text = text_of(client.get("/near/service-worker.js"))
    plain = text_of(client.get("/near/service-worker.js?plain"))

    for path in kept_files():
        assert f"/{path.name}" in text
    assert re.search(r'const VERSION = "[0-9a-f]{16}";', text)
    assert text.startswith("import { flush }")
    assert "import {" not in plain


def test_the_manifest_names_the_dairy_and_icons_that_are_there(working: Cast) -> None:
    answer = signed_in(working.maker).get("/near/manifest.webmanifest")

    told = json.loads(answer.content)
    assert answer["Content-Type"] == "application/manifest+json"
    assert told["short_name"] == "Near Test Dairy"
    assert (told["start_url"], told["scope"]) == ("/near/today/", "/near/")
    names = {path.name for path in kept_files()}
    assert {icon["src"].rsplit("/", 1)[1] for icon in told["icons"]} <= names


def test_no_answer_tells_the_browser_to_wipe_what_it_keeps(working: Cast) -> None:
    client = signed_in(working.maker)
    answers = [client.get(f"/near/{page}/") for page in ("today", "device", "offline", "bundle")]
    answers.append(client.post("/sign-out/"))
    answers.append(
        client.post("/sign-in/", {"username": working.maker.username, "password": PASSWORD}),
    )
    for answer in answers:
        assert "Clear-Site-Data" not in answer.headers


# Import --------------------------------------------------------------------------------------------


def line(phone: Device, claim: dict[str, Any]) -> str:
    """Write a claim as a device writes it into the file."""
    raw = canonical.dumps(claim)
    return json.dumps({"claim": raw.decode(), "signature": phone.sign(raw), "state": "sending", "why": ""})


def photo_line(phone: Device, photo: bytes, **changes: str) -> str:
    """Write a photo as a device writes it into the file, before the claim that names it."""
    row = {
        "file": b64encode(photo).decode(),
        "sha256": sha256(photo).hexdigest(),
        "credential": str(phone.credential.pk),
        "signature": phone.sign(photo),
    }
    return json.dumps({**row, **changes})


def bring(working: Cast, *lines: str) -> Any:
    """Bring a file of unsent records, as somebody else than their author."""
    file = SimpleUploadedFile("unsent-records.ndjson", "\n".join(lines).encode())
    with at(working.dairy, hours(0.7)):
        return signed_in(working.reviewer).post("/near/device/import/", {"file": file})


def test_a_file_of_unsent_records_is_taken_once_with_its_own_authors(
    working: Cast, lot: Lot, phone: Device
) -> None:
    with at(working.dairy, hours(0.5)):
        claim = milk(phone, lot)
    first = bring(working, line(phone, claim))
    again = bring(working, line(phone, claim))

    assert "Line 1 is received" in text_of(first)
    assert "Line 1 was received before" in text_of(again)
    row = Reading.objects.of(working.dairy).get()
    assert row.author == working.maker
    assert row.claim == claim


def test_a_bad_line_is_named_and_kept_and_the_good_one_after_it_is_taken(
    working: Cast, lot: Lot, phone: Device
) -> None:
    with at(working.dairy, hours(0.5)):
        good, bad = milk(phone, lot), milk(phone, lot, "warm")
    answer = bring(working, line(phone, bad), "{}", line(phone, good))

    text = text_of(answer)
    assert "Line 1 was not taken" in text
    assert "Line 2 was not taken: This line is no record of a device.</p>" in text
    assert "Line 3 is received" in text
    assert bytes(RefusedClaim.objects.of(working.dairy).get().raw) == canonical.dumps(bad)


def test_the_photos_of_a_file_are_taken_with_their_records_and_once(
    working: Cast, lot: Lot, phone: Device
) -> None:
    photo = a_picture()
    with at(working.dairy, hours(0.5)):
        claim = milk(phone, lot)
    claim["content"]["photos"] = [sha256(photo).hexdigest()]
    first = bring(working, photo_line(phone, photo), line(phone, claim))
    again = bring(working, photo_line(phone, photo), line(phone, claim))

    assert "Line 1: the photo is received." in text_of(first)
    assert "Line 2 is received" in text_of(first)
    assert "Line 1: the photo was received before." in text_of(again)
    reading = Reading.objects.of(working.dairy).get()
    taken = PhotoTaken.objects.of(working.dairy).get()
    assert (taken.about, taken.sent_sha256) == (reading.pk, sha256(photo).hexdigest())


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"file": "not base64"}, "damaged"),
        ({"file": b64encode(a_picture("blue")).decode()}, "signature does not match"),
        ({"sha256": "0" * 64}, "damaged"),
        ({"credential": "nobody"}, "the key that signed it"),
        ({"signature": "AAAA"}, "signature does not match"),
    ],
)
def test_a_photo_of_a_file_that_is_not_whole_is_named_and_its_record_is_taken(
    working: Cast, lot: Lot, phone: Device, changes: dict[str, str], words: str
) -> None:
    with at(working.dairy, hours(0.5)):
        claim = milk(phone, lot)
    text = text_of(bring(working, photo_line(phone, a_picture(), **changes), line(phone, claim)))

    assert "Line 1 was not taken" in text
    assert words in text
    assert "Line 2 is received" in text
    assert PhotoTaken.objects.of(working.dairy).count() == 0


@pytest.mark.parametrize("content", [b"", b"hello", b"\xff\xfe\x00", b'["a"]'])
def test_a_file_of_something_else_is_refused_in_words_and_stores_nothing(
    working: Cast, content: bytes
) -> None:
    before = entries(working.dairy)
    file = SimpleUploadedFile("x.ndjson", content)
    answer = signed_in(working.reviewer).post("/near/device/import/", {"file": file})

    assert answer.status_code == 422
    assert "file" in text_of(answer)
    assert entries(working.dairy) == before


# Seals ---------------------------------------------------------------------------------------------


def test_the_proof_between_two_seals_is_given_as_hashes(working: Cast, lot: Lot) -> None:
    with at(working.dairy, hours(1)):
        first = seals.seal(establishment=working.dairy, reason="daily")
        a_lot(working, "TF-0515", started=hours(0.8))
        second = seals.seal(establishment=working.dairy, reason="daily")
    client = signed_in(working.inspector)

    told = json.loads(client.get(f"/near/seals/between/?first={first.size}&second={second.size}").content)

    assert (told["first"], told["second"]) == (first.size, second.size)
    assert all(re.fullmatch("[0-9a-f]{64}", value) for value in told["proof"])
    assert client.get("/near/seals/between/?first=x&second=2").status_code == 422


def test_an_alarm_is_written_into_the_security_log_on_one_line(
    working: Cast, caplog: pytest.LogCaptureFixture
) -> None:
    client = signed_in(working.maker)
    with caplog.at_level(logging.WARNING, "safetyplan.security"):
        answer = client.post(
            "/near/seals/alarm/",
            json.dumps({"what": "fork", "kept": "a\nb", "offered": "c"}),
            content_type="application/json",
        )

    assert answer.status_code == 200
    [message] = [record.getMessage() for record in caplog.records]
    assert "fork" in message
    assert "\n" not in message
    assert str(working.maker.pk) in message


def test_a_record_says_that_the_line_is_ours(working: Cast, client: Client) -> None:
    assert json.loads(client.get("/near/claims/line/").content) == {"here": "records"}
    assert client.get("/nowhere/claims/line/").status_code == 404
    assert b64decode(seals.opening_of(working.dairy).public_key)
