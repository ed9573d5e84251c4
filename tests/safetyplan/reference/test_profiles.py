"""The regulatory profiles: complete, cited, and in step with the tables of the calculation."""

from datetime import date
from decimal import Decimal

import pytest

from safetyplan.calculation.heat_tables import RULES
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.reference.profiles import EVERYWHERE, PARAMETERS, PROVENANCES, Profile, profiles

ALL = list(profiles().values())
FIGURES = ("_most", "_least", "_days", "_months", "_hours", "_below")


def figure(code: str, parameter: str) -> Decimal:
    found = profiles()[code].parameter(parameter)
    assert found is not None
    return Decimal(found.value)


def test_the_profiles_are_those_that_small_dairies_live_under() -> None:
    assert list(profiles()) == ["us_full", "us_qualified", "eu", "gb", "codex", "au", "nz", "ca"]


@pytest.mark.parametrize("profile", ALL, ids=lambda profile: profile.code)
def test_every_figure_names_its_citation_its_provenance_and_a_parameter_that_has_words(
    profile: Profile,
) -> None:
    codes = [parameter.code for parameter in profile.parameters]
    assert len(codes) == len(set(codes))
    assert set(codes) <= set(PARAMETERS)
    assert [p.code for p in profile.parameters if not p.citation or p.provenance not in PROVENANCES] == []
    assert date.fromisoformat(profile.read_on) <= date(2026, 11, 25)


@pytest.mark.parametrize("profile", ALL, ids=lambda profile: profile.code)
def test_every_profile_answers_what_every_plan_needs(profile: Profile) -> None:
    assert [code for code in EVERYWHERE if profile.parameter(code) is None] == []


@pytest.mark.parametrize("profile", ALL, ids=lambda profile: profile.code)
def test_a_figure_is_a_number_and_a_temperature_has_its_unit(profile: Profile) -> None:
    for parameter in profile.parameters:
        if parameter.code.endswith(FIGURES) and parameter.value:
            assert Decimal(parameter.value) >= 0
            assert parameter.unit
        if parameter.unit.startswith("deg"):
            assert parameter.unit in UNITS


@pytest.mark.parametrize("profile", ALL, ids=lambda profile: profile.code)
def test_the_table_of_heat_treatment_is_one_that_the_calculation_has(profile: Profile) -> None:
    rule = profile.parameter("heat_rule")
    assert rule is not None
    assert rule.value in RULES


def test_no_profile_prefills_a_limit_of_acidification() -> None:
    assert {profile.parameter("acidification").value for profile in ALL} == {""}  # type: ignore[union-attr]


# 21 CFR 117.165(a)(4)(i), 117.170(a), 117.315; 133.182(a); C.R.C. c. 870 B.08.030(1); SOR/2018-108 s. 89(2);
# Standard 4.2.4 clause 16(1)(b)
@pytest.mark.parametrize(
    ("profile", "parameter", "value"),
    [
        ("us_full", "review_days", 7),
        ("us_full", "reanalysis_months", 36),
        ("us_full", "retention_records_months", 24),
        ("us_full", "ageing_days", 60),
        ("us_full", "ageing_temperature_least", 35),
        ("ca", "ageing_temperature_least", 2),
        ("ca", "retention_records_months", 24),
        ("au", "ageing_days", 90),
        ("au", "ageing_temperature_least", 7),
    ],
)
def test_a_figure_of_the_law_stands_as_it_was_read(profile: str, parameter: str, value: int) -> None:
    assert figure(profile, parameter) == value
    found = profiles()[profile].parameter(parameter)
    assert found is not None
    assert found.provenance == "read"
