"""A lot in the vat and the maker's phone, for the tests of claims and devices."""

from collections.abc import Iterator

import pytest

from records.batches.models import Lot
from tests.builders import Device, a_device, a_lot, at, hours
from tests.cast import Cast
from tests.remembering import told_again


@pytest.fixture
def lot(working: Cast) -> Iterator[Lot]:
    """Start a lot, and stop the clock half an hour later."""
    with at(working.dairy, hours(0.5)):
        yield told_again("a lot", lambda: a_lot(working))


@pytest.fixture
def phone(working: Cast, lot: Lot) -> Device:
    """Enrol the maker's phone."""
    return a_device(working.dairy, working.maker)
