"""Trends of values: a chart of individual values, cumulative sums, weighted averages, the median."""

from decimal import Decimal

from safetyplan.calculation import trends
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import significant_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked import individuals_chart
from safetyplan.calculation.worked.individuals_chart import COUNTS, PLAIN
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Task, Worked


def _text(value: Decimal) -> str:
    return significant_text(value, 5)


def _values(answers: Answers) -> list[Decimal]:
    numbers = answers.numbers("trend_values")
    if any(number.censored for number in numbers):
        raise Refusal(say("trend_counts"), "trend_values")
    values = [number.value for number in numbers]
    return trends.log10_counts(values) if answers.choice("trend_kind") == COUNTS else values


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
    larger = [max(high, low) for high, low in zip(found.high, found.low, strict=True)]
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
        result = say("trend_cusum_quiet", largest=_text(max(larger)), decision=trim(decision))
    formula = say("trend_step_cusum_formula", target=trim(target), slack=trim(slack))
    return Worked(
        result=result,
        steps=(formula, *steps),
        validity=(say("trend_valid"), say("trend_cusum_valid"), *_logged(answers)),
        cautions=(say("trend_not_critical"),),
        sources=(trends.HANDBOOK,),
        chart=Chart(
            x="trend_number",
            y="cusum_larger",
            trace="cusum_larger",
            points=tuple((Decimal(n), one) for n, one in enumerate(larger, 1)),
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
        validity=(say("trend_valid"), say("trend_ewma_valid"), *_logged(answers)),
        cautions=(say("trend_not_critical"),),
        sources=(trends.HANDBOOK,),
        chart=Chart(
            x="trend_number",
            y="ewma_average",
            trace="ewma_average",
            points=tuple((Decimal(n), average) for n, average in enumerate(found.values, 1)),
            target="trend_ewma_limits",
            target_steps=tuple((Decimal(n), upper) for n, upper in enumerate(found.upper, 1)),
            more_target_steps=(tuple((Decimal(n), lower) for n, lower in enumerate(found.lower, 1)),),
        ),
    )


def _logged(answers: Answers) -> tuple[Sentence, ...]:
    return (say("trend_given_logged"),) if answers.choice("trend_kind") == COUNTS else ()


def _number(name: str, default: str = "") -> Ask:
    return Ask(name, quantity="ratio", units=("ratio",), default=default)


_KIND = Ask("trend_kind", "choice", options=(PLAIN, COUNTS))
_VALUES = Ask("trend_values", "numbers", "ratio", ("ratio",), help=say("trend_values_help"))

CALCULATOR = Calculator(
    "control_chart",
    (
        *individuals_chart.TASKS,
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
        Task(
            "median_of_values",
            (Ask("trend_values", "numbers", "ratio", ("ratio",), help=say("trend_median_help")),),
            work_delays,
        ),
    ),
)
