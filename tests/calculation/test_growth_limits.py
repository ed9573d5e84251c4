"""Where pathogens can grow: the sources and their spread, and growth by the highest pH and water activity."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.exposure_tables import EXPOSURES
from safetyplan.calculation.growth_limits import (
    Conditions,
    GrowthFinding,
    growth_possible,
    limits_of,
    spread_of,
)
from safetyplan.calculation.growth_tables import ORGANISMS, OTHER_RINDS, RISING_RINDS
from safetyplan.calculation.refusal import Refusal


def told(organism: str, *temperatures: str, ph: str = "", aw: str = "", **how: Any) -> GrowthFinding:
    """A finding from the coldest and the warmest temperature."""
    ends = (Decimal(temperatures[0]), Decimal(temperatures[-1])) if temperatures else None
    found = Conditions(ends, Decimal(ph) if ph else None, Decimal(aw) if aw else None)
    return growth_possible(organism, found, **how)


@pytest.mark.parametrize("organism", ORGANISMS)
def test_growth_begins_at_the_lowest_temperature_of_all_sources(organism: str) -> None:
    lowest = spread_of(organism).lowest_c.lowest
    assert all(lowest <= limits.lowest_c for limits in limits_of(organism))
    assert told(organism, str(lowest)).possible
    cold = told(organism, str(lowest - Decimal("0.1")))
    assert (cold.possible, cold.reasons[0].code) == (False, "growth_too_cold")


def test_every_source_of_listeria_is_kept_and_their_spread_is_told() -> None:
    # Bad Bug Book 0 °C, ICMSF -0.4 °C, SANCO -1.5 to +3 °C of which the lowest
    assert [limits.lowest_c for limits in limits_of("listeria_monocytogenes")] == [
        Decimal(0),
        Decimal("-0.4"),
        Decimal("-1.5"),
    ]
    spread = spread_of("listeria_monocytogenes")
    assert (spread.lowest_c.lowest, spread.lowest_c.highest) == (Decimal("-1.5"), Decimal(0))
    assert "SANCO" in spread.lowest_c.lowest_source
    assert spread.lowest_ph is not None
    assert (spread.lowest_ph.lowest, spread.lowest_ph.highest) == (Decimal("4.2"), Decimal("4.4"))


def test_where_no_source_says_anything_there_is_no_spread_and_nothing_is_excluded() -> None:
    assert spread_of("yersinia_enterocolitica").lowest_aw is None
    assert told("yersinia_enterocolitica", "20", aw="0.5").possible


@pytest.mark.parametrize("organism", EXPOSURES)
def test_every_organism_of_the_exposure_table_has_limits_of_growth(organism: str) -> None:
    assert limits_of(organism)


def test_a_limit_from_memory_is_marked_and_one_that_was_read_is_too() -> None:
    assert {limits.provenance for limits in limits_of("shigella")} == {"memory"}
    assert {limits.provenance for limits in limits_of("salmonella")} == {"read"}


def test_each_quantity_counts_by_its_own_lowest_source() -> None:
    # B. cereus: 4 °C by ICMSF, pH 4.9 by the Bad Bug Book; neither alone has growth at 5 °C and pH 4.95
    assert told("bacillus_cereus", "5", ph="4.95").possible


@pytest.mark.parametrize(
    ("conditions", "code"),
    [
        ({"ph": "3.79"}, "growth_too_low"),
        ({"aw": "0.93"}, "growth_too_low"),
    ],
)
def test_one_condition_outside_every_source_excludes_growth(conditions: dict[str, str], code: str) -> None:
    # Salmonella from pH 3.8 and aw 0.94 (ICMSF)
    finding = told("salmonella", "20", **conditions)
    assert (finding.possible, finding.reasons[0].code) == (False, code)
    assert told("salmonella", "20", ph="3.8", aw="0.94").possible


def test_a_log_that_passes_through_the_range_may_grow_though_its_ends_do_not() -> None:
    # Salmonella grows from 5.2 to 47 °C
    assert told("salmonella", "2", "60").possible
    hot = told("salmonella", "50", "60")
    assert (hot.possible, hot.reasons[0].code) == (False, "growth_too_hot")


def test_a_temperature_nobody_knows_and_a_condition_not_given_exclude_nothing() -> None:
    assert told("salmonella").reasons[0].code == "growth_possible_unknown"
    assert told("salmonella", "20").possible


@pytest.mark.parametrize("rind", RISING_RINDS)
def test_on_a_rind_that_ripens_upwards_listeria_is_always_possible_without_a_challenge_study(
    rind: str,
) -> None:
    always = told("listeria_monocytogenes", "-5", ph="4.0", aw="0.85", rind=rind)
    assert (always.possible, always.reasons[0].code) == (True, "growth_possible_rind")
    studied = told("listeria_monocytogenes", "20", ph="4.0", rind=rind, challenge_study=True)
    assert not studied.possible


@pytest.mark.parametrize("rind", RISING_RINDS)
def test_on_such_a_rind_ph_and_water_activity_exclude_no_organism_but_the_cold_does(rind: str) -> None:
    assert told("salmonella", "20", ph="3.0", aw="0.5", rind=rind).possible
    assert not told("salmonella", "4", rind=rind).possible


@pytest.mark.parametrize("rind", OTHER_RINDS)
def test_on_another_rind_they_do(rind: str) -> None:
    assert not told("salmonella", "20", ph="3.0", rind=rind).possible


@pytest.mark.parametrize(
    ("arguments", "conditions"),
    [
        (("mould",), {}),
        (("salmonella", "200"), {}),
        (("salmonella", "20"), {"ph": "15"}),
        (("salmonella", "20"), {"aw": "NaN"}),
        (("salmonella", "20"), {"rind": "leaf"}),
    ],
)
def test_what_nobody_declared_or_cannot_be_is_refused(
    arguments: tuple[str, ...], conditions: dict[str, str]
) -> None:
    with pytest.raises(Refusal):
        told(*arguments, **conditions)


@given(
    st.sampled_from(ORGANISMS),
    st.decimals(-20, 60, places=1),
    st.decimals(0, 14, places=2),
    st.decimals(0, 1, places=3),
)
def test_a_higher_ph_or_water_activity_never_excludes_growth_that_a_lower_one_allows(
    organism: str, at: Decimal, ph: Decimal, aw: Decimal
) -> None:
    low = growth_possible(organism, Conditions((at, at), ph, aw)).possible
    high = growth_possible(organism, Conditions((at, at), Decimal(14), Decimal(1))).possible
    assert high or not low
