"""Growth of pathogens during an excursion: limits of growth, rates by temperature, and what could have grown.

Rates are either natural (ln, 1/h) or decimal (log10); the name of each function says which. A model is zero
at and below its lowest and at and above its highest temperature. Lag is ignored, which errs towards the
eater. Acid, starter and competition are not in these numbers. Computed in floats, given with 12 significant
digits. A number from here never supports the release of a product by itself.
"""

from collections.abc import Callable, Iterable
from decimal import Decimal
from math import exp, log

from safetyplan.calculation.growth_tables import (
    LAG,
    LAG_HIGHEST_C,
    LAG_LOWEST_C,
    LAG_SOURCE,
    LIMITS,
    LISTERIA_LOWEST_AW,
    LISTERIA_PH,
    Cardinal,
    CardinalPh,
    GrowthLimits,
    SquareRoot,
)
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import from_float
from safetyplan.calculation.sentences import say
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import convert

LN10 = log(10)
LOWEST_C, HIGHEST_C = Decimal(-50), Decimal(150)
_FOOD = "temperatures that food meets; common practice, no source"
FIVE = Decimal(5)


def _temperature(temperature_c: Decimal) -> None:
    require_within(
        temperature_c,
        LOWEST_C,
        HIGHEST_C,
        quantity="temperature",
        unit="degC",
        source=_FOOD,
        field="temperature",
    )


def limits_of(organism: str) -> tuple[GrowthLimits, ...]:
    """Where an organism can grow, by every source. Raises Refusal for an organism nobody declared."""
    found = tuple(limits for limits in LIMITS if limits.organism == organism)
    if not found:
        raise Refusal(say("growth_unknown_organism", organism=organism), "organism")
    return found


def lowest_growth(organism: str) -> GrowthLimits:
    """The source with the lowest temperature of growth: the one that errs towards the eater."""
    return min(limits_of(organism), key=lambda limits: limits.lowest_c)


def may_grow(
    organism: str, *, temperature_c: Decimal, ph: Decimal | None = None, aw: Decimal | None = None
) -> bool:
    """Whether by any source an organism may grow; a condition that is not given excludes nothing.

    Exactly on a limit counts as growth. Validity: -50 to 150 °C, pH 0 to 14, water activity 0 to 1. Raises
    Refusal. Source: growth_tables.LIMITS. That no source has growth is no finding about a product.
    """
    _temperature(temperature_c)
    for value, high, quantity, unit in ((ph, 14, "ph", "pH"), (aw, 1, "water_activity", "aw")):
        if value is not None:
            require_within(
                value, Decimal(0), Decimal(high), quantity=quantity, unit=unit, source=_FOOD, field=quantity
            )
    return any(_allows(limits, temperature_c, ph, aw) for limits in limits_of(organism))


def _allows(limits: GrowthLimits, temperature_c: Decimal, ph: Decimal | None, aw: Decimal | None) -> bool:
    warm = temperature_c >= limits.lowest_c
    cool = limits.highest_c is None or temperature_c <= limits.highest_c
    mild = ph is None or limits.lowest_ph is None or ph >= limits.lowest_ph
    wet = aw is None or limits.lowest_aw is None or aw >= limits.lowest_aw
    return warm and cool and mild and wet


def log10_rate_square_root(model: SquareRoot, *, temperature_c: Decimal) -> Decimal:
    """Decimal rate in log10 per hour by the square-root model: (b x (T - Tmin))², 0 at and below Tmin.

    Where the rate at 5 °C is known instead: rate5 / 24 x ((T - Tmin) / (5 - Tmin))². Validity: up to the
    model's highest temperature, below the optimum; raises Refusal above. Source: model.source.
    """
    require_within(
        temperature_c,
        LOWEST_C,
        model.up_to_c,
        quantity="temperature",
        unit="degC",
        source=model.source,
        field="temperature",
    )
    above = float(temperature_c - model.lowest_c)
    if above <= 0:
        return Decimal(0)
    if model.rate_at_5 is not None:
        return from_float(float(model.rate_at_5) / 24 * (above / float(FIVE - model.lowest_c)) ** 2)
    assert model.slope is not None
    return from_float((float(model.slope) * above) ** 2)


def log10_rate_at_5_per_day(*, log10_per_day: Decimal, temperature_c: Decimal, lowest_c: Decimal) -> Decimal:
    """A rate measured at one temperature brought to 5 °C, in log10 per day: rate x ((5 - Tmin)/(T - Tmin))².

    Validity: above Tmin, rate not negative. Raises Refusal. Source: FDA/FSIS 2003, appendix 8.
    """
    if not log10_per_day.is_finite() or log10_per_day < 0 or temperature_c <= lowest_c:
        raise Refusal(say("growth_no_rate"), "temperature")
    share = float(FIVE - lowest_c) / float(temperature_c - lowest_c)
    return from_float(float(log10_per_day) * share**2)


def ln_rate_ratkowsky(
    *, slope: Decimal, shape: Decimal, lowest_c: Decimal, highest_c: Decimal, temperature_c: Decimal
) -> Decimal:
    """Natural rate in 1/h over the whole range: (b (T - Tmin) (1 - exp(c (T - Tmax))))², 0 outside.

    Validity: Tmin below Tmax, b and c positive. Raises Refusal. Source: Ratkowsky 1983 (from memory).
    """
    if not lowest_c < highest_c or slope <= 0 or shape <= 0:
        raise Refusal(say("growth_model_order"), "temperature")
    _temperature(temperature_c)
    if not lowest_c < temperature_c < highest_c:
        return Decimal(0)
    fall = 1 - exp(float(shape) * float(temperature_c - highest_c))
    return from_float((float(slope) * float(temperature_c - lowest_c) * fall) ** 2)


def ln_rate_cardinal(model: Cardinal, *, temperature_c: Decimal) -> Decimal:
    """Natural rate in 1/h by the cardinal temperature model with inflection, 0 outside Tmin to Tmax.

    mu_opt (T - Tmax)(T - Tmin)² / ((Topt - Tmin)((Topt - Tmin)(T - Topt) - (Topt - Tmax)(Topt + Tmin - 2T))).
    Validity: -50 to 150 °C. Raises Refusal. Source: Rosso 1993 (form from memory); figures: model.source.
    """
    _temperature(temperature_c)
    if not model.lowest_c < temperature_c < model.highest_c:
        return Decimal(0)
    t, low, top, high = (
        float(value) for value in (temperature_c, model.lowest_c, model.optimum_c, model.highest_c)
    )
    over = (t - high) * (t - low) ** 2
    under = (top - low) * ((top - low) * (t - top) - (top - high) * (top + low - 2 * t))
    return from_float(float(model.optimum_rate) * over / under)


def gamma_temperature(*, temperature_c: Decimal, lowest_c: Decimal, optimum_c: Decimal) -> Decimal:
    """Share of the optimum rate at a temperature: ((T - Tmin)/(Topt - Tmin))², 0 below, 1 from Topt on.

    Validity: Tmin below Topt. Raises Refusal. Source: gamma concept, Zwietering 1996 (from memory).
    """
    if not lowest_c < optimum_c:
        raise Refusal(say("growth_model_order"), "temperature")
    _temperature(temperature_c)
    if temperature_c <= lowest_c:
        return Decimal(0)
    return from_float(min(1.0, float(temperature_c - lowest_c) / float(optimum_c - lowest_c)) ** 2)


def gamma_ph(ph: Decimal, model: CardinalPh = LISTERIA_PH) -> Decimal:
    """Share of the optimum rate that a pH leaves, 0 outside the cardinal values.

    (pH - min)(pH - max) / ((pH - min)(pH - max) - (pH - opt)²). Validity: pH 0 to 14. Raises Refusal. Source:
    cardinal pH model, Rosso 1995 (from memory); figures: model.source.
    """
    require_within(
        ph, Decimal(0), Decimal(14), quantity="ph", unit="pH", source=model.source, field="highest_ph"
    )
    if not model.lowest < ph < model.highest:
        return Decimal(0)
    product = float((ph - model.lowest) * (ph - model.highest))
    return from_float(product / (product - float(ph - model.optimum) ** 2))


def gamma_aw(aw: Decimal, *, lowest_aw: Decimal = LISTERIA_LOWEST_AW) -> Decimal:
    """Share of the optimum rate that a water activity leaves: (aw - min)/(1 - min), 0 below.

    Validity: 0 to 1. Raises Refusal. Source: gamma concept (from memory).
    """
    require_within(
        aw,
        Decimal(0),
        Decimal(1),
        quantity="water_activity",
        unit="aw",
        source="gamma concept (from memory)",
        field="highest_aw",
    )
    if aw <= lowest_aw:
        return Decimal(0)
    return from_float(float(aw - lowest_aw) / float(1 - lowest_aw))


def log10_rate_from_ln(ln_rate: Decimal) -> Decimal:
    """Decimal rate (log10 per hour) of a natural one (1/h): divided by ln 10."""
    return from_float(float(ln_rate) / LN10)


def doubling_hours(log10_per_hour: Decimal) -> Decimal:
    """Hours in which a number doubles: log10 2 / rate. Validity: rate above 0. Raises Refusal."""
    if not log10_per_hour.is_finite() or log10_per_hour <= 0:
        raise Refusal(say("growth_no_rate"), "temperature")
    return from_float(log(2) / LN10 / float(log10_per_hour))


def log10_per_day_from_doubling(hours: Decimal) -> Decimal:
    """Decimal rate per day of a generation time in hours: 24 x log10 2 / h. Raises Refusal unless above 0."""
    if not hours.is_finite() or hours <= 0:
        raise Refusal(say("growth_no_rate"), "temperature")
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
    """Log10 increase over (hours, °C) steps: the sum of hours x rate, lag ignored. Hours not negative."""
    total = Decimal(0)
    for hours, temperature_c in steps:
        if not hours.is_finite() or hours < 0:
            raise Refusal(say("growth_negative_time"), "temperature_log")
        total += hours * rate(temperature_c)
    return total


def potential_increase(series: Series, rate: Rate) -> Decimal:
    """Log10 increase that could have happened over a log of temperatures: hours x rate of the warmer end.

    rate: log10 per hour at a temperature in °C, rising over the temperatures of the log. The warmer end of
    each span decides and lag is ignored, so that the number is not too small; the growth in a gap is not
    counted, and must be said. Source: definition of the integral, upper sum.
    """
    known: dict[int, Decimal] = {}
    total = Decimal(0)
    for ms, before, after in series.spans():
        warm = max(before, after)
        if warm not in known:
            known[warm] = rate(convert(Decimal(warm).scaleb(-3), series.unit, "degC"))
        total += ms * known[warm]
    return total / 3_600_000
