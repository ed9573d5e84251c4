"""The working of a sampling plan: its steps with the numbers put in, and its curves."""

from collections.abc import Sequence
from decimal import Decimal
from math import comb, log10

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, from_float, trim
from safetyplan.calculation.sampling import Count, Outcome, Place, Plan
from safetyplan.calculation.sampling_chances import (
    CONVENTIONAL_SD_LOG10,
    SHARES_SHOWN,
    acceptance_lognormal,
    acceptance_three_class,
    chance_text,
    operating_characteristic,
)
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.shape import Chart

UNIT = "cfu_per_g"
NOTHING = "-"
_FEW_TERMS = 4
_LARGEST_WRITTEN = 1_000_000


def plan_step(plan: Plan) -> Sentence:
    """The plan with its numbers."""
    n, c = str(plan.n), str(plan.c)
    if plan.m is None:
        return say("sampling_step_plan_presence", n=n, c=c)
    m = amount(trim(plan.m), UNIT)
    if plan.upper is None:
        return say("sampling_step_plan_two", n=n, c=c, m=m)
    return say("sampling_step_plan_three", n=n, c=c, m=m, upper=amount(trim(plan.upper), UNIT))


def sorted_steps(plan: Plan, counts: Sequence[Count], outcome: Outcome) -> tuple[Sentence, Sentence]:
    """The results by where they lie, then the counting."""
    spans = [(count.mark + trim(count.value), plan.span(count)) for count in counts]

    def those(place: Place) -> str:
        return ", ".join(text for text, span in spans if span == (place, place)) or NOTHING

    left_open = ", ".join(text for text, (low, high) in spans if low is not high) or NOTHING
    good, middle = those(Place.GOOD), those(Place.ABOVE_M)
    above, c, given = str(outcome.above_m), str(plan.c), str(outcome.given)
    if plan.upper is None:
        return (
            say("sampling_step_sorted_two", good=good, middle=middle, left_open=left_open),
            say("sampling_step_count_two", given=given, above=above, c=c),
        )
    bad, upper = those(Place.ABOVE_UPPER), str(outcome.above_upper)
    return (
        say("sampling_step_sorted_three", good=good, middle=middle, bad=bad, left_open=left_open),
        say("sampling_step_count_three", given=given, above=above, c=c, upper=upper),
    )


def chance_steps(plan: Plan) -> tuple[Sentence, ...]:
    """The formula, then each share put in, so that it can be followed by hand."""
    zero = Decimal(0)
    if plan.upper is None:
        lines = [_chance_step("p", plan, share, zero) for share in SHARES_SHOWN]
        return say("sampling_step_formula_two"), *lines
    above = [_chance_step("d", plan, zero, share) for share in SHARES_SHOWN]
    between = [_chance_step("q", plan, share, zero) for share in SHARES_SHOWN]
    return say("sampling_step_formula_three"), *above, *between


def _chance_step(symbol: str, plan: Plan, marginal: Decimal, defective: Decimal) -> Sentence:
    chance = acceptance_three_class(n=plan.n, c=plan.c, marginal=marginal, defective=defective)
    share = trim(max(marginal, defective))
    terms = terms_text(plan.n, plan.c, marginal, 1 - marginal - defective)
    result, percent = decimal_text(chance, 4), chance_text(chance)
    return say(
        "sampling_step_chance", symbol=symbol, share=share, terms=terms, result=result, percent=percent
    )


def terms_text(n: int, c: int, marginal: Decimal, good: Decimal) -> str:
    """The terms of an acceptance probability written out, the middle ones of many left out."""
    terms = []
    for i in range(c + 1 if marginal else 1):
        ways = comb(n, i)
        factor = str(ways) if ways < _LARGEST_WRITTEN else f"C({n},{i})"
        terms.append(f"{factor} × {trim(marginal)}^{i} × {trim(good)}^{n - i}" if i else f"{trim(good)}^{n}")
    if len(terms) > _FEW_TERMS:
        terms = [*terms[:2], "…", terms[-1]]
    return " + ".join(terms)


def share_chart(plan: Plan) -> Chart:
    """The operating-characteristic curve: the chance of passing over the share of bad units, in per cent."""
    curve = operating_characteristic(n=plan.n, c=plan.c)
    points = tuple((share.scaleb(2), chance.scaleb(2)) for share, chance in curve)
    return Chart(x="share_above", y="chance_percent", trace="chance_to_pass", points=points)


def lot_chart(plan: Plan, sd: Decimal = CONVENTIONAL_SD_LOG10) -> Chart:
    """The chance of passing over the mean of the log10 counts of the lot, around m."""
    assert plan.m is not None
    m = log10_of(plan.m, "plan_m")
    upper = None if plan.upper is None else log10_of(plan.upper, "plan_upper")
    points = []
    for tenth in range(-20, 21):
        mean = m + Decimal(tenth) / 10
        chance = acceptance_lognormal(
            n=plan.n,
            c=plan.c,
            mean_log10=mean,
            sd_log10=sd,
            log10_m=m,
            log10_upper=upper,
        )
        points.append((mean, chance.scaleb(2)))
    return Chart(x="lot_mean_log10", y="chance_percent", trace="chance_to_pass", points=tuple(points))


def log10_of(value: Decimal, field: str) -> Decimal:
    """The logarithm of a count, 12 significant digits. Raises Refusal for nought and less."""
    if value <= 0:
        raise Refusal(say("sampling_no_logarithm", part=field), field)
    return from_float(log10(float(value)))
