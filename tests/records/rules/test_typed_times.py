"""Times of the bad-input table: as typed, at the service, and inside a device's claim."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from pytest_django.plugin import DjangoDbBlocker

from records.batches.models import Lot
from records.batches.services import start_lot
from records.checks.models import Reading
from records.checks.services import ReadingContent, record_reading
from safetyplan.calculation.times import parse_local
from safetyplan.establishments.services import Details, change_details
from safetyplan.integrity import canonical
from safetyplan.integrity.ledger import head
from safetyplan.integrity.models import RefusedClaim
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import in_words
from tests.builders import HOLD_PARTS, Device, a_device, a_lot, a_reading, at, lot_slot
from tests.calculation.published import published
from tests.cast import Cast, make_cast
from tests.records.rules.acts import LATE, typed
from tests.records.rules.limits import approve, document, extra_of, kept_parts
from tests.records.rules.sharing import undone

pytestmark = pytest.mark.django_db
Row = dict[str, Any]
ROWS: list[Row] = published("typed_values")["times"]
PARIS = ZoneInfo("Europe/Paris")
NEW_YEAR = datetime(2026, 1, 1, 6, 0, tzinfo=UTC)
MORNING = datetime(2026, 5, 14, 7, 0, tzinfo=UTC)
NOT_TIMES = [
    ("row 27", "2026-05-14T24:00:00.000Z"),
    ("row 27", "2026-05-14T23:59:60.000Z"),
    ("row 27", "2026-02-30T12:00:00.000Z"),
    ("row 27", "2027-02-29T12:00:00.000Z"),
    ("row 28", "03/04/2026"),
    ("row 29", "0001-01-01T12:00:00.000Z"),
    ("row 29", "1899-12-31T12:00:00.000Z"),
    ("row 29", "9999-01-01T12:00:00.000Z"),
    ("no milliseconds", "2026-05-14T07:00:00Z"),
    ("no zone", "2026-05-14T07:00:00.000"),
    ("empty", ""),
    ("null", None),
    ("a number", 1778742000),
    ("a list", []),
]


@pytest.fixture(scope="module")
def dairy(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Cast]:
    """Open a dairy in the table's time zone, with a plan in force since New Year."""
    with undone(django_db_blocker):
        cast = make_cast()
        details = Details(name="Near Test Dairy", address="1 Test Lane", time_zone="Europe/Paris")
        change_details(establishment=cast.dairy, by=cast.owner, details=details)
        approve(cast, document(), NEW_YEAR)
        yield cast


@pytest.fixture(scope="module")
def phone(dairy: Cast, django_db_blocker: DjangoDbBlocker) -> Iterator[Device]:
    """Enrol the maker's phone."""
    with undone(django_db_blocker), at(dairy.dairy, NEW_YEAR):
        yield a_device(dairy.dairy, dairy.maker)


def named(row: Row) -> str:
    """Name a row by its number, date and time."""
    fold = f" fold {row['fold']}" if "fold" in row else ""
    confirmed = " confirmed" if row.get("confirmed") else ""
    return f"row {row['row']}: {row['date']!a} {row['time']!a}{fold}{confirmed} is {row['grade']}"


def as_typed(row: Row) -> datetime:
    """Read a row as a form does."""
    fold = int(row["fold"]) if "fold" in row else None
    now = datetime.fromisoformat(row["now"])
    with in_words("observed_at"):
        return parse_local(
            row["date"], row["time"], PARIS, now=now, fold=fold, confirmed=row.get("confirmed", False)
        )


def cold_store(cast: Cast, moment: datetime, reason: str = "") -> Reading:
    """Record a further reading of the cold store on the local day of a moment."""
    slot = extra_of(moment.astimezone(PARIS), "PRP1")
    content = ReadingContent(slot, moment, typed({"temperature": "3.5"}), late_reason=reason)
    return record_reading(establishment=cast.dairy, by=cast.maker, content=content).reading


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] == "A"], ids=named)
def test_a_time_that_is_taken_is_recorded_as_its_instant(dairy: Cast, row: Row) -> None:
    with at(dairy.dairy, datetime.fromisoformat(row["now"])):
        reading = cold_store(dairy, as_typed(row), LATE)
    assert reading.observed_at == datetime.fromisoformat(row["instant"])


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] != "A"], ids=named)
def test_a_time_that_is_not_taken_says_why_and_what_is_offered(row: Row) -> None:
    with pytest.raises(BadInput) as caught:
        as_typed(row)
    assert caught.value.part == "observed_at"
    assert " " in str(caught.value)
    assert [offer["fold"] for offer in caught.value.offers] == row.get("folds", [])


@pytest.mark.parametrize(("why", "text"), NOT_TIMES, ids=lambda value: repr(value))
def test_a_claim_with_a_time_that_cannot_be_is_refused_and_kept(
    dairy: Cast, phone: Device, why: str, text: object
) -> None:
    before = head(dairy.dairy)
    claim = phone.reading(extra_of(MORNING, "PRP1"), MORNING, temperature="3.5")
    claim["content"].update(observed_at=text, late_reason=LATE)
    with at(dairy.dairy, MORNING), pytest.raises(BadInput) as caught:
        phone.send(claim)
    kept = RefusedClaim.objects.of(dairy.dairy).get()
    assert (bytes(kept.raw), kept.reason) == (canonical.dumps(claim), str(caught.value))
    assert (" " in kept.reason, head(dairy.dairy)) == (True, before)


@pytest.mark.parametrize(("why", "text"), [row for row in NOT_TIMES if row[0] in ("row 27", "null", "empty")])
def test_a_claim_captured_at_a_time_that_cannot_be_is_refused_and_kept(
    dairy: Cast, phone: Device, why: str, text: object
) -> None:
    claim = phone.reading(extra_of(MORNING, "PRP1"), MORNING, temperature="3.5")
    claim["captured_at"] = text
    with at(dairy.dairy, MORNING), pytest.raises(BadInput):
        phone.send(claim)
    assert bytes(RefusedClaim.objects.of(dairy.dairy).get().raw) == canonical.dumps(claim)


def test_row_23_three_minutes_ahead_are_refused(dairy: Cast) -> None:
    with at(dairy.dairy, MORNING), pytest.raises(BadInput, match="future"):
        cold_store(dairy, MORNING + timedelta(minutes=3))


def test_row_23_two_minutes_ahead_are_taken(dairy: Cast) -> None:
    with at(dairy.dairy, MORNING):
        assert not cold_store(dairy, MORNING + timedelta(minutes=2)).late


def test_row_24_three_days_ago_is_refused_without_a_reason(dairy: Cast) -> None:
    with at(dairy.dairy, MORNING), pytest.raises(BadInput, match="reason") as caught:
        cold_store(dairy, MORNING - timedelta(days=3))
    assert caught.value.part == "late_reason"


def test_row_24_three_days_ago_is_late_with_a_reason(dairy: Cast) -> None:
    with at(dairy.dairy, MORNING):
        reading = cold_store(dairy, MORNING - timedelta(days=3), LATE)
    assert (reading.late, reading.late_reason) == (True, LATE)


def test_a_check_of_a_day_is_not_filled_with_what_was_observed_on_the_next(dairy: Cast) -> None:
    content = ReadingContent(
        extra_of(MORNING, "PRP1"), MORNING + timedelta(days=1), typed({"temperature": "3"})
    )
    with at(dairy.dairy, MORNING + timedelta(days=1)), pytest.raises(BadInput, match="belongs to 2026-05-14"):
        record_reading(establishment=dairy.dairy, by=dairy.maker, content=content)


def from_a_clock(phone: Device, captured: datetime, reason: str) -> dict[str, Any]:
    """Make the claim of a reading of the morning, captured at a time the device tells."""
    claim = phone.reading(extra_of(MORNING, "PRP1"), MORNING, temperature="3.5")
    claim["content"]["late_reason"] = reason
    return {**claim, "captured_at": canonical.instant(captured)}


def test_a_device_whose_clock_stands_before_the_observation_does_not_hide_lateness(
    dairy: Cast, phone: Device
) -> None:
    with at(dairy.dairy, MORNING + timedelta(hours=5)), pytest.raises(BadInput, match="reason"):
        phone.send(from_a_clock(phone, MORNING - timedelta(days=30), ""))


def test_a_device_whose_clock_stands_before_the_observation_records_it_as_late(
    dairy: Cast, phone: Device
) -> None:
    with at(dairy.dairy, MORNING + timedelta(hours=5)):
        record = phone.send(from_a_clock(phone, MORNING - timedelta(days=30), LATE)).record
    assert record.late


def test_a_device_that_was_out_of_reach_is_not_late(dairy: Cast, phone: Device) -> None:
    with at(dairy.dairy, MORNING + timedelta(hours=5)):
        record = phone.send(from_a_clock(phone, MORNING + timedelta(minutes=1), "")).record
    assert not record.late


def test_a_device_whose_clock_is_ahead_is_judged_by_the_server_clock(dairy: Cast, phone: Device) -> None:
    with at(dairy.dairy, MORNING + timedelta(minutes=5)):
        record = phone.send(from_a_clock(phone, MORNING + timedelta(days=30), "")).record
    assert not record.late


@pytest.mark.parametrize("year", [1, 1899, 1999])
def test_row_29_a_lot_is_not_started_in_another_century(dairy: Cast, year: int) -> None:
    with at(dairy.dairy, MORNING), pytest.raises(BadInput, match="year") as caught:
        start_lot(
            establishment=dairy.dairy,
            by=dairy.maker,
            code="TF-1",
            product="TF",
            vat="Vat 1",
            milk="",
            started_at=MORNING.replace(year=year),
            late_reason=LATE,
        )
    assert caught.value.part == "started_at"


def heated(cast: Cast, lot: Lot, now: datetime, **parts: str) -> Reading:
    """Record a heat hold by its chart."""
    return a_reading(cast, lot_slot(lot, "CCP1"), now, **{**HOLD_PARTS, **parts}).reading


@pytest.mark.parametrize("text", ["24:00", "23:59:60", "25:10", "12:60", "9.30", "half nine", "930", "-1:00"])
def test_row_27_a_time_of_day_on_the_chart_that_cannot_be_is_refused(dairy: Cast, text: str) -> None:
    with at(dairy.dairy, MORNING):
        lot = a_lot(dairy, started=MORNING)
        before = head(dairy.dairy)
        with pytest.raises(BadInput) as caught:
            heated(dairy, lot, MORNING, hold_start=text)
    assert (caught.value.part, " " in str(caught.value)) == ("hold_start", True)
    assert head(dairy.dairy) == before


def test_row_21_a_hold_that_ends_before_it_starts_is_refused(dairy: Cast) -> None:
    now = MORNING + timedelta(hours=3)  # 12:00 in Paris
    with at(dairy.dairy, now):
        lot = a_lot(dairy, started=now)
        with pytest.raises(BadInput, match="ends before it starts"):
            heated(dairy, lot, now, hold_start="11:32", hold_end="11:00")


def test_row_21_a_hold_that_ends_after_it_starts_is_taken(dairy: Cast) -> None:
    now = MORNING + timedelta(hours=3)
    with at(dairy.dairy, now):
        assert heated(dairy, a_lot(dairy, started=now), now, hold_start="11:00", hold_end="11:32").state


SPRING = datetime(2026, 3, 29, 2, 0, tzinfo=UTC)  # 04:00 in Paris; 02:30 did not exist
AUTUMN = datetime(2026, 10, 25, 2, 0, tzinfo=UTC)  # 03:00 in Paris; 02:30 came twice


def test_row_25_a_hold_cannot_start_in_the_hour_that_the_clocks_skip(dairy: Cast) -> None:
    with at(dairy.dairy, SPRING):
        lot = a_lot(dairy, started=SPRING)
        with pytest.raises(BadInput, match="did not exist"):
            heated(dairy, lot, SPRING, hold_start="02:30", hold_end="03:30")


def test_row_26_a_hold_from_the_hour_that_comes_twice_counts_as_the_shorter_one(dairy: Cast) -> None:
    with at(dairy.dairy, AUTUMN):
        reading = heated(dairy, a_lot(dairy, started=AUTUMN), AUTUMN, hold_start="02:40", hold_end="03:00")
    start = next(part["value"] for part in kept_parts(reading.parts) if part["name"] == "hold_start")
    assert (start, reading.state) == ("2026-10-25T01:40:00.000Z", "outside_limit")


def test_row_26_a_hold_into_the_hour_that_comes_twice_counts_as_the_shorter_one(dairy: Cast) -> None:
    with at(dairy.dairy, AUTUMN):
        reading = heated(dairy, a_lot(dairy, started=AUTUMN), AUTUMN, hold_start="01:50", hold_end="02:10")
    end = next(part["value"] for part in kept_parts(reading.parts) if part["name"] == "hold_end")
    assert (end, reading.state) == ("2026-10-25T00:10:00.000Z", "outside_limit")
