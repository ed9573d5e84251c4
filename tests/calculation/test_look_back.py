"""What a failed check of an instrument reaches back to, against brute force minute by minute."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.instruments import AsFound
from safetyplan.calculation.look_back import Check, Taken, look_back

START = datetime(2026, 5, 14, 4, 0, tzinfo=UTC)
MINUTES = st.integers(0, 60)
CHECKS = st.lists(st.tuples(MINUTES, st.booleans()), max_size=8)
READINGS = st.lists(st.tuples(MINUTES, st.sampled_from(["A", "B", "C", ""])), max_size=20)


def at(minute: int) -> datetime:
    return START + timedelta(minutes=minute)


def checks_of(pairs: list[tuple[int, bool]]) -> list[Check]:
    return [Check(at(minute), passed) for minute, passed in pairs]


def readings_of(pairs: list[tuple[int, str]]) -> list[Taken]:
    return [Taken(str(n), at(minute), Decimal(4), lot) for n, (minute, lot) in enumerate(pairs)]


def falls(minute: int, checks: list[tuple[int, bool]]) -> bool:
    """Brute force: a failed check with no good one between it and the reading, on either side of it."""
    good = {when for when, passed in checks if passed}
    failed = {when for when, passed in checks if not passed}
    return any(
        not any(when in good for when in range(minute, fail))
        if fail >= minute
        else not any(when in good for when in range(fail + 1, minute + 1))
        for fail in failed
    )


@given(CHECKS, READINGS)
def test_the_readings_that_fall_equal_brute_force_to_the_minute(
    checks: list[tuple[int, bool]], readings: list[tuple[int, str]]
) -> None:
    found = look_back(checks_of(checks), readings_of(readings))
    expected = {str(n) for n, (minute, _lot) in enumerate(readings) if falls(minute, checks)}
    assert {one.taken.key for one in found.fallen} == expected
    assert set(found.lots) == {readings[int(key)][1] for key in expected} - {""}


@given(CHECKS, READINGS)
def test_the_order_in_which_checks_and_readings_are_given_makes_no_difference(
    checks: list[tuple[int, bool]], readings: list[tuple[int, str]]
) -> None:
    one = look_back(checks_of(checks), readings_of(readings))
    other = look_back(reversed(checks_of(checks)), reversed(readings_of(readings)))
    assert [(f.taken, f.failed.at) for f in one.fallen] == [(f.taken, f.failed.at) for f in other.fallen]


def test_a_failed_check_reaches_back_to_the_last_good_one_and_not_beyond() -> None:
    checks = checks_of([(0, True), (10, True), (30, False)])
    found = look_back(checks, readings_of([(5, "A"), (10, "B"), (11, "C"), (30, "D")]))
    assert found.lots == ("C", "D")


def test_after_a_failure_nothing_is_valid_until_the_instrument_is_found_good_again() -> None:
    readings = readings_of([(30, "A"), (31, "B"), (44, "C"), (45, "D"), (46, "E")])
    found = look_back(checks_of([(10, True), (30, False), (45, True)]), readings)
    assert [(one.taken.lot, one.known) for one in found.fallen] == [("A", False), ("B", True), ("C", True)]
    assert look_back(checks_of([(10, True), (30, False)]), readings).lots == ("A", "B", "C", "D", "E")


def test_checks_count_by_their_minute() -> None:
    seconds = timedelta(seconds=40)
    good, failed = Check(at(10) + seconds, passed=True), Check(at(30), passed=False)
    same_minute = Check(at(30) + seconds, passed=True)
    readings = [
        Taken("1", at(10) + seconds / 2, Decimal(4), "A"),
        Taken("2", at(30) + seconds, Decimal(4), "B"),
    ]
    assert look_back([good, failed, same_minute], readings).lots == ("B",)


def test_a_first_check_that_fails_reaches_back_to_the_beginning() -> None:
    assert look_back(checks_of([(30, False)]), readings_of([(0, "A")])).lots == ("A",)
    assert look_back(checks_of([(30, True)]), readings_of([(0, "A")])).lots == ()


def test_the_recomputed_value_stands_beside_the_reading_and_changes_nothing() -> None:
    failed = Check(at(30), passed=False, as_found=AsFound.constant(Decimal("0.8")))
    found = look_back([failed], [Taken("1", at(20), Decimal("63.4"), "A")])
    assert found.fallen[0].recomputed == Decimal("62.6")
    assert found.fallen[0].taken.value == Decimal("63.4")


def test_without_a_known_error_nothing_is_recomputed() -> None:
    assert look_back(checks_of([(30, False)]), readings_of([(20, "A")])).fallen[0].recomputed is None


def test_two_failures_in_a_row_name_the_first_that_reaches_a_reading() -> None:
    checks = checks_of([(0, True), (10, False), (20, False)])
    found = look_back(checks, readings_of([(5, "A"), (15, "B"), (25, "C")]))
    assert [one.failed.at for one in found.fallen] == [at(10), at(20), at(20)]


def test_a_good_check_of_the_same_minute_does_not_heal_a_failed_one() -> None:
    both = checks_of([(0, True), (30, True), (30, False)])
    assert look_back(both, readings_of([(20, "A"), (30, "B")])).lots == ("A", "B")


WHOLE = st.tuples(MINUTES, st.booleans(), st.booleans(), st.integers(0, 5))


def whole(found: list[tuple[int, bool, bool, int]]) -> list[Check]:
    return [Check(at(minute), passed, None, left, order) for minute, passed, left, order in found]


def falls_by(minute: int, checks: list[tuple[int, bool, bool, int]]) -> bool:
    """Brute force: walk every minute between the reading and each failed check, and look for a good one."""
    for when, passed, left, order in checks:
        before = {at for at, _passed, good, entered in checks if good and entered <= order}
        found_good = {at for at, fine, good, _entered in checks if fine or good}
        if when >= minute and not passed and not any(step in before for step in range(minute, when)):
            return True
        if when < minute and not left and not any(s in found_good for s in range(when + 1, minute + 1)):
            return True
    return False


@given(st.lists(WHOLE, max_size=8), READINGS)
def test_checks_that_adjust_and_checks_entered_late_equal_brute_force_too(
    checks: list[tuple[int, bool, bool, int]], readings: list[tuple[int, str]]
) -> None:
    found = look_back(whole(checks), readings_of(readings))
    expected = {str(n) for n, (minute, _lot) in enumerate(readings) if falls_by(minute, checks)}
    assert {one.taken.key for one in found.fallen} == expected
    assert set(found.lots) == {readings[int(key)][1] for key in expected} - {""}


def test_an_instrument_adjusted_on_the_spot_gives_valid_readings_from_the_next_minute() -> None:
    readings = readings_of([(20, "A"), (30, "B"), (31, "C")])
    assert look_back([Check(at(30), passed=False, left_good=True)], readings).lots == ("A", "B")
    assert look_back([Check(at(30), passed=False)], readings).lots == ("A", "B", "C")


def test_an_instrument_found_good_and_left_bad_gives_no_valid_readings_after() -> None:
    readings = readings_of([(20, "A"), (30, "B"), (31, "C")])
    assert look_back([Check(at(30), passed=True, left_good=False)], readings).lots == ("C",)


def test_a_good_check_entered_after_the_failure_shortens_nothing() -> None:
    readings = readings_of([(5, "A"), (15, "B")])
    good_first = [Check(at(10), passed=True, recorded=1), Check(at(30), passed=False, recorded=2)]
    entered_late = [Check(at(10), passed=True, recorded=3), Check(at(30), passed=False, recorded=2)]
    assert look_back(good_first, readings).lots == ("B",)
    assert look_back(entered_late, readings).lots == ("A", "B")


def test_a_reading_without_a_single_value_falls_and_is_not_recomputed() -> None:
    failed = Check(at(30), passed=False, as_found=AsFound.constant(Decimal("1.8")))
    found = look_back([failed], [Taken("1", at(20), None, "A")])
    assert [(one.taken.key, one.recomputed) for one in found.fallen] == [("1", None)]
