"""Rule 1 on lots that take weeks: a check due long after the start shows on its day, made or not."""

from datetime import date

import pytest

from records.batches.models import Lot
from records.signoff.queries import DaySheet, day_sheet
from records.signoff.services import sign_day
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.refusals import Refused
from tests.builders import a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import Cast

PACKED_AT = 10 * 24 + 4  # hours after the start: 24 May, 12:00 in Dublin
PACKING_DAY = date(2026, 5, 24)
LAST_DAY = date(2026, 5, 31)  # packing is expected within 400 hours of the start, 14 May 08:00 in Dublin


@pytest.fixture
def log(working: Cast) -> Lot:
    """Start a log that ripens before it is packed."""
    with at(working.dairy, hours(0.1)):
        return a_lot(working, code="TL-0514", product="TL")


def statuses(cast: Cast, lot: Lot, day: date) -> dict[str, str]:
    """Give the status of each check of the lot on the sheet of a day."""
    sheet: DaySheet = day_sheet(cast.dairy, day, ZoneTime(zone_of(cast.dairy)), clock.now(cast.dairy))
    return {s.slot.control.code: str(s.status) for s in sheet.states if s.lot is not None}


def test_a_label_check_forgotten_on_the_packing_day_is_missing_on_its_sheet(working: Cast, log: Lot) -> None:
    with at(working.dairy, hours(PACKED_AT)):
        an_event(working, log, "packed", hours(PACKED_AT))
    with at(working.dairy, hours(PACKED_AT + 12)):
        assert statuses(working, log, PACKING_DAY) == {"PRP2": "missing", "OPRP2": "missing"}


def test_a_label_check_made_on_the_packing_day_is_recorded_on_its_sheet(working: Cast, log: Lot) -> None:
    with at(working.dairy, hours(PACKED_AT)):
        an_event(working, log, "packed", hours(PACKED_AT))
        a_reading(working, lot_slot(log, "PRP2"), hours(PACKED_AT), label="correct")
    with at(working.dairy, hours(PACKED_AT + 12)):
        assert statuses(working, log, PACKING_DAY) == {"PRP2": "recorded", "OPRP2": "missing"}


def test_a_label_check_is_missing_when_packing_was_never_recorded(working: Cast, log: Lot) -> None:
    with at(working.dairy, hours(18 * 24)):
        assert statuses(working, log, LAST_DAY) == {"PRP2": "missing", "OPRP2": "missing"}


def test_the_packing_day_is_not_signed_while_its_label_check_is_neither_made_nor_explained(
    working: Cast, log: Lot
) -> None:
    with at(working.dairy, hours(PACKED_AT)):
        an_event(working, log, "packed", hours(PACKED_AT))
    with at(working.dairy, hours(PACKED_AT + 12)):
        proof = working.proof(working.reviewer)
        with pytest.raises(Refused, match="PRP2 Label"):
            sign_day(establishment=working.dairy, proof=proof, day=PACKING_DAY)


def test_the_sheet_of_a_day_between_shows_nothing_of_the_lot(working: Cast, log: Lot) -> None:
    with at(working.dairy, hours(PACKED_AT)):
        assert statuses(working, log, date(2026, 5, 20)) == {}
