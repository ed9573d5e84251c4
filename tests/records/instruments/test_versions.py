"""Instruments recorded before the register asked for more: still readable, and guarded in every column."""

import pytest
from django.db import connection

from records.instruments.kinds import INSTRUMENT_1
from records.instruments.models import Instrument
from records.instruments.queries import in_use
from records.instruments.services import register_instrument
from safetyplan.integrity import guards, ledger
from safetyplan.integrity.verification import verify
from tests.builders import T0, at
from tests.cast import Cast
from tests.safetyplan.integrity.every_kind import rolled_back


@pytest.fixture
def old(cast: Cast) -> Instrument:
    """Give an instrument as it was recorded by the first version of its kind."""
    row = Instrument(code="T9", name="Old", quantity="temperature", tolerance_text="0.5 °C", retired=False)
    with at(cast.dairy, T0):
        ledger.append(kind=INSTRUMENT_1, row=row, establishment=cast.dairy, author=cast.maker)
    return row


def test_an_instrument_of_the_first_version_verifies_beside_one_of_the_second(
    cast: Cast, old: Instrument
) -> None:
    with at(cast.dairy, T0):
        register_instrument(
            establishment=cast.dairy,
            by=cast.maker,
            code="T9",
            name="Old, now with a unit",
            quantity="temperature",
            tolerance="0.5",
            supersedes=old,
        )

    assert in_use(cast.dairy).get().unit == "degC"
    assert verify(cast.dairy) == []


def test_a_column_that_came_later_and_was_filled_in_an_old_row_is_found(cast: Cast, old: Instrument) -> None:
    with rolled_back():
        guards.remove(connection)
        assert verify(cast.dairy) == []
        with connection.cursor() as cursor:
            cursor.execute("UPDATE records_instrument SET tolerance_value = '5' WHERE code = 'T9'")
        [found] = verify(cast.dairy)

    assert found.sequence == old.entry.sequence
