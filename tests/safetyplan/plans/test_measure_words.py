"""The type of a control measure in the words of the plan's regulatory profile."""

import pytest

from safetyplan.plans.document import read
from safetyplan.plans.measure_words import measure_type_choices, measure_type_words, measure_words
from safetyplan.plans.parts import MEASURE_TYPES, Plan
from safetyplan.reference.profiles import profiles
from tests.safetyplan.plans.editing.hazards_stage import document


def plan_of(profile: str) -> Plan:
    """Give a plan under a profile; without one for an empty code."""
    if not profile:
        return read(document())
    return read(document(profile={"code": profile, "read_on": "2026-01-01", "parameters": []}))


@pytest.mark.parametrize("profile", ["", "elsewhere", *profiles()])
def test_every_type_has_a_name_of_its_own_under_every_profile(profile: str) -> None:
    named = [words for _code, words in measure_type_choices(plan_of(profile))]

    assert list(measure_words(plan_of(profile))) == list(MEASURE_TYPES)
    assert len(set(named)) == len(MEASURE_TYPES)


@pytest.mark.parametrize(
    ("profile", "code", "words"),
    [
        # 21 CFR 117.135(c)(1) to (3), headings
        ("us_full", "process", "process control"),
        ("us_qualified", "allergen", "food allergen control"),
        ("us_full", "sanitation", "sanitation control"),
        # Codex CXC 1-1969, tree of 2022, note on question 1
        ("codex", "prerequisite_attention", "good hygiene practice needing greater attention"),
        ("", "prerequisite_attention", "good hygiene practice needing greater attention"),
        # Commission Notice 2022/C 355/01: prerequisite programmes
        ("eu", "prerequisite", "prerequisite programme"),
        ("gb", "prerequisite_attention", "prerequisite programme needing greater attention"),
        ("eu", "", ""),
        ("eu", "unheard_of", "unheard_of"),
    ],
)
def test_a_type_is_named_as_the_jurisdiction_names_it(profile: str, code: str, words: str) -> None:
    assert measure_type_words(plan_of(profile), code) == words
