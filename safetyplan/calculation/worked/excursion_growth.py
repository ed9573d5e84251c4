"""What could have grown during an excursion, with the working: the rate and time at each temperature."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import TypeVar

from safetyplan.calculation import growth
from safetyplan.calculation.growth_tables import CARDINALS, SQUARE_ROOTS, Cardinal, SquareRoot
from safetyplan.calculation.rounding import amount, decimal_text, significant_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series

CARDINAL = "staphylococcus_aureus"
MODELS = (*SQUARE_ROOTS, CARDINAL)
LISTED = 12
T = TypeVar("T")
# more than any population gains in food; common practice, no source
MOST_LOG10 = Decimal(9)


@dataclass(frozen=True)
class Increase:
    """The potential increase of one organism: what is said of it, its working and its source."""

    said: Sentence
    steps: tuple[Sentence, ...]
    source: str


def increase_of(name: str, series: Series) -> Increase:
    """The potential log10 increase of an organism of MODELS over a log."""
    if name in SQUARE_ROOTS:
        model = SQUARE_ROOTS[name]
        found = growth.growth_steps(series, partial(_square_root, model))
        return _told(name, found, _root_formula(name, model), model.source)
    cardinal = CARDINALS[CARDINAL]
    found = growth.growth_steps(series, partial(_cardinal, cardinal), fastest_c=cardinal.optimum_c)
    return _told(name, found, _cardinal_formula(name, cardinal), cardinal.source)


def _square_root(model: SquareRoot, temperature_c: Decimal) -> Decimal:
    """Above the range of a square-root model its highest rate is taken, so that it is not too small."""
    return growth.log10_rate_square_root(model, temperature_c=min(temperature_c, model.up_to_c))


def _cardinal(model: Cardinal, temperature_c: Decimal) -> Decimal:
    return growth.log10_rate_from_ln(growth.ln_rate_cardinal(model, temperature_c=temperature_c))


def _root_formula(name: str, model: SquareRoot) -> Sentence:
    lowest, highest = trim(model.lowest_c), amount(trim(model.up_to_c), "degC")
    if model.slope is not None:
        return say(
            "excursion_formula_slope", organism=name, slope=trim(model.slope), lowest=lowest, highest=highest
        )
    rate = trim(model.rate_at_5 or Decimal(0))
    return say("excursion_formula_at_5", organism=name, rate=rate, lowest=lowest, highest=highest)


def _cardinal_formula(name: str, model: Cardinal) -> Sentence:
    return say(
        "excursion_formula_cardinal",
        organism=name,
        lowest=trim(model.lowest_c),
        optimum=trim(model.optimum_c),
        highest=trim(model.highest_c),
        rate=trim(model.optimum_rate),
    )


def _told(name: str, found: Sequence[growth.GrowthStep], formula: Sentence, source: str) -> Increase:
    total = sum((step.log10_increase for step in found), Decimal(0))
    lines = listed([step for step in found if step.log10_increase], _line(name), _rest(name))
    if total > MOST_LOG10:
        most = trim(MOST_LOG10)
        said = say("excursion_increase_most", organism=name, most=most)
        last = say("excursion_step_increase_most", organism=name, increase=decimal_text(total, 1), most=most)
    else:
        text, times = decimal_text(total, 2), significant_text(Decimal(10) ** total, 3)
        said = say("excursion_increase", organism=name, increase=text)
        last = say("excursion_step_increase", organism=name, increase=text, times=times)
    return Increase(said, (formula, *lines, last), source)


def _line(name: str) -> Callable[[growth.GrowthStep], Sentence]:
    def line(step: growth.GrowthStep) -> Sentence:
        return say(
            "excursion_step_rate",
            organism=name,
            temperature=amount(decimal_text(step.temperature_c, 2), "degC"),
            hours=hours_text(step.milliseconds),
            rate=significant_text(step.log10_per_hour, 3),
            increase=significant_text(step.log10_increase, 3),
        )

    return line


def _rest(name: str) -> Callable[[Sequence[growth.GrowthStep]], Sentence]:
    def rest(steps: Sequence[growth.GrowthStep]) -> Sentence:
        total = sum((step.log10_increase for step in steps), Decimal(0))
        return say(
            "excursion_step_rate_rest",
            organism=name,
            count=str(len(steps)),
            increase=significant_text(total, 3),
        )

    return rest


def listed(
    items: Sequence[T], line: Callable[[T], Sentence], rest: Callable[[Sequence[T]], Sentence]
) -> tuple[Sentence, ...]:
    """One line for each item; of a long list the first ones, and one line for all the others."""
    if len(items) <= LISTED:
        return tuple(line(item) for item in items)
    return (*(line(item) for item in items[:LISTED]), rest(items[LISTED:]))


def hours_text(milliseconds: int) -> str:
    """A time in hours with its unit."""
    return amount(decimal_text(Decimal(milliseconds) / 3_600_000, 2), "h")
