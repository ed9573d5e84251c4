"""The parser of typed values: every row of the bad-input table, and properties over any text."""

import random
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.rounding import shown
from safetyplan.calculation.typed import Offer, Typed, TypedRefusal, parse, parse_duration
from safetyplan.calculation.units import QUANTITIES, convert
from tests.calculation.published import published

ROWS = published("typed_values")["values"]
FIELDS = [(quantity.name, unit) for quantity in QUANTITIES.values() for unit in quantity.units]


def read(row: dict[str, Any]) -> Typed:
    confirmed = row.get("confirmed", False)
    return parse(row["text"], quantity=row["quantity"], unit=row["unit"], confirmed=confirmed)


def outcome(text: str, quantity: str, unit: str, *, confirmed: bool = False) -> Typed | TypedRefusal:
    try:
        return parse(text, quantity=quantity, unit=unit, confirmed=confirmed)
    except TypedRefusal as refusal:
        return refusal


def named(row: dict[str, Any]) -> str:
    return f"{row['row']}-{row['text']!a}"


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] == "A"], ids=named)
def test_an_accepted_text_gives_its_value_its_echo_and_keeps_the_raw_text(row: dict[str, Any]) -> None:
    typed = read(row)
    assert (str(typed.value), typed.unit, typed.echo) == (row["value"], row["unit"], row["echo"])
    assert (typed.raw, typed.censored) == (row["text"], row.get("censored", ""))


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] != "A"], ids=named)
def test_a_text_not_taken_as_it_stands_says_why_and_what_is_offered(row: dict[str, Any]) -> None:
    with pytest.raises(TypedRefusal) as caught:
        read(row)
    refusal = caught.value
    offers = [
        [offer.raw, offer.unit, offer.confirmed, dict(offer.label.params)["shown"]]
        for offer in refusal.offers
    ]
    assert (refusal.grade, refusal.sentence.code, offers) == (row["grade"], row["sentence"], row["offers"])
    assert all(offer.typed == row["text"] for offer in refusal.offers)


def offers_of_the_table() -> list[tuple[str, Offer]]:
    found = []
    for row in ROWS:
        answer = outcome(row["text"], row["quantity"], row["unit"])
        if isinstance(answer, TypedRefusal):
            found += [(row["quantity"], offer) for offer in answer.offers]
    return found


@pytest.mark.parametrize(("quantity", "offer"), offers_of_the_table())
def test_choosing_an_offer_is_accepted_with_the_value_it_named(quantity: str, offer: Offer) -> None:
    chosen = parse(offer.raw, quantity=quantity, unit=offer.unit, confirmed=offer.confirmed)
    assert chosen.value == offer.value


def test_the_offer_for_another_unit_keeps_the_figure_of_the_instrument() -> None:
    # 161 °F rounds to 71.7 °C, which would pass a limit of 71.7 °C that 161 °F does not reach
    refusal = outcome("161F", "temperature", "degC")
    assert isinstance(refusal, TypedRefusal)
    chosen = parse(refusal.offers[0].raw, quantity="temperature", unit=refusal.offers[0].unit)
    assert convert(chosen.value, chosen.unit, "degC") < Decimal("71.7")


def test_a_confirmed_number_with_a_comma_and_three_decimals_is_still_asked_about() -> None:
    assert isinstance(outcome("1,100", "volume", "L", confirmed=True), TypedRefusal)
    assert isinstance(outcome("1.100", "volume", "L", confirmed=True), Typed)


def test_confirming_does_not_open_the_physical_range() -> None:
    assert isinstance(outcome("400", "temperature", "degC", confirmed=True), TypedRefusal)
    assert isinstance(outcome("250", "temperature", "degC", confirmed=True), Typed)


def test_a_duration_is_read_in_minutes_unless_said_otherwise() -> None:
    assert parse_duration("90").unit == "min"
    assert parse_duration("1,5", unit="h").value == Decimal("1.5")


def test_a_field_that_does_not_exist_is_an_error_of_the_program() -> None:
    with pytest.raises(ValueError, match="no field"):
        parse("4", quantity="temperature", unit="kg")


PIECES = st.sampled_from(
    [*"0123456789.,+-− <>:°eE%", "\u00a0", "C", "F", "SH", "gal", "pH", "kg", "nan", "٣"]
)
ANY_TEXT = st.one_of(st.text(), st.lists(PIECES, max_size=9).map("".join))


@given(text=ANY_TEXT, field=st.sampled_from(FIELDS), confirmed=st.booleans())
def test_any_text_is_a_value_inside_the_physical_range_or_a_refusal(
    text: str, field: tuple[str, str], confirmed: bool
) -> None:
    answer = outcome(text, *field, confirmed=confirmed)
    if isinstance(answer, TypedRefusal):
        assert answer.sentence.code
        return
    low, high = QUANTITIES[field[0]].physical[field[1]]
    assert low <= answer.value <= high
    assert answer.raw == text


@given(text=ANY_TEXT, field=st.sampled_from(FIELDS))
def test_every_offer_for_any_text_can_be_chosen(text: str, field: tuple[str, str]) -> None:
    answer = outcome(text, *field)
    if isinstance(answer, TypedRefusal):
        for offer in answer.offers:
            chosen = parse(offer.raw, quantity=field[0], unit=offer.unit, confirmed=offer.confirmed)
            assert chosen.value == offer.value


@given(data=st.data(), field=st.sampled_from(FIELDS))
def test_the_shown_form_of_a_value_is_read_back_as_itself(
    data: st.DataObject, field: tuple[str, str]
) -> None:
    quantity, unit = field
    low, high = QUANTITIES[quantity].plausible[unit]
    places = QUANTITIES[quantity].decimals[unit]
    value = data.draw(st.decimals(min_value=low, max_value=high, places=places))
    written = shown(value, quantity, unit)
    for text in (written, written.replace(".", ","), f" {written}\u00a0"):
        answer = outcome(text, quantity, unit)
        read_as = answer.value if isinstance(answer, Typed) else answer.offers[0].value
        assert read_as == value


@given(field=st.sampled_from(FIELDS), seed=st.integers(min_value=0, max_value=10**6))
def test_the_echo_of_an_accepted_value_is_read_back_as_itself(field: tuple[str, str], seed: int) -> None:
    quantity, unit = field
    low, high = QUANTITIES[quantity].plausible[unit]
    value = int(random.Random(seed).uniform(float(low), float(high)))
    typed = parse(str(value), quantity=quantity, unit=unit, confirmed=True)
    assert parse(typed.echo, quantity=quantity, unit=unit, confirmed=True).value == typed.value
