"""What a device says by the table it was given is what the server records, over a grid around each edge."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from pytest_django.plugin import DjangoDbBlocker

from records.batches.models import Lot
from records.batches.queries import events_by_lot, first_times
from records.checks.models import Reading
from records.checks.places import find_place
from safetyplan.calculation.limits.table import judge_by_table
from tests.builders import T0, Device, a_device, a_lot, an_event, at, day_slot, hours, lot_slot
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve, document
from tests.records.rules.sharing import undone

pytestmark = pytest.mark.django_db


@dataclass(frozen=True)
class Try:
    """One value entered at one hour."""

    control: str
    part: str
    raw: str
    hour: float
    unit: str = ""


def tries() -> Iterator[Try]:
    """Cross values at, beside and beyond each edge with units and hours."""
    for raw in ("3.9", "4", "4.0", "4,001", "7", "7.00", "7.001", "-1", "\u22121", "+2"):
        yield Try("OPRP3", "temperature", raw, 1)
    for raw in ("39.2", "39.201", "44.6", "44.601"):
        yield Try("OPRP3", "temperature", raw, 1, "degF")
    for raw in ("99", "99.999", "100", "150", "200", "200.001"):
        yield Try("PRP3", "strength", raw, 1)
    for raw in ("correct", "wrong"):
        yield Try("PRP2", "label", raw, 81)
    for hour in (22, 23.999, 24, 25.5, 26, 26.01, 30):
        for raw in ("4.40", "4,5", "4.501", "4.6", "4.601"):
            yield Try("CCP2", "ph", raw, hour)
    for hour in (15.9, 16, 17, 18, 18.1):
        for raw in ("4.9", "4.95"):
            yield Try("OPRP1", "ph", raw, hour)


TRIES = list(tries())
LEFT_TO_THE_SERVER = [
    Try("OPRP3", "temperature", "3.8 C", 1),  # a unit typed with the number
    Try("CCP2", "ph", "4.5 pH", 25),
]


@pytest.fixture(scope="module")
def dairy(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Cast]:
    """Open a dairy with a plan in force."""
    with undone(django_db_blocker):
        cast = make_cast()
        approve(cast, document(), T0.replace(day=13))
        yield cast


@pytest.fixture(scope="module")
def phone(dairy: Cast, django_db_blocker: DjangoDbBlocker) -> Iterator[Device]:
    """Enrol the maker's phone."""
    with undone(django_db_blocker), at(dairy.dairy, hours(-1)):
        yield a_device(dairy.dairy, dairy.maker)


@pytest.fixture(scope="module")
def lot(dairy: Cast, phone: Device, django_db_blocker: DjangoDbBlocker) -> Iterator[Lot]:
    """Start a lot."""
    with undone(django_db_blocker), at(dairy.dairy, hours(0.1)):
        yield a_lot(dairy)


@pytest.fixture(scope="module")
def made(dairy: Cast, lot: Lot, django_db_blocker: DjangoDbBlocker) -> Iterator[Lot]:
    """Add the starter, and pack the lot days later."""
    with undone(django_db_blocker):
        for event, hour in (("starter_added", 2), ("packed", 80.5)):
            with at(dairy.dairy, hours(hour)):
                an_event(dairy, lot, event, hours(hour))
        yield lot


def slot_of(lot: Lot, tried: Try) -> str:
    """Name the check that is tried."""
    return day_slot(T0, tried.control) if tried.control == "PRP3" else lot_slot(lot, tried.control)


def said_by_device(lot: Lot, tried: Try) -> str:
    """Judge by the table that is shipped with the check."""
    dairy = lot.establishment
    times = first_times(events_by_lot(dairy, [lot.pk])[lot.pk])
    control = find_place(dairy, slot_of(lot, tried), hours(tried.hour)).control
    parts = [{"name": tried.part, "raw": tried.raw, "unit": tried.unit}]
    return str(judge_by_table(control.limit.judging_table(0, times), parts, hours(tried.hour)))


def recorded_by_server(phone: Device, lot: Lot, tried: Try, said: str) -> Reading:
    """Send the claim with what the device said."""
    claim: dict[str, Any] = phone.reading(slot_of(lot, tried), hours(tried.hour))
    part = {"name": tried.part, "raw": tried.raw, "unit": tried.unit, "confirmed": True}
    claim["content"].update(parts=[part], device_state=said)
    record = phone.send(claim).record
    assert isinstance(record, Reading)
    return record


@pytest.mark.parametrize("tried", TRIES, ids=lambda t: f"{t.control} {t.raw!a} {t.unit} at hour {t.hour}")
def test_the_server_records_what_the_device_said(dairy: Cast, phone: Device, made: Lot, tried: Try) -> None:
    with at(dairy.dairy, hours(tried.hour)):
        said = said_by_device(made, tried)
        reading = recorded_by_server(phone, made, tried, said)
    assert (reading.state, reading.device_state) == (said, said)


@pytest.mark.parametrize("tried", LEFT_TO_THE_SERVER, ids=lambda t: f"{t.control} {t.raw!a}")
def test_what_the_device_cannot_judge_is_left_to_the_server(
    dairy: Cast, phone: Device, made: Lot, tried: Try
) -> None:
    with at(dairy.dairy, hours(tried.hour)):
        said = said_by_device(made, tried)
        reading = recorded_by_server(phone, made, tried, said)
    assert (said, reading.device_state) == ("on_receipt", "on_receipt")
    assert reading.state != "on_receipt"


def test_a_deadline_that_hangs_on_an_event_not_recorded_is_left_to_the_server(
    dairy: Cast, phone: Device
) -> None:
    tried = Try("CCP2", "ph", "4.5", 1)
    with at(dairy.dairy, hours(0.2)):
        without_starter = a_lot(dairy, code="TF-0514-2")
    with at(dairy.dairy, hours(1)):
        said = said_by_device(without_starter, tried)
        reading = recorded_by_server(phone, without_starter, tried, said)
    assert (said, reading.state) == ("on_receipt", "not_shown")


def test_the_grid_reaches_every_state_a_device_can_say_of_one_reading(dairy: Cast, made: Lot) -> None:
    said = set()
    for tried in TRIES:
        with at(dairy.dairy, hours(tried.hour)):
            said.add(said_by_device(made, tried))
    assert said == {"within", "outside_target", "outside_limit", "not_yet_due", "not_shown"}
