"""Rates of growth by temperature, pH and water activity, and what could have grown over a log.

Rates are either natural (ln, 1/h) or decimal (log10); the name of each function says which. A model is zero
at and below its lowest and at and above its highest temperature. Lag is ignored, which errs towards the
eater. Acid, starter and competition are not in these numbers. Computed in floats, given with 12 significant
digits. A number from here never supports the release of a product by itself.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from math import exp, log

from safetyplan.calculation.growth_limits import FOOD, HIGHEST_C, LOWEST_C
from safetyplan.calculation.growth_tables import (
    LAG,
    LAG_HIGHEST_C,
    LAG_LOWEST_C,
    LAG_SOURCE,
    LISTERIA_AW_SOURCE,
    LISTERIA_LOWEST_AW,
    LISTERIA_PH,
    Cardinal,
    CardinalPh,
    SquareRoot,
)
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import from_float
from safetyplan.calculation.sentences import say
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import convert

LN10 = log(10)
FIVE = Decimal(5)
_ZERO, _ONE = Decimal(0), Decimal(1)
# no organism is known outside; keeps every quotient below finite
SLOWEST, FASTEST = Decimal("0.000001"), Decimal(1000)
_RATES = "rates of growth that were ever measured; common practice, no source"
GAMMA = "gamma concept, Zwietering 1996 (from memory)"
RATKOWSKY = "full square-root model, Ratkowsky 1983 (from memory)"
APPENDIX_8 = "FDA/FSIS 2003, L. monocytogenes risk assessment, appendix 8"


def _temperature(temperature_c: Decimal, source: str = FOOD) -> None:
    require_within(
        temperature_c,
        LOWEST_C,
        HIGHEST_C,
        quantity="temperature",
        unit="degC",
        source=source,
        field="temperature",
    )


def _rate(value: Decimal, low: Decimal = SLOWEST, source: str = _RATES) -> None:
    require_within(
        value, low, FASTEST, quantity="growth_rate", unit="ratio", source=source, field="temperature"
    )


def _rising(*values: Decimal) -> None:
    """Refuse figures of a model that do not rise, or are no numbers."""
    if not all(value.is_finite() for value in values) or any(a >= b for a, b in pairwise(values)):
        raise Refusal(say("growth_model_order"), "temperature")


def log10_rate_square_root(model: SquareRoot, *, temperature_c: Decimal) -> Decimal:
    """Decimal rate in log10 per hour by the square-root model: (b x (T - Tmin))², 0 at and below Tmin.

    Where the rate at 5 °C is known instead: rate5 / 24 x ((T - Tmin) / (5 - Tmin))². Validity: up to the
    model's highest temperature, below the optimum; raises Refusal above. Source: model.source.
    """
    _rising(LOWEST_C, model.lowest_c, model.up_to_c, HIGHEST_C)
    require_within(
        temperature_c,
        LOWEST_C,
        model.up_to_c,
        quantity="temperature",
        unit="degC",
        source=model.source,
        field="temperature",
    )
    if temperature_c <= model.lowest_c:
        return _ZERO
    above = float(temperature_c - model.lowest_c)
    if model.slope is not None:
        _rate(model.slope, _ZERO, model.source)
        return from_float((float(model.slope) * above) ** 2)
    if model.rate_at_5 is None:
        raise Refusal(say("growth_no_rate"), "temperature")
    _rate(model.rate_at_5, _ZERO, model.source)
    _rising(model.lowest_c, FIVE)
    return from_float(float(model.rate_at_5) / 24 * (above / float(FIVE - model.lowest_c)) ** 2)


def log10_rate_at_5_per_day(*, log10_per_day: Decimal, temperature_c: Decimal, lowest_c: Decimal) -> Decimal:
    """A rate measured at one temperature brought to 5 °C, in log10 per day: rate x ((5 - Tmin)/(T - Tmin))².

    0 when Tmin is 5 °C or more. Validity: rate 0 to 1000, T above Tmin by a tenth of a degree at least, both
    from -50 to 150 °C. Raises Refusal. Source: APPENDIX_8.
    """
    _rate(log10_per_day, _ZERO, APPENDIX_8)
    _temperature(temperature_c, APPENDIX_8)
    _temperature(lowest_c, APPENDIX_8)
    if temperature_c - lowest_c < Decimal("0.1"):
        raise Refusal(say("growth_no_rate"), "temperature")
    share = max(0.0, float(FIVE - lowest_c)) / float(temperature_c - lowest_c)
    return from_float(float(log10_per_day) * share**2)


def ln_rate_ratkowsky(
    *, slope: Decimal, shape: Decimal, lowest_c: Decimal, highest_c: Decimal, temperature_c: Decimal
) -> Decimal:
    """Natural rate in 1/h over the whole range: (b (T - Tmin) (1 - exp(c (T - Tmax))))², 0 outside.

    Validity: Tmin below Tmax, b and c above 0 and at most 1000, -50 to 150 °C. Raises Refusal. Source:
    RATKOWSKY.
    """
    _rising(LOWEST_C, lowest_c, highest_c, HIGHEST_C)
    _rate(slope, source=RATKOWSKY)
    _rate(shape, source=RATKOWSKY)
    _temperature(temperature_c, RATKOWSKY)
    if not lowest_c < temperature_c < highest_c:
        return _ZERO
    fall = 1 - exp(float(shape) * float(temperature_c - highest_c))
    return from_float((float(slope) * float(temperature_c - lowest_c) * fall) ** 2)


def ln_rate_cardinal(model: Cardinal, *, temperature_c: Decimal) -> Decimal:
    """Natural rate in 1/h by the cardinal temperature model with inflection, 0 outside Tmin to Tmax.

    mu_opt (T - Tmax)(T - Tmin)² / ((Topt - Tmin)((Topt - Tmin)(T - Topt) - (Topt - Tmax)(Topt + Tmin - 2T))).
    Validity: -50 to 150 °C; Tmin < Topt < Tmax with Topt in the upper half, where the form has no pole.
    Raises Refusal. Source: Rosso 1993 (form from memory); figures: model.source.
    """
    _temperature(temperature_c, model.source)
    _rising(LOWEST_C, model.lowest_c, model.optimum_c, model.highest_c, HIGHEST_C)
    if 2 * model.optimum_c < model.lowest_c + model.highest_c:
        raise Refusal(say("growth_model_order"), "temperature")
    _rate(model.optimum_rate, _ZERO, model.source)
    if not model.lowest_c < temperature_c < model.highest_c:
        return _ZERO
    t, low, top, high = (
        float(value) for value in (temperature_c, model.lowest_c, model.optimum_c, model.highest_c)
    )
    over = (t - high) * (t - low) ** 2
    under = (top - low) * ((top - low) * (t - top) - (top - high) * (top + low - 2 * t))
    return from_float(float(model.optimum_rate) * (over / under if under else 0.0))


def gamma_temperature(*, temperature_c: Decimal, lowest_c: Decimal, optimum_c: Decimal) -> Decimal:
    """Share of the optimum rate at a temperature: ((T - Tmin)/(Topt - Tmin))², 0 below, 1 from Topt on.

    Validity: Tmin below Topt, -50 to 150 °C. Raises Refusal. Source: GAMMA.
    """
    _rising(LOWEST_C, lowest_c, optimum_c, HIGHEST_C)
    _temperature(temperature_c, GAMMA)
    if temperature_c <= lowest_c:
        return _ZERO
    if temperature_c >= optimum_c:
        return _ONE
    return from_float((float(temperature_c - lowest_c) / float(optimum_c - lowest_c)) ** 2)


def gamma_ph(ph: Decimal, model: CardinalPh = LISTERIA_PH) -> Decimal:
    """Share of the optimum rate that a pH leaves, 0 outside the cardinal values.

    (pH - min)(pH - max) / ((pH - min)(pH - max) - (pH - opt)²). Validity: pH 0 to 14, rising cardinal values.
    Raises Refusal. Source: cardinal pH model, Rosso 1995 (from memory); figures: model.source.
    """
    require_within(ph, _ZERO, Decimal(14), quantity="ph", unit="pH", source=model.source, field="highest_ph")
    _rising(Decimal(-1), model.lowest, model.optimum, model.highest, Decimal(15))
    if not model.lowest < ph < model.highest:
        return _ZERO
    product = float((ph - model.lowest) * (ph - model.highest))
    return from_float(product / (product - float(ph - model.optimum) ** 2) if product else 0.0)


def gamma_aw(aw: Decimal, *, lowest_aw: Decimal = LISTERIA_LOWEST_AW) -> Decimal:
    """Share of the optimum rate that a water activity leaves: (aw - min)/(1 - min), 0 below.

    Validity: aw 0 to 1, lowest 0 to 0.999. Raises Refusal. Source: LISTERIA_AW_SOURCE.
    """
    for value, most in ((aw, _ONE), (lowest_aw, Decimal("0.999"))):
        require_within(
            value,
            _ZERO,
            most,
            quantity="water_activity",
            unit="aw",
            source=LISTERIA_AW_SOURCE,
            field="highest_aw",
        )
    if aw <= lowest_aw:
        return _ZERO
    return from_float(float(aw - lowest_aw) / float(1 - lowest_aw))


def ln_rate_gamma(*, optimum_rate: Decimal, shares: Iterable[Decimal]) -> Decimal:
    """Natural rate in 1/h by the gamma concept: optimum rate x the share that each condition leaves.

    That conditions do not strengthen each other errs towards the eater. Validity: rate 0 to 1000, shares 0
    to 1. Raises Refusal. Source: GAMMA.
    """
    _rate(optimum_rate, _ZERO, GAMMA)
    found = optimum_rate
    for share in shares:
        require_within(share, _ZERO, _ONE, quantity="growth_share", unit="ratio", source=GAMMA)
        found *= share
    return from_float(float(found))


def log10_rate_from_ln(ln_rate: Decimal) -> Decimal:
    """Decimal rate (log10 per hour) of a natural one (1/h): divided by ln 10. Validity: 0 to 1000."""
    _rate(ln_rate, _ZERO)
    return from_float(float(ln_rate) / LN10)


def doubling_hours(log10_per_hour: Decimal) -> Decimal:
    """Hours in which a number doubles: log10 2 / rate. Validity: 0.000001 to 1000. Raises Refusal."""
    _rate(log10_per_hour)
    return from_float(log(2) / LN10 / float(log10_per_hour))


def log10_per_day_from_doubling(hours: Decimal) -> Decimal:
    """Decimal rate per day of a generation time in hours: 24 x log10 2 / h.

    Validity: 0.01 to 87 600 h. Raises Refusal. Source: arithmetic.
    """
    require_within(
        hours,
        Decimal("0.01"),
        Decimal(87_600),
        quantity="generation_time",
        unit="h",
        source=_RATES,
        field="temperature",
    )
    return from_float(24 * log(2) / LN10 / float(hours))


def lag_hours(*, temperature_c: Decimal) -> Decimal:
    """Lag of S. aureus in milk in hours: exp(-(1.973 - 87.92/T + 285.09/T²)), T in °C.

    Only to see how much is ignored: no result here takes it off. Validity: 7.7 to 38.5 °C. Raises Refusal.
    Source: LAG_SOURCE.
    """
    require_within(
        temperature_c,
        LAG_LOWEST_C,
        LAG_HIGHEST_C,
        quantity="temperature",
        unit="degC",
        source=LAG_SOURCE,
        field="temperature",
    )
    a, b, c = (float(term) for term in LAG)
    t = float(temperature_c)
    return from_float(exp(-(a + b / t + c / t**2)))


Rate = Callable[[Decimal], Decimal]


def increase_over_steps(steps: Iterable[tuple[Decimal, Decimal]], rate: Rate) -> Decimal:
    """Log10 increase over (hours, °C) steps: the sum of hours x rate, lag ignored.

    Validity: hours 0 to 87 600 each. Raises Refusal. Source: definition of the integral.
    """
    total = _ZERO
    for hours, temperature_c in steps:
        if not hours.is_finite() or not 0 <= hours <= 87_600:
            raise Refusal(say("growth_negative_time"), "temperature_log")
        total += hours * rate(temperature_c)
    return total


@dataclass(frozen=True)
class GrowthStep:
    """All the time of a log that counts at one temperature, the rate there, and what could grow in it."""

    temperature_c: Decimal
    milliseconds: int
    log10_per_hour: Decimal

    @property
    def log10_increase(self) -> Decimal:
        """Hours x rate."""
        return self.milliseconds * self.log10_per_hour / 3_600_000


def growth_steps(series: Series, rate: Rate, *, fastest_c: Decimal | None = None) -> tuple[GrowthStep, ...]:
    """The spans of a log of temperatures by the temperature at which each counts, from the warmest.

    rate: log10 per hour at a temperature in °C. fastest_c: where it is fastest; left out for a rate that only
    rises. Each span counts at the warmer of its ends, or where between its ends the rate is fastest, so that
    growth is never made too small (a trapezoid of the rates trusts that the temperature went straight from
    one reading to the next). A gap counts nothing, and must be said. Source: upper sum of the integral.
    """
    middle = None if fastest_c is None else series.highest_at_most(fastest_c, "degC")
    spent: dict[int | None, int] = {}
    for ms, before, after in series.spans():
        at = _fastest_between(before, after, middle)
        spent[at] = spent.get(at, 0) + ms
    found = []
    for at, ms in spent.items():
        if at is None:
            assert fastest_c is not None
            celsius = fastest_c
        else:
            celsius = convert(Decimal(at).scaleb(-3), series.unit, "degC")
        found.append(GrowthStep(celsius, ms, rate(celsius)))
    return tuple(sorted(found, key=lambda step: step.temperature_c, reverse=True))


def _fastest_between(before: int, after: int, middle: int | None) -> int | None:
    """The end at which the rate is faster; None when it is fastest in between."""
    low, high = (before, after) if before <= after else (after, before)
    if middle is None or high <= middle:
        return high
    return low if low > middle else None


def potential_increase(series: Series, rate: Rate, *, fastest_c: Decimal | None = None) -> Decimal:
    """Log10 increase that could have happened over a log, lag ignored: the sum of `growth_steps`."""
    steps = growth_steps(series, rate, fastest_c=fastest_c)
    return sum((step.log10_increase for step in steps), _ZERO)
