"""Logs as people type or paste them: read line by line, refused by the number of the line."""

from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked.log_text import MOST_LINES, read_log
from safetyplan.calculation.worked.shape import Ask, Log

ONE = Ask("log", "log", quantity="temperature", units=("degC",), columns=("product",))
TWO = Ask("log", "log", quantity="temperature", units=("degC",), columns=("product", "air_space"))


def read(text: str, ask: Ask = ONE) -> Log:
    return read_log(text, ask, "degC")


def code(text: str, ask: Ask = ONE) -> str:
    with pytest.raises(Refusal) as caught:
        read(text, ask)
    assert caught.value.field == "log"
    return caught.value.sentence.code


def minutes(log: Log) -> list[Decimal]:
    return [line.seconds / 60 for line in log.lines]


def test_clock_times_count_from_the_first_line() -> None:
    assert minutes(read("10:05 63.2\n10:35 63.4")) == [0, 30]


def test_clock_times_go_on_past_midnight() -> None:
    assert minutes(read("23:50 4\n00:10 5\n23:00 6\n")) == [0, 20, 1390]


def test_a_time_earlier_by_less_than_half_a_day_is_out_of_order_and_with_a_date_it_is_not() -> None:
    assert code("10:05 63\n10:04 64") == "log_order"
    assert minutes(read("2026-05-14 10:05 63\n2026-05-15 10:04 64")) == [0, 1439]


def test_two_lines_of_one_time_are_refused() -> None:
    assert code("10:05 63\n10:05 64") == "log_order"


def test_a_bare_number_is_a_time_in_the_unit_asked_for() -> None:
    hours = Ask("log", "log", quantity="ph", units=("pH",), columns=("ph",), clock="h")
    log = read_log("0 6.6\n1,5 6.4", hours, "pH")
    assert [line.seconds for line in log.lines] == [0, 5400]
    assert log.lines[1].time_text == "1,5 h"


def test_seconds_in_a_clock_time_are_read() -> None:
    assert minutes(read("10:05:00 72\n10:05:15 72")) == [0, Decimal("0.25")]


def test_commas_tabs_and_semicolons_part_or_mark_as_a_dairy_writes_them() -> None:
    log = read("10:05\t63,2;66,1\n10:06 ; 63.4 66", TWO)
    assert [line.values for line in log.lines] == [
        (Decimal("63.2"), Decimal("66.1")),
        (Decimal("63.4"), Decimal("66")),
    ]


def test_a_dash_is_a_value_that_was_not_read() -> None:
    assert read("10:05 63 -", TWO).lines[0].values == (Decimal(63), None)


def test_a_line_with_too_few_or_too_many_values_is_refused_by_its_number() -> None:
    for text in ("10:05 63 66\n10:06 63", "10:05 63 66\n10:06 63 66 1"):
        with pytest.raises(Refusal) as caught:
            read(text, TWO)
        assert dict(caught.value.sentence.params)["line"] == "2"


def test_a_line_whose_value_cannot_be_read_is_refused() -> None:
    assert code("10:05 warm") == "log_value"
    assert code("10:05 63.2.1") == "log_value"


def test_a_line_whose_time_cannot_be_read_is_refused() -> None:
    for text in ("ten 63", "24:05 63", "2026-02-30 10:00 63", "2026-05-14 63", "10:65 63"):
        assert code(text) == "log_time"


def test_times_written_in_two_ways_are_refused() -> None:
    assert code("10:05 63\n35 64") == "log_mixed_times"


def test_an_empty_log_and_one_that_is_too_long_are_refused() -> None:
    assert code(" \n\n") == "log_empty"
    assert code("\n".join(f"{n} 4" for n in range(MOST_LINES + 1))) == "log_too_long"


def test_blank_lines_are_passed_over_and_do_not_shift_the_numbers() -> None:
    with pytest.raises(Refusal) as caught:
        read("10:05 63\n\n10:06 x")
    assert dict(caught.value.sentence.params)["line"] == "3"


@given(st.text(alphabet="0123456789:-., ;\t\nab°<>", max_size=80))
def test_any_text_is_a_log_or_a_refusal(text: str) -> None:
    with suppress(Refusal):
        seconds = [line.seconds for line in read(text).lines]
        assert seconds == sorted(set(seconds))
