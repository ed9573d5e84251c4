"""The rolling geometric mean of raw milk worked step by step, both ways side by side.

The results of each calendar month stand in a field of their own, one per line as the laboratory wrote them,
"<10" and ">1500000" included. Cells are counted in thousands per ml, as laboratories report them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import log10

from safetyplan.calculation.geometric_mean import (
    CensoredAs,
    Method,
    Month,
    MonthMean,
    RollingMean,
    Sample,
    number_for,
    replaced_text,
    rolling_mean,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, from_float, shown_against, trim
from safetyplan.calculation.sampling import Count
from safetyplan.calculation.sampling_tables import MILK_CRITERIA, Item
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Number, Task, Worked

OWN = "own_limit"
# the newest month first; the last of a window is always the newest
MONTHS = ("latest_month", "month_before", "two_months_before")
_THOUSAND = 1000
_WAYS = "Both ways of taking the mean: Irish Veterinary Journal 70 (2017), article 9, table 2"
_REPLACED = (
    "A count below the limit at the limit: Iowa Department of Natural Resources; half: common practice"
)
_FEW = 6
# Only the order of the months counts here, not which they are.
_LATEST = Month(2000, 12)


def _plate_count(answers: Answers) -> Worked:
    return _work(answers, unit="cfu_per_ml", scale=1)


def _somatic_cells(answers: Answers) -> Worked:
    return _work(answers, unit="count", scale=_THOUSAND)


@dataclass(frozen=True)
class _Rule:
    """The limit, the months and the least samples of each: of a criterion, or one's own."""

    at_most: Decimal
    months: int
    least: int
    sources: tuple[str, ...]


def _rule(answers: Answers, scale: int) -> _Rule:
    name = answers.choice("milk_criterion")
    if name == OWN:
        return _Rule(
            _plain(answers.number("own_mean_limit"), "own_mean_limit"),
            _whole(answers.number("own_months"), "own_months", len(MONTHS)),
            _whole(answers.number("own_least"), "own_least", 31),
            (),
        )
    for own in ("own_mean_limit", "own_months", "own_least"):
        if answers.optional(own):
            raise Refusal(say("mean_two_limits"), own)
    found = MILK_CRITERIA[name]
    return _Rule(found.at_most / scale, found.months, found.least_per_month, (found.source,))


def _plain(number: Number, field: str) -> Decimal:
    if number.censored or number.value <= 0:
        raise Refusal(say("mean_own_limit", value=number.text), field)
    return number.value


def _whole(number: Number, field: str, most: int) -> int:
    value = number.value
    if number.censored or value != value.to_integral_value() or not 1 <= value <= most:
        raise Refusal(say("mean_own_number", value=number.text, most=str(most)), field)
    return int(value)


def _work(answers: Answers, *, unit: str, scale: int) -> Worked:
    rule = _rule(answers, scale)
    censored_as = CensoredAs(answers.choice("censored_as"))
    samples = _samples(answers, rule.months)
    pooled, monthly = (
        rolling_mean(
            samples,
            last=_LATEST,
            months=rule.months,
            least_per_month=rule.least,
            method=method,
            censored_as=censored_as,
        )
        for method in (Method.POOLED, Method.MONTHLY)
    )
    return Worked(
        result=_result(pooled, monthly, rule, unit),
        more=_replaced(pooled, censored_as),
        steps=_steps(samples, pooled, monthly, censored_as, unit),
        validity=(say("mean_valid", months=str(rule.months), least=str(rule.least)),),
        cautions=_cautions(pooled, censored_as),
        sources=(*rule.sources, _WAYS, _REPLACED),
        chart=_chart(pooled, rule),
    )


def _samples(answers: Answers, months: int) -> list[Sample]:
    """The results of the months of the window; results of a month before it are a contradiction."""
    samples = []
    for back, field in enumerate(MONTHS):
        numbers = answers.numbers(field)
        if numbers and back >= months:
            raise Refusal(say("mean_outside_window", part=field, months=str(months)), field)
        for number in numbers:
            samples.append(Sample(_LATEST.before(back), _count(number, field)))
    if not samples:
        raise Refusal(say("mean_empty"), MONTHS[0])
    return samples


def _count(number: Number, field: str) -> Count:
    if number.value <= 0:
        raise Refusal(say("mean_nought", value=number.text), field)
    try:
        return Count(number.value, number.censored)
    except Refusal as refusal:
        raise Refusal(refusal.sentence, field) from refusal


def _field(month: Month) -> str:
    return next(field for back, field in enumerate(MONTHS) if _LATEST.before(back) == month)


def _text(mean: Decimal | None, at_most: Decimal, unit: str) -> str:
    if mean is None:
        return "-"
    return amount(shown_against(mean, at_most, UNITS[unit].quantity, unit), unit)


def _result(pooled: RollingMean, monthly: RollingMean, rule: _Rule, unit: str) -> Sentence:
    both, per_month = (_text(found.mean, rule.at_most, unit) for found in (pooled, monthly))
    limit = amount(trim(rule.at_most), unit)
    if pooled.short:
        short = pooled.short[-1]
        given, least = str(short.samples), str(rule.least)
        return say(
            "mean_result_short",
            part=_field(short.month),
            given=given,
            least=least,
            pooled=both,
            monthly=per_month,
        )
    assert pooled.mean is not None
    assert monthly.mean is not None
    above = [mean > rule.at_most for mean in (pooled.mean, monthly.mean)]
    if all(above):
        return say("mean_result_above", pooled=both, monthly=per_month, limit=limit)
    if any(above):
        return say("mean_result_differ", pooled=both, monthly=per_month, limit=limit)
    if pooled.open:
        return say("mean_result_open", pooled=both, monthly=per_month, limit=limit)
    return say("mean_result_within", pooled=both, monthly=per_month, limit=limit)


def _replaced(found: RollingMean, censored_as: CensoredAs) -> tuple[Sentence, ...]:
    if not found.replaced:
        return ()
    count, which = str(len(found.replaced)), replaced_text(found.replaced)
    chosen = say("mean_replaced_by", option=str(censored_as))
    return say("mean_replaced", count=count, which=which), chosen


def _steps(
    samples: Sequence[Sample],
    pooled: RollingMean,
    monthly: RollingMean,
    censored_as: CensoredAs,
    unit: str,
) -> tuple[Sentence, ...]:
    """The mean of the logarithms of each month, then the two ways of joining the months."""
    steps = [say("mean_step_formula")]
    numbers: list[Decimal] = []
    for month in pooled.months:
        own = [number_for(s.count, censored_as) for s in samples if s.month == month.month]
        numbers += own
        if month.mean is not None:
            steps.append(_month_step(month, own, unit))
    if pooled.mean is not None:
        mean = amount(_rounded(pooled.mean), unit)
        logs, count = _log_sum(numbers), str(len(numbers))
        steps.append(say("mean_step_pooled", logs=logs, count=count, mean=mean))
    if monthly.mean is not None:
        found = [month.mean for month in monthly.months if month.mean is not None]
        mean = amount(_rounded(monthly.mean), unit)
        logs, count = _log_sum(found), str(len(found))
        steps.append(say("mean_step_monthly", logs=logs, count=count, mean=mean))
    return tuple(steps)


def _month_step(month: MonthMean, numbers: Sequence[Decimal], unit: str) -> Sentence:
    assert month.mean is not None
    counts, mean = ", ".join(trim(number) for number in numbers), amount(_rounded(month.mean), unit)
    count, logs = str(len(numbers)), _log_sum(numbers)
    return say("mean_step_month", part=_field(month.month), counts=counts, logs=logs, count=count, mean=mean)


def _rounded(mean: Decimal) -> str:
    return decimal_text(mean, 2)


def _log_sum(numbers: Sequence[Decimal]) -> str:
    """The logarithms written as a sum, the middle ones of many left out, and what it comes to."""
    logs = [from_float(log10(float(number))) for number in numbers]
    texts = [decimal_text(log, 4) for log in logs]
    if len(texts) > _FEW:
        texts = [*texts[: _FEW - 1], "…", texts[-1]]
    total = decimal_text(sum(logs, Decimal(0)), 4)
    return f"{' + '.join(texts)} = {total}" if len(texts) > 1 else total


def _cautions(found: RollingMean, censored_as: CensoredAs) -> tuple[Sentence, ...]:
    said = [say("mean_name_the_way")]
    if found.open:
        said.append(say("mean_too_low"))
    if censored_as is CensoredAs.HALF and any(one.count.mark == "<" for one in found.replaced):
        said.append(say("mean_half_lowers"))
    return (*said, say("mean_who_decides"))


def _chart(found: RollingMean, rule: _Rule) -> Chart:
    """The mean of each month, 1 the earliest, with the limit."""
    points = tuple(
        (Decimal(number), month.mean)
        for number, month in enumerate(found.months, 1)
        if month.mean is not None
    )
    return Chart(
        x="month_of_window",
        y="monthly_mean",
        trace="monthly_mean",
        points=points,
        limit="mean_limit",
        limit_steps=((Decimal(0), rule.at_most),),
    )


def _asks(item: Item, quantity: str, unit: str) -> tuple[Ask, ...]:
    offered = tuple(name for name, criterion in MILK_CRITERIA.items() if criterion.item == item)
    help_own = say("mean_help_own")
    results = Ask("", "numbers", quantity, (unit,), required=False, help=say("mean_help_results"))
    months = tuple(replace(results, name=name) for name in MONTHS)
    return (
        Ask("milk_criterion", "choice", options=(*offered, OWN)),
        *months,
        Ask("censored_as", "choice", options=tuple(CensoredAs)),
        Ask("own_mean_limit", quantity=quantity, units=(unit,), required=False, help=help_own),
        Ask("own_months", quantity="count", units=("count",), required=False, help=help_own),
        Ask("own_least", quantity="count", units=("count",), required=False, help=help_own),
    )


CALCULATOR = Calculator(
    name="rolling_mean",
    tasks=(
        Task("plate_count_mean", _asks("plate_count", "colony_count", "cfu_per_ml"), _plate_count),
        Task("somatic_cell_mean", _asks("somatic_cells", "count", "count"), _somatic_cells),
    ),
)
