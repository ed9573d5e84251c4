"""Ageing: the days that count under a rule, the warmth of a room over time, and the weight lost.

Ageing alone never controls Listeria or STEC, and 60 days is a legal minimum. Days are counted from an
irregular log with gaps that nothing fills: what nobody measured is not shown. Every rule is compared in the
unit of its source: 35 °F is not 1.7 °C.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal, localcontext
from math import exp, log
from math import pow as pow_float

from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, from_float, shown_against, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series, Stretch
from safetyplan.calculation.unit_tables import QUANTITIES, Range
from safetyplan.calculation.units import UnitError, convert, convert_difference

DAY_MS = 86_400_000
# What a ripening room or cold store can be; the two are equal exactly. Common practice, no source.
ROOM: Mapping[str, Range] = {
    "degC": (Decimal(-30), Decimal(60)),
    "degF": (Decimal(-22), Decimal(140)),
}
ROOM_SOURCE = "ripening rooms and cold stores; common practice, no source"
MOST_DAYS = QUANTITIES["duration"].physical["d"][1]
DAYS_SOURCE = "ten years; common practice, no source"
# Heat of activation over gas constant, 83.144 kJ/mol over 8.3144 J/(mol K). Source: USP <1079>, from memory.
DEFAULT_ACTIVATION = Decimal(10_000)
ACTIVATION_RANGE: Range = (Decimal(1_000), Decimal(30_000))
ACTIVATION_SOURCE = "8 to 250 kJ/mol, where the mean kinetic temperature is never below the mean"
Q10_RANGE: Range = (Decimal(1), Decimal(6))
Q10_SOURCE = "an assumption of the user: no single value is published for the ripening of cheese"
_KELVIN = 273.15
_WORKING_DIGITS = 60


@dataclass(frozen=True)
class AgeingRule:
    """A legal minimum of ageing: at least `days` at or above `temperature`, in the unit of its source."""

    name: str
    days: Decimal
    temperature: Decimal
    unit: str
    source: str


RULES: Mapping[str, AgeingRule] = {
    rule.name: rule
    for rule in (
        AgeingRule(
            "sixty_days_us",
            Decimal(60),
            Decimal(35),
            "degF",
            "21 CFR 133.144 and 7 CFR 58.439, unpasteurised milk: not less than 35 °F for at least 60 days",
        ),
        AgeingRule(
            "sixty_days_quebec",
            Decimal(60),
            Decimal(2),
            "degC",
            "excerpt of a Quebec regulation, address not known: 60 days at 2 °C or above",
        ),
    )
}


@dataclass(frozen=True)
class CountedDays:
    """The days of a log split three ways, in days of 24 hours, 28 digits.

    counted: both ends of the span at or above the limit. below: an end below it. not_shown: gaps, and
    everything when the instrument was not valid. stretches: those counted, (from, to) in milliseconds.
    """

    counted: Decimal
    below: Decimal
    not_shown: Decimal
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True)
class RuleCheck:
    """Days and lowest temperature against a rule. Met is the legal minimum and no more."""

    days_met: bool
    temperature_met: bool
    sentence: Sentence

    @property
    def met(self) -> bool:
        """Whether both the days and the temperature keep the rule."""
        return self.days_met and self.temperature_met


@dataclass(frozen=True)
class EquivalentDays:
    """Days at the reference temperature that would do the same by an assumed Q10; the assumption is said."""

    days: Decimal
    assumption: Sentence


@dataclass(frozen=True)
class WeightChange:
    """The weight lost in % of the start; below zero is a gain, which asks to check the scale."""

    loss_percent: Decimal

    @property
    def gained(self) -> bool:
        """Whether the cheese weighs more than at the start."""
        return self.loss_percent < 0


def days_of(ms: int) -> Decimal:
    """Milliseconds as days of 24 hours, 28 digits."""
    return Decimal(ms) / DAY_MS


def require_room(temperatures: Iterable[Decimal], unit: str, *, field: str = "") -> None:
    """Refuse a temperature that no ripening room or cold store has: outside -30 to 60 °C (-22 to 140 °F).

    Raises UnitError for a unit that is no temperature.
    """
    if unit not in ROOM:
        raise UnitError(say("unit_unknown", unit=unit), field)
    low, high = ROOM[unit]
    for value in temperatures:
        require_within(
            value, low, high, quantity="room_temperature", unit=unit, source=ROOM_SOURCE, field=field
        )


def require_days(days: Decimal, *, field: str = "") -> None:
    """Refuse days outside 0 to 3650, and what is no number."""
    require_within(
        days, Decimal(0), MOST_DAYS, quantity="ageing_days", unit="d", source=DAYS_SOURCE, field=field
    )


def _require_series(series: Series) -> None:
    """Refuse a log that shows nothing: of another quantity, not valid, or with no reading."""
    if not series.valid:
        raise Refusal(say("ageing_not_valid"))
    if not series.times:
        raise Refusal(say("series_empty"))
    ends = (min(series.values), max(series.values))  # when both lie in the range, all do
    require_room([Decimal(value).scaleb(-3) for value in ends], series.unit)


def days_at_or_above(series: Series, *, limit: Decimal, unit: str) -> CountedDays:
    """The days of a log at or above a limit, those below it, and those not shown.

    A span between two readings counts when both are at or above the limit (in its own `unit`, compared
    exactly); a pause longer than the series allows is a gap and counts neither way. Days of 24 hours.
    Validity: -30 to 60 °C. Raises Refusal outside and for an empty log. Source: definition; a day below the
    limit of the rule does not count (cautious reading of 21 CFR 133.144).
    """
    require_room([limit], unit)
    whole = series.times[-1] - series.times[0] if series.times else 0
    if series.times and not series.valid:
        return CountedDays(Decimal(0), Decimal(0), days_of(whole), ())
    _require_series(series)
    stretches = tuple(
        stretch for stretch in series.stretches_at_least(limit, unit) if stretch[1] > stretch[0]
    )
    counted = sum(end - start for start, end in stretches)
    gaps = sum(end - start for start, end in series.gaps())
    return CountedDays(days_of(counted), days_of(whole - counted - gaps), days_of(gaps), stretches)


def earliest_date(made_on: date, *, days: int) -> date:
    """The first calendar day on which a rule of so many days can be met: the day of make is day 0.

    2024-01-15 and 60 days is 2024-03-15. By the calendar alone: days that do not count make it later.
    Validity: 0 to 3650 days, years of the calendar of `datetime`. Raises Refusal outside. Source: calendar.
    """
    require_days(Decimal(days))
    try:
        return made_on + timedelta(days=days)
    except OverflowError:
        raise Refusal(say("ageing_no_such_date", made=made_on.isoformat(), days=str(days))) from None


def check_rule(rule: AgeingRule, *, days: Decimal, lowest_temperature: Decimal, unit: str) -> RuleCheck:
    """Compare days and the lowest temperature of those days with a rule, in the unit of the rule.

    days: of 24 hours. lowest_temperature in `unit`; only it is converted, never the rule (1.6 °C is 34.88 °F,
    below 35 °F). Exactly on either is met. Nothing is rounded. Validity: 0 to 3650 d, -30 to 60 °C. Raises
    Refusal outside. Source: that of the rule.
    """
    require_days(days)
    require_room([lowest_temperature], unit)
    in_unit = convert(lowest_temperature, unit, rule.unit)
    days_met, temperature_met = days >= rule.days, in_unit >= rule.temperature
    least, limit = amount(trim(rule.days), "d"), amount(trim(rule.temperature), rule.unit)
    if not temperature_met:
        lowest = amount(trim(lowest_temperature), unit)
        sentence = say("ageing_rule_too_cold", lowest=lowest, limit=limit)
    elif not days_met:
        counted = amount(shown_against(days, rule.days, "duration", "d"), "d")
        sentence = say("ageing_rule_too_short", days=counted, least=least)
    else:
        sentence = say("ageing_rule_met", least=least, limit=limit)
    return RuleCheck(days_met, temperature_met, sentence)


def degree_days(series: Series, *, base: Decimal, unit: str) -> Decimal:
    """Degree-days above a base, in degrees of `unit` times days of 24 hours.

    Formula: sum of (d1 + d2) / 2 x days over the spans without a gap, d = T - base; a span that crosses the
    base counts its triangle exactly, d**2 / (2 x (d - d')) x days with d above and d' below; below counts 0.
    28 digits, not rounded. Validity: -30 to 60 °C. Raises Refusal outside, for an empty log and for an
    instrument that was not valid. Source: integral of max(T - base, 0) with straight lines between readings.
    """
    require_room([base], unit)
    _require_series(series)
    with localcontext(prec=_WORKING_DIGITS):
        edge = convert(base, unit, series.unit) * 1000
        total = sum(
            (span_above(low - edge, high - edge) * ms for ms, low, high in series.spans()), Decimal(0)
        )
        found = total / 1000 / DAY_MS
    return convert_difference(+found, series.unit, unit)


def span_above(first: Decimal, second: Decimal) -> Decimal:
    """The mean over a span of max(d, 0), for d going in a straight line from first to second."""
    if first >= 0 and second >= 0:
        return (first + second) / 2
    upper, lower = max(first, second), min(first, second)
    return upper * upper / (2 * (upper - lower)) if upper > 0 else Decimal(0)


def _kelvin(value: Decimal, unit: str) -> float:
    return float(convert(value, unit, "degC")) + _KELVIN


def relative_rate(value: Decimal, *, first: Decimal, unit: str, activation: Decimal) -> float:
    """The rate at a temperature over that at another: exp(D / T_first - D / T), T in kelvin, D in kelvin."""
    return exp(float(activation) / _kelvin(first, unit) - float(activation) / _kelvin(value, unit))


def _kinetic(weighted: Sequence[tuple[Decimal, int]], activation: Decimal, unit: str) -> Decimal:
    """The mean kinetic temperature of (value, weight); by rates relative to the first, so none runs away."""
    rates: dict[Decimal, float] = {}
    first, constant = weighted[0][0], float(activation)
    for value, _ in weighted:
        if value not in rates:
            rates[value] = relative_rate(value, first=first, unit=unit, activation=activation)
    mean = sum(weight * rates[value] for value, weight in weighted) / sum(weight for _, weight in weighted)
    kelvin, shift = _kelvin(first, unit), log(mean)
    # D / (D / T - ln mean) - T, without the loss of digits: a steady room gives its own temperature
    above_first = from_float(kelvin * kelvin * shift / (constant - kelvin * shift))
    return first + convert_difference(above_first, "degC", unit)


def _require_activation(activation: Decimal) -> None:
    low, high = ACTIVATION_RANGE
    source, name = ACTIVATION_SOURCE, "activation"
    require_within(activation, low, high, quantity=name, unit="ratio", source=source, field=name)


def mean_kinetic_temperature(
    temperatures: Sequence[Decimal], *, unit: str, activation: Decimal = DEFAULT_ACTIVATION
) -> Decimal:
    """The mean kinetic temperature of readings at equal distances, in their unit; at or above their mean.

    Formula: MKT = D / (-ln(mean of exp(-D / T))), T in kelvin, D = heat of activation / gas constant in
    kelvin. Floats inside; 12 significant digits of the distance from the first reading. Validity: -30 to
    60 °C, D 1 000 to 30 000 K. Raises Refusal outside and for no reading. Source: USP <1079>, D = 10 000 K,
    from memory.
    """
    require_room(temperatures, unit)
    _require_activation(activation)
    if not temperatures:
        raise Refusal(say("series_empty"))
    return _kinetic([(value, 1) for value in temperatures], activation, unit)


def weighted_readings(series: Series) -> list[tuple[Decimal, int]]:
    """Each value with twice the milliseconds it stands for: half of every span without a gap beside it.

    A reading with a gap on both sides stands for nothing and is left out. Raises Refusal when nothing is
    left: a single reading lasts for no time.
    """
    _require_series(series)
    found: list[tuple[Decimal, int]] = []
    for part in series.parts():
        times = part.times
        last = len(times) - 1
        for n, value in enumerate(part.values):
            stands_for = times[min(n + 1, last)] - times[max(n - 1, 0)]
            if stands_for:
                found.append((Decimal(value).scaleb(-3), stands_for))
    if not found:
        raise Refusal(say("ageing_no_span"))
    return found


def mean_temperature(series: Series) -> Decimal:
    """The mean temperature over time, in the unit of the series: trapezoid over the spans without a gap.

    28 digits, not rounded. Validity: -30 to 60 °C. Raises Refusal outside and for a log without a span.
    Source: definition.
    """
    readings = weighted_readings(series)
    return sum((value * weight for value, weight in readings), Decimal(0)) / sum(w for _, w in readings)


def mean_kinetic_temperature_over_time(
    series: Series, *, activation: Decimal = DEFAULT_ACTIVATION
) -> Decimal:
    """The mean kinetic temperature of an irregular log, in its unit; at or above its mean over time.

    Formula: as `mean_kinetic_temperature`, each reading weighted by half the spans beside it (trapezoid of
    exp(-D / T)); gaps weigh nothing. Floats inside; 12 significant digits of the distance from the first
    reading. Validity: -30 to 60 °C, D 1 000 to 30 000 K. Raises Refusal outside and for a log without a span.
    Source: USP <1079>, D = 10 000 K, from memory; the weights by time are ours.
    """
    _require_activation(activation)
    return _kinetic(weighted_readings(series), activation, series.unit)


def q10_factor(temperature: Decimal, *, reference: Decimal, unit: str, q10: Decimal) -> float:
    """Q10 to the power of (T - reference) / 10 °C; a difference in °F is turned into °C first."""
    above = convert_difference(temperature - reference, unit, "degC")
    return pow_float(float(q10), float(above / 10))


def _require_q10(reference: Decimal, unit: str, q10: Decimal) -> None:
    require_room([reference], unit, field="reference_temperature")
    low, high = Q10_RANGE
    require_within(q10, low, high, quantity="q10", unit="ratio", source=Q10_SOURCE, field="q10")


def _assumption(q10: Decimal) -> Sentence:
    return say("ageing_q10_assumed", q10=trim(q10))


def q10_equivalent_days(
    *, days: Decimal, temperature: Decimal, reference: Decimal, unit: str, q10: Decimal
) -> EquivalentDays:
    """Days at a steady temperature as days at a reference one, by an assumed Q10.

    Formula: days x Q10**((T - reference) / 10), temperatures in `unit`, difference in °C. Floats inside, 12
    significant digits. Validity: 0 to 3650 d, -30 to 60 °C, Q10 1 to 6. Raises Refusal outside. Source:
    definition of Q10; its value is an assumption of the user, flagged in the result.
    """
    require_days(days)
    require_room([temperature], unit)
    _require_q10(reference, unit, q10)
    factor = q10_factor(temperature, reference=reference, unit=unit, q10=q10)
    return EquivalentDays(from_float(float(days) * factor), _assumption(q10))


def q10_equivalent_days_over_time(
    series: Series, *, reference: Decimal, unit: str, q10: Decimal
) -> EquivalentDays:
    """The days of an irregular log as days at a reference temperature, by an assumed Q10.

    Formula: sum of (f1 + f2) / 2 x days over the spans without a gap, f = Q10**((T - reference) / 10).
    Floats inside, 12 significant digits. Validity, errors and source as `q10_equivalent_days`.
    """
    _require_q10(reference, unit, q10)
    start = convert(reference, unit, series.unit)
    total = sum(
        weight * q10_factor(value, reference=start, unit=series.unit, q10=q10)
        for value, weight in weighted_readings(series)
    )
    return EquivalentDays(from_float(total / 2 / DAY_MS), _assumption(q10))


def weight_loss(*, start_kg: Decimal, now_kg: Decimal) -> WeightChange:
    """The weight lost since the start: 100 x (start - now) / start, in %, 28 digits, not rounded.

    Below zero is a gain: an answer that asks to check the scale. Validity: both above 0 to 50 000 kg. Raises
    Refusal outside. Source: definition.
    """
    for name, value in (("start_weight", start_kg), ("weight_now", now_kg)):
        most = QUANTITIES["mass"].physical["kg"][1]
        source = "a cheese or a batch on a scale; common practice, no source"
        least = Decimal("0.001")
        require_within(value, least, most, quantity=name, unit="kg", source=source, field=name)
    return WeightChange(100 * (start_kg - now_kg) / start_kg)
