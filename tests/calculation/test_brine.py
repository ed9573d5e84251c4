"""Brine: density, the bases and scales over their whole range, against independent libraries."""

from contextlib import suppress
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from safetyplan.calculation import brine
from safetyplan.calculation.brine_scales import (
    baume_from_percent,
    density_from_baume,
    percent_from_baume,
    percent_from_salometer,
    reference_density,
    salometer_field_corrected,
    salometer_from_percent,
)
from safetyplan.calculation.brine_tables import (
    BAUME_SCALES,
    DENSITY,
    DENSITY_SOURCE,
    FREEZING_SOURCE,
    HIGHEST_PERCENT,
    SIXTY_F_IN_C,
    TEMPERATURES_C,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.units import UnitError

# The first conversion loads pint.
UNHURRIED = settings(deadline=None)


def between(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.decimals(Decimal(low), Decimal(high), places=3)


STRENGTHS, TEMPERATURES = between("0", "26.3"), between("0", "30")
SCALES = st.sampled_from(sorted(BAUME_SCALES))
ANYTHING = (
    between("-100", "2000")
    | st.decimals(-(10**12), 10**12, places=6)
    | st.sampled_from([Decimal(text) for text in ("NaN", "Infinity", "-Infinity", "-0", "1e-9")])
)
# Results of 28 digits: what their last digits may leave behind.
LAST = Decimal("1e-20")


def density(percent: Decimal, celsius: Decimal) -> Decimal:
    return brine.brine_density(percent_ww=percent, temperature_c=celsius)


def library_density(percent: float, celsius: float) -> float:
    """CoolProp 8 INCOMP::MNA, sodium chloride brine up to 23 %."""
    mixture = f"INCOMP::MNA[{percent / 100!r}]"
    found: float = PropsSI("D", "T", celsius + 273.15, "P", 101325, mixture)
    return found


@lru_cache
def _phreeqc():  # type: ignore[no-untyped-def]
    import phreeqpython

    return phreeqpython.PhreeqPython(database="pitzer.dat")


def refusal(call) -> Refusal:  # type: ignore[no-untyped-def]
    with pytest.raises(Refusal) as caught:
        call()
    return caught.value


def said(caught: Refusal) -> dict[str, str]:
    return dict(caught.sentence.params)


# --- against independent libraries


def test_density_follows_the_library_over_its_whole_range() -> None:
    # 0.5 kg/m³, 0.06 % of salt: the printed table and the library's fit differ most at 10 °C and 23 %
    for tenths in range(1, 230, 3):
        for celsius in range(0, 31):
            found = float(density(Decimal(tenths) / 10, Decimal(celsius)))
            assert abs(found - library_density(tenths / 10, celsius)) <= 0.5, (tenths, celsius)


def test_density_follows_phreeqc_at_25_degrees_up_to_saturation() -> None:
    # the Pitzer model is sound at 25 °C (within 0.2 kg/m³); at 10 °C and 5 molal it is up to 1.1 off
    for percent in range(1, 27):
        molality = 1000 * percent / (100 - percent) / 58.443
        solution = _phreeqc().add_solution({"temp": 25, "units": "mol/kgw", "Na": molality, "Cl": molality})
        found = float(density(Decimal(percent), Decimal(25)))
        assert abs(found - 1000 * solution.density) <= 0.3, percent
        solution.forget()


def test_water_is_as_dense_as_the_reference_equation_says() -> None:
    # IAPWS-95 by CoolProp; 0.1 kg/m³: the old litre of the table (0.03) and straight lines over 5 °C
    for tenths in range(1, 301):
        library = PropsSI("D", "T", tenths / 10 + 273.15, "P", 101325, "Water")
        assert abs(float(brine.water_density(Decimal(tenths) / 10)) - library) <= 0.1, tenths


def test_the_freezing_point_follows_the_library() -> None:
    # 0.02 °C: hundredths in the table and straight lines between whole per cents
    for hundredths in range(10, 2300, 7):
        mixture = f"INCOMP::MNA[{hundredths / 10000!r}]"
        library = PropsSI("T_FREEZE", "T", 290, "P", 101325, mixture) - 273.15
        assert abs(float(brine.freezing_point_c(Decimal(hundredths) / 100)) - library) <= 0.02, hundredths


@pytest.mark.parametrize("celsius", [1, 5, 10, 12, 15, 20, 25, 30])
def test_saturation_follows_the_solubility_of_halite(celsius: int) -> None:
    # phreeqpython, pitzer.dat, halite in equilibrium: 26.28 to 26.45 % over 10 to 30 °C;
    # 0.15 % between the model and the printed solubilities
    solution = _phreeqc().add_solution({"temp": celsius, "units": "mol/kgw"})
    solution.equalize(["Halite"], [0], [20])
    salt = solution.total_element("Na", units="mol") * 58.443 / 1000
    solution.forget()
    library = 100 * salt / (1 + salt)
    assert abs(float(brine.saturation_percent(Decimal(celsius))) - library) <= 0.15


def test_water_at_the_reference_of_a_baume_scale_is_what_the_scale_says() -> None:
    # 999.0 at 60 °F, 999.1 at 15 °C (IAPWS-95: 999.01, 999.10)
    expected = {"baume_145": "999.01", "baume_144_3": "999.10", "baume_146_78": "999.10"}
    for scale, water in expected.items():
        assert abs(reference_density(scale) - Decimal(water)) <= Decimal("0.05")


# --- the table


def test_the_columns_that_are_not_printed_are_the_cubic_through_the_printed_ones() -> None:
    nodes = [0, 10, 20, 30]
    for _, row in DENSITY:
        printed = dict(zip(map(int, TEMPERATURES_C), row, strict=True))
        for celsius in (5, 15):
            found = Decimal(0)
            for node in nodes:
                weight = Decimal(1)
                for other in nodes:
                    if other != node:
                        weight *= Decimal(celsius - other) / (node - other)
                found += weight * printed[node]
            assert abs(found - printed[celsius]) <= Decimal("0.0051")


def test_the_table_itself_comes_out_of_the_function() -> None:
    for percent, row in DENSITY:
        assert [density(percent, celsius) for celsius in TEMPERATURES_C] == list(row)


# --- properties


@UNHURRIED
@given(STRENGTHS, STRENGTHS, TEMPERATURES)
def test_more_salt_is_always_denser(one: Decimal, other: Decimal, celsius: Decimal) -> None:
    assert (one < other) == (density(one, celsius) < density(other, celsius))


@UNHURRIED
@given(STRENGTHS, between("5", "30"), between("5", "30"))
def test_a_warmer_brine_is_always_lighter(percent: Decimal, one: Decimal, other: Decimal) -> None:
    assert (one < other) == (density(percent, one) > density(percent, other))


@UNHURRIED
@given(between("1", "26.3"), TEMPERATURES, TEMPERATURES)
def test_from_one_per_cent_on_that_holds_down_to_zero_degrees(
    percent: Decimal, one: Decimal, other: Decimal
) -> None:
    # water itself is densest at 4 °C
    assert (one < other) == (density(percent, one) > density(percent, other))


@UNHURRIED
@given(STRENGTHS, TEMPERATURES)
def test_density_leads_back_to_the_strength(percent: Decimal, celsius: Decimal) -> None:
    found = brine.percent_from_density(density_kg_m3=density(percent, celsius), temperature_c=celsius)
    assert abs(found - percent) <= LAST


@UNHURRIED
@given(STRENGTHS, TEMPERATURES)
def test_each_basis_leads_back_to_the_strength(percent: Decimal, celsius: Decimal) -> None:
    bases = brine.bases_of(percent_ww=min(percent, Decimal("26.299")), temperature_c=celsius)
    by_water = brine.percent_from_per_100_l_water(kg=bases.kg_per_100_l_water, temperature_c=celsius)
    by_volume = brine.percent_from_g_per_l(g_per_l=bases.g_per_l, temperature_c=celsius)
    assert abs(by_water - bases.percent_ww) <= LAST
    assert abs(by_volume - bases.percent_ww) <= LAST


@UNHURRIED
@given(between("1", "26.3"), TEMPERATURES)
def test_the_three_bases_of_a_strength_are_three_figures(percent: Decimal, celsius: Decimal) -> None:
    bases = brine.bases_of(percent_ww=percent, temperature_c=celsius)
    assert bases.percent_ww < bases.percent_wv < bases.kg_per_100_l_water
    assert bases.percent_wv * 10 == bases.g_per_l


@UNHURRIED
@given(STRENGTHS, between("0", "15"), SCALES)
def test_baume_leads_back_to_the_strength(percent: Decimal, celsius: Decimal, scale: str) -> None:
    degrees = baume_from_percent(percent_ww=percent, scale=scale, temperature_c=celsius)
    if degrees >= 0:
        found = percent_from_baume(degrees=degrees, scale=scale, temperature_c=celsius)
        assert abs(found - percent) <= LAST


@UNHURRIED
@given(between("1", "25"), TEMPERATURES)
def test_the_salometer_leads_back_to_the_strength(percent: Decimal, celsius: Decimal) -> None:
    degrees = salometer_from_percent(percent_ww=percent, temperature_c=celsius)
    found = percent_from_salometer(degrees=degrees, temperature_c=celsius)
    assert abs(found - percent) <= LAST


@UNHURRIED
@given(STRENGTHS)
def test_at_sixty_fahrenheit_the_salometer_is_its_definition(percent: Decimal) -> None:
    degrees = salometer_from_percent(percent_ww=percent, temperature_c=SIXTY_F_IN_C)
    assert abs(degrees - percent * 100 / Decimal("26.395")) <= LAST


@UNHURRIED
@given(ANYTHING, ANYTHING)
def test_whatever_is_given_comes_back_as_a_number_or_a_refusal(a: Decimal, b: Decimal) -> None:
    calls = (
        lambda: density(a, b),
        lambda: brine.percent_from_density(density_kg_m3=a, temperature_c=b),
        lambda: brine.percent_from_density(density_kg_m3=a, temperature_c=Decimal(12)),
        lambda: brine.percent_from_per_100_l_water(kg=a, temperature_c=Decimal(12)),
        lambda: brine.percent_from_g_per_l(g_per_l=a, temperature_c=Decimal(12)),
        lambda: brine.strength_percent(salt_kg=a, water_kg=b),
        lambda: brine.saturation_percent(a),
        lambda: brine.freezing_point_c(a),
        lambda: percent_from_baume(degrees=a, scale="baume_145", temperature_c=b),
        lambda: percent_from_salometer(degrees=a, temperature_c=b),
        lambda: salometer_field_corrected(degrees=a, temperature_c=b),
    )
    for call in calls:
        with suppress(Refusal):
            assert call().is_finite()


# --- what 20 is


def test_twenty_on_each_basis_is_another_brine() -> None:
    # 20 kg to 100 L of water: 16.67 % w/w (isleofmullcheese.co.uk recipe, mass balance); 20 % w/w: 229.56;
    # 200 g/l: 17.70 x 1129.5 / 100 by CoolProp
    at_20 = {"temperature_c": Decimal(20)}
    assert abs(brine.percent_from_per_100_l_water(kg=Decimal(20), **at_20) - Decimal("16.69")) < Decimal(
        "0.01"
    )
    assert abs(brine.percent_from_g_per_l(g_per_l=Decimal(200), **at_20) - Decimal("17.70")) < Decimal("0.01")
    assert abs(brine.bases_of(percent_ww=Decimal(20), **at_20).g_per_l - Decimal("229.56")) < Decimal("0.01")


def test_the_rule_of_thumb_is_near_what_density_says() -> None:
    # "density gives + 1.2" for 60 °Sal at 21.2 °C, the rule + 1
    celsius = Decimal("21.2")
    by_density = percent_from_salometer(degrees=Decimal(60), temperature_c=celsius) * 100 / Decimal("26.395")
    by_rule = salometer_field_corrected(degrees=Decimal(60), temperature_c=celsius)
    assert by_rule == 61
    assert abs(by_density - Decimal("61.2")) <= Decimal("0.05")


def test_five_degrees_overlooked_are_a_third_of_a_per_cent() -> None:
    # temperature coefficient at 20 %: 0.49 kg/m³ per °C, 8.1 kg/m³ per % (fizyka.umk.pl)
    true = density(Decimal(20), Decimal(15))
    believed = brine.percent_from_density(density_kg_m3=true, temperature_c=Decimal(20))
    assert abs(believed - Decimal("20.3")) <= Decimal("0.01")


def test_water_stands_at_zero_on_every_baume_scale() -> None:
    for scale, known in BAUME_SCALES.items():
        found = percent_from_baume(degrees=Decimal(0), scale=scale, temperature_c=known.reference_c)
        assert found == 0
        assert density_from_baume(degrees=Decimal(0), scale=scale) == reference_density(scale)


# --- refusals and their allowed twins


def test_more_than_the_highest_strength_is_an_error_or_undissolved_salt() -> None:
    assert density(HIGHEST_PERCENT, Decimal(12)) > 1200
    caught = refusal(lambda: density(Decimal("26.31"), Decimal(12)))
    assert caught.sentence.code == "brine_too_strong"
    assert said(caught) == {"value": "26.31 % w/w", "high": "26.3 % w/w", "source": DENSITY_SOURCE}


def test_a_strength_a_hair_above_is_shown_above() -> None:
    caught = refusal(lambda: density(Decimal("26.3000001"), Decimal(12)))
    assert said(caught)["value"] == "26.3000001 % w/w"


@pytest.mark.parametrize("celsius", ["-0.1", "30.1", "NaN"])
def test_a_temperature_beyond_the_table_is_refused_with_its_range(celsius: str) -> None:
    caught = refusal(lambda: density(Decimal(20), Decimal(celsius)))
    params = said(caught)
    assert (params["low"], params["high"], params["source"]) == ("0 °C", "30 °C", DENSITY_SOURCE)


@pytest.mark.parametrize("celsius", ["0", "30"])
def test_the_ends_of_the_temperatures_are_allowed(celsius: str) -> None:
    assert density(Decimal(20), Decimal(celsius)) > 1140


@pytest.mark.parametrize("value", ["900", "999.5", "1300", "Infinity"])
def test_a_density_no_brine_has_is_refused_with_its_range(value: str) -> None:
    caught = refusal(
        lambda: brine.percent_from_density(
            density_kg_m3=Decimal(value), temperature_c=Decimal(10), field="it"
        )
    )
    assert (caught.sentence.code, caught.field) == ("brine_density_outside", "it")
    assert said(caught)["low"] == "999.73 kg/m³"
    assert said(caught)["high"] == "1205.09 kg/m³"
    assert said(caught)["source"] == DENSITY_SOURCE


@pytest.mark.parametrize(("value", "percent"), [("999.73", "0"), ("1202.54", "26")])
def test_the_densities_of_the_table_are_allowed(value: str, percent: str) -> None:
    found = brine.percent_from_density(density_kg_m3=Decimal(value), temperature_c=Decimal(10))
    assert found == Decimal(percent)


def test_above_the_eutectic_there_is_no_freezing_point() -> None:
    assert brine.freezing_point_c(Decimal("23.3")) == Decimal("-21.1")
    caught = refusal(lambda: brine.freezing_point_c(Decimal("23.4")))
    assert (said(caught)["high"], said(caught)["source"]) == ("23.3 % w/w", FREEZING_SOURCE)


def test_a_salometer_at_its_end_is_saturated_brine_and_refused() -> None:
    assert percent_from_salometer(degrees=Decimal("99.6"), temperature_c=SIXTY_F_IN_C) < HIGHEST_PERCENT
    caught = refusal(lambda: percent_from_salometer(degrees=Decimal(100), temperature_c=SIXTY_F_IN_C))
    assert caught.sentence.code == "brine_too_strong"


def test_a_baume_scale_nobody_declared_is_refused() -> None:
    with pytest.raises(UnitError):
        percent_from_baume(degrees=Decimal(20), scale="baume", temperature_c=Decimal(12))


def test_degrees_beyond_any_brine_are_refused() -> None:
    caught = refusal(
        lambda: percent_from_baume(degrees=Decimal(145), scale="baume_145", temperature_c=Decimal(12))
    )
    assert said(caught)["high"] == "30 °Bé"


def test_grams_beyond_saturation_are_refused() -> None:
    at = {"temperature_c": Decimal(20)}
    assert brine.percent_from_g_per_l(g_per_l=Decimal(315), **at) < HIGHEST_PERCENT
    assert refusal(lambda: brine.percent_from_g_per_l(g_per_l=Decimal(316), **at)).sentence.code == (
        "brine_grams_outside"
    )


def test_an_amount_of_nothing_or_of_a_lake_is_refused() -> None:
    for salt, water in (("1", "0"), ("-1", "10"), ("1", "1000001"), ("NaN", "10")):
        caught = refusal(
            lambda salt=salt, water=water: brine.strength_percent(
                salt_kg=Decimal(salt), water_kg=Decimal(water)
            )
        )
        assert caught.sentence.code == "brine_amount"
    assert brine.strength_percent(salt_kg=Decimal(0), water_kg=Decimal(10)) == 0


def test_neighbouring_densities_rise_in_every_column() -> None:
    for column in range(len(TEMPERATURES_C)):
        assert all(a[1][column] < b[1][column] for a, b in pairwise(DENSITY))
