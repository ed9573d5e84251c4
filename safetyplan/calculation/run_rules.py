"""Run rules on z-scores: patterns in the order of time that a stable process makes rarely.

Exactly on a line is not beyond it. A point on the centre line breaks a run, a tie breaks a trend. "Six points
rising" are five steps. The last point of a pattern belongs to it. More rules find more and cry wolf more: the
four Western Electric rules together give a false alarm about every 92 points (Champ and Woodall 1987, from
memory), so 1, 2, 3 and 5 are the default for weekly data.
"""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

Rule = Callable[[Sequence[Decimal]], bool]
Scores = Sequence[Decimal]

DEFAULT_RULES = ("nelson_1", "nelson_2", "nelson_3", "nelson_5")
NELSON_SOURCE = "Nelson 1984, Journal of Quality Technology 16:237 (from memory)"
WESTERN_SOURCE = "Western Electric rules, NIST/SEMATECH e-Handbook 6.3.2"


def _side(scores: Scores) -> bool:
    return all(z > 0 for z in scores) or all(z < 0 for z in scores)


def _beyond(scores: Scores, line: int, least: int) -> bool:
    """At least so many beyond the line on the side of the last one, which is itself beyond it."""
    if scores[-1] < 0:
        scores = [-z for z in scores]
    return scores[-1] > line and sum(z > line for z in scores) >= least


def _steady(scores: Scores) -> bool:
    return all(b > a for a, b in pairwise(scores)) or all(b < a for a, b in pairwise(scores))


def _alternating(scores: Scores) -> bool:
    steps = [b - a for a, b in pairwise(scores)]
    return all(a * b < 0 for a, b in pairwise(steps)) and steps[0] != 0


# name: how many points in a row it looks at, and what they must be
RULES: Mapping[str, tuple[int, Rule]] = {
    "nelson_1": (1, lambda scores: abs(scores[0]) > 3),
    "nelson_2": (9, _side),
    "nelson_3": (6, _steady),
    "nelson_4": (14, _alternating),
    "nelson_5": (3, lambda scores: _beyond(scores, 2, 2)),
    "nelson_6": (5, lambda scores: _beyond(scores, 1, 4)),
    "nelson_7": (15, lambda scores: all(abs(z) < 1 for z in scores)),
    "nelson_8": (8, lambda scores: all(abs(z) > 1 for z in scores) and not _side(scores)),
    "western_1": (1, lambda scores: abs(scores[0]) > 3),
    "western_2": (3, lambda scores: _beyond(scores, 2, 2)),
    "western_3": (5, lambda scores: _beyond(scores, 1, 4)),
    "western_4": (8, _side),
}


def signals(scores: Scores, rules: Sequence[str] = DEFAULT_RULES) -> dict[str, tuple[int, ...]]:
    """For each rule that is broken, the numbers (from 0) of the points at which its pattern is complete.

    scores: z-scores in the order of time. Raises KeyError for an unknown rule. Source: NELSON_SOURCE,
    WESTERN_SOURCE.
    """
    found = {}
    for name in rules:
        length, holds = RULES[name]
        ends = range(length, len(scores) + 1)
        broken = tuple(end - 1 for end in ends if holds(scores[end - length : end]))
        if broken:
            found[name] = broken
    return found
