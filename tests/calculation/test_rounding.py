"""Rounding for display: half up by hand, and never onto the wrong side of a limit."""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from safetyplan.calculation import rounding


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("4.20", "4.20"),
        ("-0", "0"),
        ("-0.0", "0.0"),
        ("1E+3", "1000"),
        ("0.00100", "0.00100"),
        ("-4.2", "-4.2"),
    ],
)
def test_the_canonical_string_keeps_typed_precision_and_has_no_exponent(value: str, expected: str) -> None:
    assert rounding.trim(Decimal(value)) == expected


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity"])
def test_what_is_no_number_has_no_string(value: str) -> None:
    with pytest.raises(ValueError, match="not a number"):
        rounding.trim(Decimal(value))


@pytest.mark.parametrize(
    ("value", "expected"), [("4.25", "4.3"), ("4.24", "4.2"), ("-4.25", "-4.3"), ("4", "4"), ("0.04", "0.0")]
)
def test_a_shown_number_is_rounded_half_up_away_from_zero(value: str, expected: str) -> None:
    assert rounding.shown(Decimal(value), "temperature", "degC") == expected


def test_a_value_just_outside_its_limit_is_not_shown_as_the_limit() -> None:
    assert rounding.shown_against(Decimal("7.04"), Decimal(7), "temperature", "degC") == "7.04"
    assert rounding.shown_against(Decimal("7.0"), Decimal(7), "temperature", "degC") == "7.0"
    assert rounding.shown_against(Decimal("7.94"), Decimal(7), "temperature", "degC") == "7.9"


NUMBERS = st.decimals(min_value=-100, max_value=100, places=6)


@given(value=NUMBERS, limit=st.decimals(min_value=-100, max_value=100, places=2))
def test_a_shown_number_always_stands_on_its_true_side_of_the_limit(value: Decimal, limit: Decimal) -> None:
    written = Decimal(rounding.shown_against(value, limit, "temperature", "degC"))
    assert (written > limit, written < limit) == (value > limit, value < limit)


@given(value=NUMBERS)
def test_a_margin_that_is_not_zero_never_becomes_zero(value: Decimal) -> None:
    assume(value != 0)
    margin = rounding.margin(value)
    assert (margin > 0) == (value > 0)
    assert abs(margin) >= abs(value)


@given(value=st.decimals(min_value=-(10**9), max_value=10**9, places=3))
def test_the_scaled_integer_is_the_value_in_thousandths(value: Decimal) -> None:
    assert Decimal(rounding.scaled(value)) / 1000 == value


@pytest.mark.parametrize("value", ["0.0001", "NaN", "Infinity"])
def test_a_value_finer_than_a_thousandth_has_no_scaled_integer(value: str) -> None:
    with pytest.raises(ValueError, match="finer"):
        rounding.scaled(Decimal(value))


def test_an_amount_is_written_as_the_trade_writes_it() -> None:
    assert [rounding.amount("4.2", unit) for unit in ("degC", "pH", "count", "percent")] == [
        "4.2 °C",
        "pH 4.2",
        "4.2",
        "4.2 %",
    ]
