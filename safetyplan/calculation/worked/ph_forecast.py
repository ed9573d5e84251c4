"""The pH forecast: when a vat came to its target, whether it is slow, and a hint of what comes."""

import re
from decimal import Decimal

from safetyplan.calculation.acidification import (
    Hint,
    NoHint,
    NotReached,
    Pace,
    PaceFinding,
    PhLog,
    PhReading,
    Reached,
    forecast_crossing,
    hours_text,
    pace_at,
    ph_at,
    ph_text,
    readings_around,
    require_hours,
    require_ph,
    rise_sentence,
    slope_text,
    time_to_target,
)
from safetyplan.calculation.acidification_tables import (
    FAMILIES,
    MAKE_RECORDS,
    MakeRecord,
    PublishedTarget,
    published_targets,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Log, Task, Worked

NO_FAMILY = "no_comparison"
_HOUR = Decimal(3600)
_BARE_HOURS = re.compile(r"([0-9]+(?:[.,][0-9]+)?) h")
_SOURCES = (
    "Straight line between two readings: definition of linear interpolation",
    "Rule of the hint: common practice, no source",
)

ASKS = (
    Ask(
        "ph_log",
        entry="log",
        quantity="ph",
        units=("pH",),
        columns=("ph",),
        clock="h",
        help=say("acidification_help_log"),
    ),
    Ask(
        "starter_to_first_reading",
        quantity="duration",
        units=("h", "min"),
        required=False,
        help=say("acidification_help_first"),
    ),
    Ask("target_ph", quantity="ph", units=("pH",)),
    Ask("target_hours", quantity="duration", units=("h", "min")),
    Ask("cheese_family", entry="choice", options=(NO_FAMILY, *FAMILIES), required=False),
)


def work(answers: Answers) -> Worked:
    """The working of one vat against one target of the recipe. Raises Refusal."""
    target, wanted = _target(answers)
    log = _log(answers)
    crossing = time_to_target(log, target_ph=target)
    pace = pace_at(log, target_ph=target, hours=wanted)
    family = str(answers.given.get("cheese_family", NO_FAMILY))
    compared, compared_sources = _compared(family, target)
    if isinstance(crossing, Reached):
        result, steps, more = _reached(crossing)
    else:
        result, steps, more = _not_reached(crossing, log, wanted)
    at_hour, hour_steps = _at_the_hour(log, wanted)
    return Worked(
        result=result,
        more=(pace.sentence, *more, *at_hour, *_rise(pace, target), *compared),
        steps=(_read(log), *steps, *hour_steps, _pace_step(pace, target, wanted)),
        validity=(say("acidification_validity_line"), say("acidification_validity_range")),
        cautions=(
            say("acidification_hint_passes_nothing"),
            say("acidification_measure"),
            say("acidification_slow_vat"),
            say("acidification_qualified_person"),
        ),
        sources=(*_SOURCES, *compared_sources),
        chart=Chart(
            x="hours_since_starter",
            y="ph",
            trace="measured_ph",
            points=tuple((reading.hours, reading.ph) for reading in log.readings),
            target="target_ph",
            target_steps=((wanted, target),),
        ),
    )


def _target(answers: Answers) -> tuple[Decimal, Decimal]:
    target = answers.number("target_ph").value
    require_ph(target, field="target_ph")
    wanted = answers.number("target_hours").in_unit("h")
    require_hours(wanted, field="target_hours")
    if not wanted:
        raise Refusal(say("acidification_no_hours"), "target_hours")
    return target, wanted


def _log(answers: Answers) -> PhLog:
    typed = answers.log("ph_log")
    start = _start(typed, answers)
    pairs = [
        (start + line.seconds / _HOUR, line.values[0])
        for line in typed.lines
        if line.values and line.values[0] is not None
    ]
    return PhLog.of(((hours, ph) for hours, ph in pairs if ph is not None), field="ph_log")


def _start(typed: Log, answers: Answers) -> Decimal:
    """Hours from the starter to the first line: as given, else as written in a log of plain hours, else 0."""
    given = answers.optional("starter_to_first_reading")
    bare = _BARE_HOURS.fullmatch(typed.lines[0].time_text) if typed.lines else None
    written = Decimal(bare.group(1).replace(",", ".")) if bare else Decimal(0)
    if given is None:
        return written
    hours = given.in_unit("h")
    require_hours(hours, field="starter_to_first_reading")
    if written and written != hours:
        first, other = hours_text(written), hours_text(hours)
        raise Refusal(say("acidification_two_starts", first=first, other=other), "starter_to_first_reading")
    return hours


def _read(log: PhLog) -> Sentence:
    return say(
        "acidification_step_log",
        count=str(len(log.readings)),
        first=hours_text(log.first.hours),
        last=hours_text(log.last.hours),
    )


Part = tuple[Sentence, tuple[Sentence, ...], tuple[Sentence, ...]]


def _reached(found: Reached) -> Part:
    """The result, its steps and what else there is to say, when the target was reached."""
    target, after = ph_text(found.target_ph), found.after
    first = say(
        "acidification_step_first", value=ph_text(after.ph), measured=hours_text(after.hours), target=target
    )
    if found.before is None:
        result = say("acidification_from_start", target=target, measured=hours_text(after.hours))
        return result, (first,), ()
    if found.measured:
        result = say("acidification_measured", target=target, hours=hours_text(found.hours))
        return result, (first,), ()
    before = found.before
    words = {
        "t0": hours_text(before.hours),
        "t1": hours_text(after.hours),
        "p0": ph_text(before.ph),
        "p1": ph_text(after.ph),
    }
    hours = amount(decimal_text(found.hours, 2), "h")
    line = say(
        "acidification_step_line",
        t0=words["t0"],
        span=hours_text(after.hours - before.hours),
        over=trim(before.ph - found.target_ph),
        fall=trim(before.ph - after.ph),
        p0=words["p0"],
        p1=words["p1"],
        target=target,
        hours=hours_text(found.hours),
    )
    result = say(
        "acidification_reached",
        target=target,
        hours=hours,
        t0=words["t0"],
        t1=words["t1"],
        p0=words["p0"],
        p1=words["p1"],
    )
    return result, (first, line), (say("acidification_interpolated"),)


def _not_reached(found: NotReached, log: PhLog, wanted: Decimal) -> Part:
    """The result, its steps and the hint (or why there is none), when the target was not reached."""
    target = ph_text(found.target_ph)
    lowest = say(
        "acidification_step_lowest",
        value=ph_text(found.lowest.ph),
        measured=hours_text(found.lowest.hours),
        target=target,
    )
    result = say(
        "acidification_not_reached",
        target=target,
        lowest=ph_text(found.lowest.ph),
        measured=hours_text(found.lowest.hours),
    )
    rule = say("acidification_step_rule")
    hint = forecast_crossing(log, target_ph=found.target_ph)
    if isinstance(hint, NoHint):
        return result, (lowest, rule), (hint.sentence,)
    late = (say("acidification_hint_late", hours=hours_text(wanted)),) if hint.latest_hours > wanted else ()
    steps = (lowest, rule, *_slopes(hint), _ahead(hint, found.target_ph))
    return result, steps, (hint.sentence, *late)


def _slopes(hint: Hint) -> tuple[Sentence, ...]:
    pairs = zip(hint.run[-3:], hint.run[-2:], (hint.slope_before, hint.slope_latest), strict=False)
    return tuple(_slope(before, after, slope) for before, after, slope in pairs)


def _slope(before: PhReading, after: PhReading, slope: Decimal) -> Sentence:
    return say(
        "acidification_step_slope",
        p0=ph_text(before.ph),
        p1=ph_text(after.ph),
        fall=trim(before.ph - after.ph),
        span=hours_text(after.hours - before.hours),
        slope=slope_text(slope),
    )


def _ahead(hint: Hint, target: Decimal) -> Sentence:
    last = hint.run[-1]
    return say(
        "acidification_step_ahead",
        last=hours_text(last.hours),
        still=trim(last.ph - target),
        fast=slope_text(max(hint.slope_before, hint.slope_latest)),
        slow=slope_text(min(hint.slope_before, hint.slope_latest)),
        earliest=hours_text(hint.earliest_hours),
        latest=hours_text(hint.latest_hours),
    )


def _at_the_hour(log: PhLog, wanted: Decimal) -> tuple[tuple[Sentence, ...], tuple[Sentence, ...]]:
    """The interpolated pH at the hour of the recipe, where it lies between two readings, with its step."""
    if not log.first.hours <= wanted <= log.last.hours:
        return (), ()
    before, after = readings_around(log, wanted)
    if before == after:
        return (), ()
    ph = amount(decimal_text(ph_at(log, hours=wanted), 2), "pH")
    step = say(
        "acidification_step_at",
        p0=ph_text(before.ph),
        change=trim(after.ph - before.ph),
        into=hours_text(wanted - before.hours),
        span=hours_text(after.hours - before.hours),
        ph=ph,
    )
    return (say("acidification_at_hour", hours=hours_text(wanted), ph=ph),), (step,)


def _pace_step(pace: PaceFinding, target: Decimal, wanted: Decimal) -> Sentence:
    hours, wanted_ph = hours_text(wanted), ph_text(target)
    if pace.reading is None:
        return say("acidification_step_pace_none", target=wanted_ph, hours=hours)
    value, measured = ph_text(pace.reading.ph), hours_text(pace.reading.hours)
    return say("acidification_step_pace", target=wanted_ph, hours=hours, value=value, measured=measured)


def _rise(pace: PaceFinding, target: Decimal) -> tuple[Sentence, ...]:
    """The later rise, unless the finding itself says it."""
    if pace.rise is None:
        return ()
    found = rise_sentence(pace.rise, target)
    return () if pace.pace is Pace.NOT_SHOWN and found == pace.sentence else (found,)


def _compared(family: str, target: Decimal) -> tuple[tuple[Sentence, ...], tuple[str, ...]]:
    """What is published for a family, to compare with; nothing of it enters the working."""
    targets = published_targets(family)
    records = [(name, record) for name, record in MAKE_RECORDS.items() if record.family == family]
    said = [*map(_published, targets), *(_record(name, record, target) for name, record in records)]
    sources = dict.fromkeys([*(one.source for one in targets), *(record.source for _, record in records)])
    return tuple(said), tuple(sources)


def _published(target: PublishedTarget) -> Sentence:
    high, family, event = amount(trim(target.high), target.unit), target.family, target.event
    source = target.source
    if target.unit == "cfu_per_ml":
        return say("acidification_published_below", food=family, event=event, high=high, source=source)
    if target.low is None:
        if target.hours is None:
            return say("acidification_published_most", food=family, event=event, high=high, source=source)
        hours = _span_text(target.hours)
        return say(
            "acidification_published_most_at", food=family, event=event, high=high, hours=hours, source=source
        )
    low = amount(trim(target.low), target.unit)
    value = high if low == high else f"{low} – {high}"
    if target.hours is None:
        return say("acidification_published", food=family, event=event, value=value, source=source)
    hours = _span_text(target.hours)
    return say(
        "acidification_published_at", food=family, event=event, value=value, hours=hours, source=source
    )


def _span_text(hours: tuple[Decimal, Decimal]) -> str:
    first, last = hours
    return hours_text(first) if first == last else f"{trim(first)} – {hours_text(last)}"


def _record(name: str, record: MakeRecord, target: Decimal) -> Sentence:
    log = PhLog.of((minutes / 60, ph) for minutes, ph in record.readings)
    found = time_to_target(log, target_ph=target)
    if isinstance(found, NotReached):
        lowest = ph_text(found.lowest.ph)
        return say("acidification_record_not", food=name, lowest=lowest, source=record.source)
    hours = amount(decimal_text(found.hours, 2), "h")
    return say("acidification_record", food=name, target=ph_text(target), hours=hours, source=record.source)


CALCULATOR = Calculator("ph_forecast", (Task("target_time", ASKS, work),))
