"""Yield per 100 L and by mass, and what is usual for a product."""

from decimal import Decimal as D
from fractions import Fraction
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import decimal_text
from safetyplan.calculation.yields import usual, yield_per_100_l, yield_percent

AMOUNTS = st.decimals(min_value="0.001", max_value="50000", places=3)


def test_the_yield_is_the_cheese_of_a_hundred_litres() -> None:
    # by hand: 33.6 / 212 x 100 = 15.849...
    assert decimal_text(yield_per_100_l(cheese_kg=D("33.6"), milk_l=D(212)), 2) == "15.85"


def test_the_yield_by_mass_is_less_since_milk_is_heavier_than_water() -> None:
    # by hand: 33.6 / (212 x 1.03) x 100 = 15.387...
    found = yield_percent(cheese_kg=D("33.6"), milk_l=D(212), density_g_per_ml=D("1.03"))
    assert decimal_text(found, 2) == "15.39"


@given(cheese=AMOUNTS, milk=AMOUNTS)
def test_the_yield_equals_that_in_exact_fractions(cheese: D, milk: D) -> None:
    exact = Fraction(cheese) / Fraction(milk) * 100
    assert abs(Fraction(yield_per_100_l(cheese_kg=cheese, milk_l=milk)) - exact) <= exact / 10**27


@pytest.mark.parametrize(
    ("cheese", "milk", "density", "field"),
    [
        ("0", "212", "1.03", "mass"),
        ("33.6", "0", "1.03", "volume"),
        ("33.6", "50001", "1.03", "volume"),
        ("NaN", "212", "1.03", "mass"),
        ("33.6", "212", "0.5", "density"),
        ("33.6", "212", "1030", "density"),
    ],
)
def test_what_no_vat_can_be_is_refused_by_its_field(cheese: str, milk: str, density: str, field: str) -> None:
    with pytest.raises(Refusal) as refused:
        yield_percent(cheese_kg=D(cheese), milk_l=D(milk), density_g_per_ml=D(density))
    assert refused.value.field == field


@given(st.lists(AMOUNTS, min_size=3, max_size=12))
def test_what_is_usual_is_the_median_and_the_range(values: list[D]) -> None:
    found = usual(values)
    assert found is not None
    assert found.median == median(values)  # the standard library's own
    assert (found.lowest, found.highest, found.count) == (min(values), max(values), len(values))
    assert all(found.holds(value) for value in values)
    assert not found.holds(max(values) + 1)


def test_two_makes_show_nothing_usual() -> None:
    assert usual([D("15.8"), D("16.1")]) is None
