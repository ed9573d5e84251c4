"""Rows 37 to 39 of the bad-input table: what is signed again, by whom, and what cannot be signed."""

import pytest

from records.batches.models import Lot
from records.checks.models import Reading
from records.signoff.queries import day_sheet, self_reviewed
from records.signoff.services import note_no_production, sign_day
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Person, Role
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity.refusals import BadInput, Refused
from tests.builders import HOLD_PARTS, T0, a_lot, a_reading, an_event, at, day_slot, hours, lot_slot
from tests.cast import Cast, allow_self_review
from tests.records.rules.limits import extra_of
from tests.records.rules.scene import alone


@pytest.fixture
def dairy(working: Cast) -> Cast:
    """Open a dairy with a plan in force."""
    return working


@pytest.fixture
def lot(dairy: Cast) -> Lot:
    """Start a lot."""
    with at(dairy.dairy, hours(0.1)):
        return a_lot(dairy)


def whole_day(cast: Cast, lot: Lot, by: Person, other: Person) -> None:
    """Record everything of the day, half by one person and half by another."""
    with at(cast.dairy, hours(0.5)):
        a_reading(cast, lot_slot(lot, "OPRP3"), hours(0.4), by=by, temperature="3.8")
        a_reading(cast, day_slot(T0, "PRP1"), hours(0.4), by=by, temperature="3.5")
        a_reading(cast, day_slot(T0, "PRP3"), hours(0.4), by=other, strength="150")
    with at(cast.dairy, hours(2)):
        a_reading(cast, lot_slot(lot, "CCP1"), hours(1.6), by=other, **HOLD_PARTS)
        an_event(cast, lot, "starter_added", hours(2))
    with at(cast.dairy, hours(10)):
        a_reading(cast, day_slot(T0, "PRP1", 1), hours(9.9), by=other, temperature="3.6")


def sign(cast: Cast, person: Person, note: str = "") -> None:
    """Sign the day when it is over."""
    with at(cast.dairy, hours(17)):
        sign_day(establishment=cast.dairy, proof=cast.proof(person), day=T0.date(), note=note)


def test_row_37_a_corrected_day_needs_signing_again_and_says_why(dairy: Cast, lot: Lot) -> None:
    whole_day(dairy, lot, dairy.maker, dairy.helper)
    sign(dairy, dairy.reviewer)
    with at(dairy.dairy, hours(18)):
        a_reading(dairy, extra_of(T0, "PRP1"), hours(15), late_reason="On paper", temperature="3.9")
        sheet = day_sheet(dairy.dairy, T0.date(), ZoneTime(zone_of(dairy.dairy)), hours(18))
        assert sheet.needs_signing_again
        proof = dairy.proof(dairy.reviewer)
        with pytest.raises(BadInput, match="reason"):
            sign_day(establishment=dairy.dairy, proof=proof, day=T0.date())


def test_row_37_a_day_without_changes_is_not_signed_twice(dairy: Cast, lot: Lot) -> None:
    whole_day(dairy, lot, dairy.maker, dairy.helper)
    sign(dairy, dairy.reviewer)
    with pytest.raises(Refused, match="nothing has changed"):
        sign(dairy, dairy.reviewer, "Once more")


@pytest.fixture
def both(dairy: Cast, lot: Lot) -> Person:
    """Give the dairy a reviewer who also records."""
    return alone(dairy, Role.REVIEWER, Role.MAKER)


def test_row_38_own_records_are_not_signed_by_their_author(dairy: Cast, lot: Lot, both: Person) -> None:
    whole_day(dairy, lot, both, dairy.helper)
    with pytest.raises(Refused, match="2 records of this day are your own"):
        sign(dairy, both)


def test_row_38_own_records_are_marked_where_the_dairy_allows_it(dairy: Cast, lot: Lot, both: Person) -> None:
    whole_day(dairy, lot, both, dairy.helper)
    allow_self_review(dairy)
    sign(dairy, both)
    own = Reading.objects.of(dairy.dairy).filter(author=both)
    assert self_reviewed(dairy.dairy, [T0.date()]) == {str(reading.pk) for reading in own}


def test_row_38_records_of_others_are_signed_without_a_mark(dairy: Cast, lot: Lot, both: Person) -> None:
    whole_day(dairy, lot, dairy.maker, dairy.helper)
    sign(dairy, both)
    assert self_reviewed(dairy.dairy, [T0.date()]) == set()


def test_row_39_nothing_is_not_signed(dairy: Cast) -> None:
    day = T0.replace(day=2).date()  # before the plan
    proof = dairy.proof(dairy.reviewer)
    with at(dairy.dairy, hours(17)), pytest.raises(Refused):
        sign_day(establishment=dairy.dairy, proof=proof, day=day)


def test_row_39_a_day_without_production_before_the_plan_is_signed(dairy: Cast) -> None:
    day = T0.replace(day=2).date()
    with at(dairy.dairy, hours(17)):
        note_no_production(establishment=dairy.dairy, by=dairy.maker, day=day, why="Holiday")
        proof = dairy.proof(dairy.reviewer)
        assert sign_day(establishment=dairy.dairy, proof=proof, day=day).day == day


def test_row_39_a_day_that_has_not_come_is_not_signed(dairy: Cast) -> None:
    with at(dairy.dairy, hours(17)):
        proof = dairy.proof(dairy.reviewer)
        with pytest.raises(Refused, match="not come yet"):
            sign_day(establishment=dairy.dairy, proof=proof, day=T0.replace(day=16).date())
