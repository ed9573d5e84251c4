"""Lot codes as typed: one written form, and look-alikes."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.codes import parse_code, skeleton
from safetyplan.calculation.typed import TypedRefusal
from tests.calculation.published import published

ROWS = published("typed_values")["codes"]


def named(row: dict[str, Any]) -> str:
    return ascii(f"{row['row']}-{row['text']}")


@pytest.mark.parametrize("row", [row for row in ROWS if row.get("grade") == "A"], ids=named)
def test_an_accepted_code_has_one_written_form(row: dict[str, Any]) -> None:
    assert parse_code(row["text"]) == row["code"]


@pytest.mark.parametrize("row", [row for row in ROWS if row.get("grade") == "R"], ids=named)
def test_a_refused_code_says_why(row: dict[str, Any]) -> None:
    with pytest.raises(TypedRefusal) as caught:
        parse_code(row["text"])
    assert caught.value.sentence.code == row["sentence"]


@pytest.mark.parametrize("row", [row for row in ROWS if "similar_to" in row], ids=named)
def test_codes_that_look_alike_have_one_skeleton(row: dict[str, Any]) -> None:
    assert skeleton(row["text"]) == skeleton(row["similar_to"])


def test_codes_that_differ_have_different_skeletons() -> None:
    assert skeleton("TM-14") != skeleton("TM-15")


@given(text=st.text())
def test_any_text_is_refused_or_becomes_a_code_that_reads_as_itself(text: str) -> None:
    try:
        code = parse_code(text)
    except TypedRefusal:
        return
    assert parse_code(code) == code
    assert 0 < len(code) <= 30
