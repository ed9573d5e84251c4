"""Sampling of a lot by attributes: the verdict of a two- or three-class plan on its results.

A plan takes n samples. m parts good from doubtful, M doubtful from bad; c samples may lie above m. With M
none may lie above M (three classes); without it only c counts (two classes); without m and M the test is for
presence. A count is judged as the laboratory wrote it: "<10" and ">1500" are kept as what they are.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import IntEnum, StrEnum

from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, trim
from safetyplan.calculation.sentences import Sentence, say

MOST_SAMPLES = 1000
HIGHEST_COUNT = Decimal(9_999_999_999)
_CODEX = "sampling by attributes, Codex CXG 50-2004; largest number by common practice, no source"
_LABORATORY = "ten digits, more than any plate count; common practice, no source"
_ONE = Decimal(1)
_ZERO = Decimal(0)


class Verdict(StrEnum):
    """What a plan says of its results. None of these releases a lot."""

    SATISFACTORY = "satisfactory"
    ACCEPTABLE = "acceptable"
    UNSATISFACTORY = "unsatisfactory"
    UNDECIDED = "undecided"


class Place(IntEnum):
    """Where a result lies: at or below m, above m, above M."""

    GOOD = 0
    ABOVE_M = 1
    ABOVE_UPPER = 2


Span = tuple[Place, Place]


@dataclass(frozen=True)
class Count:
    """A count as the laboratory wrote it; mark "<" or ">" when the true one is only known to lie beyond."""

    value: Decimal
    mark: str = ""

    def __post_init__(self) -> None:
        source = _LABORATORY
        require_within(
            self.value, _ZERO, HIGHEST_COUNT, quantity="sampling_result", unit="count", source=source
        )
        if self.mark == "<" and self.value == 0:
            raise Refusal(say("sampling_below_nothing"))

    def span(self, m: Decimal, upper: Decimal | None) -> Span:
        """The lowest and the highest place its true value can have. Exactly on m or M is not above it."""
        low = high = _place(self.value, m, upper)
        if self.mark == "<":
            low = Place.GOOD
        elif self.mark == ">":
            low = _just_above(self.value, m, upper)
            high = Place.ABOVE_M if upper is None else Place.ABOVE_UPPER
        return low, high


def _place(value: Decimal, m: Decimal, upper: Decimal | None) -> Place:
    if upper is not None and value > upper:
        return Place.ABOVE_UPPER
    return Place.ABOVE_M if value > m else Place.GOOD


def _just_above(value: Decimal, m: Decimal, upper: Decimal | None) -> Place:
    if upper is not None and value >= upper:
        return Place.ABOVE_UPPER
    return Place.ABOVE_M if value >= m else Place.GOOD


@dataclass(frozen=True)
class Plan:
    """n samples of which c may lie above m, and none above M (`upper`).

    upper None: two classes. m None too: presence, of which c samples may show it. m and M in the unit of the
    results. Validity: n from 1 to 1000, c from 0 to n - 1, m from 0 to 9 999 999 999, M above m. Raises
    Refusal.
    """

    n: int
    c: int
    m: Decimal | None = None
    upper: Decimal | None = None

    def __post_init__(self) -> None:
        require_plan(self.n, self.c)
        for value, field in ((self.m, "plan_m"), (self.upper, "plan_upper")):
            if value is not None:
                require_within(
                    value,
                    _ZERO,
                    HIGHEST_COUNT,
                    quantity="sampling_bound",
                    unit="count",
                    source=_LABORATORY,
                    field=field,
                )
        if self.upper is not None and (self.m is None or self.upper <= self.m):
            raise Refusal(say("sampling_upper_not_above"), "plan_upper")

    @property
    def is_presence(self) -> bool:
        """Whether a sample either shows the organism or does not."""
        return self.m is None

    def span(self, result: Count | bool) -> Span:
        """Where one result lies, lowest and highest; True (detected) counts against c."""
        if self.m is not None and isinstance(result, Count):
            return result.span(self.m, self.upper)
        if self.m is None and isinstance(result, bool):
            return (Place.ABOVE_M, Place.ABOVE_M) if result else (Place.GOOD, Place.GOOD)
        raise TypeError("a plan for counts takes counts, a plan for presence takes True or False")


@dataclass(frozen=True)
class Outcome:
    """The verdict, and what it rests on.

    above_m: results surely above m (those above M too). above_upper: surely above M. left_open: results whose
    mark leaves their place open. best and worst: the verdicts still possible.
    """

    verdict: Verdict
    given: int
    above_m: int
    above_upper: int
    left_open: int
    best: Verdict
    worst: Verdict


def judge_results(plan: Plan, results: Sequence[Count] | Sequence[bool], *, field: str = "") -> Outcome:
    """The verdict of a plan on its results, in any order.

    Any result above M, or more than c above m: unsatisfactory. 1 to c above m: acceptable. None above m:
    satisfactory. Exactly m is satisfactory; exactly M is not above M. Fewer results than n are undecided
    unless they are already unsatisfactory. A result marked "<" or ">" counts as what it can be: the verdict
    is undecided when a lot may pass or not, and acceptable when it passes either way but may not be
    satisfactory. Raises Refusal for more results than n. Source: Regulation (EC) No 2073/2005, annex I,
    interpretation of the results; the wording of the three verdicts from memory.
    """
    if len(results) > plan.n:
        raise Refusal(say("sampling_too_many", given=str(len(results)), n=str(plan.n)), field)
    return outcome_of(plan, [plan.span(result) for result in results])


def outcome_of(plan: Plan, spans: Sequence[Span]) -> Outcome:
    """The verdict on results already placed, at most n of them; see `judge_results`."""
    lows, highs = [low for low, _ in spans], [high for _, high in spans]
    best, worst = _verdict(plan, lows), _verdict(plan, highs)
    if len(spans) < plan.n:
        worst = Verdict.UNSATISFACTORY
    still_open = worst is Verdict.UNSATISFACTORY and best is not Verdict.UNSATISFACTORY
    return Outcome(
        verdict=Verdict.UNDECIDED if still_open else worst,
        given=len(spans),
        above_m=sum(low >= Place.ABOVE_M for low in lows),
        above_upper=lows.count(Place.ABOVE_UPPER),
        left_open=sum(low is not high for low, high in spans),
        best=best,
        worst=worst,
    )


def _verdict(plan: Plan, places: Sequence[Place]) -> Verdict:
    above = sum(place >= Place.ABOVE_M for place in places)
    if above > plan.c or Place.ABOVE_UPPER in places:
        return Verdict.UNSATISFACTORY
    return Verdict.ACCEPTABLE if above else Verdict.SATISFACTORY


def verdict_sentence(plan: Plan, outcome: Outcome, unit: str) -> Sentence:
    """The verdict in a sentence with what it rests on; m and M in `unit`."""
    n, c, given = str(plan.n), str(plan.c), str(outcome.given)
    if outcome.verdict is Verdict.UNDECIDED:
        if outcome.given < plan.n:
            return say("sampling_few", given=given, n=n)
        return say("sampling_open", left_open=str(outcome.left_open), n=n)
    if plan.m is None:
        return _presence_sentence(outcome, n, c)
    m, above = amount(trim(plan.m), unit), str(outcome.above_m)
    if outcome.above_upper and plan.upper is not None:
        upper = amount(trim(plan.upper), unit)
        return say("sampling_above_upper", above=str(outcome.above_upper), given=given, upper=upper)
    if outcome.verdict is Verdict.UNSATISFACTORY:
        return say("sampling_above_c", above=above, given=given, m=m, c=c)
    if outcome.left_open:
        return say("sampling_at_worst", left_open=str(outcome.left_open), above=above, n=n, m=m, c=c)
    if outcome.verdict is Verdict.SATISFACTORY:
        return say("sampling_satisfactory", n=n, m=m)
    if plan.upper is None:
        return say("sampling_acceptable_two", above=above, n=n, m=m, c=c)
    upper = amount(trim(plan.upper), unit)
    return say("sampling_acceptable_three", above=above, n=n, m=m, c=c, upper=upper)


def _presence_sentence(outcome: Outcome, n: str, c: str) -> Sentence:
    found, given = str(outcome.above_m), str(outcome.given)
    if outcome.verdict is Verdict.UNSATISFACTORY:
        return say("sampling_detected", found=found, given=given, c=c)
    if outcome.verdict is Verdict.ACCEPTABLE:
        return say("sampling_detected_few", found=found, n=n, c=c)
    return say("sampling_none_detected", n=n)


def require_plan(n: int, c: int) -> None:
    """Refuse n outside 1 to 1000 and c outside 0 to n - 1."""
    most = Decimal(MOST_SAMPLES)
    require_within(Decimal(n), _ONE, most, quantity="sampling_n", unit="count", source=_CODEX, field="plan_n")
    last = Decimal(n - 1)
    require_within(
        Decimal(c), _ZERO, last, quantity="sampling_c", unit="count", source=_CODEX, field="plan_c"
    )
