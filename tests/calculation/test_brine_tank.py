"""A tank of brine: salt and water are neither made nor lost, whatever is asked and in whatever unit."""

from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from safetyplan.calculation.brine import LAST_DIGITS, brine_density
from safetyplan.calculation.brine_tank import (
    Tank,
    after_batch,
    brine_mass_kg,
    litres_of,
    require_target,
    salt_to_make,
    salt_to_raise,
    uptake_measured,
    water_mass_kg,
    water_to_dilute,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.units import UnitError, convert

# The first conversion loads pint.
UNHURRIED = settings(deadline=None)


def between(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.decimals(Decimal(low), Decimal(high), places=3)


STRENGTHS, MASSES, TEMPERATURES = between("0", "26.3"), between("0.001", "50000"), between("0", "30")
ANYTHING = (
    between("-100", "2000")
    | st.decimals(-(10**12), 10**12, places=6)
    | st.sampled_from([Decimal(text) for text in ("NaN", "Infinity", "-Infinity", "-0", "1e-9")])
)


def refused(call) -> tuple[str, str]:  # type: ignore[no-untyped-def]
    with pytest.raises(Refusal) as caught:
        call()
    return caught.value.sentence.code, caught.value.field


def kilograms(value: Decimal, unit: str, celsius: str = "12") -> Decimal:
    return brine_mass_kg(value, unit, percent_ww=Decimal(20), temperature_c=Decimal(celsius))


# --- salt and water are conserved


@UNHURRIED
@given(MASSES, STRENGTHS)
def test_the_brine_made_holds_the_salt_put_in(water: Decimal, percent: Decimal) -> None:
    salt = salt_to_make(water_kg=water, target_percent=percent)
    assert salt >= 0
    assert abs(100 * salt - percent * (water + salt)) <= LAST_DIGITS


@UNHURRIED
@given(MASSES, STRENGTHS, STRENGTHS)
def test_raising_conserves_salt(brine: Decimal, one: Decimal, other: Decimal) -> None:
    low, high = sorted((one, other))
    salt = salt_to_raise(brine_kg=brine, from_percent=low, to_percent=high)
    assert salt >= 0
    assert abs(brine * low + 100 * salt - (brine + salt) * high) <= LAST_DIGITS


@UNHURRIED
@given(MASSES, between("0.1", "26.3"), between("0.1", "26.3"))
def test_diluting_conserves_salt(brine: Decimal, one: Decimal, other: Decimal) -> None:
    low, high = sorted((one, other))
    water = water_to_dilute(brine_kg=brine, from_percent=high, to_percent=low)
    assert water >= 0
    assert abs(brine * high - (brine + water) * low) <= LAST_DIGITS


@UNHURRIED
@given(MASSES, between("0.1", "26.3"), between("0.1", "26.3"))
def test_what_was_raised_and_diluted_again_has_its_strength(
    brine: Decimal, one: Decimal, other: Decimal
) -> None:
    low, high = sorted((one, other))
    salt = salt_to_raise(brine_kg=brine, from_percent=low, to_percent=high)
    raised = Tank.of(brine_kg=brine + salt, percent_ww=high)
    water = water_to_dilute(brine_kg=brine + salt, from_percent=high, to_percent=low)
    assert abs(100 * raised.salt_kg - low * (raised.brine_kg + water)) <= LAST_DIGITS


@UNHURRIED
@given(MASSES, STRENGTHS, MASSES, between("0", "10"), between("0", "30"))
def test_a_batch_moves_salt_and_water_and_loses_none(
    brine: Decimal, percent: Decimal, cheese: Decimal, gained: Decimal, lost: Decimal
) -> None:
    before = Tank.of(brine_kg=brine, percent_ww=percent)
    assume(cheese * gained / 100 <= before.salt_kg)
    batch = {"cheese_kg": cheese, "moisture_lost_percent": lost}
    after = after_batch(before, salt_gained_percent=gained, **batch)
    assert abs(before.salt_kg - after.salt_kg - cheese * gained / 100) <= LAST_DIGITS
    assert abs(after.water_kg - before.water_kg - cheese * lost / 100) <= LAST_DIGITS
    assert after.percent_ww <= before.percent_ww + LAST_DIGITS


@UNHURRIED
@given(
    between("10", "50000"),
    between("1", "26.3"),
    between("0.1", "500"),
    between("0", "10"),
    between("0", "30"),
)
def test_a_measurement_finds_the_salt_that_was_taken_up(
    brine: Decimal, percent: Decimal, cheese: Decimal, gained: Decimal, lost: Decimal
) -> None:
    before = Tank.of(brine_kg=brine, percent_ww=percent)
    assume(cheese * gained / 100 <= before.salt_kg)
    batch = {"cheese_kg": cheese, "moisture_lost_percent": lost}
    after = after_batch(before, salt_gained_percent=gained, **batch)
    found = uptake_measured(before, measured_percent=min(after.percent_ww, percent), **batch)
    assert abs(found.percent_of_cheese - gained) <= Decimal("1e-15")
    assert abs(found.after.salt_kg - after.salt_kg) <= Decimal("1e-15")


# --- units


@UNHURRIED
@given(between("0.1", "900"), STRENGTHS, TEMPERATURES, st.sampled_from(["gal_us", "gal_imp", "mL"]))
def test_the_unit_of_the_volume_makes_no_difference(
    litres: Decimal, percent: Decimal, celsius: Decimal, unit: str
) -> None:
    at = {"percent_ww": percent, "temperature_c": celsius}
    one = brine_mass_kg(litres, "L", **at)
    other = brine_mass_kg(convert(litres, "L", unit), unit, **at)
    assert abs(one - other) <= LAST_DIGITS


@UNHURRIED
@given(between("0.1", "10000"), STRENGTHS, TEMPERATURES)
def test_a_volume_made_a_mass_is_the_same_volume_again(
    litres: Decimal, percent: Decimal, celsius: Decimal
) -> None:
    mass = brine_mass_kg(litres, "L", percent_ww=percent, temperature_c=celsius)
    assert abs(litres_of(mass, percent_ww=percent, temperature_c=celsius) - litres) <= LAST_DIGITS
    assert mass * 1000 / litres - brine_density(percent_ww=percent, temperature_c=celsius) <= LAST_DIGITS


def test_a_mass_is_taken_as_it_is() -> None:
    assert kilograms(Decimal(100), "kg") == 100
    assert kilograms(Decimal(1), "lb") == Decimal("0.45359237")


def test_the_same_tank_is_heavier_when_cold() -> None:
    # 200 L of 20 %: 1154.54 kg/m³ at 5 °C, 1147.76 at 20 °C (CoolProp INCOMP::MNA)
    assert abs(kilograms(Decimal(200), "L", "5") - Decimal("230.91")) <= Decimal("0.1")
    assert abs(kilograms(Decimal(200), "L", "20") - Decimal("229.55")) <= Decimal("0.1")


# --- worked by hand


def test_a_batch_by_hand() -> None:
    # 100 kg of 20 %: 20 kg salt, 80 kg water. 50 kg cheese, 2 % salt up, 4 % water off: 19 kg and 82 kg
    tank = Tank.of(brine_kg=Decimal(100), percent_ww=Decimal(20))
    batch = {"cheese_kg": Decimal(50), "moisture_lost_percent": Decimal(4)}
    after = after_batch(tank, salt_gained_percent=Decimal(2), **batch)
    assert (after.salt_kg, after.water_kg) == (19, 82)
    # 82 kg of water at 18 %: 82 x 18 / 82 = 18 kg of salt, so 2 kg went into 50 kg of cheese: 4 %
    found = uptake_measured(tank, measured_percent=Decimal(18), **batch)
    assert (found.after.salt_kg, found.salt_kg, found.percent_of_cheese) == (18, 2, 4)


def test_dilution_by_hand() -> None:
    # 100 kg of 20 % hold 20 kg of salt: 125 kg of 16 %
    found = water_to_dilute(brine_kg=Decimal(100), from_percent=Decimal(20), to_percent=Decimal(16))
    assert found == 25


# --- refusals and their allowed twins


def test_raising_to_a_weaker_brine_is_refused_and_the_other_task_named() -> None:
    tank = {"brine_kg": Decimal(100), "from_percent": Decimal(20), "field": "wanted"}
    assert refused(lambda: salt_to_raise(to_percent=Decimal(18), **tank)) == ("brine_is_stronger", "wanted")
    assert salt_to_raise(to_percent=Decimal(20), **tank) == 0


def test_diluting_to_a_stronger_brine_is_refused_and_the_other_task_named() -> None:
    tank = {"brine_kg": Decimal(100), "from_percent": Decimal(18), "field": "wanted"}
    assert refused(lambda: water_to_dilute(to_percent=Decimal(20), **tank)) == ("brine_is_weaker", "wanted")
    assert water_to_dilute(to_percent=Decimal(18), **tank) == 0


def test_no_amount_of_water_makes_water_of_brine() -> None:
    tank = {"brine_kg": Decimal(100), "from_percent": Decimal(18), "field": "wanted"}
    weak = Decimal("0.099")
    assert refused(lambda: water_to_dilute(to_percent=weak, **tank)) == ("brine_target_too_weak", "wanted")
    assert water_to_dilute(to_percent=Decimal("0.1"), **tank) == 17900
    require_target(Decimal("0.1"))


def test_a_brine_beyond_saturation_is_not_made() -> None:
    water = {"water_kg": Decimal(100), "field": "wanted"}
    assert refused(lambda: salt_to_make(target_percent=Decimal("26.4"), **water)) == (
        "brine_too_strong",
        "wanted",
    )
    assert salt_to_make(target_percent=Decimal("26.3"), **water) > 35


def test_an_empty_tank_is_refused() -> None:
    for value in ("0", "-1", "NaN", "1000001"):
        assert refused(lambda value=value: kilograms(Decimal(value), "kg"))[0] == "brine_amount"
    with pytest.raises(UnitError):
        kilograms(Decimal(1), "degC")
    with pytest.raises(UnitError):
        water_mass_kg(Decimal(1), "barrel", temperature_c=Decimal(10))


def test_cheese_cannot_take_up_more_salt_than_there_is() -> None:
    tank = Tank.of(brine_kg=Decimal(10), percent_ww=Decimal(10))
    batch = {"cheese_kg": Decimal(100), "moisture_lost_percent": Decimal(0)}
    call = {"salt_gained_percent": Decimal("1.1"), **batch}
    assert refused(lambda: after_batch(tank, **call)) == ("brine_not_enough_salt", "salt_gained")
    assert after_batch(tank, salt_gained_percent=Decimal(1), **batch).salt_kg == 0


def test_cheese_gives_no_salt() -> None:
    tank = Tank.of(brine_kg=Decimal(100), percent_ww=Decimal(20))
    batch = {"cheese_kg": Decimal(50), "moisture_lost_percent": Decimal(0)}
    found = refused(lambda: uptake_measured(tank, measured_percent=Decimal("20.1"), **batch))
    assert found == ("brine_gained_salt", "strength_measured_after")
    assert uptake_measured(tank, measured_percent=Decimal(20), **batch).salt_kg == 0


@pytest.mark.parametrize(
    ("gained", "lost", "field"),
    [("10.1", "0", "salt_gained"), ("-1", "0", "salt_gained"), ("0", "31", "moisture_lost")],
)
def test_shares_no_cheese_has_are_refused_with_their_range(gained: str, lost: str, field: str) -> None:
    tank = Tank.of(brine_kg=Decimal(100), percent_ww=Decimal(20))
    batch = {"cheese_kg": Decimal(1), "moisture_lost_percent": Decimal(lost)}
    found = refused(lambda: after_batch(tank, salt_gained_percent=Decimal(gained), **batch))
    assert found == ("outside_validity", field)


@UNHURRIED
@given(ANYTHING, ANYTHING, ANYTHING, ANYTHING)
def test_whatever_is_given_comes_back_as_a_number_or_a_refusal(
    a: Decimal, b: Decimal, c: Decimal, d: Decimal
) -> None:
    tank = Tank(Decimal(20), Decimal(80))
    calls = (
        lambda: brine_mass_kg(a, "gal_us", percent_ww=b, temperature_c=c),
        lambda: salt_to_make(water_kg=a, target_percent=b),
        lambda: salt_to_raise(brine_kg=a, from_percent=b, to_percent=c),
        lambda: water_to_dilute(brine_kg=a, from_percent=b, to_percent=c),
        lambda: Tank.of(brine_kg=a, percent_ww=b).percent_ww,
        lambda: after_batch(tank, cheese_kg=a, salt_gained_percent=b, moisture_lost_percent=c).percent_ww,
        lambda: (
            uptake_measured(tank, cheese_kg=a, moisture_lost_percent=c, measured_percent=d).percent_of_cheese
        ),
    )
    for call in calls:
        with suppress(Refusal):
            found = call()
            assert found.is_finite()
            assert found >= 0
