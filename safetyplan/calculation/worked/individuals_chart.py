"""A chart of individual values worked step by step: its control limits, and the run rules they break."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from safetyplan.calculation import run_rules, trends
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.shape import Answers, Ask, Chart, Task, Worked

PLAIN, COUNTS = "values_plain", "values_counts"
DEFAULT, WESTERN, ALL_NELSON = "rules_default", "rules_western", "rules_nelson"
_SETS = {
    DEFAULT: run_rules.DEFAULT_RULES,
    WESTERN: tuple(name for name in run_rules.RULES if name.startswith("western")),
    ALL_NELSON: tuple(name for name in run_rules.RULES if name.startswith("nelson")),
}
_FEW = 8
_LOG_PLACES = 4
_HALF = Decimal("0.5")
Found = dict[str, tuple[int, ...]]


@dataclass(frozen=True)
class _Case:
    """What is charted: the values, those the limits rest on, and how numbers are written."""

    values: tuple[Decimal, ...]
    base: tuple[Decimal, ...]
    unit: str
    places: int
    logged: bool
    critical: Decimal | None

    def text(self, value: Decimal) -> str:
        """A number with its unit, two decimals more than were typed."""
        return amount(decimal_text(value, self.places), self.unit)


def _case(answers: Answers) -> _Case:
    numbers = answers.numbers("trend_values")
    if any(number.censored for number in numbers):
        raise Refusal(say("trend_counts"), "trend_values")
    typed = [number.value for number in numbers]
    unit = numbers[0].unit if numbers else "ratio"
    logged = answers.given.get("trend_kind") == COUNTS
    values = tuple(trends.log10_counts(typed) if logged else typed)
    places = (
        _LOG_PLACES if logged else 2 + max((len(trim(one).partition(".")[2]) for one in typed), default=0)
    )
    limit = answers.optional("trend_critical_limit")
    critical = None if limit is None else limit.in_unit(unit)
    if critical is not None and logged:
        critical = _log_of(critical)
    return _Case(values, values[: _base(answers, len(values))], unit, places, logged, critical)


def _log_of(limit: Decimal) -> Decimal:
    try:
        return trends.log10_counts([limit])[0]
    except Refusal as refusal:
        raise Refusal(refusal.sentence, "trend_critical_limit") from refusal


def _base(answers: Answers, count: int) -> int:
    """How many values, from the first, the limits rest on: all of them unless they are frozen."""
    first = answers.optional("trend_first")
    if first is None:
        return count
    if first.value != first.value.to_integral_value() or not 2 <= first.value <= count:
        raise Refusal(say("trend_first_range", typed=first.text, count=str(count)), "trend_first")
    return int(first.value)


def work_chart(answers: Answers) -> Worked:
    """Limits of individuals and moving ranges, and the signals by a set of run rules."""
    case = _case(answers)
    limits = trends.individuals(case.base)
    chosen = _SETS[answers.choice("trend_rules")]
    found = {} if limits.flat else run_rules.signals(trends.z_scores(case.values, limits), chosen)
    return Worked(
        result=_result(case, limits, found),
        more=(*_critical(case, limits), *(_signal(name, places) for name, places in found.items())),
        steps=_steps(case, limits),
        validity=_validity(case, limits),
        cautions=(say("trend_not_critical"), say("trend_false_alarms")),
        sources=(trends.HANDBOOK, run_rules.NELSON_SOURCE, run_rules.WESTERN_SOURCE),
        chart=_chart(case, limits, found),
    )


def _sum_text(case: _Case, values: Sequence[Decimal]) -> str:
    """Numbers written as a sum, the middle ones of many left out."""
    decimals = _LOG_PLACES if case.logged else case.places - 2
    texts = [decimal_text(value, decimals) for value in values]
    texts = [f"({text})" if text.startswith("-") else text for text in texts]
    return " + ".join([*texts[: _FEW - 1], "…", texts[-1]] if len(texts) > _FEW else texts)


def _steps(case: _Case, limits: trends.Individuals) -> tuple[Sentence, ...]:
    ranges = [abs(b - a) for a, b in pairwise(case.base)]
    mean, moving, sigma = (case.text(one) for one in (limits.mean, limits.moving_range, limits.sigma))
    sums = _sum_text(case, case.base), _sum_text(case, ranges)
    return (
        say("trend_step_mean", sum=sums[0], count=str(limits.points), mean=mean),
        say("trend_step_range", sum=sums[1], count=str(len(ranges)), range=moving),
        say("trend_step_sigma", range=moving, sigma=sigma),
        say(
            "trend_step_limits",
            mean=mean,
            sigma=sigma,
            lower=case.text(limits.lower),
            upper=case.text(limits.upper),
        ),
        say("trend_step_range_limit", range=moving, upper=case.text(limits.range_upper)),
    )


def _result(case: _Case, limits: trends.Individuals, found: Found) -> Sentence:
    lower, upper = case.text(limits.lower), case.text(limits.upper)
    if limits.flat:
        return say("trend_result_flat", mean=case.text(limits.mean))
    if found:
        return say("trend_result_signals", count=str(len(found)), lower=lower, upper=upper)
    return say("trend_result_quiet", lower=lower, upper=upper)


def _critical(case: _Case, limits: trends.Individuals) -> tuple[Sentence, ...]:
    """Where the critical limit lies; a process in control may well not keep it."""
    if case.critical is None:
        return ()
    limit, lower, upper = case.text(case.critical), case.text(limits.lower), case.text(limits.upper)
    if limits.lower <= case.critical <= limits.upper:
        return (say("trend_critical_between", limit=limit, lower=lower, upper=upper),)
    return (say("trend_critical_beyond", limit=limit, lower=lower, upper=upper),)


def _stretches(places: Sequence[int]) -> list[tuple[int, int]]:
    """Numbers (from 0) as stretches of neighbours, counted from 1."""
    found: list[tuple[int, int]] = []
    for place in places:
        if found and found[-1][1] == place:
            found[-1] = (found[-1][0], place + 1)
        else:
            found.append((place + 1, place + 1))
    return found


def _signal(name: str, places: tuple[int, ...]) -> Sentence:
    texts = [str(a) if a == b else f"{a} – {b}" for a, b in _stretches(places)]
    return say("trend_signal", rule=name, points=", ".join(texts))


def _validity(case: _Case, limits: trends.Individuals) -> tuple[Sentence, ...]:
    said = [say("trend_valid")]
    if len(case.base) < len(case.values):
        said.append(say("trend_frozen", first=str(len(case.base)), count=str(len(case.values))))
    if limits.provisional:
        said.append(say("trend_provisional", points=str(limits.points), enough=str(trends.ENOUGH_POINTS)))
    if case.logged:
        said.append(say("trend_logged"))
    return tuple(said)


def _chart(case: _Case, limits: trends.Individuals, found: Found) -> Chart:
    """The values by number, control limits, mean, critical limit; shaded where a pattern is complete."""
    complete = sorted({place for places in found.values() for place in places})
    return Chart(
        x="trend_number",
        y="trend_value",
        trace="trend_value",
        points=tuple((Decimal(number), value) for number, value in enumerate(case.values, 1)),
        limit="" if case.critical is None else "trend_critical_limit",
        limit_steps=() if case.critical is None else ((_HALF, case.critical),),
        target="trend_control_limits",
        target_steps=((_HALF, limits.upper),),
        more_target_steps=(((_HALF, limits.mean),), ((_HALF, limits.lower),)),
        band="trend_pattern" if complete else "",
        bands=tuple((a - _HALF, b + _HALF) for a, b in _stretches(complete)),
    )


def _asks(quantity: str, units: tuple[str, ...], *more: Ask) -> tuple[Ask, ...]:
    return (
        Ask("trend_values", "numbers", quantity, units, help=say("trend_values_help")),
        *more,
        Ask("trend_rules", "choice", options=tuple(_SETS)),
        Ask("trend_first", quantity="count", units=("count",), required=False, help=say("trend_first_help")),
        Ask("trend_critical_limit", quantity=quantity, units=units, required=False),
    )


def _plain() -> tuple[Ask, ...]:
    return _asks("ratio", ("ratio",), Ask("trend_kind", "choice", options=(PLAIN, COUNTS)))


TASKS = (
    Task("individuals_chart", _plain(), work_chart),
    Task("temperature_chart", _asks("temperature", ("degC", "degF")), work_chart),
    Task("ph_chart", _asks("ph", ("pH",)), work_chart),
)
