"""How much a sampling plan says: the chance that a lot passes it, and what it can find at all.

Samples are taken at random from a lot much larger than n. Acceptance probabilities are sums with 50 digits;
the normal and Poisson distributions need floats. Either way a result has 12 significant digits and is never
more than 1.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal, localcontext
from math import ceil, erfc, expm1, log, log1p, sqrt

from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, decimal_text, from_float
from safetyplan.calculation.sampling import HIGHEST_COUNT, Plan, require_plan
from safetyplan.calculation.sentences import Sentence, say

# Standard deviation of the log10 counts inside one lot, as the trade supposes it where nothing is measured.
# Source: International Commission on Microbiological Specifications for Foods, book 7, from memory.
CONVENTIONAL_SD_LOG10 = Decimal("0.8")

# The bad lots whose chance of passing is printed beside every verdict.
SHARES_SHOWN = (Decimal("0.05"), Decimal("0.10"), Decimal("0.20"))

_DIGITS = 50
_BISECTIONS = 80
_SHARE = "a share is a part of the whole"
_CONFIDENCE = "common practice, no source"
_LOGNORMAL = "lognormal lot, ICMSF book 7, from memory; range by common practice, no source"
_POISSON = "organisms spread at random, Poisson distribution; range by common practice, no source"
_ONE = Decimal(1)
_ZERO = Decimal(0)


def acceptance_two_class(*, n: int, c: int, proportion: Decimal) -> Decimal:
    """The probability that a lot passes a two-class plan: Pa = sum over i = 0..c of C(n,i) p^i (1-p)^(n-i).

    proportion: the share p of units above m (or showing the organism), 0 to 1; a result from 0 to 1. Samples
    are taken at random from a lot much larger than n. 12 significant digits. Validity: n from 1 to 1000, c
    from 0 to n - 1. Raises Refusal. Source: binomial distribution; Codex CXG 50-2004.
    """
    return acceptance_three_class(n=n, c=c, marginal=proportion, defective=_ZERO)


def acceptance_three_class(*, n: int, c: int, marginal: Decimal, defective: Decimal) -> Decimal:
    """The probability that a lot passes a three-class plan: Pa = sum, i = 0..c, of C(n,i) q^i (1-q-d)^(n-i).

    marginal: the share q of units above m up to M; defective: the share d above M; both from 0 to 1, together
    at most 1. The rest as for two classes. Source: multinomial distribution.
    """
    require_plan(n, c)
    _require_share(marginal)
    _require_share(defective)
    _require_share(marginal + defective)
    return _twelve_digits(_acceptance(n, c, marginal, 1 - marginal - defective))


def _acceptance(n: int, c: int, marginal: Decimal, good: Decimal) -> Decimal:
    """The sum with the share g of good units, each term made from the one before by (n-i)/(i+1) q/g."""
    if good <= 0:
        return _ZERO
    with localcontext(prec=_DIGITS):
        term = good**n
        total, ratio = term, marginal / good
        for i in range(c):
            term = term * ratio * (n - i) / (i + 1)
            total += term
        return min(_ONE, total)


def _twelve_digits(value: Decimal) -> Decimal:
    return from_float(float(value))


@dataclass(frozen=True)
class Shares:
    """The parts of a lot above m up to M, and above M."""

    marginal: Decimal
    defective: Decimal


def lot_shares(
    *, mean_log10: Decimal, sd_log10: Decimal, log10_m: Decimal, log10_upper: Decimal | None = None
) -> Shares:
    """The shares of a lot whose log10 counts are normal: d = 1 - F(M), q = F(M) - F(m).

    mean_log10: the mean of the log10 counts (the log10 of the geometric mean), -5 to 12; sd_log10 from 0.05
    to 3, 0.8 where nothing is known; log10_m and log10_upper from -5 to 12, the second above the first.
    Without log10_upper everything above m is marginal. Floats inside, 12 significant digits. Raises Refusal.
    Source: normal distribution; the convention of 0.8 from ICMSF book 7, from memory.
    """
    bounds = [log10_m] if log10_upper is None else [log10_m, log10_upper]
    low, high = Decimal(-5), Decimal(12)
    for value, field in zip((mean_log10, *bounds), ("lot_mean", "plan_m", "plan_upper"), strict=False):
        require_within(
            value, low, high, quantity="sampling_log10", unit="ratio", source=_LOGNORMAL, field=field
        )
    low, high = Decimal("0.05"), Decimal(3)
    require_within(
        sd_log10, low, high, quantity="sampling_sd", unit="ratio", source=_LOGNORMAL, field="lot_sd"
    )
    if log10_upper is not None and log10_upper <= log10_m:
        raise Refusal(say("sampling_upper_not_above"), "plan_upper")
    places = [float((bound - mean_log10) / sd_log10) for bound in bounds]
    if len(places) == 1:
        return Shares(from_float(_tail(places[0])), _ZERO)
    return Shares(from_float(_between(*places)), from_float(_tail(places[1])))


def _tail(z: float) -> float:
    """The part of a normal distribution above z standard deviations."""
    return erfc(z / sqrt(2)) / 2


def _between(low: float, high: float) -> float:
    """The part between two places, taken from the side on which nothing cancels."""
    return _tail(low) - _tail(high) if low > 0 else _tail(-high) - _tail(-low)


def acceptance_lognormal(
    *,
    n: int,
    c: int,
    mean_log10: Decimal,
    sd_log10: Decimal,
    log10_m: Decimal,
    log10_upper: Decimal | None = None,
) -> Decimal:
    """The probability that a lognormal lot passes: `lot_shares`, then `acceptance_three_class`.

    Units, validity, errors and sources are those of the two.
    """
    require_plan(n, c)
    shares = lot_shares(mean_log10=mean_log10, sd_log10=sd_log10, log10_m=log10_m, log10_upper=log10_upper)
    good = max(_ZERO, 1 - shares.marginal - shares.defective)
    return _twelve_digits(_acceptance(n, c, shares.marginal, good))


Curve = tuple[tuple[Decimal, Decimal], ...]


def operating_characteristic(*, n: int, c: int, steps: int = 20) -> Curve:
    """Points (p, Pa) of the operating-characteristic curve of a two-class plan, p from 0 to 1 in equal steps.

    Validity, errors and source as for `acceptance_two_class`; steps at least 1.
    """
    shares = [Decimal(step) / steps for step in range(steps + 1)]
    return tuple((share, acceptance_two_class(n=n, c=c, proportion=share)) for share in shares)


def detectable_proportion(*, n: int, confidence: Decimal, c: int = 0) -> Decimal:
    """The share p of bad units from which on a plan refuses a lot with at least this confidence.

    Solves Pa(n, c, p) = 1 - confidence; exact for c = 0: p = 1 - (1 - confidence)^(1/n). confidence from 0.01
    to 0.9999, the result from 0 to 1. Floats inside, 12 significant digits (halving of the interval for c
    above 0). Validity: n from 1 to 1000, c from 0 to n - 1. Raises Refusal. Source: binomial distribution.
    """
    require_plan(n, c)
    _require_confidence(confidence)
    if c == 0:
        return from_float(-expm1(log1p(-float(confidence)) / n))
    left = 1 - confidence
    return from_float(_solve(lambda share: _acceptance(n, c, share, 1 - share) > left))


def _solve(passes: Callable[[Decimal], bool]) -> float:
    """The place in 0..1 at which a falling condition stops being true."""
    low, high = _ZERO, _ONE
    with localcontext(prec=_DIGITS):
        for _ in range(_BISECTIONS):
            middle = (low + high) / 2
            low, high = (middle, high) if passes(middle) else (low, middle)
    return float(high)


def samples_needed(*, proportion: Decimal, confidence: Decimal) -> int:
    """The least n whose plan with c = 0 refuses a lot with this share of bad units, with this confidence.

    The least n with (1 - p)^n <= 1 - confidence, compared with 50 digits. proportion from 0.0001 to 1,
    confidence from 0.01 to 0.9999. Raises Refusal. Source: binomial distribution.
    """
    low = Decimal("0.0001")
    require_within(proportion, low, _ONE, quantity="sampling_share", unit="ratio", source=_SHARE)
    _require_confidence(confidence)
    if proportion == 1:
        return 1
    near = max(1, ceil(log1p(-float(confidence)) / log1p(-float(proportion))) - 1)
    with localcontext(prec=_DIGITS):
        while (1 - proportion) ** near > 1 - confidence:
            near += 1
    return near


def detection_probability(*, n: int, grams: Decimal, cfu_per_g: Decimal) -> Decimal:
    """The probability that one or more of n samples hold an organism: P = 1 - exp(-C n g).

    Organisms spread at random through the lot, every one of them found by the method. grams of each sample
    from 0.01 to 1000, cfu_per_g from 0 to 9 999 999 999, n from 1 to 1000. Floats inside, 12 significant
    digits. Raises Refusal. Source: Poisson distribution.
    """
    _require_amount(n, grams)
    require_within(
        cfu_per_g, _ZERO, HIGHEST_COUNT, quantity="colony_count", unit="cfu_per_g", source=_POISSON
    )
    return from_float(-expm1(-float(cfu_per_g * n * grams)))


def detectable_concentration(*, n: int, grams: Decimal, confidence: Decimal) -> Decimal:
    """The CFU/g that n samples find with this confidence: C = -ln(1 - confidence) / (n g).

    Assumptions, validity, rounding and source as for `detection_probability`; confidence from 0.01 to 0.9999.
    """
    _require_amount(n, grams)
    _require_confidence(confidence)
    return from_float(-log(float(1 - confidence)) / float(n * grams))


def _require_share(share: Decimal) -> None:
    require_within(share, _ZERO, _ONE, quantity="sampling_share", unit="ratio", source=_SHARE)


def _require_confidence(confidence: Decimal) -> None:
    low, high = Decimal("0.01"), Decimal("0.9999")
    require_within(
        confidence,
        low,
        high,
        quantity="sampling_confidence",
        unit="ratio",
        source=_CONFIDENCE,
        field="plan_confidence",
    )


def _require_amount(n: int, grams: Decimal) -> None:
    require_plan(n, 0)
    low, high = Decimal("0.01"), Decimal(1000)
    require_within(grams, low, high, quantity="mass", unit="g", source=_POISSON, field="sample_grams")


def chance_text(chance: Decimal) -> str:
    """A probability in per cent with one decimal, half up: "77.4 %"; never 0 or 100 unless it is that."""
    percent = chance.scaleb(2)
    if 0 < percent < Decimal("0.05"):
        return "<0.1 %"
    if Decimal("99.95") <= percent < 100:
        return ">99.9 %"
    return amount(decimal_text(percent, 1), "percent")


def chances_sentence(plan: Plan) -> Sentence:
    """The chance with which lots of 5, 10 and 20 % bad units pass the plan; printed beside every verdict.

    Bad is above M in a plan of three classes (with nothing between m and M, which is the best such a lot can
    do), above m in one of two, and detected in one for presence.
    """
    accepted = plan.c if plan.upper is None else 0
    chances = (acceptance_two_class(n=plan.n, c=accepted, proportion=share) for share in SHARES_SHOWN)
    at5, at10, at20 = (chance_text(chance) for chance in chances)
    if plan.upper is not None:
        return say("sampling_chances_three", at5=at5, at10=at10, at20=at20)
    if plan.m is not None:
        return say("sampling_chances_two", at5=at5, at10=at10, at20=at20)
    return say("sampling_chances_presence", at5=at5, at10=at10, at20=at20)
