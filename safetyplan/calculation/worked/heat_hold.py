"""The calculator of heat treatment: a log of the vat judged by the table of a rule, and what else it says.

The verdict comes from the table alone. A correction of the probe may take a hold away and never grants one.
"""

from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation import rounding
from safetyplan.calculation.heat import (
    FEWEST_PAUSES,
    HoldResult,
    HoldState,
    judge_hold,
    thermisation_credit,
)
from safetyplan.calculation.heat_requirement import Product, Requirement, duration_text, required_temperature
from safetyplan.calculation.heat_tables import PRACTICE_AIR_SPACE_ABOVE, RULES
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series
from safetyplan.calculation.units import convert
from safetyplan.calculation.worked import heat_evidence
from safetyplan.calculation.worked.heat_log import (
    DURATIONS,
    ask_error,
    ask_log,
    ask_pause,
    degrees_text,
    error_text,
    minutes,
    pause_of,
    put_right,
    reading_text,
    series_of,
    span_text,
    times_of,
    unit_of_hold,
)
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Log, Task, Worked

PAUSES_IN_A_HOLD = 30
MOST_STRETCHES = 12
KINDS = ("kind_plain", "kind_sweetened", "kind_concentrated", "kind_particles")

_RULE_ASKS = (
    Ask("heat_rule", "choice", options=tuple(RULES), help=say("heat_ask_rule")),
    Ask("hold_asked", "number", "duration", DURATIONS, default="30", help=say("heat_ask_hold")),
    Ask("vat_fat", "number", "percent", ("percent",), help=say("heat_ask_fat")),
    Ask("vat_solids", "number", "percent", ("percent",), required=False, help=say("heat_ask_solids")),
    Ask("vat_kind", "choice", options=KINDS),
)


@dataclass(frozen=True)
class _Case:
    """Everything one hold is judged from: the rule, the log as read and with its probes put right."""

    answers: Answers
    requirement: Requirement
    log: Log
    pause: Decimal
    product: Series
    air: Series | None
    right_product: Series
    right_air: Series | None

    @property
    def has_correction(self) -> bool:
        """Whether an error of either probe was given."""
        return any(self.answers.optional(name) is not None for name in ("probe_error", "air_probe_error"))


def _requirement(answers: Answers) -> Requirement:
    solids = answers.optional("vat_solids")
    kind = answers.choice("vat_kind")
    product = Product(
        answers.number("vat_fat").value,
        solids.value if solids else None,
        kind == "kind_sweetened",
        kind == "kind_concentrated",
        kind == "kind_particles",
    )
    hold_seconds = answers.number("hold_asked").in_unit("s")
    return required_temperature(answers.choice("heat_rule"), hold_seconds=hold_seconds, product=product)


def _case(answers: Answers, *, with_air: bool) -> _Case:
    requirement, log = _requirement(answers), answers.log("heat_log")
    hold = requirement.hold_seconds
    pause = pause_of(answers, "heat_pause", otherwise=hold / PAUSES_IN_A_HOLD, most=hold / FEWEST_PAUSES)
    product = series_of(log, 0, pause)
    if not len(product):
        raise Refusal(say("series_empty"), "heat_log")
    air = None
    if with_air:
        air_pause = pause_of(answers, "air_pause", otherwise=pause, most=hold)
        air = series_of(log, 1, air_pause)
    right_product = put_right(product, answers.optional("probe_error"), "probe_error")
    right_air = put_right(air, answers.optional("air_probe_error"), "air_probe_error") if air else None
    return _Case(answers, requirement, log, pause, product, air, right_product, right_air)


def _hold(answers: Answers, *, with_air: bool) -> Worked:
    case = _case(answers, with_air=with_air)
    as_read = judge_hold(case.requirement, product=case.product, air_space=case.air)
    right = judge_hold(case.requirement, product=case.right_product, air_space=case.right_air)
    found = min((right, as_read), key=lambda one: (one.state is HoldState.SHOWN, one.held_seconds))
    return Worked(
        _result(case, found),
        _steps(case, found, as_read, right),
        tuple(dict.fromkeys(case.requirement.sources)),
        _validity(case),
        _cautions(case, found),
        more=(*case.requirement.notes, *_granted(found, right), *_air_by_practice(case)),
        chart=_chart(case, found, case.right_product if found is right else case.product),
    )


def _degrees(value: Decimal, unit: str) -> str:
    return rounding.amount(degrees_text(value), unit)


def _result(case: _Case, found: HoldResult) -> Sentence:
    requirement = case.requirement
    hold_seconds, unit = found.hold_seconds, unit_of_hold(found.hold_seconds)
    held, hold = span_text(found.held_seconds, hold_seconds, unit), duration_text(hold_seconds)
    limit = _degrees(requirement.temperature, requirement.unit)
    air = _degrees(requirement.air_space, requirement.unit) if requirement.air_space is not None else ""
    together = bool(air and case.air is not None and len(case.air))
    if found.state is HoldState.AIR_SPACE_MISSING:
        return say("heat_hold_air_missing", held=held, limit=limit, hold=hold, air=air)
    if found.state is HoldState.GAP and not found.gaps:
        return say("heat_hold_air_not_covered", held=held, hold=hold, air=air)
    if found.state is HoldState.GAP:
        return say("heat_hold_gap", held=held, hold=hold, count=str(len(found.gaps)))
    if found.state is HoldState.TOO_SHORT:
        by = span_text(found.short_by_seconds, Decimal(0), unit)
        if together:
            return say("heat_hold_short_air", held=held, limit=limit, hold=hold, by=by, air=air)
        return say("heat_hold_short", held=held, limit=limit, hold=hold, by=by)
    if together:
        return say("heat_hold_enough_air", held=held, limit=limit, hold=hold, air=air)
    return say("heat_hold_enough", held=held, limit=limit, hold=hold)


def _steps(case: _Case, found: HoldResult, as_read: HoldResult, right: HoldResult) -> tuple[Sentence, ...]:
    return (
        *_rule_steps(case),
        *_probe_steps(case, as_read, right),
        *_stretch_steps(case, found),
        *_comparison(found),
    )


def _rule_steps(case: _Case) -> list[Sentence]:
    """The row, the raise, the air space, and the least reading that passes in the unit of the log."""
    asked = case.requirement
    unit, hold = asked.unit, duration_text(asked.hold_seconds)
    table, limit = _degrees(asked.table_temperature, unit), _degrees(asked.temperature, unit)
    steps = [say("heat_step_row", rule=asked.rule, temperature=table, hold=hold)]
    if asked.because:
        steps += [say("heat_step_rich", option=trigger) for trigger in asked.because]
        steps.append(say("heat_step_raise", table=table, by=_degrees(asked.raised_by, unit), limit=limit))
    else:
        steps.append(say("heat_step_no_raise", limit=limit))
    edge = case.product.lowest_at_least(asked.temperature, unit)
    passes = reading_text(edge, case.log.unit)
    steps.append(say("heat_step_edge", part="product", limit=limit, passes=passes))
    if asked.air_space is None:
        steps.append(say("heat_step_no_air", rule=asked.rule, hold=hold))
        return steps
    air, above = _degrees(asked.air_space, unit), _degrees(asked.air_space - asked.temperature, unit)
    steps.append(say("heat_step_air", limit=limit, above=above, air=air))
    passes = reading_text(case.product.lowest_at_least(asked.air_space, unit), case.log.unit)
    steps.append(say("heat_step_edge", part="air_space", limit=air, passes=passes))
    return steps


def _probe_steps(case: _Case, as_read: HoldResult, right: HoldResult) -> list[Sentence]:
    """What the errors of the probes change, reading and hold."""
    steps = []
    for name, part, before, after in (
        ("probe_error", "product", case.product, case.right_product),
        ("air_probe_error", "air_space", case.air, case.right_air),
    ):
        error = case.answers.optional(name)
        if error is not None and before is not None and after is not None and len(before):
            unit = case.log.unit
            reading, true = (reading_text(series.values[0], unit) for series in (before, after))
            text = error_text(error, unit)
            steps.append(say("heat_step_probe", part=part, error=text, reading=reading, true=true))
    if not case.has_correction:
        return [*steps, say("heat_step_no_probe")]
    unit = unit_of_hold(as_read.hold_seconds)
    spans = [span_text(one.held_seconds, one.hold_seconds, unit) for one in (as_read, right)]
    return [*steps, say("heat_step_probe_hold", as_read=spans[0], right=spans[1])]


def _stretch_steps(case: _Case, found: HoldResult) -> list[Sentence]:
    times, unit = times_of(case.log), unit_of_hold(found.hold_seconds)
    pause = duration_text(case.pause)
    steps = [say("heat_step_pauses", pause=pause, count=str(len(found.gaps)))]
    for start, end in found.gaps[:MOST_STRETCHES]:
        length = span_text(Decimal(end - start) / 1000, Decimal(0), unit)
        steps.append(say("heat_step_gap", start=times[start], end=times[end], length=length))
    for start, end in found.stretches[:MOST_STRETCHES]:
        length = span_text(Decimal(end - start) / 1000, found.hold_seconds, unit)
        steps.append(say("heat_step_stretch", start=times[start], end=times[end], length=length))
    if not found.stretches:
        steps.append(say("heat_step_no_stretch"))
    rest = len(found.stretches) - MOST_STRETCHES
    if rest > 0:
        steps.append(say("heat_step_more_stretches", count=str(rest)))
    return steps


def _comparison(found: HoldResult) -> list[Sentence]:
    unit, hold = unit_of_hold(found.hold_seconds), duration_text(found.hold_seconds)
    held = span_text(found.held_seconds, found.hold_seconds, unit)
    if not found.short_by_seconds:
        return [say("heat_step_long_enough", held=held, hold=hold)]
    by = span_text(found.short_by_seconds, Decimal(0), unit)
    return [say("heat_step_lacks", held=held, hold=hold, by=by)]


def _granted(found: HoldResult, right: HoldResult) -> tuple[Sentence, ...]:
    """Says so where only the correction would have shown the hold."""
    if found.state is not HoldState.SHOWN and right.state is HoldState.SHOWN:
        return (say("heat_correction_grants_nothing"),)
    return ()


def _air_by_practice(case: _Case) -> tuple[Sentence, ...]:
    """Where the rule has no figure for the air space: what it was against the figure of other rules."""
    asked = case.requirement
    air = case.right_air
    if asked.air_space is not None or air is None or not len(air):
        return ()
    above = PRACTICE_AIR_SPACE_ABOVE[asked.unit]
    level = asked.temperature + above
    lowest = min(air.values)
    figures = {"level": _degrees(level, asked.unit), "lowest": reading_text(lowest, case.log.unit)}
    warm = lowest >= air.lowest_at_least(level, asked.unit)
    if warm:
        return (say("heat_air_practice_warm", level=figures["level"], lowest=figures["lowest"]),)
    return (say("heat_air_practice_cold", level=figures["level"], lowest=figures["lowest"]),)


def _validity(case: _Case) -> tuple[Sentence, ...]:
    pause, hold = duration_text(case.pause), duration_text(case.requirement.hold_seconds)
    found = [say("heat_valid_table"), say("heat_valid_pause", pause=pause, hold=hold)]
    if case.air is not None and case.air.longest_gap_ms > case.product.longest_gap_ms:
        air_pause = duration_text(Decimal(case.air.longest_gap_ms) / 1000)
        found.append(say("heat_valid_air_pause", pause=air_pause))
    if case.has_correction:
        found.append(say("heat_valid_probe"))
    return tuple(found)


def _cautions(case: _Case, found: HoldResult) -> tuple[Sentence, ...]:
    cautions = [say("heat_caution_regulator"), say("heat_caution_chart"), say("heat_caution_coldest")]
    if case.requirement.hold_seconds < 60:
        cautions.append(say("heat_caution_tube"))
    if found.state is not HoldState.SHOWN:
        cautions += [say("heat_caution_not_shown"), thermisation_credit()[1]]
    return tuple(cautions)


def _chart(case: _Case, found: HoldResult, series: Series) -> Chart:
    level = convert(case.requirement.temperature, case.requirement.unit, series.unit)
    points = zip(map(minutes, series.times), series.decimals(), strict=True)
    bands = tuple((minutes(start), minutes(end)) for start, end in found.stretches if end > start)
    return Chart(
        x="heat_minutes",
        y="heat_celsius" if series.unit == "degC" else "heat_fahrenheit",
        trace="product",
        points=tuple(points),
        limit="heat_limit",
        limit_steps=((Decimal(0), level),),
        band="heat_held" if bands else "",
        bands=bands,
    )


CALCULATOR = Calculator(
    "heat_hold",
    (
        Task(
            "hold_with_air_space",
            (
                *_RULE_ASKS,
                ask_log("product", "air_space"),
                ask_pause("heat_pause", say("heat_ask_pause")),
                ask_pause("air_pause", say("heat_ask_air_pause")),
                ask_error("probe_error"),
                ask_error("air_probe_error"),
            ),
            lambda answers: _hold(answers, with_air=True),
        ),
        Task(
            "hold_product_only",
            (
                *_RULE_ASKS,
                ask_log("product"),
                ask_pause("heat_pause", say("heat_ask_pause")),
                ask_error("probe_error"),
            ),
            lambda answers: _hold(answers, with_air=False),
        ),
        *heat_evidence.TASKS,
    ),
)
