"""Ageing time: the days that count under a rule, the weight lost, and the warmth of the room over time."""

from datetime import date
from decimal import Decimal

from safetyplan.calculation.ageing import (
    RULES,
    CountedDays,
    days_at_or_above,
    days_of,
    earliest_date,
    require_days,
    require_room,
    weight_loss,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, shown_against, significant_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.units import convert
from safetyplan.calculation.worked.ageing_room import (
    LISTED,
    LONGEST_GAP,
    ROOM_LOG,
    Room,
    days_text,
    points_of,
    read_room,
)
from safetyplan.calculation.worked.ageing_warmth import WARMTH
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Number, Task, Worked

_COUNTING = "Days of 24 hours between readings: definition; a day below the rule does not count (cautious)"


def work_days(answers: Answers) -> Worked:
    """The days that count under a rule of days and temperature. Raises Refusal."""
    rule_days, limit = _rule(answers)
    room = read_room(answers, from_make=True)
    found = days_at_or_above(room.series, limit=limit.value, unit=limit.unit)
    not_shown = room.before + room.length - found.counted - found.below
    counted = amount(shown_against(found.counted, rule_days, "duration", "d"), "d")
    least = amount(trim(rule_days), "d")
    if found.counted >= rule_days:
        result = say("ageing_days_reached", counted=counted, limit=limit.text, least=least)
    else:
        short = days_text(rule_days - found.counted)
        result = say("ageing_days_short", counted=counted, limit=limit.text, least=least, short=short)
    more = (
        say("ageing_days_below", below=days_text(found.below)),
        say("ageing_days_not_shown", hidden=days_text(not_shown)),
        *_calendar(room.made_on, rule_days),
    )
    return Worked(
        result=result,
        more=more,
        steps=_day_steps(room, found, not_shown, limit),
        validity=(say("ageing_validity_span"), say("ageing_validity_room")),
        cautions=(say("ageing_alone"), say("ageing_legal_minimum"), say("ageing_qualified_person")),
        sources=(_COUNTING, *_rule_sources(rule_days, limit)),
        chart=_day_chart(room, found, limit),
    )


def _rule(answers: Answers) -> tuple[Decimal, Number]:
    days, limit = answers.number("rule_days").in_unit("d"), answers.number("rule_temperature")
    require_days(days, field="rule_days")
    if days < 1 or days != days.to_integral_value():
        raise Refusal(say("ageing_whole_days", days=amount(trim(days), "d")), "rule_days")
    require_room([limit.value], limit.unit, field="rule_temperature")
    return days, limit


def _rule_sources(days: Decimal, limit: Number) -> tuple[str, ...]:
    typed = (days, limit.value, limit.unit)
    return tuple(rule.source for rule in RULES.values() if typed == (rule.days, rule.temperature, rule.unit))


def _calendar(made_on: date | None, days: Decimal) -> tuple[Sentence, ...]:
    if made_on is None:
        return ()
    try:
        earliest = earliest_date(made_on, days=int(days))
    except Refusal:
        return ()  # the calendar ends before it; the days counted stand without the date
    return (
        say("ageing_by_calendar", made=made_on.isoformat(), earliest=earliest.isoformat(), days=trim(days)),
    )


def _day_steps(room: Room, found: CountedDays, not_shown: Decimal, limit: Number) -> tuple[Sentence, ...]:
    listed = [
        say(
            "ageing_step_stretch",
            first=days_text(room.day(start)),
            last=days_text(room.day(end)),
            limit=limit.text,
            days=days_text(days_of(end - start)),
        )
        for start, end in found.stretches[:LISTED]
    ]
    rest = found.stretches[LISTED:]
    if rest:
        days = days_text(days_of(sum(end - start for start, end in rest)))
        listed.append(say("ageing_step_other_stretches", count=str(len(rest)), days=days))
    whole = days_text(room.before + room.length)
    return (
        say("ageing_step_log", count=str(len(room.series)), whole=whole, before=days_text(room.before)),
        *listed,
        say("ageing_step_counted", counted=days_text(found.counted)),
        say("ageing_step_below", below=days_text(found.below), limit=limit.text),
        say(
            "ageing_step_hidden",
            whole=whole,
            counted=days_text(found.counted),
            below=days_text(found.below),
            hidden=days_text(not_shown),
        ),
    )


def _day_chart(room: Room, found: CountedDays, limit: Number) -> Chart:
    level = convert(limit.value, limit.unit, room.series.unit)
    edges = [
        Decimal(0),
        *(room.day(ms) for pair in found.stretches for ms in pair),
        room.before + room.length,
    ]
    bands = tuple((edges[n], edges[n + 1]) for n in range(0, len(edges), 2) if edges[n] < edges[n + 1])
    return Chart(
        x="days_since_make",
        y="room_temperature",
        trace="room_temperature",
        points=points_of(room),
        limit="rule_temperature",
        limit_steps=((Decimal(0), level),),
        band="days_that_do_not_count",
        bands=bands,
    )


def work_weight(answers: Answers) -> Worked:
    """The weight lost in per cent of the start. Raises Refusal."""
    start, now = answers.number("start_weight"), answers.number("weight_now")
    start_kg, now_kg = start.in_unit("kg"), now.in_unit("kg")
    found = weight_loss(start_kg=start_kg, now_kg=now_kg)
    percent = amount(decimal_text(abs(found.loss_percent), 2), "percent")
    if found.gained:
        result = say("ageing_weight_gain", start=start.text, now=now.text, percent=percent)
    else:
        result = say("ageing_weight_loss", start=start.text, now=now.text, percent=percent)
    step = say(
        "ageing_step_weight",
        start=amount(_weight(start_kg), "kg"),
        now=amount(_weight(now_kg), "kg"),
        percent=amount(decimal_text(found.loss_percent, 2), "percent"),
    )
    return Worked(
        result=result,
        steps=(step,),
        validity=(say("ageing_validity_weight"),),
        cautions=(
            say("ageing_same_scale"),
            say("ageing_weight_says_nothing"),
            say("ageing_qualified_person"),
        ),
        sources=("Weight loss in % of the start: definition",),
    )


def _weight(kg: Decimal) -> str:
    exponent = kg.as_tuple().exponent
    return trim(kg) if isinstance(exponent, int) and exponent >= -4 else significant_text(kg, 6)


CALCULATOR = Calculator(
    "ageing_time",
    (
        Task(
            "days_at_temperature",
            (
                ROOM_LOG,
                Ask(
                    "make_to_first_reading",
                    quantity="duration",
                    units=("d", "h"),
                    required=False,
                    help=say("ageing_help_first"),
                ),
                Ask("rule_days", quantity="duration", units=("d",), default="60"),
                Ask("rule_temperature", quantity="temperature", units=("degF", "degC"), default="35"),
                LONGEST_GAP,
            ),
            work_days,
        ),
        Task(
            "weight_lost",
            (
                Ask("start_weight", quantity="mass", units=("kg", "g", "lb")),
                Ask("weight_now", quantity="mass", units=("kg", "g", "lb")),
            ),
            work_weight,
        ),
        WARMTH,
    ),
)
