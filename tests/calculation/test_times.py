"""Dates and times of day as typed; the rows name the rules of the time zone they rely on."""

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.times import instant_text, lateness, parse_local
from safetyplan.calculation.typed import TypedRefusal
from tests.calculation.published import published

ROWS = published("typed_values")["times"]
NOW = datetime(2026, 5, 14, 18, tzinfo=UTC)


def read(row: dict[str, Any]) -> datetime:
    fold = row.get("fold")
    return parse_local(
        row["date"],
        row["time"],
        ZoneInfo(row["zone"]),
        now=datetime.fromisoformat(row["now"]),
        fold=None if fold is None else int(fold),
        confirmed=row.get("confirmed", False),
    )


def named(row: dict[str, Any]) -> str:
    return ascii(f"{row['row']}-{row['date']}-{row['time']}-{row['grade']}")


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] == "A"], ids=named)
def test_an_accepted_time_is_the_instant_in_utc(row: dict[str, Any]) -> None:
    instant = read(row)
    assert instant == datetime.fromisoformat(row["instant"])
    assert instant.tzinfo is UTC


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] != "A"], ids=named)
def test_a_time_not_taken_as_it_stands_says_why(row: dict[str, Any]) -> None:
    with pytest.raises(TypedRefusal) as caught:
        read(row)
    assert (caught.value.grade, caught.value.sentence.code) == (row["grade"], row["sentence"])
    assert [offer.fold for offer in caught.value.offers] == row.get("folds", [])


DATES = st.one_of(st.text(), st.dates().map(str), st.sampled_from(["2026-05-14", "2026-02-30", "2026-5-1"]))
TIMES = st.one_of(st.text(), st.times().map(lambda time: f"{time:%H:%M}"), st.sampled_from(["24:00", "7:5"]))


@given(date=DATES, time=TIMES)
def test_any_text_is_a_refusal_or_an_instant_not_in_the_future(date: str, time: str) -> None:
    try:
        instant = parse_local(date, time, UTC, now=NOW, confirmed=True)
    except TypedRefusal:
        return
    assert instant <= NOW + timedelta(minutes=2)


@given(minutes=st.integers(min_value=0, max_value=48 * 60))
def test_a_time_written_from_an_instant_is_read_back_as_that_instant(minutes: int) -> None:
    instant = NOW - timedelta(minutes=minutes)
    local = instant.astimezone(ZoneInfo("Europe/Paris"))
    read_back = parse_local(f"{local:%Y-%m-%d}", f"{local:%H:%M}", ZoneInfo("Europe/Paris"), now=NOW)
    assert read_back == instant


def test_a_record_is_late_only_beyond_the_tolerance() -> None:
    observed, tolerance = NOW, timedelta(minutes=15)
    assert not lateness(observed, observed + tolerance, tolerance)
    assert lateness(observed, observed + tolerance + timedelta(milliseconds=1), tolerance)


def test_an_instant_is_written_in_utc_with_milliseconds() -> None:
    paris = datetime(2026, 5, 14, 20, 0, 0, 999_999, tzinfo=ZoneInfo("Europe/Paris"))
    assert instant_text(paris) == "2026-05-14T18:00:00.999Z"
