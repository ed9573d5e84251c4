"""Every rule finds what it must, and nothing in the twin; every rule has such a pair."""

import pytest

from safetyplan.plans.plan_check import RULES
from tests.safetyplan.plans.rules import (
    pairs_figures,
    pairs_frame,
    pairs_hazards,
    pairs_heat,
    pairs_limits,
    pairs_recording,
)
from tests.safetyplan.plans.rules.plans import Pair, finds

PAIRS: tuple[Pair, ...] = (
    *pairs_frame.PAIRS,
    *pairs_hazards.PAIRS,
    *pairs_limits.PAIRS,
    *pairs_figures.PAIRS,
    *pairs_heat.PAIRS,
    *pairs_recording.PAIRS,
)


@pytest.mark.parametrize("pair", PAIRS, ids=str)
def test_a_rule_finds_the_fault_and_not_its_twin(pair: Pair) -> None:
    finds(pair)


def test_every_rule_has_a_pair() -> None:
    without = {rule.id for rule in RULES} - {pair.id for pair in PAIRS}

    # P018, P019 and P020 look at what stands beside the document, P022 and P051 at what no document can hold:
    # their pairs are in test_confirmations.py, test_limits.py and test_recording.py
    assert without == {"P018", "P019", "P020", "P022", "P051"}
