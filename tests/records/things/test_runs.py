"""The time a reading outside its limit casts doubt on, against a search of every reading for every use."""

from dataclasses import dataclass
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from records.checks.runs import Run, Seen, runs
from tests.builders import T0


def minute(count: int):
    return T0 + timedelta(minutes=count)


def seen(*told: tuple[int, bool]) -> list[Seen]:
    return [Seen(minute(at), good, f"slot {at} {good}") for at, good in told]


def spans(found: list[Run]) -> list[tuple[object, object]]:
    return [(run.since, run.until) for run in found]


def test_without_a_reading_outside_the_limit_there_is_no_run() -> None:
    assert runs(minute(0), seen((5, True), (9, True))) == []


def test_a_run_lies_between_the_readings_within_the_limit() -> None:
    found = runs(minute(0), seen((5, True), (9, False), (12, False), (20, True), (30, True)))
    assert spans(found) == [(minute(5), minute(20))]


def test_a_first_reading_outside_reaches_back_to_the_birth() -> None:
    assert spans(runs(minute(0), seen((9, False)))) == [(minute(0), None)]


def test_of_two_readings_at_one_instant_the_bad_one_counts() -> None:
    assert spans(runs(minute(0), seen((5, True), (9, True), (9, False)))) == [(minute(5), None)]


@dataclass(frozen=True)
class Use:
    start: int
    end: int | None


readings = st.lists(st.tuples(st.integers(1, 40), st.booleans()), max_size=12)
uses = st.lists(
    st.tuples(st.integers(0, 40), st.one_of(st.none(), st.integers(0, 20))).map(
        lambda t: Use(t[0], None if t[1] is None else t[0] + t[1])
    ),
    max_size=8,
)


def used_in_doubt(use: Use, told: list[tuple[int, bool]]) -> bool:
    """Look at every minute: is the use going on where no reading within the limit parts it from a bad one?"""
    bad = {at for at, good in told if not good}
    fine = {at for at, good in told if good} - bad
    for at in bad:
        before = max((one for one in fine if one < at), default=0)
        after = min((one for one in fine if one > at), default=None)
        for now in range(0, 70):
            going_on = use.start <= now and (use.end is None or now <= use.end)
            if going_on and before <= now and (after is None or now <= after):
                return True
    return False


@given(told=readings, found=uses)
def test_the_uses_of_a_run_are_those_of_a_search_minute_by_minute(
    told: list[tuple[int, bool]], found: list[Use]
) -> None:
    listed = runs(minute(0), seen(*told))
    for use in found:
        end = None if use.end is None else minute(use.end)
        reached = any(run.touches(minute(use.start), end) for run in listed)
        assert reached == used_in_doubt(use, told)


@given(told=readings)
def test_every_reading_outside_the_limit_lies_in_exactly_one_run(told: list[tuple[int, bool]]) -> None:
    listed = runs(minute(0), seen(*told))
    for at, good in told:
        if not good:
            assert (
                sum(
                    run.since <= minute(at) and run.covers(minute(at))
                    for run in listed
                    if f"slot {at} False" in run.slots
                )
                == 1
            )
