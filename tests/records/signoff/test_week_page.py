"""The reviewer's week."""

import pytest

from records.signoff.services import sign_day
from tests.builders import at, hours
from tests.cast import Cast
from tests.records.inspection.browsing import address, as_person, words
from tests.records.inspection.story import DAY, LATE, TYPO, WATCH_SLOW, day_of_the_lot, tell

pytestmark = pytest.mark.django_db


def test_the_week_lists_days_deviations_corrections_and_late_entries(working: Cast) -> None:
    tell(working)
    with at(working.dairy, hours(81)):
        page = words(as_person(working.reviewer).get(address("week")))
    assert "Thu 14 May Needs signing again" in page
    assert "Fri 15 May Not signed" in page
    assert "Deviation 1 Open not foreseen by the plan open for 3 days" in page
    assert "Still missing: no corrective action; no cause and prevention." in page
    assert "Hold required" in page
    for said in (LATE, TYPO, WATCH_SLOW, "8.5 °C", "3.5 °C"):
        assert said in page


def test_a_signed_day_is_not_waiting(working: Cast) -> None:
    day_of_the_lot(working)
    with at(working.dairy, hours(16)):
        client = as_person(working.reviewer)
        before = words(client.get(address("week")))
        sign_day(establishment=working.dairy, proof=working.proof(working.reviewer), day=DAY)
        after = words(client.get(address("week")))
    assert "Thu 14 May Not signed" in before
    assert "Thu 14 May Signed" in after
    assert "3 days of the last 14 wait" in before
    assert "2 days of the last 14 wait" in after


def test_corrections_of_the_week_before_last_are_gone_from_the_list(working: Cast) -> None:
    day_of_the_lot(working)
    with at(working.dairy, hours(24 * 9)):
        page = words(as_person(working.reviewer).get(address("week")))
    assert TYPO not in page
    assert "Deviation 1" in page
