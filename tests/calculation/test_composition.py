"""Composition of cheese against published analyses, and every edge of every class."""

from contextlib import suppress
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.composition import (
    fat_class,
    fat_in_dry_matter,
    firmness_classes,
    moisture_without_fat,
    require_composition,
    salt_in_moisture,
    water_phase_salt,
)
from safetyplan.calculation.composition_tables import FAT, FIRMNESS
from safetyplan.calculation.refusal import Refusal
from tests.calculation.published import assert_near, rows_of

PERCENT = st.decimals(0, 100, places=2)
NAMED = {"firm_semi_hard": "firm/semi-hard", "very_hard": "very hard", "semi_hard": "semi-hard"}
NAMED |= {"semi_soft": "semi-soft"}
ROWS = [row for row in rows_of("composition") if row.values[0]["id"].startswith("CO-")]


def spoken(name: str) -> str:
    return NAMED.get(name, name.replace("_", " "))


def computed(row: dict[str, Any]) -> Any:
    """What our functions give for a row, chosen by its inputs and its unit."""
    inputs, unit = row["inputs"], row["unit"]
    if "scheme" in inputs:
        return spoken(firmness_classes(inputs["MNFS_pct"], scheme="eu_statistics")[0])
    if "MNFS_pct" in inputs:
        return [spoken(name) for name in firmness_classes(inputs["MNFS_pct"], scheme="codex_firmness")]
    if "FDM_pct" in inputs:
        return spoken(fat_class(inputs["FDM_pct"], scheme="codex_fat"))
    parts = {f"{name.removesuffix('_pct')}_percent": value for name, value in inputs.items()}
    functions = {
        "% S/M": salt_in_moisture,
        "% salt in water phase S/(S+M)": water_phase_salt,
        "% MNFS": moisture_without_fat,
        "% FDM": fat_in_dry_matter,
    }
    return functions[unit](**parts)


@pytest.mark.parametrize("row", ROWS)
def test_a_published_composition_is_reproduced(row: dict[str, Any]) -> None:
    assert_near(computed(row), row)


# Edges as printed: Codex CXS 283 and A-6 of 1978, Decision 97/80/EC; see the tables for what is from memory.
@pytest.mark.parametrize(
    ("scheme", "value", "names"),
    [
        ("codex_firmness", "50.99", ["extra_hard", "hard"]),
        ("codex_firmness", "51", ["hard"]),
        ("codex_firmness", "48.99", ["extra_hard"]),
        ("codex_firmness", "49", ["extra_hard", "hard"]),
        ("codex_firmness", "56", ["hard", "firm_semi_hard"]),
        ("codex_firmness", "56.01", ["firm_semi_hard"]),
        ("codex_firmness", "67", ["firm_semi_hard"]),
        ("codex_firmness", "67.01", ["firm_semi_hard", "soft"]),
        ("codex_firmness", "53.99", ["hard"]),
        ("codex_firmness", "54", ["hard", "firm_semi_hard"]),
        ("codex_firmness", "69", ["firm_semi_hard", "soft"]),
        ("codex_firmness", "69.01", ["soft"]),
        ("codex_firmness_1978", "48.99", ["extra_hard"]),
        ("codex_firmness_1978", "49", ["extra_hard", "hard"]),
        ("codex_firmness_1978", "51", ["hard"]),
        ("codex_firmness_1978", "54", ["hard", "semi_hard"]),
        ("codex_firmness_1978", "56", ["hard", "semi_hard"]),
        ("codex_firmness_1978", "56.01", ["semi_hard"]),
        ("codex_firmness_1978", "61", ["semi_hard", "semi_soft"]),
        ("codex_firmness_1978", "63", ["semi_hard", "semi_soft"]),
        ("codex_firmness_1978", "63.01", ["semi_soft"]),
        ("codex_firmness_1978", "67", ["semi_soft"]),
        ("codex_firmness_1978", "68", ["semi_soft", "soft"]),
        ("codex_firmness_1978", "69", ["semi_soft", "soft"]),
        ("codex_firmness_1978", "69.01", ["soft"]),
        ("eu_statistics", "46.99", ["very_hard"]),
        ("eu_statistics", "47", ["hard"]),
        ("eu_statistics", "54.99", ["hard"]),
        ("eu_statistics", "55", ["semi_hard"]),
        ("eu_statistics", "61.99", ["semi_hard"]),
        ("eu_statistics", "62", ["semi_soft"]),
        ("eu_statistics", "67.99", ["semi_soft"]),
        ("eu_statistics", "68", ["soft"]),
    ],
)
def test_every_firmness_class_that_fits_is_given_at_its_edges(
    scheme: str, value: str, names: list[str]
) -> None:
    assert list(firmness_classes(Decimal(value), scheme=scheme)) == names


@pytest.mark.parametrize(
    ("scheme", "value", "name"),
    [
        ("codex_fat", "60", "high_fat"),
        ("codex_fat_1978", "60", "full_fat"),
        ("codex_fat_1978", "60.01", "high_fat"),
        ("codex_fat", "59.99", "full_fat"),
        ("codex_fat", "45", "full_fat"),
        ("codex_fat", "44.99", "medium_fat"),
        ("codex_fat", "25", "medium_fat"),
        ("codex_fat", "24.99", "partially_skimmed"),
        ("codex_fat", "10", "partially_skimmed"),
        ("codex_fat", "9.99", "skim"),
        ("codex_fat", "0", "skim"),
        ("codex_fat_1978", "45", "full_fat"),
        ("codex_fat_1978", "25", "medium_fat"),
        ("codex_fat_1978", "10", "low_fat"),
        ("codex_fat_1978", "9.99", "skim"),
    ],
)
def test_an_edge_of_a_fat_class_belongs_to_the_upper_one_but_60_percent_differs_by_edition(
    scheme: str, value: str, name: str
) -> None:
    assert fat_class(Decimal(value), scheme=scheme) == name


def every_class(x: Decimal, scheme: str) -> list[str]:
    """The firmness classes written out once more from the texts, apart from the tables."""
    tests = {
        "codex_firmness": {
            "extra_hard": x < 51,
            "hard": 49 <= x <= 56,
            "firm_semi_hard": 54 <= x <= 69,
            "soft": x > 67,
        },
        "codex_firmness_1978": {
            "extra_hard": x < 51,
            "hard": 49 <= x <= 56,
            "semi_hard": 54 <= x <= 63,
            "semi_soft": 61 <= x <= 69,
            "soft": x > 67,
        },
        "eu_statistics": {
            "very_hard": x < 47,
            "hard": 47 <= x < 55,
            "semi_hard": 55 <= x < 62,
            "semi_soft": 62 <= x < 68,
            "soft": x >= 68,
        },
    }
    return [name for name, fits in tests[scheme].items() if fits]


@pytest.mark.parametrize("scheme", sorted(FIRMNESS))
def test_the_firmness_classes_are_all_that_fit_and_at_least_one(scheme: str) -> None:
    for hundredths in range(10_001):
        value = Decimal(hundredths) / 100
        found = list(firmness_classes(value, scheme=scheme))
        assert found == every_class(value, scheme), value
        assert found, value


def test_only_the_statistics_never_overlap() -> None:
    most = {
        scheme: max(len(firmness_classes(Decimal(n) / 10, scheme=scheme)) for n in range(1001))
        for scheme in FIRMNESS
    }
    assert most == {"codex_firmness": 2, "codex_firmness_1978": 2, "eu_statistics": 1}


def test_every_class_says_where_it_comes_from() -> None:
    bands = [band for schemes in (FIRMNESS, FAT) for scheme in schemes.values() for band in scheme.bands]
    assert {band.provenance for band in bands} == {"read", "read_1978", "memory"}
    recalled = {band.name for band in FIRMNESS["codex_firmness"].bands if band.provenance == "memory"}
    assert recalled == {"firm_semi_hard"}


@given(PERCENT, st.sampled_from(sorted(FAT)))
def test_every_fat_in_dry_matter_has_exactly_one_class(value: Decimal, scheme: str) -> None:
    assert [band.name for band in FAT[scheme].bands if band.holds(value)] == [fat_class(value, scheme=scheme)]


@given(st.decimals("0.01", 50, places=2), st.decimals("0.01", 50, places=2))
def test_salt_in_moisture_is_always_more_than_salt_of_the_water_phase(
    salt: Decimal, moisture: Decimal
) -> None:
    given_ = {"salt_percent": salt, "moisture_percent": moisture}
    assert salt_in_moisture(**given_) > water_phase_salt(**given_)


@given(st.decimals(0, 49, places=2), st.decimals(0, 49, places=2), st.decimals("0.01", 1, places=2))
def test_more_moisture_is_more_moisture_without_fat(moisture: Decimal, fat: Decimal, more: Decimal) -> None:
    drier = moisture_without_fat(moisture_percent=moisture, fat_percent=fat)
    assert moisture_without_fat(moisture_percent=moisture + more, fat_percent=fat) > drier


@given(st.decimals(0, 49, places=2), st.decimals(0, 49, places=2), st.decimals("0.01", 1, places=2))
def test_more_fat_is_never_less_moisture_without_fat(moisture: Decimal, fat: Decimal, more: Decimal) -> None:
    leaner = moisture_without_fat(moisture_percent=moisture, fat_percent=fat)
    fatter = moisture_without_fat(moisture_percent=moisture, fat_percent=fat + more)
    assert fatter > leaner or moisture == fatter == 0


@given(st.decimals("0.001", 100, places=3), st.decimals(0, 100, places=3), st.decimals(0, 100, places=3))
def test_an_analysis_gives_finite_shares_of_a_hundred_or_is_refused(
    moisture: Decimal, fat: Decimal, salt: Decimal
) -> None:
    with suppress(Refusal):
        require_composition(moisture_percent=moisture, fat_percent=fat, salt_percent=salt)
        ratios = [
            water_phase_salt(salt_percent=salt, moisture_percent=moisture),
            moisture_without_fat(moisture_percent=moisture, fat_percent=fat),
            fat_in_dry_matter(moisture_percent=moisture, fat_percent=fat),
        ]
        assert all(0 <= ratio <= 100 for ratio in ratios)
        assert salt_in_moisture(salt_percent=salt, moisture_percent=moisture).is_finite()


def test_protein_counts_towards_the_whole_cheese_where_it_is_given() -> None:
    parts = {"moisture_percent": Decimal(40), "fat_percent": Decimal(30), "salt_percent": Decimal(2)}
    require_composition(**parts, protein_percent=Decimal(28))
    with pytest.raises(Refusal) as caught:
        require_composition(**parts, protein_percent=Decimal("28.01"))
    assert dict(caught.value.sentence.params)["total"] == "100.01 %"


@pytest.mark.parametrize(
    ("moisture", "fat", "code"),
    [
        ("60.01", "40", "composition_over_100"),
        ("-1", "30", "outside_validity"),
        ("100.1", "0", "outside_validity"),
        ("0", "100", "composition_all_fat"),
        ("NaN", "30", "outside_validity"),
        ("Infinity", "30", "outside_validity"),
    ],
)
def test_an_analysis_that_cannot_be_is_refused_and_one_that_can_is_not(
    moisture: str, fat: str, code: str
) -> None:
    with pytest.raises(Refusal) as caught:
        moisture_without_fat(moisture_percent=Decimal(moisture), fat_percent=Decimal(fat))
    assert caught.value.sentence.code == code
    assert moisture_without_fat(moisture_percent=Decimal(60), fat_percent=Decimal(40)) == 100


def test_without_moisture_or_dry_matter_the_ratios_are_refused() -> None:
    for salt in (salt_in_moisture, water_phase_salt):
        for moisture in ("0", "1E-999999"):
            with pytest.raises(Refusal):
                salt(salt_percent=Decimal(1), moisture_percent=Decimal(moisture))
    with pytest.raises(Refusal):
        fat_in_dry_matter(moisture_percent=Decimal(100), fat_percent=Decimal(0))


def test_a_refusal_names_the_range_and_the_source() -> None:
    with pytest.raises(Refusal) as caught:
        firmness_classes(Decimal(101), scheme="codex_firmness")
    words = dict(caught.value.sentence.params)
    assert (words["low"], words["high"]) == ("0 %", "100 %")
    assert words["source"] in str(caught.value)
