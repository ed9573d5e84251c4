"""Findings speak to the maker: codes and figures in plain words, with the citation, never JSON."""

import re

import pytest

from safetyplan.plans.document import read
from safetyplan.plans.plan_check import check
from tests.safetyplan.plans.rules.plans import Pair, changed, confirmed, fresh, vat, warmth, with_limit
from tests.safetyplan.plans.rules.test_pairs import PAIRS


def messages(pair: Pair) -> list[str]:
    """Give what is said of the bad plan of a pair."""
    plan = read(changed(pair.base, pair.bad))
    return [finding.message for finding in check(plan, confirmed(plan)) if finding.id == pair.id]


@pytest.mark.parametrize("pair", PAIRS, ids=str)
def test_a_message_is_a_sentence_without_signs_of_a_program(pair: Pair) -> None:
    for message in messages(pair):
        assert message.rstrip("”)")[-1] in ".?"
        assert not re.search(r"[{}\[\]\"]|%\(|None|_most|_least|deg[CF]|controlled_by", message)
        assert "safe" not in message.lower().replace("food-safety", "")


def told(profile: str, code: str, limit: dict[str, object], parameter: str) -> str:
    """Give what is said of one limit under a profile."""
    plan = read(changed(fresh(profile), with_limit(code, limit, parameter=parameter)))
    (finding,) = (f for f in check(plan, confirmed(plan)) if f.where == code and f.id in ("P021", "P025"))
    return finding.message


@pytest.mark.parametrize(
    ("profile", "code", "limit", "parameter", "message"),
    [
        (
            "gb",
            "O1",
            warmth(at_most="8.1"),
            "milk_temperature_most",
            "The limit lets up to 8.1 °C pass; the profile has: milk at receipt at most 8 °C (Regulation "
            "(EC) 853/2004 as retained, annex III, section IX, as restated by an export authority).",
        ),
        (
            "us_full",
            "O1",
            warmth(at_most="7.2"),
            "milk_temperature_most",
            "The limit of 7.2 °C is in another unit than the profile: milk at receipt at most 45 °F (Grade A "
            "Pasteurized Milk Ordinance, table of limits, as in a public handbook), about 7.22 °C.",
        ),
        (
            "us_full",
            "CCP1",
            vat("30", "degF", "144.9", "149"),
            "heat_rule",
            "Less heat than the profile asks: product 144.9 °F, where 145 °F for 30 min is asked; air space "
            "149 °F, where 150 °F is asked (21 CFR 133.3(d), 1240.61(b); state tables after the Pasteurized "
            "Milk Ordinance; 25 TAC 217.1(68), figure (A), a state table following the Grade A Pasteurized "
            "Milk Ordinance; Grade A Pasteurized Milk Ordinance, item 16p (from memory)).",
        ),
    ],
)
def test_a_limit_against_the_profile_names_both_figures_and_the_citation(
    profile: str, code: str, limit: dict[str, object], parameter: str, message: str
) -> None:
    assert told(profile, code, limit, parameter) == message
