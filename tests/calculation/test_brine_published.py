"""Brine against published values: every row of the fixture, and whole tables read elsewhere."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation import brine, brine_scales, brine_tables, brine_tank
from safetyplan.calculation.units import convert, specific_gravity_from_baume
from tests.calculation.published import assert_near, published, rows_of

# A source that counts a litre of water as a kilogram speaks of water at 4 °C.
KILOGRAM_LITRE_C = Decimal(4)

Inputs = dict[str, Any]


def density(inputs: Inputs) -> Decimal:
    return brine.brine_density(percent_ww=inputs["NaCl_pct_w/w"], temperature_c=inputs["T_C"])


def to_pounds_per_gallon(inputs: Inputs) -> Decimal:
    water = brine_tank.water_mass_kg(Decimal(1), "gal_us", temperature_c=brine_tables.SIXTY_F_IN_C)
    percent = convert(inputs["deg_salometer"], "salometer", "percent_ww")
    # 26.395 % is beyond 26.3 %, so the basis itself: salt to water as w to 100 - w
    return convert(water * percent / (100 - percent), "kg", "lb")


def made_from(value: Decimal, unit: str, percent: Decimal, into: str) -> Decimal:
    water = brine_tank.water_mass_kg(value, unit, temperature_c=KILOGRAM_LITRE_C)
    return convert(brine_tank.salt_to_make(water_kg=water, target_percent=percent), "kg", into)


BY_ID: dict[str, Callable[[Inputs], Decimal]] = {
    "BR-INV-1147.8": lambda i: brine.percent_from_density(
        density_kg_m3=i["density_kg_m3"], temperature_c=i["T_C"]
    ),
    "BR-GPL-20": lambda i: brine.bases_of(percent_ww=i["NaCl_pct_w/w"], temperature_c=i["T_C"]).g_per_l,
    "BR-BE-20": lambda i: specific_gravity_from_baume(i["Be"]),
    "BR-BE-20PCT": lambda i: brine_scales.baume_from_percent(
        percent_ww=i["NaCl_pct_w/w"], temperature_c=i["T_C"], scale="baume_145"
    ),
    "BR-BE-20EU": lambda i: brine_scales.percent_from_baume(
        degrees=i["Be"], temperature_c=i["T_C"], scale="baume_144_3"
    ),
    "BR-SAL-18": lambda i: brine_scales.salometer_from_percent(
        percent_ww=i["NaCl_pct_w/w"], temperature_c=brine_tables.SIXTY_F_IN_C
    ),
    "BR-SAL-70": lambda i: brine_scales.percent_from_salometer(
        degrees=i["deg_salometer"], temperature_c=brine_tables.SIXTY_F_IN_C
    ),
    "BR-SAL-60": lambda i: brine_scales.percent_from_salometer(
        degrees=i["deg_salometer"], temperature_c=Decimal("15.6")
    ),
    "BR-SAL-TCORR": lambda i: brine_scales.salometer_field_corrected(
        degrees=i["deg_salometer_read"], temperature_c=i["T_C"]
    ),
    "BR-SAL-LB100": to_pounds_per_gallon,
    "BR-MAKE-23": lambda i: made_from(i["water_L"], "L", i["target_pct_w/w"], "g"),
    "BR-MAKE-23G": lambda i: made_from(i["water_US_gal"], "gal_us", i["target_pct_w/w"], "lb"),
    "BR-MAKE-68L": lambda i: made_from(i["water_L"], "L", i["target_pct_w/w"], "kg"),
    "BR-MAKE-TRAP": lambda i: brine.strength_percent(
        salt_kg=i["salt_kg"],
        water_kg=brine_tank.water_mass_kg(i["water_L"], "L", temperature_c=KILOGRAM_LITRE_C),
    ),
    "BR-FIX-UP": lambda i: brine_tank.salt_to_raise(
        brine_kg=i["brine_kg"], from_percent=i["from_pct"], to_percent=i["to_pct"]
    ),
    "BR-EUT": lambda _: brine_tables.EUTECTIC_PERCENT,
    "BR-SAT-25": lambda i: brine.strength_percent(
        salt_kg=i["solubility_g_per_100g_water"], water_kg=Decimal(100)
    ),
    "BR-SAT-PHR": lambda i: brine.saturation_percent(i["T_C"]),
}


def computed(row: dict[str, Any]) -> Decimal:
    """The value of a row by our own functions; a row of a kind unknown is an error."""
    if row["id"] in BY_ID:
        return BY_ID[row["id"]](row["inputs"])
    if row["unit"] == "kg/m3":
        return density(row["inputs"])
    if row["unit"] == "C freezing point":
        return brine.freezing_point_c(row["inputs"]["NaCl_pct_w/w"])
    raise LookupError(row["id"])


@pytest.mark.parametrize("row", rows_of("brine"))
def test_a_published_value_is_met_within_its_tolerance(row: dict[str, Any]) -> None:
    assert_near(computed(row), row)


def test_every_way_of_computing_a_row_belongs_to_one() -> None:
    assert set(BY_ID) - {row["id"] for row in published("brine")} == set()


# Rogers and Pitzer 1982, J Phys Chem Ref Data 11:15, specific volume in cm³/g, as printed in the CRC Handbook
# (read at zanotowane.pl/1029/2356). Not the source of our table.
MOLALITIES = ("0.100", "0.250", "0.500", "0.750", "1.000", "2.000", "3.000", "4.000", "5.000")
SPECIFIC_VOLUMES = {
    "0": "0.995732 0.989259 0.978889 0.968991 0.959525 0.925426 0.896292 0.870996 0.848646",
    "10": "0.995998 0.989781 0.979804 0.970256 0.961101 0.927905 0.899262 0.874201 0.851958",
    "20": "0.997620 0.991564 0.981833 0.972505 0.963544 0.930909 0.902565 0.877643 0.855469",
    "25": "0.998834 0.992832 0.983185 0.973932 0.965038 0.932590 0.904339 0.879457 0.857301",
    "30": "1.000279 0.994319 0.984735 0.975539 0.966694 0.934382 0.906194 0.881334 0.859185",
}
GRAMS_PER_MOL = Decimal("58.443")


@pytest.mark.parametrize("temperature", SPECIFIC_VOLUMES)
def test_density_meets_a_second_published_table_over_its_whole_range(temperature: str) -> None:
    # 0.3 kg/m³: what two printed tables of different authors differ by
    for molality, volume in zip(MOLALITIES, SPECIFIC_VOLUMES[temperature].split(), strict=True):
        salt = Decimal(molality) * GRAMS_PER_MOL
        percent = 100 * salt / (1000 + salt)
        found = brine.brine_density(percent_ww=percent, temperature_c=Decimal(temperature))
        assert abs(found - 1000 / Decimal(volume)) <= Decimal("0.3"), molality


# Poradnik fizykochemiczny (WNT 1974), density at 20 °C (read at fizyka.umk.pl/~lab2/tables/NaCl.html), beyond
# the rows of the fixture. Its column of 15 °C is left out: it is 10 °C data.
AT_20_C = {
    "1": "1005.3",
    "4": "1026.8",
    "8": "1055.9",
    "12": "1085.7",
    "14": "1100.9",
    "22": "1164.0",
    "26": "1197.2",
}


@pytest.mark.parametrize("percent", AT_20_C)
def test_density_meets_the_table_at_20_degrees_to_its_last_digit(percent: str) -> None:
    found = brine.brine_density(percent_ww=Decimal(percent), temperature_c=Decimal(20))
    assert abs(found - Decimal(AT_20_C[percent])) <= Decimal("0.06")


def test_the_column_of_that_table_named_15_degrees_is_of_10_degrees() -> None:
    # 20 % "at 15 °C" is printed as 1152.5 (same page); its own coefficient from 20 °C gives 1147.8 + 5 x 0.49
    at = {
        celsius: brine.brine_density(percent_ww=Decimal(20), temperature_c=Decimal(celsius))
        for celsius in (10, 15)
    }
    assert abs(at[10] - Decimal("1152.5")) <= Decimal("0.06")
    assert abs(at[15] - Decimal("1150.25")) <= Decimal("0.06")


# Lange's Handbook of Chemistry, 15th edition, table 5.13, freezing point of sodium chloride brines (read at
# yumpu.com document 21974083): 0.1 to 0.2 °C from the values of CoolProp at both ends.
_TO_9 = ("0.00", "0.58", "1.13", "1.72", "2.35", "2.97", "3.63", "4.32", "5.03", "5.77")
_FROM_15 = ("10.88", "11.90", "12.93", "14.03", "15.21", "16.46", "17.78", "19.19", "20.69")
LANGE = {**dict(enumerate(_TO_9)), **dict(enumerate(_FROM_15, start=15))}


@pytest.mark.parametrize("percent", LANGE)
def test_the_freezing_point_meets_a_second_published_table(percent: int) -> None:
    assert abs(brine.freezing_point_c(Decimal(percent)) + Decimal(LANGE[percent])) <= Decimal("0.2")


def test_the_eutectic_is_the_lowest_freezing_point() -> None:
    # 23.31 %, -21.12 °C (Salt Institute); 23.3 %, -21.1 °C (Lange, as above)
    assert abs(brine.freezing_point_c(Decimal("23.3")) + Decimal("21.12")) <= Decimal("0.05")


def test_saturation_is_that_of_the_salometer_at_its_own_temperature() -> None:
    # 26.395 % at 60 °F (spotidoc.com/doc/221243)
    found = brine.saturation_percent(brine_tables.SIXTY_F_IN_C)
    assert abs(found - Decimal("26.395")) < Decimal("1e-20")


# Extension note on fish-smoking (scribd.com/document/361476752): 60 °Sal is 187.8 g per litre of water, and
# 1.882 lb per imperial gallon of water.
@pytest.mark.parametrize(
    ("volume", "unit", "mass", "mass_unit", "within"),
    [("1", "L", "187.8", "g", "0.5"), ("1", "gal_imp", "1.882", "lb", "0.005")],
)
def test_sixty_degrees_salometer_is_the_printed_salt_to_water(
    volume: str, unit: str, mass: str, mass_unit: str, within: str
) -> None:
    water = brine_tank.water_mass_kg(Decimal(volume), unit, temperature_c=KILOGRAM_LITRE_C)
    percent = convert(Decimal(60), "salometer", "percent_ww")
    salt = convert(brine_tank.salt_to_make(water_kg=water, target_percent=percent), "kg", mass_unit)
    assert abs(salt - Decimal(mass)) <= Decimal(within)


def test_twenty_baume_tells_the_three_scales_apart() -> None:
    # recomputed by CoolProp at 15 °C: 144.3 gives 21.21 %, 145 gives 21.10, 146.78 gives 20.82
    found = {
        scale: brine_scales.percent_from_baume(degrees=Decimal(20), scale=scale, temperature_c=Decimal(15))
        for scale in ("baume_144_3", "baume_145", "baume_146_78")
    }
    expected = {"baume_144_3": "21.21", "baume_145": "21.10", "baume_146_78": "20.82"}
    for scale, percent in expected.items():
        assert abs(found[scale] - Decimal(percent)) <= Decimal("0.05"), scale
    assert found["baume_144_3"] > found["baume_145"] > found["baume_146_78"]
