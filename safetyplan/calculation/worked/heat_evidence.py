"""Supporting evidence about a heat treatment: what a log kills by the model, and a phosphatase test."""

from decimal import Decimal

from safetyplan.calculation import rounding
from safetyplan.calculation.heat import judge_phosphatase, thermisation_credit
from safetyplan.calculation.heat_requirement import duration_text
from safetyplan.calculation.heat_tables import (
    ORGANISMS,
    PASTEURISATION_EFFECT_SOURCE,
    PHOSPHATASE,
    PILOT_PLANT_LOG10,
    PILOT_PLANT_SECONDS,
    PILOT_PLANT_SOURCE,
)
from safetyplan.calculation.lethality import MOST_LOG10, Kill, kill_of, pasteurisation_effect_of
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, from_float, significant_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series
from safetyplan.calculation.worked.heat_log import (
    ask_error,
    ask_log,
    ask_pause,
    error_text,
    minutes,
    pause_of,
    put_right,
    reading_text,
    series_of,
    times_of,
)
from safetyplan.calculation.worked.shape import Answers, Ask, Chart, Log, Number, Task, Worked

OFFERED = tuple(name for name, one in ORGANISMS.items() if one.in_milk and one.z_c is not None)
USUAL_PAUSE, LONGEST_PAUSE = Decimal(60), Decimal(600)
MOST_SHARES = 12
_METHOD = "general method: F = integral of 10^((T - Tref) / z) dt, log10 reduction = F / D"


def _kill(answers: Answers) -> Worked:
    log, organism, error = (
        answers.log("heat_log"),
        answers.choice("heat_organism"),
        answers.optional("probe_error"),
    )
    pause = pause_of(answers, "heat_pause", otherwise=USUAL_PAUSE, most=LONGEST_PAUSE)
    series = series_of(log, 0, pause)
    if not len(series):
        raise Refusal(say("series_empty"), "heat_log")
    right = put_right(series, error, "probe_error")
    kill = kill_of(organism, right)
    return Worked(
        kill.sentence,
        (*_probe_steps(organism, series, right, error), *_rate_steps(kill, right), *_sum_steps(kill, log)),
        _sources(kill),
        _validity(kill, pause),
        (
            kill.time.standing,
            thermisation_credit()[1],
            say("heat_caution_regulator"),
            say("heat_caution_coldest"),
        ),
        more=_more(kill, right),
        chart=_chart(right),
    )


def _seconds(value: Decimal) -> str:
    return amount(significant_text(value, 4), "s")


def _degrees(value: Decimal) -> str:
    return amount(trim(value), "degC")


def _probe_steps(organism: str, series: Series, right: Series, error: Number | None) -> list[Sentence]:
    """The error of the probe and what it changes in F."""
    if error is None:
        return [say("heat_step_no_probe")]
    unit = series.unit
    reading, true = reading_text(series.values[0], unit), reading_text(right.values[0], unit)
    text = error_text(error, unit)
    steps = [say("heat_step_probe", part="product", error=text, reading=reading, true=true)]
    try:
        before = kill_of(organism, series).time.seconds
    except Refusal:
        return steps
    after = kill_of(organism, right).time.seconds
    if after:
        factor = significant_text(from_float(float(before) / float(after)), 4)
        steps.append(
            say("heat_step_probe_time", before=_seconds(before), after=_seconds(after), factor=factor)
        )
    return steps


def _rate_steps(kill: Kill, series: Series) -> list[Sentence]:
    """The formula with the figures of the study, and the rate of the hottest reading that counts."""
    reference, z_value = _degrees(kill.time.reference_c), _degrees(kill.time.z_c)
    hottest = max((max(share.rate_before, share.rate_after) for share in kill.shares), default=0.0)
    steps = [say("heat_step_rate", reference=reference, z=z_value)]
    if hottest:
        rate, reading = (
            significant_text(from_float(hottest), 4),
            reading_text(max(series.values), series.unit),
        )
        steps.append(say("heat_step_hottest", reading=reading, rate=rate))
    return steps


def _sum_steps(kill: Kill, log: Log) -> list[Sentence]:
    times, steps = times_of(log), []
    for share in kill.shares[:MOST_SHARES]:
        steps.append(
            say(
                "heat_step_share",
                start=times[share.start_ms],
                end=times[share.end_ms],
                before=significant_text(from_float(share.rate_before), 4),
                after=significant_text(from_float(share.rate_after), 4),
                length=amount(trim(Decimal(share.end_ms - share.start_ms) / 1000), "s"),
                added=_seconds(from_float(share.seconds)),
            )
        )
    rest = kill.shares[MOST_SHARES:]
    if rest:
        added = from_float(sum(share.seconds for share in rest))
        steps.append(say("heat_step_more_shares", count=str(len(rest)), added=_seconds(added)))
    time, organism = kill.time, kill.organism
    total, straight = _seconds(time.seconds), _seconds(time.straight_seconds)
    reference = _degrees(time.reference_c)
    steps.append(say("heat_step_sum", total=total, reference=reference))
    steps.append(say("heat_step_straight", straight=straight))
    d_value = _seconds(kill.d_seconds)
    line, above = _seconds(organism.d_s), trim(organism.above_line)
    steps.append(say("heat_step_d", line=line, above=above, d_value=d_value, reference=reference))
    if kill.log10_reduction > MOST_LOG10:
        steps.append(say("heat_step_beyond", straight=straight, d_value=d_value))
    else:
        reduction = significant_text(kill.log10_reduction, 4)
        steps.append(say("heat_step_reduction", straight=straight, d_value=d_value, log10=reduction))
    return steps


def _more(kill: Kill, series: Series) -> tuple[Sentence, ...]:
    time, organism = kill.time, kill.organism
    found = [
        say("heat_equivalent", time=_seconds(time.straight_seconds), reference=_degrees(time.reference_c))
    ]
    if organism.pilot_c is not None:
        at, hold = _degrees(organism.pilot_c), duration_text(PILOT_PLANT_SECONDS)
        found.append(
            say(
                "heat_pilot", organism=organism.name, temperature=at, hold=hold, log10=trim(PILOT_PLANT_LOG10)
            )
        )
    effect = significant_text(pasteurisation_effect_of(series), 3)
    found.append(say("heat_effect", effect=effect))
    return tuple(found)


def _validity(kill: Kill, pause: Decimal) -> tuple[Sentence, ...]:
    organism = kill.organism
    low, high = _degrees(organism.low_c), _degrees(organism.high_c)
    found = [
        say("heat_valid_study", organism=organism.name, low=low, high=high),
        say("heat_valid_log_linear"),
        say("heat_valid_kill_pause", pause=duration_text(pause), count=str(kill.time.gaps)),
    ]
    if kill.colder or kill.hotter:
        found.append(say("heat_valid_outside", colder=str(kill.colder), hotter=str(kill.hotter), high=high))
    return tuple(found)


def _sources(kill: Kill) -> tuple[str, ...]:
    pilot = (PILOT_PLANT_SOURCE,) if kill.organism.pilot_c is not None else ()
    return (kill.organism.source, _METHOD, *pilot, PASTEURISATION_EFFECT_SOURCE)


def _chart(series: Series) -> Chart:
    points = zip(map(minutes, series.times), series.decimals(), strict=True)
    y_axis = "heat_celsius" if series.unit == "degC" else "heat_fahrenheit"
    return Chart(x="heat_minutes", y=y_axis, trace="product", points=tuple(points))


def _phosphatase(answers: Answers) -> Worked:
    milk, value = answers.choice("phosphatase_milk"), answers.number("phosphatase").value
    found = judge_phosphatase(milk, milliunits_per_l=value)
    limit = f"{trim(found.limit_milliunits_per_l)} mU/L"
    standing = (
        say("heat_phosphatase_law", limit=limit)
        if found.law
        else say("heat_phosphatase_opinion", limit=limit)
    )
    step = say("heat_step_phosphatase", value=f"{rounding.trim(value)} mU/L", limit=limit)
    cautions = (found.proves, say("heat_caution_regulator"))
    return Worked(
        found.sentence, (step,), (found.source,), (standing, say("heat_valid_phosphatase")), cautions
    )


TASKS = (
    Task(
        "heat_kill",
        (
            Ask("heat_organism", "choice", options=OFFERED),
            ask_log("product"),
            ask_pause("heat_pause", say("heat_ask_kill_pause")),
            ask_error("probe_error"),
        ),
        _kill,
    ),
    Task(
        "phosphatase_test",
        (
            Ask("phosphatase_milk", "choice", options=tuple(PHOSPHATASE)),
            Ask("phosphatase", "number", "ratio", ("ratio",)),
        ),
        _phosphatase,
    ),
)
