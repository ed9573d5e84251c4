"""A control chart of individual values: its limits, and the run rules they break."""

from decimal import Decimal

from safetyplan.calculation import run_rules, trends
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import significant_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Task, Worked

PLAIN, COUNTS = "values_plain", "values_counts"
DEFAULT, WESTERN, ALL_NELSON = "rules_default", "rules_western", "rules_nelson"
_SETS = {
    DEFAULT: run_rules.DEFAULT_RULES,
    WESTERN: tuple(name for name in run_rules.RULES if name.startswith("western")),
    ALL_NELSON: tuple(name for name in run_rules.RULES if name.startswith("nelson")),
}


def _text(value: Decimal) -> str:
    return significant_text(value, 5)


def _values(answers: Answers) -> list[Decimal]:
    numbers = answers.numbers("trend_values")
    if any(number.censored for number in numbers):
        raise Refusal(say("trend_counts"), "trend_values")
    values = [number.value for number in numbers]
    return trends.log10_counts(values) if answers.choice("trend_kind") == COUNTS else values


def work_chart(answers: Answers) -> Worked:
    """Limits of individuals and moving ranges, and the signals by a set of run rules."""
    values = _values(answers)
    limits = trends.individuals(values)
    chosen = _SETS[answers.choice("trend_rules")]
    found = {} if limits.flat else run_rules.signals(trends.z_scores(values, limits), chosen)
    steps = (
        say("trend_step_mean", mean=_text(limits.mean), points=str(limits.points)),
        say("trend_step_range", range=_text(limits.moving_range)),
        say("trend_step_sigma", range=_text(limits.moving_range), sigma=_text(limits.sigma)),
        say(
            "trend_step_limits",
            mean=_text(limits.mean),
            sigma=_text(limits.sigma),
            lower=_text(limits.lower),
            upper=_text(limits.upper),
        ),
        say("trend_step_range_limit", range=_text(limits.moving_range), upper=_text(limits.range_upper)),
    )
    return Worked(
        result=_result(limits, found),
        more=tuple(_signal(name, places) for name, places in found.items()),
        steps=steps,
        validity=_validity(limits, answers.choice("trend_kind")),
        cautions=(say("trend_not_critical"), say("trend_false_alarms")),
        sources=(trends.HANDBOOK, run_rules.NELSON_SOURCE, run_rules.WESTERN_SOURCE),
        chart=_chart(values, limits),
    )


def _result(limits: trends.Individuals, found: dict[str, tuple[int, ...]]) -> Sentence:
    lower, upper = _text(limits.lower), _text(limits.upper)
    if limits.flat:
        return say("trend_result_flat", mean=_text(limits.mean))
    if found:
        return say("trend_result_signals", count=str(len(found)), lower=lower, upper=upper)
    return say("trend_result_quiet", lower=lower, upper=upper)


def _signal(name: str, places: tuple[int, ...]) -> Sentence:
    return say("trend_signal", rule=name, points=", ".join(str(place + 1) for place in places))


def _validity(limits: trends.Individuals, kind: str) -> tuple[Sentence, ...]:
    found = [say("trend_valid")]
    if limits.provisional:
        found.append(say("trend_provisional", points=str(limits.points), enough=str(trends.ENOUGH_POINTS)))
    if kind == COUNTS:
        found.append(say("trend_logged"))
    return tuple(found)


def _chart(values: list[Decimal], limits: trends.Individuals) -> Chart:
    points = tuple((Decimal(number), value) for number, value in enumerate(values, 1))
    return Chart(
        x="trend_number",
        y="trend_value",
        trace="trend_value",
        points=points,
        limit="trend_control_limit",
        limit_steps=((Decimal(1), limits.upper),),
        target="trend_lower_and_mean",
        target_steps=((Decimal(1), limits.lower),),
    )


def work_delays(answers: Answers) -> Worked:
    """Medians: the middle of some values, such as entry delays in minutes."""
    numbers = answers.numbers("trend_values")
    values = sorted(number.value for number in numbers)
    middle = trends.middle(values)
    listed = ", ".join(trim(value) for value in values[:40])
    return Worked(
        result=say("trend_median", median=trim(middle), count=str(len(values))),
        steps=(say("trend_step_sorted", values=listed), say("trend_step_middle", median=trim(middle))),
        validity=(say("trend_valid_median"),),
        cautions=(say("trend_median_caution"),),
        sources=("median: definition",),
    )


def work_cusum(answers: Answers) -> Worked:
    """Tabular sums of the drift from a target, upwards and downwards."""
    values = _values(answers)
    target, slack, decision = (
        answers.number(name).value for name in ("trend_target", "cusum_slack", "cusum_decision")
    )
    found = trends.cusum(values, target=target, slack=slack, decision=decision)
    largest = max(*found.high, *found.low)
    steps = [
        say(
            "trend_step_cusum",
            number=str(number),
            value=trim(value),
            high=_text(high),
            low=_text(low),
        )
        for number, (value, high, low) in enumerate(zip(values, found.high, found.low, strict=True), 1)
    ]
    if found.signals:
        first = str(found.signals[0] + 1)
        result = say("trend_cusum_signal", first=first, decision=trim(decision))
    else:
        result = say("trend_cusum_quiet", largest=_text(largest), decision=trim(decision))
    formula = say("trend_step_cusum_formula", target=trim(target), slack=trim(slack))
    return Worked(
        result=result,
        steps=(formula, *steps),
        validity=(say("trend_valid"), say("trend_cusum_valid")),
        cautions=(say("trend_not_critical"),),
        sources=(trends.HANDBOOK,),
        chart=Chart(
            x="trend_number",
            y="cusum_high",
            trace="cusum_high",
            points=tuple((Decimal(n), high) for n, high in enumerate(found.high, 1)),
            limit="cusum_decision",
            limit_steps=((Decimal(1), decision),),
        ),
    )


def work_ewma(answers: Answers) -> Worked:
    """The exponentially weighted moving average around a target, with its exact limits."""
    values = _values(answers)
    target, sigma, weight = (
        answers.number(name).value for name in ("trend_target", "ewma_sigma", "ewma_weight")
    )
    found = trends.ewma(values, target=target, sigma=sigma, weight=weight)
    rows = zip(values, found.values, found.lower, found.upper, strict=True)
    steps = [
        say(
            "trend_step_ewma",
            number=str(number),
            value=trim(value),
            average=_text(average),
            lower=_text(lower),
            upper=_text(upper),
        )
        for number, (value, average, lower, upper) in enumerate(rows, 1)
    ]
    if found.signals:
        result = say("trend_ewma_signal", first=str(found.signals[0] + 1))
    else:
        result = say("trend_ewma_quiet", average=_text(found.values[-1]))
    formula = say("trend_step_ewma_formula", weight=trim(weight), target=trim(target))
    return Worked(
        result=result,
        steps=(formula, *steps),
        validity=(say("trend_valid"), say("trend_ewma_valid")),
        cautions=(say("trend_not_critical"),),
        sources=(trends.HANDBOOK,),
        chart=Chart(
            x="trend_number",
            y="ewma_average",
            trace="ewma_average",
            points=tuple((Decimal(n), average) for n, average in enumerate(found.values, 1)),
            limit="trend_control_limit",
            limit_steps=tuple((Decimal(n), upper) for n, upper in enumerate(found.upper, 1)),
            target="trend_lower_and_mean",
            target_steps=tuple((Decimal(n), lower) for n, lower in enumerate(found.lower, 1)),
        ),
    )


def _number(name: str, default: str = "") -> Ask:
    return Ask(name, quantity="ratio", units=("ratio",), default=default)


_KIND = Ask("trend_kind", "choice", options=(PLAIN, COUNTS))
_VALUES = Ask("trend_values", "numbers", "ratio", ("ratio",), help=say("trend_values_help"))

CALCULATOR = Calculator(
    "control_chart",
    (
        Task(
            "individuals_chart",
            (
                _VALUES,
                _KIND,
                Ask("trend_rules", "choice", options=tuple(_SETS)),
            ),
            work_chart,
        ),
        Task(
            "cusum_chart",
            (_VALUES, _KIND, _number("trend_target"), _number("cusum_slack"), _number("cusum_decision")),
            work_cusum,
        ),
        Task(
            "ewma_chart",
            (_VALUES, _KIND, _number("trend_target"), _number("ewma_sigma"), _number("ewma_weight", "0.2")),
            work_ewma,
        ),
        Task("median_of_values", (_VALUES,), work_delays),
    ),
)
