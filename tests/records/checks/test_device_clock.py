"""The clock of a device: a check in time stays in time, one too late stays late, and either way it shows."""

from datetime import datetime, timedelta

import pytest
from django.test import Client

from records.batches.models import Lot
from records.checks.device_clock import DeviceClock, read_clock
from records.checks.models import ClockNoted, Reading
from safetyplan.integrity import canonical
from safetyplan.integrity.verification import verify
from tests.builders import Device, at, day_slot, hours, lot_slot
from tests.cast import Cast
from tests.records.checks.sending import send
from tests.web import signed_in, text_of

DAY = timedelta(days=1)
MINUTE = timedelta(minutes=1)
MILLISECOND = timedelta(milliseconds=1)


def measured(
    phone: Device, lot: Lot, moment: datetime, wrong: timedelta, said: timedelta | None = None
) -> Reading:
    """Record the milk's temperature as it is measured, on a device whose clock is wrong by `wrong`."""
    own_time = moment + wrong
    with at(phone.dairy, moment):
        claim = phone.reading(lot_slot(lot, "OPRP3"), own_time, temperature="3.8")
        claim["captured_at"] = canonical.instant(own_time)
        offset = "" if said is None else str(said // MILLISECOND)
        record = phone.send(claim, sent_at=canonical.instant(own_time), offset=offset).record
    assert isinstance(record, Reading)
    return record


@pytest.mark.parametrize("wrong", [-DAY, DAY, timedelta(hours=3), -timedelta(hours=3)])
def test_a_clock_that_is_off_does_not_move_a_timely_check_and_is_noted(
    working: Cast, lot: Lot, phone: Device, wrong: timedelta
) -> None:
    row = measured(phone, lot, hours(0.5), wrong, said=-wrong)

    note = ClockNoted.objects.of(working.dairy).get(about=row.pk)
    assert row.observed_at == hours(0.5)
    assert (row.late, row.state) == (False, "within")
    assert row.claim is not None
    assert row.claim["captured_at"] == canonical.instant(hours(0.5) + wrong)
    assert timedelta(seconds=note.skew_seconds) == -wrong
    assert note.device_captured_at == hours(0.5) + wrong
    assert note.corrected
    assert verify(working.dairy) == []


@pytest.mark.parametrize("wrong", [MINUTE, -MINUTE, 2 * MINUTE, timedelta()])
def test_a_clock_within_two_minutes_is_not_noted(
    working: Cast, lot: Lot, phone: Device, wrong: timedelta
) -> None:
    row = measured(phone, lot, hours(0.5), wrong)

    assert row.observed_at == hours(0.5) + wrong
    assert not ClockNoted.objects.of(working.dairy).exists()


def test_a_clock_set_back_does_not_make_a_late_check_timely(working: Cast, lot: Lot, phone: Device) -> None:
    row = measured(phone, lot, hours(9), timedelta(hours=-8.5))

    assert row.observed_at == hours(9)
    assert ClockNoted.objects.of(working.dairy).get().about_id == row.pk


def test_a_clock_changed_since_the_record_corrects_nothing_and_is_noted(
    working: Cast, lot: Lot, phone: Device
) -> None:
    claim = phone.reading(lot_slot(lot, "OPRP3"), hours(0.5), temperature="3.8")
    with at(working.dairy, hours(1)):
        claim["captured_at"] = canonical.instant(hours(0.5))
        sent = canonical.instant(hours(1) + DAY)
        record = phone.send(claim, sent_at=sent, offset="0").record

    assert record.observed_at == hours(0.5)
    assert not ClockNoted.objects.of(working.dairy).get(about=record.pk).corrected


def test_a_time_that_a_person_states_stays_as_stated(working: Cast, lot: Lot, phone: Device) -> None:
    claim = phone.reading(lot_slot(lot, "OPRP3"), hours(0.3), temperature="3.8")
    with at(working.dairy, hours(0.5)):
        claim["captured_at"] = canonical.instant(hours(0.5) - DAY)
        record = phone.send(claim, sent_at=canonical.instant(hours(0.5) - DAY)).record

    assert record.observed_at == hours(0.3)
    assert ClockNoted.objects.of(working.dairy).get().corrected


def test_the_note_stands_on_the_record_and_on_the_day_sheet(working: Cast, lot: Lot, phone: Device) -> None:
    row = measured(phone, lot, hours(0.5), -DAY)
    client = signed_in(working.reviewer)

    for page in (f"readings/{row.pk}", "days/2026-05-14", f"lots/{lot.pk}"):
        assert "DEVICE CLOCK 1 d behind: it gave" in text_of(client.get(f"/near/{page}/")), page


def test_the_address_of_claims_reads_the_clock_from_the_request(
    working: Cast, lot: Lot, phone: Device, client: Client
) -> None:
    with at(working.dairy, hours(0.5)):
        claim = phone.reading(day_slot(hours(0), "PRP1"), hours(0.5) - DAY, temperature="3.5")
        claim["captured_at"] = canonical.instant(hours(0.5) - DAY)
        headers = {"X-Sent-At": canonical.instant(hours(0.5) - DAY)}
        assert send(client, phone, claim, headers=headers).status_code == 201

    assert Reading.objects.of(working.dairy).get().observed_at == hours(0.5)


@pytest.mark.parametrize(
    ("sent", "offset"),
    [("", ""), ("yesterday", "x"), ("2026-05-14", "9" * 16), ("0000-00-00T00:00:00.000Z", "--1"), ("é", "٣")],
)
def test_what_cannot_be_read_of_a_clock_is_as_if_it_were_not_said(sent: str, offset: str) -> None:
    assert read_clock(hours(1), sent, offset) == DeviceClock(hours(1))
