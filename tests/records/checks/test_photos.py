"""Photos of checks: bound to the signed claim by their hash, sent on their own, stored once, shown."""

import hashlib
import json
from collections.abc import Iterator
from http import HTTPStatus
from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from pypdf import PdfReader

from records.batches.models import Lot
from records.checks.models import Reading
from records.inspection.compose import render_issue
from records.inspection.services import issue_print
from records.photos.models import PhotoAwaited, PhotoReceived, PhotoTaken
from records.photos.queries import Photos, photos_of
from records.photos.services import MOST_OF_ONE
from safetyplan.integrity import canonical
from safetyplan.integrity.models import Entry, StoredFile
from safetyplan.integrity.refusals import Refused
from safetyplan.integrity.verification import verify
from tests.builders import Device, a_device, a_photo, a_picture, at, hours
from tests.cast import Cast
from tests.records.checks.sending import milk, send, told
from tests.web import signed_in, text_of

CREATED, OK = HTTPStatus.CREATED, HTTPStatus.OK
UNREADABLE = HTTPStatus.UNPROCESSABLE_ENTITY
FILES = "/near/claims/files/"


@pytest.fixture(autouse=True)
def _half_past(working: Cast) -> Iterator[None]:
    with at(working.dairy, hours(0.5)):
        yield


def sha256(content: bytes) -> str:
    """Give the hash by which a claim names a photo."""
    return hashlib.sha256(content).hexdigest()


def with_photo(phone: Device, lot: Lot, *photos: bytes) -> dict[str, Any]:
    """Make the claim of a reading that names its photos."""
    claim = milk(phone, lot)
    claim["content"]["photos"] = [sha256(photo) for photo in photos]
    return claim


def send_photo(client: Client, phone: Device, photo: bytes, **changes: Any) -> Any:
    """Send a photo as a device does."""
    headers = {
        "X-Claim-File-SHA256": sha256(photo),
        "X-Claim-Credential": str(phone.credential.pk),
        "X-Claim-Signature": phone.sign(photo),
        **changes.pop("headers", {}),
    }
    content_type = changes.pop("content_type", "image/jpeg")
    return client.post(FILES, photo, content_type=content_type, headers=headers)


def photos_on(cast: Cast) -> Photos | None:
    """Give the photos of the only reading."""
    row = Reading.objects.of(cast.dairy).get()
    return photos_of(cast.dairy, [row]).get(row.pk)


def test_a_photo_sent_before_its_claim_is_recorded_with_it(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    photo = a_picture()
    first = send_photo(client, phone, photo)
    assert (first.status_code, json.loads(first.content)) == (CREATED, {"sha256": sha256(photo)})
    reading = with_photo(phone, lot, photo)
    send(client, phone, reading)

    row = PhotoTaken.objects.of(working.dairy).get()
    assert (str(row.about), row.sent_sha256, row.author) == (reading["uuid"], sha256(photo), working.maker)
    kept = {f.sha256 for f in StoredFile.objects.of(working.dairy)}
    assert kept == {row.sha256, row.small_sha256}
    found = photos_on(working)
    assert found is not None
    assert ([p.bound for p in found.shown], found.awaited) == ([True], 0)
    assert verify(working.dairy) == []


def test_a_photo_that_arrives_after_its_claim_is_awaited_and_then_recorded(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    photo = a_picture()
    send(client, phone, with_photo(phone, lot, photo))
    found = photos_on(working)
    assert found is not None
    assert (list(found.shown), found.awaited) == ([], 1)
    send_photo(client, phone, photo)
    found = photos_on(working)
    assert found is not None
    assert ([p.bound for p in found.shown], found.awaited) == ([True], 0)
    assert not PhotoAwaited.objects.of(working.dairy).exists()


def test_a_photo_that_the_claim_does_not_name_is_shown_as_added_later(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    reading = milk(phone, lot)
    send(client, phone, reading)
    a_photo(working, reading["uuid"])
    text = text_of(signed_in(working.maker).get(f"/near/readings/{reading['uuid']}/"))
    assert "added after the record was signed" in text


def test_the_same_photo_sent_twice_is_kept_once(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    photo = a_picture()
    assert [send_photo(client, phone, photo).status_code for _ in range(2)] == [CREATED, OK]
    claim = with_photo(phone, lot, photo)
    assert [send(client, phone, claim).status_code for _ in range(2)] == [CREATED, OK]
    assert PhotoTaken.objects.of(working.dairy).count() == 1


def test_one_photo_may_show_two_checks(working: Cast, lot: Lot, phone: Device, client: Client) -> None:
    photo = a_picture()
    send_photo(client, phone, photo)
    for _ in range(2):
        assert send(client, phone, with_photo(phone, lot, photo)).status_code == CREATED
    assert PhotoTaken.objects.of(working.dairy).count() == 2


def test_an_event_of_a_lot_may_have_photos_too(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    photo = a_picture()
    send_photo(client, phone, photo)
    content = {
        "lot": str(lot.pk),
        "event": "starter_added",
        "observed_at": canonical.instant(hours(0.4)),
        "details": [{"name": "culture", "raw": "MA K81", "unit": "", "confirmed": False}],
        "photos": [sha256(photo)],
    }
    claim = phone.claim("lot_event", content)
    assert send(client, phone, claim).status_code == CREATED
    assert str(PhotoTaken.objects.of(working.dairy).get().about) == claim["uuid"]
    assert f"/near/photos/{PhotoTaken.objects.of(working.dairy).get().pk}/small/" in text_of(
        signed_in(working.maker).get(f"/near/lots/{lot.pk}/")
    )


def test_a_photo_that_was_damaged_on_its_way_is_refused(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    photo = a_picture()
    answer = send_photo(client, phone, photo, headers={"X-Claim-File-SHA256": sha256(b"another")})
    assert (answer.status_code, told(answer)["part"]) == (UNREADABLE, "photo")
    assert send_photo(client, phone, photo).status_code == CREATED


@pytest.mark.parametrize(
    ("photo", "status"),
    [
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", UNREADABLE),
        (b"<html>sign in to the guest network</html>", UNREADABLE),
        (b"\xff\xd8\xff" + b"\0" * (10 * 1024 * 1024), HTTPStatus.REQUEST_ENTITY_TOO_LARGE),
    ],
)
def test_what_is_no_photo_is_refused_and_nothing_is_kept_of_it(
    working: Cast, lot: Lot, phone: Device, client: Client, photo: bytes, status: int
) -> None:
    answer = send_photo(client, phone, photo)
    assert answer.status_code == status
    assert told(answer)["message"]
    assert not StoredFile.objects.of(working.dairy).exists()


@pytest.mark.parametrize(
    ("changes", "status"),
    [
        ({"content_type": "text/html"}, 415),
        ({"headers": {"Origin": "https://elsewhere.test"}}, 403),
        ({"headers": {"X-Claim-Credential": "none"}}, 400),
        ({"headers": {"X-Claim-Signature": "AAAA"}}, 401),
    ],
)
def test_a_photo_that_is_not_sent_as_devices_send_it_is_refused(
    working: Cast, lot: Lot, phone: Device, client: Client, changes: dict[str, Any], status: int
) -> None:
    photo = a_picture()
    assert send_photo(client, phone, photo, **changes).status_code == status
    assert not PhotoReceived.objects.of(working.dairy).exists()
    assert send_photo(client, phone, photo).status_code == CREATED


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/passwd", "passwd"),
        ("a\u202egpj.exe", "agpj.exe"),
        ("x" * 300, "x" * 200),
        ("\U0001f9c0 label.jpg", "\U0001f9c0 label.jpg"),
        ("a\0b.jpg", "ab.jpg"),
        ("", "document"),
    ],
)
def test_a_strange_name_is_kept_without_its_tricks(working: Cast, name: str, kept: str) -> None:
    assert a_photo(working, uuid4(), name=name).name == kept


@pytest.mark.parametrize(
    "photos", ["label", ["short"], [7], ["a" * 64, "a" * 64], [f"{n:064x}" for n in range(MOST_OF_ONE + 1)]]
)
def test_photos_that_are_named_wrongly_are_refused_at_their_part(
    working: Cast, lot: Lot, phone: Device, client: Client, photos: Any
) -> None:
    claim = milk(phone, lot)
    claim["content"]["photos"] = photos
    answer = send(client, phone, claim)
    assert (answer.status_code, told(answer)["part"]) == (UNREADABLE, "photos")
    assert not Reading.objects.of(working.dairy).exists()


def test_at_most_twelve_photos_are_kept_of_one_record(working: Cast) -> None:
    about = uuid4()
    for number in range(MOST_OF_ONE):
        a_photo(working, about, a_picture(size=(10 + number, 10)))
    with pytest.raises(Refused, match="At most 12"):
        a_photo(working, about, a_picture("blue"))


def test_the_same_photo_is_not_kept_twice_of_one_record(working: Cast) -> None:
    about = uuid4()
    a_photo(working, about)
    with pytest.raises(Refused, match="kept already"):
        a_photo(working, about)


def test_whose_key_is_not_of_this_dairy_sends_no_photo(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    stranger = a_device(working.other_dairy, working.stranger)
    answer = send_photo(client, stranger, a_picture())
    assert (answer.status_code, told(answer)["part"]) == (HTTPStatus.CONFLICT, "credential")
    assert not PhotoReceived._base_manager.exists()


def test_the_page_of_a_reading_shows_its_photo(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    photo = a_picture(size=(900, 600))
    reading = with_photo(phone, lot, photo)
    send(client, phone, reading)
    maker = signed_in(working.maker)
    page = f"/near/readings/{reading['uuid']}/"
    assert "1 photo has not arrived" in text_of(maker.get(page))
    send_photo(client, phone, photo)
    row = PhotoTaken.objects.of(working.dairy).get()
    text = text_of(maker.get(page))
    assert f'src="/near/photos/{row.pk}/small/"' in text
    assert "not arrived" not in text
    small = maker.get(f"/near/photos/{row.pk}/small/")
    assert (small["Content-Type"], small["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert sha256(small.content) == row.small_sha256
    assert sha256(maker.get(f"/near/photos/{row.pk}/whole/").content) == row.sha256
    assert maker.get(f"/near/photos/{row.pk}/other/").status_code == HTTPStatus.NOT_FOUND


def test_looking_at_photos_records_nothing(working: Cast, lot: Lot) -> None:
    row = a_photo(working, uuid4())
    before = Entry._base_manager.count()
    signed_in(working.inspector).get(f"/near/photos/{row.pk}/whole/")
    assert Entry._base_manager.count() == before


# On paper -----------------------------------------------------------------------------------------


def pictures_in(content: bytes) -> int:
    """Count the pictures of a print."""
    return sum(len(page.images) for page in PdfReader(BytesIO(content)).pages)


@pytest.mark.parametrize("what", ["lot", "day"])
def test_the_print_of_a_lot_and_of_a_day_shows_the_photos_taken_until_then(
    working: Cast, lot: Lot, phone: Device, client: Client, what: str
) -> None:
    photo = a_picture(size=(900, 600))
    send_photo(client, phone, photo)
    send(client, phone, with_photo(phone, lot, photo))
    subject = str(lot.pk) if what == "lot" else "2026-05-14"
    issue = issue_print(establishment=working.dairy, by=working.maker, what=what, subject=subject)
    a_photo(working, Reading.objects.of(working.dairy).get().pk, a_picture("blue"))

    printed = render_issue(issue)

    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(printed)).pages)
    assert "Photos" in text
    assert pictures_in(printed) == 1
    assert render_issue(issue) == printed


def test_the_print_says_when_a_photo_has_not_arrived(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    send(client, phone, with_photo(phone, lot, a_picture()))
    issue = issue_print(establishment=working.dairy, by=working.maker, what="lot", subject=str(lot.pk))
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(render_issue(issue))).pages)
    assert "has not arrived from the device" in " ".join(text.split())
