"""When instruments have to be checked, and which are overdue: by schedule, at any instant, as of then."""

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.instruments.models import Instrument
from records.instruments.queries import last_check, last_good, versions_of
from records.instruments.services import About, reactivate_instrument, register_instrument, retire_instrument
from records.instruments.standing import Standing, calendar, overdue, states, to_check
from safetyplan.integrity.ledger import head
from tests.builders import T0, at
from tests.cast import Cast
from tests.records.instruments.acts import a_probe, checked, shown


def days(count: float) -> datetime:
    """Give the instant some days after the beginning of the test's day (06:00 local)."""
    return T0 + timedelta(days=count)


def standing(cast: Cast, moment: datetime) -> Standing:
    [found] = states(cast.dairy, moment)
    return found.standing


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        (0.1, Standing.IN_ORDER),
        (6.9, Standing.DUE),  # it is the seventh day by the dairy's clock
        (6.6, Standing.IN_ORDER),
        (7.6, Standing.DUE),
        (7.9, Standing.OVERDUE),
        (400, Standing.OVERDUE),
    ],
)
def test_a_schedule_of_seven_days_ends_with_the_seventh_local_day(
    cast: Cast, after: float, expected: Standing
) -> None:
    """T0 is in the morning; 0.7 of a day later the next local day has not begun, 0.9 later it has."""
    checked(cast, a_probe(cast, every="7"), T0)

    assert standing(cast, days(after)) == expected


def test_an_instrument_never_checked_is_due_the_day_it_gets_its_schedule(cast: Cast) -> None:
    probe = a_probe(cast, every="7")

    [found] = states(cast.dairy, days(0.1))

    assert (found.standing, found.due_on, found.last) == (Standing.DUE, T0.date(), None)
    assert standing(cast, days(1)) == Standing.OVERDUE
    checked(cast, probe, days(1))
    assert standing(cast, days(1)) == Standing.IN_ORDER


def test_an_instrument_without_a_schedule_is_never_due(cast: Cast) -> None:
    a_probe(cast)

    assert standing(cast, days(400)) == Standing.UNSCHEDULED
    assert overdue(cast.dairy, days(400)) == set()


@pytest.mark.parametrize("every", ["", "7"])
def test_one_that_failed_counts_as_overdue_until_it_is_found_good(cast: Cast, every: str) -> None:
    probe = a_probe(cast, every=every)
    checked(cast, probe, T0)
    checked(cast, probe, days(1), "0.9")

    assert standing(cast, days(1.1)) == Standing.FAILED
    assert overdue(cast.dairy, days(1.1)) == {probe.pk}
    assert overdue(cast.dairy, days(0.9)) == set()
    checked(cast, probe, days(2))
    assert overdue(cast.dairy, days(2.1)) == set()


def test_one_that_was_adjusted_and_found_good_is_in_order(cast: Cast) -> None:
    probe = a_probe(cast, every="7")

    checked(cast, probe, T0, "0.9", left=shown("0.0"), done="adjusted")

    assert standing(cast, days(0.1)) == Standing.IN_ORDER


def test_one_for_each_day_of_use_is_overdue_at_a_reading_before_its_check(cast: Cast) -> None:
    probe = a_probe(cast, every="0")
    checked(cast, probe, T0)
    checked(cast, probe, days(1.1))

    found = [overdue(cast.dairy, moment) for moment in (days(0.1), days(1.05), days(1.15), days(2))]

    assert found == [set(), {probe.pk}, set(), {probe.pk}]
    assert standing(cast, days(2)) == Standing.DUE


def test_a_change_of_the_register_leaves_the_instrument_its_checks(cast: Cast) -> None:
    probe = a_probe(cast, every="7")
    checked(cast, probe, T0)

    with at(cast.dairy, days(1)):
        moved = changed(cast, probe, every="7")

    assert versions_of(cast.dairy, moved) == [probe.pk, moved.pk]
    assert standing(cast, days(2)) == Standing.IN_ORDER
    assert overdue(cast.dairy, days(9)) == {probe.pk, moved.pk}


def changed(cast: Cast, probe: Instrument, **about: Any) -> Instrument:
    return register_instrument(
        establishment=cast.dairy,
        by=cast.maker,
        code=probe.code,
        name="Probe of the cellar",
        quantity="temperature",
        tolerance="0.5",
        about=About(**about),
        supersedes=probe,
    )


def test_a_longer_schedule_does_not_put_earlier_readings_in_order(cast: Cast) -> None:
    probe = a_probe(cast, every="7")
    checked(cast, probe, T0)
    with at(cast.dairy, days(10)):
        moved = changed(cast, probe, every="30")

    known = calendar(cast.dairy, days(8), days(20))

    assert known.overdue_at(moved.pk, days(9))
    assert not known.overdue_at(moved.pk, days(11))


def test_the_state_of_a_past_sequence_does_not_know_later_checks(cast: Cast) -> None:
    probe = a_probe(cast, every="7")
    good = checked(cast, probe, T0)
    sequence, _hash = head(cast.dairy)
    later = checked(cast, probe, days(3), "0.9")

    [then] = states(cast.dairy, days(4), as_of=sequence)
    assert (then.standing, then.last) == (Standing.IN_ORDER, good)
    assert last_check(cast.dairy, probe, days(4), as_of=sequence) == good
    assert last_check(cast.dairy, probe, days(4)) == later


def test_the_last_good_check_is_the_one_before_the_instant(cast: Cast) -> None:
    probe = a_probe(cast)
    good = checked(cast, probe, T0)
    checked(cast, probe, days(1), "0.9")

    assert last_good(cast.dairy, probe, days(2)) == good
    assert last_good(cast.dairy, probe, T0) is None


def test_instruments_out_of_use_are_not_to_be_checked(cast: Cast) -> None:
    first, second = a_probe(cast, every="7"), a_probe(cast, "T2", every="7")
    with at(cast.dairy, days(1)):
        about = {"establishment": cast.dairy, "by": cast.maker}
        retired = retire_instrument(instrument=first, why="Broken tip", **about)
        assert retire_instrument(instrument=retired, why="Broken tip", **about) == retired

    listed = [state.instrument for state in states(cast.dairy, days(2))]
    assert listed == [second]
    with at(cast.dairy, days(3)):
        back = reactivate_instrument(instrument=retired, why="New tip", **about)
    assert [s.instrument for s in states(cast.dairy, days(3))] == [back, second]


def test_the_most_pressing_comes_first(cast: Cast) -> None:
    due, late, failed = (a_probe(cast, code, every="7") for code in ("T1", "T2", "T3"))
    a_probe(cast, "T4")
    checked(cast, due, days(1))
    checked(cast, late, T0)
    checked(cast, failed, days(7), "0.9")

    pressing = to_check(states(cast.dairy, days(8)))

    assert [state.instrument.code for state in pressing] == ["T3", "T2", "T1"]
    assert [state.due_on for state in pressing][1:] == [date(2026, 5, 21), date(2026, 5, 22)]


def test_the_number_of_queries_does_not_grow_with_instruments_and_checks(cast: Cast) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            states(cast.dairy, days(3))
        return len(asked)

    checked(cast, a_probe(cast, every="7"), T0)
    few = queries()
    for n in range(2, 7):
        probe = a_probe(cast, f"T{n}", every="7")
        for day in range(3):
            checked(cast, probe, days(day))

    assert queries() == few <= 5
