"""Sheets filled in by hand and entered later: who entered, who measured, when; nothing typed is lost."""

from hashlib import sha256
from io import BytesIO
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from records.batches.models import Lot
from records.checks.models import PaperLine, PaperSheet, Reading
from records.checks.paper import keep_sheet
from records.deviations.models import Deviation, FileAttached
from records.photos.models import PhotoTaken
from records.signoff.queries import day_sheet
from records.signoff.services import sign_day
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity.models import StoredFile
from tests.builders import T0, a_lot, a_picture, an_event, at, day_slot, hours, lot_slot
from tests.cast import Cast
from tests.records.things.sheets import EVENING, FRIDGE, helper, line, send, sheet, url
from tests.records.things.stage import PHOTO, a_sheet, cast
from tests.web import entries, text_of

__all__ = ["cast", "helper", "sheet"]  # the fixtures


def test_a_line_names_who_entered_and_who_measured(cast: Cast, helper: Client, sheet: PaperSheet) -> None:
    answer = send(cast, helper, sheet, line(0, FRIDGE, v_temperature="3.8"))
    assert answer.status_code == 302
    reading = Reading.objects.of(cast.dairy).get(slot=FRIDGE)
    made = PaperLine.objects.of(cast.dairy).get()
    assert (reading.author, made.measured_by, made.initials) == (cast.helper, cast.maker, "MK")
    assert (reading.late, reading.late_reason) == (True, "from paper sheet no. 12-1")
    assert reading.observed_at == hours(-1) - (hours(1) - hours(5 / 6))
    assert made.reading_id == reading.pk
    with at(cast.dairy, EVENING):
        page = text_of(helper.get(reverse("day", args=[cast.dairy.slug, "2026-05-14"])))
    assert "entered later from paper sheet 12-1; measured by MK, Maker Person" in page
    assert "late: from paper sheet no. 12-1" in page


def test_lines_in_order_are_stored_and_the_others_stay_as_typed(
    cast: Cast, helper: Client, sheet: PaperSheet
) -> None:
    good = line(0, FRIDGE, v_temperature="3.8")
    bad = line(1, day_slot(T0, "OP3"), v_strength="plenty", time="07:40")
    answer = send(cast, helper, sheet, good, bad)
    page = text_of(answer)
    assert answer.status_code == 422
    assert list(Reading.objects.of(cast.dairy).values_list("slot", flat=True)) == [FRIDGE]
    assert 'value="plenty"' in page
    assert 'value="07:40"' in page
    assert "1 line is stored." in page
    assert "1 line is not stored: see below." in page
    put_right = line(1, day_slot(T0, "OP3"), v_strength="150", time="07:40")
    assert send(cast, helper, sheet, put_right).status_code == 302
    assert Reading.objects.of(cast.dairy).count() == 2


def test_a_sheet_sent_twice_stores_once(cast: Cast, helper: Client, sheet: PaperSheet) -> None:
    uuid = str(uuid4())
    for _time in range(2):
        send(cast, helper, sheet, line(0, FRIDGE, v_temperature="3.8"), uuid=uuid)
    assert Reading.objects.of(cast.dairy).count() == 1


# Rows of the table of bad inputs that can stand on a line: what is typed, and what becomes of it.
BAD = [
    (1, {"v_temperature": "4,2"}, "4.2"),
    (2, {"v_temperature": "4.2 °C"}, "4.2"),
    (3, {"v_temperature": "39F"}, None),
    (4, {"v_temperature": "161"}, None),
    (5, {"v_temperature": "NaN"}, None),
    (6, {"v_temperature": "1e3"}, None),
    (7, {"v_temperature": "1_000"}, None),
    (8, {"v_temperature": "４.２"}, None),
    (10, {"v_temperature": "1.234,5"}, None),
    (11, {"v_temperature": "−4.2"}, "-4.2"),
    (12, {"v_temperature": "-300"}, None),
    (14, {"v_temperature": " 3,8 "}, "3.8"),
    (15, {"v_temperature": "--"}, None),
    (16, {"v_temperature": " "}, None),
    (17, {"v_temperature": "999999"}, None),
    (19, {"v_temperature": "-0"}, "0"),
    (23, {"v_temperature": "3.8", "date": "2026-05-15"}, None),
    (27, {"v_temperature": "3.8", "time": "24:00"}, None),
    (27, {"v_temperature": "3.8", "date": "2026-02-30"}, None),
    (28, {"v_temperature": "3.8", "date": "14/05/2026"}, None),
    (29, {"v_temperature": "3.8", "date": "0001-01-01"}, None),
    (66, {"v_temperature": "<script>"}, None),
    (68, {"v_temperature": "3.8\0"}, None),
    (68, {"v_temperature": "3.8", "who": "M\0"}, None),
    (70, {"v_temperature": "3.8", "who": "МK"}, None),
    (72, {"v_temperature": "3" * 10_000}, None),
    (84, {"v_temperature": "4.2\n"}, "4.2"),
    (84, {"v_temperature": "Temp: 4.2"}, None),
    (0, {"v_temperature": "3.8", "time": ""}, None),
    (0, {"v_temperature": "3.8", "who": ""}, None),
    (0, {"v_temperature": "3.8", "who": "ZZ"}, None),
]


@pytest.mark.parametrize(
    ("row", "typed", "value"), BAD, ids=[f"row {row[0]}-{n}" for n, row in enumerate(BAD)]
)
def test_the_bad_inputs_of_a_line(
    cast: Cast, helper: Client, sheet: PaperSheet, row: int, typed: dict[str, str], value: str | None
) -> None:
    before = entries(cast.dairy)
    answer = send(cast, helper, sheet, line(0, FRIDGE, **typed))
    stored = Reading.objects.of(cast.dairy).filter(slot=FRIDGE).first()
    if value is not None:
        assert answer.status_code == 302
        assert stored is not None
        assert stored.value_text == value
        return
    assert answer.status_code in (200, 409, 422)
    assert stored is None
    assert entries(cast.dairy) == before
    shown = next(iter(typed.values())).strip()
    if row not in (66, 68):
        assert f'value="{shown}' in text_of(answer)


def test_an_offer_is_taken(cast: Cast, helper: Client, sheet: PaperSheet) -> None:
    refused = send(cast, helper, sheet, line(0, FRIDGE, v_temperature="39F"))
    assert 'name="offer_temperature_0"' in text_of(refused)
    chosen = {**line(0, FRIDGE, v_temperature="39F"), "offer_temperature_0": "0"}
    assert send(cast, helper, sheet, chosen).status_code == 302
    assert Reading.objects.of(cast.dairy).get(slot=FRIDGE).unit == "degF"


def test_a_check_recorded_in_the_meantime_is_said_and_what_was_typed_stays(
    cast: Cast, helper: Client, sheet: PaperSheet
) -> None:
    send(cast, helper, sheet, line(0, FRIDGE, v_temperature="3.8"))
    answer = send(cast, helper, sheet, line(0, FRIDGE, v_temperature="3.6"))
    assert "This check has a record by now" in text_of(answer)
    assert 'value="3.6"' in text_of(answer)
    assert Reading.objects.of(cast.dairy).filter(slot=FRIDGE).count() == 1


def test_a_tick_stands_for_seen_and_in_order(cast: Cast, helper: Client, sheet: PaperSheet) -> None:
    send(cast, helper, sheet, line(0, day_slot(T0, "OP1", 1), seen="x", time="07:55"))
    made = PaperLine.objects.of(cast.dairy).select_related("round").get()
    assert made.round is not None
    assert made.round.late_reason == "from paper sheet no. 12-1"
    tried = send(cast, helper, sheet, line(0, day_slot(T0, "OP3"), seen="x", time="07:55"))
    assert "each value of OP3" in text_of(tried)


@pytest.fixture
def sour(cast: Cast) -> Lot:
    with at(cast.dairy, hours(0)):
        lot = a_lot(cast)
        an_event(cast, lot, "starter_added", hours(0))
    return lot


def test_a_critical_check_entered_after_its_window_keeps_its_deviation(
    cast: Cast, helper: Client, sour: Lot
) -> None:
    slot = lot_slot(sour, "CCP2")
    with at(cast.dairy, hours(30)):
        sheet = a_sheet(cast, "13-1", day=hours(24).date())
        page = text_of(helper.get(url(cast, sheet)))
    assert "counts as control not shown" in page
    typed = line(0, slot, v_ph="4.52", date="2026-05-15", time="07:50")
    answer = send(cast, helper, sheet, typed, moment=hours(30))
    assert answer.status_code == 302
    reading = Reading.objects.of(cast.dairy).get(slot=slot)
    assert reading.state == "outside_target" or reading.state == "within"
    deviation = Deviation.objects.of(cast.dairy).get(slot=slot)
    assert (deviation.cause, deviation.hold_required) == ("not_made", True)
    attached = FileAttached.objects.of(cast.dairy).get(deviation=deviation)
    assert attached.sha256 == sheet.sha256


def test_a_sheet_entered_after_the_signature_reopens_the_day(
    cast: Cast, helper: Client, sheet: PaperSheet
) -> None:
    from records.checks.services import explain_check

    local = ZoneTime(zone_of(cast.dairy))
    with at(cast.dairy, hours(20)):
        for state in day_sheet(cast.dairy, T0.date(), local, hours(20)).unexplained():
            if state.slot.id != FRIDGE:
                explain_check(establishment=cast.dairy, by=cast.maker, slot=state.slot.id, why="Not seen")
            else:
                explain_check(establishment=cast.dairy, by=cast.maker, slot=FRIDGE, why="Power cut")
        sign_day(establishment=cast.dairy, proof=cast.proof(cast.reviewer), day=T0.date())
        assert not day_sheet(cast.dairy, T0.date(), local, hours(20)).needs_signing_again
        a_sheet(cast, "12-2")
        assert day_sheet(cast.dairy, T0.date(), local, hours(20)).needs_signing_again


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"number": ""}, "number printed on the sheet"),
        ({"number": "12-1"}, "was entered already"),
        ({"day": "yesterday"}, "Choose the day"),
        ({"day": "2026-06-01"}, "not a day whose sheet"),
        ({"day": "1999-06-01"}, "not a day whose sheet"),
        ({"file": b""}, "empty"),
        ({"file": b"<html>"}, "JPEG, PNG or WebP"),
        ({"file": b"\0\0\0\0ftypheic"}, "HEIC"),
        ({"file": b"temperature 3.8"}, "JPEG, PNG or WebP"),
        ({"file": PHOTO[:40]}, "JPEG, PNG or WebP"),
    ],
)
def test_a_sheet_is_kept_with_its_number_day_and_photo(
    cast: Cast, helper: Client, sheet: PaperSheet, change: dict, words: str
) -> None:
    told = {"uuid": str(uuid4()), "number": "12-9", "day": "2026-05-14", "note": "A wet corner"}
    content = change.pop("file", PHOTO)
    address = reverse("paper_sheets", args=[cast.dairy.slug])
    with at(cast.dairy, EVENING):
        refused = helper.post(address, {**told, **change, "file": SimpleUploadedFile("s.png", content)})
        assert refused.status_code == 422
        assert words in text_of(refused)
        assert "A wet corner" in text_of(refused)
        kept = helper.post(address, {**told, "file": SimpleUploadedFile("s.png", PHOTO)})
    assert kept.status_code == 302
    assert PaperSheet.objects.of(cast.dairy).count() == 2


def test_the_photo_of_a_sheet_is_kept_without_what_the_camera_hid_in_it(cast: Cast, helper: Client) -> None:
    place = Image.Exif()
    place[0x8825] = {1: "N", 2: (53.0, 20.0, 0.0)}
    hidden = a_picture(exif=place)
    told = {"uuid": str(uuid4()), "number": "12-9", "day": "2026-05-14"}
    with at(cast.dairy, EVENING):
        answer = helper.post(
            reverse("paper_sheets", args=[cast.dairy.slug]),
            {**told, "file": SimpleUploadedFile("sheet.jpeg", hidden, content_type="image/jpeg")},
            follow=True,
        )
    sheet = PaperSheet.objects.of(cast.dairy).get()
    kept = bytes(StoredFile.objects.of(cast.dairy).get(sha256=sheet.sha256).content)
    assert Image.open(BytesIO(hidden)).getexif().get_ifd(0x8825)
    assert not Image.open(BytesIO(kept)).getexif()
    assert not StoredFile.objects.of(cast.dairy).filter(sha256=sha256(hidden).hexdigest()).exists()
    assert (sheet.name, sheet.media_type, sheet.size) == ("sheet.jpg", "image/jpeg", len(kept))
    assert PhotoTaken.objects.of(cast.dairy).get(about=sheet.pk).sha256 == sheet.sha256
    assert "/photos/" in text_of(answer)
    assert "added after the record was signed" not in text_of(answer)


def test_a_scan_as_pdf_is_kept_as_it_is(cast: Cast) -> None:
    about = {"establishment": cast.dairy, "by": cast.maker, "day": T0.date()}
    with at(cast.dairy, EVENING):
        sheet = keep_sheet(number="12-9", name="scan.pdf", content=b"%PDF-1.7 a scan", **about)
    assert (sheet.name, sheet.media_type) == ("scan.pdf", "application/pdf")
    assert sheet.sha256 == sha256(b"%PDF-1.7 a scan").hexdigest()
