"""The balance of a tank after a batch, as a person meets it."""

from typing import Any

import pytest

from tests.calculation.test_worked_brine import (
    NONE,
    batch,
    codes,
    everything,
    in_words,
    number,
    refused,
    step_names,
)


def test_a_batch_is_balanced_and_the_tank_restored() -> None:
    # by hand: 20 kg salt and 80 kg water; 1 kg into the cheese, 2 kg of water out: 19 and 82, 18.81 %
    found = batch()
    assert (
        in_words(found.result) == "By the balance the batch brings the brine from 20.00 % w/w to 18.81 % w/w."
    )
    # 82 kg of water want 20.5 kg of salt for 20 %
    assert "Put 1.500 kg of salt to the tank, to bring it from 18.81 % w/w to 20.00 % w/w." in everything(
        found
    )
    assert step_names(found) == [
        "brine_basis_weight", "held", "water_after", "salt_after", "expected", "raise",
    ]  # fmt: skip


def test_a_measured_strength_tells_the_salt_taken_up() -> None:
    # by hand: 82 kg of water at 18 % hold 18 kg of salt, so 2 kg went into 50 kg of cheese
    found = batch(salt_gained=NONE, strength_measured_after=number("18"))
    assert "the cheese took up 2.000 kg of salt: 4.00 % of its mass" in in_words(found.result)
    assert "Put 2.500 kg of salt" in everything(found)
    assert step_names(found)[2:] == ["held", "water_after", "salt_measured", "uptake", "raise"]


@pytest.mark.parametrize(
    ("measured", "code", "words_said"),
    [
        ("18", "brine_less_salt", "The brine holds 1.000 kg of salt less than expected"),
        ("19.5", "brine_more_salt", "of salt more than expected"),
    ],
)
def test_both_together_tell_the_difference(measured: str, code: str, words_said: str) -> None:
    found = batch(strength_measured_after=number(measured))
    assert code in codes(found.more)
    assert words_said in everything(found)
    assert "difference" in step_names(found)


def test_another_strength_may_be_wanted_after_the_batch() -> None:
    # 82 kg of water at 21 % hold 21.797 kg of salt
    assert "Put 2.797 kg of salt" in everything(batch(target_strength=number("21")))


def test_a_batch_that_changed_nothing_needs_nothing() -> None:
    still = {"salt_gained": number("0", "percent"), "moisture_lost": number("0", "percent")}
    found = batch(strength_before=number("17.333"), strength_measured_after=number("17.333"), **still)
    assert "took up 0.000 kg of salt" in everything(found)
    assert "Put 0.000 kg of salt" in everything(found)


@pytest.mark.parametrize(
    ("more", "code", "field"),
    [
        ({"salt_gained": NONE}, "brine_batch_needs", "salt_gained"),
        ({"cheese_mass": NONE}, "calculator_needs", "cheese_mass"),
        ({"cheese_mass": number("0", "kg")}, "brine_amount", "cheese_mass"),
        ({"moisture_lost": NONE}, "calculator_needs", "moisture_lost"),
        ({"moisture_lost": number("40", "percent")}, "outside_validity", "moisture_lost"),
        ({"salt_gained": number("11", "percent")}, "outside_validity", "salt_gained"),
        ({"cheese_mass": number("5000", "kg")}, "brine_not_enough_salt", "salt_gained"),
        ({"strength_measured_after": number("20.5")}, "brine_gained_salt", "strength_measured_after"),
        ({"strength_measured_after": number("30")}, "brine_too_strong", "strength_measured_after"),
        ({"target_strength": number("15")}, "brine_is_stronger", "target_strength"),
    ],
)
def test_a_batch_that_cannot_be_is_refused_at_its_field(more: dict[str, Any], code: str, field: str) -> None:
    assert refused(lambda: batch(**more)) == (code, field)
