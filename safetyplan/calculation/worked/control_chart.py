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


_VALUES = Ask("trend_values", "numbers", "ratio", ("ratio",), help=say("trend_values_help"))

CALCULATOR = Calculator(
    "control_chart",
    (
        Task(
            "individuals_chart",
            (
                _VALUES,
                Ask("trend_kind", "choice", options=(PLAIN, COUNTS)),
                Ask("trend_rules", "choice", options=tuple(_SETS)),
            ),
            work_chart,
        ),
        Task("median_of_values", (_VALUES,), work_delays),
    ),
)
