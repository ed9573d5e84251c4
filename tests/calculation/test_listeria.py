"""Whether a cheese is held to support Listeria: each wording at its edges, and rinds that raise the pH."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.growth_tables import OTHER_RINDS, RISING_RINDS
from safetyplan.calculation.listeria import (
    AUSTRALIA,
    EUROPE,
    EUROPE_SOURCE,
    Cheese,
    clauses_met,
    growth_decision,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.words import WORDS


def cheese(ph: str, aw: str = "", moisture: str = "", days: str = "") -> Cheese:
    return Cheese(Decimal(ph), *(Decimal(text) if text else None for text in (aw, moisture, days)))


# < and <= as written: Australian guidance (agriculture.gov.au); Regulation 2073/2005, footnote 8
@pytest.mark.parametrize(
    ("wording", "given", "met"),
    [
        (AUSTRALIA, cheese("4.4"), False),
        (AUSTRALIA, cheese("4.39"), True),
        (EUROPE, cheese("4.4"), True),
        (EUROPE, cheese("4.41"), False),
        (AUSTRALIA, cheese("6", "0.92"), False),
        (AUSTRALIA, cheese("6", "0.919"), True),
        (EUROPE, cheese("6", "0.92"), True),
        (EUROPE, cheese("6", "0.921"), False),
        (AUSTRALIA, cheese("5.0", "0.93"), False),
        (AUSTRALIA, cheese("4.99", "0.939"), True),
        (EUROPE, cheese("5.0", "0.94"), True),
        (EUROPE, cheese("5.01", "0.94"), False),
        (AUSTRALIA, cheese("4.9", moisture="39"), False),
        (AUSTRALIA, cheese("4.9", moisture="38.9"), True),
        (EUROPE, cheese("4.9", moisture="30"), False),
        (AUSTRALIA, cheese("6", days="5"), True),
        (AUSTRALIA, cheese("6", days="6"), False),
        (EUROPE, cheese("6", days="5"), False),
        (EUROPE, cheese("6", days="4"), True),
    ],
)
def test_a_clause_is_met_exactly_as_its_wording_has_it(wording: str, given: Cheese, met: bool) -> None:
    assert bool(clauses_met(given, wording=wording)) is met


@pytest.mark.parametrize("rind", RISING_RINDS)
def test_a_rind_that_raises_the_ph_is_always_growth_possible_without_a_challenge_study(rind: str) -> None:
    young = cheese("4.2", "0.90")
    decided = growth_decision(young, wording=EUROPE, rind=rind, challenge_study=False)
    assert (decided.finding, decided.sentence.code) == ("possible", "listeria_rind")
    studied = growth_decision(young, wording=EUROPE, rind=rind, challenge_study=True)
    assert studied.finding == "deemed_not_to_support"


@pytest.mark.parametrize("rind", OTHER_RINDS)
def test_another_rind_is_judged_by_the_clauses(rind: str) -> None:
    decide = {"wording": EUROPE, "rind": rind, "challenge_study": False}
    assert growth_decision(cheese("4.4"), **decide).finding == "deemed_not_to_support"
    assert growth_decision(cheese("4.5"), **decide).finding == "possible"


def test_a_challenge_study_does_not_replace_the_clauses() -> None:
    decided = growth_decision(cheese("6"), wording=EUROPE, rind="rind_bloomy", challenge_study=True)
    assert decided.finding == "possible"


def test_an_unknown_wording_or_rind_is_refused() -> None:
    with pytest.raises(Refusal):
        clauses_met(cheese("5"), wording="mine")
    with pytest.raises(Refusal):
        growth_decision(cheese("5"), wording=EUROPE, rind="leaf", challenge_study=False)


def test_the_clause_of_the_shelf_life_is_marked_as_from_memory() -> None:
    assert "from memory" in EUROPE_SOURCE
    assert "from memory" in str(WORDS["listeria_days_below"])


@given(
    st.sampled_from([AUSTRALIA, EUROPE]),
    st.decimals(0, 14, places=2),
    st.decimals(0, 1, places=3),
    st.decimals(0, 14, places=2),
    st.decimals(0, 1, places=3),
)
def test_a_sourer_and_drier_cheese_never_loses_what_a_milder_and_wetter_one_meets(
    wording: str, ph: Decimal, aw: Decimal, less_ph: Decimal, less_aw: Decimal
) -> None:
    mild = Cheese(max(ph, less_ph), max(aw, less_aw))
    sour = Cheese(min(ph, less_ph), min(aw, less_aw))
    assert bool(clauses_met(sour, wording=wording)) or not clauses_met(mild, wording=wording)


@given(st.decimals(0, 14, places=2), st.decimals(0, 1, places=3))
def test_on_the_two_clauses_they_share_the_australian_wording_is_never_the_milder(
    ph: Decimal, aw: Decimal
) -> None:
    both = Cheese(ph, aw)
    assert clauses_met(both, wording=EUROPE) or not clauses_met(both, wording=AUSTRALIA)
