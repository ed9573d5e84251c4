"""Scanning a lot: by the code or the address of its label, typed or read from a photo of either.

Rows 29 to 31 and 82 of the bad inputs. The codes are drawn by another program than the one that reads them:
QR codes by reportlab, bar codes by reportlab's Code 128.
"""

import json
from collections.abc import Iterator
from http import HTTPStatus
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from PIL import Image
from pypdf import PdfReader
from reportlab.graphics.barcode.code128 import Code128

from records.batches.models import Lot
from records.inspection.compose import render_issue
from records.inspection.services import issue_print
from safetyplan.integrity.models import Entry
from safetyplan.printing import qr
from tests.builders import a_lot, a_picture, at, hours
from tests.cast import Cast
from tests.web import signed_in, text_of

zxingcpp = pytest.importorskip("zxingcpp")
OK, FOUND, UNREADABLE = HTTPStatus.OK, HTTPStatus.FOUND, HTTPStatus.UNPROCESSABLE_ENTITY
FIND, SCAN = "/near/lots/find/", "/near/scan/"


@pytest.fixture
def lot(working: Cast) -> Iterator[Lot]:
    """Start a lot."""
    with at(working.dairy, hours(0.5)):
        yield a_lot(working)


@pytest.fixture
def maker(working: Cast) -> Client:
    """Sign the maker in."""
    return signed_in(working.maker)


def qr_photo(text: str, scale: int = 6) -> bytes:
    """Photograph a QR code: its modules as black squares on white."""
    code = qr.symbol(text, 60.0)
    assert code is not None
    side = (code.side + 8) * scale
    image = Image.new("L", (side, side), 255)
    for row, column, length in code.runs:
        x, y = (column + 4) * scale, (row + 4) * scale
        image.paste(0, (x, y, x + length * scale, y + scale))
    return as_jpeg(image)


def bar_photo(text: str) -> bytes:
    """Photograph a bar code, four pixels to the narrowest bar."""
    code = Code128(text)
    code.validate()
    code.encode()
    code.decompose()
    pattern = "".join(
        ("1" if place % 2 == 0 else "0") * width(sign) for place, sign in enumerate(code.decomposed)
    )
    image = Image.new("L", ((len(pattern) + 40) * 4, 240), 255)
    for place, dark in enumerate(pattern):
        if dark == "1":
            x = (place + 20) * 4
            image.paste(0, (x, 20, x + 4, 220))
    return as_jpeg(image)


def width(sign: str) -> int:
    """Give the width of a bar or blank: reportlab writes bars as capitals and blanks as small letters."""
    return ord(sign.lower()) - ord("a") + 1


def as_jpeg(image: Image.Image) -> bytes:
    """Write a picture as a camera does."""
    output = BytesIO()
    image.save(output, "JPEG", quality=80)
    return output.getvalue()


def scan(client: Client, photo: bytes) -> Any:
    """Send a photo of a code."""
    return client.post(SCAN, photo, content_type="application/octet-stream")


@pytest.mark.parametrize("text", ["TF-0514", " tf-0514 ", "TF-O514", "tf-05I4\n", "\tTF-0514\r\n"])
def test_a_code_leads_to_its_lot_however_the_scanner_writes_it(lot: Lot, maker: Client, text: str) -> None:
    answer = maker.get(FIND, {"code": text})
    assert (answer.status_code, answer["Location"]) == (FOUND, f"/near/lots/{lot.pk}/")


def test_the_address_of_a_lot_leads_to_it_whatever_the_host_is_called_now(lot: Lot, maker: Client) -> None:
    answer = maker.get(FIND, {"code": f"https://dairy.local:8443/near/lots/{lot.pk}/"})
    assert answer["Location"] == f"/near/lots/{lot.pk}/"


def test_a_script_is_told_the_lots_address_or_why_there_is_none(lot: Lot, maker: Client) -> None:
    found = maker.get(FIND, {"code": "TF-0514", "form": "json"})
    assert json.loads(found.content) == {"code": "TF-0514", "url": f"/near/lots/{lot.pk}/"}
    missing = maker.get(FIND, {"code": "XX-1", "form": "json"})
    assert missing.status_code == UNREADABLE
    assert "XX-1" in json.loads(missing.content)["error"]["message"]


@pytest.mark.parametrize("text", ["", "TF-9999", "ТF-0514", "\u202eTF", "x" * 400, "https://elsewhere.test/"])
def test_what_is_no_code_of_a_lot_here_is_refused_in_words(lot: Lot, maker: Client, text: str) -> None:
    answer = maker.get(FIND, {"code": text})
    assert answer.status_code == UNREADABLE
    assert "refused" not in answer.templates or text_of(answer)


def test_a_lot_of_another_dairy_is_not_found_here(working: Cast, lot: Lot) -> None:
    stranger = signed_in(working.stranger)
    answer = stranger.get("/near-far/lots/find/", {"code": f"/near/lots/{lot.pk}/"})
    assert answer.status_code == UNREADABLE
    assert stranger.get(FIND, {"code": "TF-0514"}).status_code == HTTPStatus.NOT_FOUND


@pytest.mark.parametrize("photo", [qr_photo("TF-0514"), bar_photo("TF-0514")], ids=["QR", "bars"])
def test_the_code_in_a_photo_is_read(lot: Lot, maker: Client, photo: bytes) -> None:
    answer = scan(maker, photo)
    assert (answer.status_code, json.loads(answer.content)) == (OK, {"codes": ["TF-0514"]})


@pytest.mark.parametrize(
    ("photo", "words"),
    [
        (a_picture(), "No bar code"),
        (b"", "empty"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
        (b"no picture", "not a whole"),
    ],
)
def test_a_photo_without_a_code_is_refused_in_words(
    lot: Lot, maker: Client, photo: bytes, words: str
) -> None:
    answer = scan(maker, photo)
    assert answer.status_code == UNREADABLE
    assert words in json.loads(answer.content)["error"]["message"]


def test_scanning_records_nothing_and_keeps_no_photo(working: Cast, lot: Lot, maker: Client) -> None:
    before = Entry._base_manager.count()
    scan(maker, qr_photo("TF-0514"))
    maker.get(FIND, {"code": "TF-0514"})
    assert Entry._base_manager.count() == before


def test_the_page_of_a_lot_shows_its_address_as_a_code(working: Cast, lot: Lot, maker: Client) -> None:
    text = text_of(maker.get(f"/near/lots/{lot.pk}/"))
    expected = qr.symbol(f"http://testserver/near/lots/{lot.pk}/", 60.0)
    assert expected is not None
    assert qr.to_svg(expected, "QR code of this lot's address") in text


def test_the_label_of_a_lot_shows_its_code_in_letters_and_to_scanners(working: Cast, lot: Lot) -> None:
    issue = issue_print(establishment=working.dairy, by=working.maker, what="label", subject=str(lot.pk))
    printed = render_issue(issue)
    page = PdfReader(BytesIO(printed)).pages[0]
    assert "TF-0514" in page.extract_text()
    assert (
        round(float(page.mediabox.width) / 72 * 25.4),
        round(float(page.mediabox.height) / 72 * 25.4),
    ) == (
        74,
        52,
    )
    assert render_issue(issue) == printed
