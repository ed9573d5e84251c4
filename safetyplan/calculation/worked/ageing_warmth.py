"""The warmth of a ripening room over time: mean kinetic temperature, degree-days, days by a Q10."""

from decimal import Decimal
from itertools import pairwise

from safetyplan.calculation.ageing import (
    DEFAULT_ACTIVATION,
    days_of,
    degree_days,
    mean_kinetic_temperature_over_time,
    mean_temperature,
    q10_equivalent_days_over_time,
    q10_factor,
    relative_rate,
    require_room,
    span_above,
    weighted_readings,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, from_float, significant_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.units import convert
from safetyplan.calculation.worked.ageing_room import (
    LISTED,
    LONGEST_GAP,
    ROOM_LOG,
    Room,
    days_text,
    degrees_text,
    points_of,
    read_room,
    reading_text,
)
from safetyplan.calculation.worked.shape import Answers, Ask, Chart, Number, Task, Worked

_KINETIC = "Mean kinetic temperature: USP <1079>, heat of activation over gas constant 10 000 K, from memory"
_TRAPEZOID = "Degree-days: integral of max(T - base, 0), trapezoid"
_Q10 = "Q10: definition; its value is an assumption of the user, no single value is published"


def work_warmth(answers: Answers) -> Worked:
    """Mean kinetic temperature of a room; with a base its degree-days, with a Q10 equivalent days.

    Raises Refusal.
    """
    typed = answers.optional("activation")
    activation = typed.value if typed is not None else DEFAULT_ACTIVATION
    room = read_room(answers, from_make=False)
    series, unit = room.series, room.series.unit
    if not any(series.spans()):
        raise Refusal(say("ageing_no_span"), "room_log")
    kinetic = mean_kinetic_temperature_over_time(series, activation=activation)
    mean = mean_temperature(series)
    looked = days_of(sum(ms for ms, _, _ in series.spans()))
    base = _above_base(room, answers.optional("base_temperature"))
    q10 = _by_q10(room, answers)
    return Worked(
        result=say(
            "ageing_kinetic",
            kinetic=degrees_text(kinetic, unit),
            mean=degrees_text(mean, unit),
            days=days_text(looked),
        ),
        more=(*base[0], *q10[0]),
        steps=(*_kinetic_steps(room, activation, kinetic), *base[1], *q10[1]),
        validity=(say("ageing_validity_kinetic"), say("ageing_validity_room")),
        cautions=(say("ageing_warmth_only"), say("ageing_alone"), say("ageing_qualified_person")),
        sources=(_KINETIC, *((_TRAPEZOID,) if base[0] else ()), *((_Q10,) if q10[0] else ())),
        chart=Chart(
            x="days_since_first_reading",
            y="room_temperature",
            trace="room_temperature",
            points=points_of(room),
            target="mean_kinetic_temperature",
            target_steps=((Decimal(0), kinetic),),
        ),
    )


Said = tuple[tuple[Sentence, ...], tuple[Sentence, ...]]


def _kinetic_steps(room: Room, activation: Decimal, kinetic: Decimal) -> tuple[Sentence, ...]:
    unit, readings = room.series.unit, weighted_readings(room.series)
    first = readings[0][0]
    start, constant = reading_text(first, unit), trim(activation)
    rates = [relative_rate(value, first=first, unit=unit, activation=activation) for value, _ in readings]
    listed = [
        say(
            "ageing_step_rate",
            temperature=reading_text(value, unit),
            days=days_text(days_of(weight) / 2),
            rate=significant_text(from_float(rate), 6),
        )
        for (value, weight), rate in list(zip(readings, rates, strict=True))[:LISTED]
    ]
    mean = sum(weight * rate for (_, weight), rate in zip(readings, rates, strict=True))
    mean_rate = significant_text(from_float(mean / sum(weight for _, weight in readings)), 6)
    other = len(readings) - len(listed)
    return (
        say("ageing_step_kinetic_formula", activation=constant, first=start),
        *listed,
        *((say("ageing_step_other_readings", count=str(other)),) if other else ()),
        say("ageing_step_kinetic_mean", rate=mean_rate),
        say(
            "ageing_step_kinetic",
            activation=constant,
            rate=mean_rate,
            first=amount(decimal_text(_kelvin(first, unit), 2), "ratio"),
            kinetic=degrees_text(kinetic, unit),
            kelvin=amount(decimal_text(_kelvin(kinetic, unit), 2), "ratio"),
        ),
    )


def _kelvin(value: Decimal, unit: str) -> Decimal:
    return convert(value, unit, "degC") + Decimal("273.15")


def _above_base(room: Room, base: Number | None) -> Said:
    """Degree-days above a base, where one was given, with the first spans written out."""
    if base is None:
        return (), ()
    require_room([base.value], base.unit, field="base_temperature")
    total = degree_days(room.series, base=base.value, unit=base.unit)
    unit = room.series.unit
    pairs = list(pairwise(zip(room.series.times, room.series.decimals(), strict=True)))
    spans = [(b - a, low, high) for (a, low), (b, high) in pairs if b - a <= room.series.longest_gap_ms]
    listed = [
        say(
            "ageing_step_span",
            days=days_text(days_of(ms)),
            low=reading_text(low, unit),
            high=reading_text(high, unit),
            base=base.text,
            mean=decimal_text(
                span_above(
                    convert(low, unit, base.unit) - base.value, convert(high, unit, base.unit) - base.value
                ),
                3,
            ),
        )
        for ms, low, high in spans[:LISTED]
    ]
    other = len(spans) - len(listed)
    amount_text = degrees_text(total, base.unit)
    steps = (
        say("ageing_step_base_formula", base=base.text),
        *listed,
        *((say("ageing_step_other_spans", count=str(other)),) if other else ()),
        say("ageing_step_degree_days", total=amount_text),
    )
    return (say("ageing_degree_days", total=amount_text, base=base.text),), steps


def _by_q10(room: Room, answers: Answers) -> Said:
    """Days at a reference temperature by a Q10, where both were given; one without the other is refused."""
    q10, reference = answers.optional("q10"), answers.optional("reference_temperature")
    if q10 is None and reference is None:
        return (), ()
    if q10 is None or reference is None:
        missing = "q10" if q10 is None else "reference_temperature"
        raise Refusal(say("calculator_needs", part=missing), missing)
    unit = reference.unit
    found = q10_equivalent_days_over_time(room.series, reference=reference.value, unit=unit, q10=q10.value)
    readings = weighted_readings(room.series)
    listed = [
        say(
            "ageing_step_q10_reading",
            temperature=reading_text(value, room.series.unit),
            days=days_text(days_of(weight) / 2),
            factor=significant_text(_factor(value, room.series.unit, reference, q10.value), 6),
        )
        for value, weight in readings[:LISTED]
    ]
    other = len(readings) - len(listed)
    steps = (
        say("ageing_step_q10_formula", q10=trim(q10.value), reference=reference.text),
        *listed,
        *((say("ageing_step_other_readings", count=str(other)),) if other else ()),
        say("ageing_step_q10_sum", days=days_text(found.days)),
    )
    return (say("ageing_q10", days=days_text(found.days), reference=reference.text), found.assumption), steps


def _factor(value: Decimal, unit: str, reference: Number, q10: Decimal) -> Decimal:
    start = convert(reference.value, reference.unit, unit)
    return from_float(q10_factor(value, reference=start, unit=unit, q10=q10))


WARMTH = Task(
    "room_warmth",
    (
        ROOM_LOG,
        LONGEST_GAP,
        Ask("base_temperature", quantity="temperature", units=("degC", "degF"), required=False),
        Ask("q10", quantity="ratio", units=("ratio",), required=False, help=say("ageing_help_q10")),
        Ask("reference_temperature", quantity="temperature", units=("degC", "degF"), required=False),
        Ask("activation", quantity="ratio", units=("ratio",), required=False, default="10000"),
    ),
    work_warmth,
)
