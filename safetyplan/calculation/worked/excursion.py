"""An excursion in warmth: time in each band of the table, what could have grown, and whether it may grow."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import partial

from safetyplan.calculation import growth, listeria
from safetyplan.calculation.exposure import CURD, FOODS, Exposed, exposure_of, require_food
from safetyplan.calculation.exposure_tables import EXPOSURES, SOURCE
from safetyplan.calculation.growth_tables import CARDINALS, SQUARE_ROOTS
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series, milliseconds
from safetyplan.calculation.units import convert
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Log, Number, Task, Worked

EVERY = "every_organism"
MODELS = tuple(dict.fromkeys((*SQUARE_ROOTS, "staphylococcus_aureus")))
_START = datetime(2000, 1, 1, tzinfo=UTC)
_HOUR_MS = 3_600_000
MOST_GAP_MINUTES = 7 * 24 * 60


def _series(log: Log, gap: Number) -> Series:
    """The log as a series; a value left out is no reading."""
    minutes = gap.in_unit("min")
    if not 0 < minutes <= MOST_GAP_MINUTES:
        raise Refusal(say("excursion_gap_range", high=str(MOST_GAP_MINUTES)), "reading_gap")
    readings = [
        (_START + timedelta(milliseconds=int(line.seconds * 1000)), value)
        for line in log.lines
        if (value := line.values[0]) is not None
    ]
    if len(readings) < 2:
        raise Refusal(say("excursion_two_readings"), "temperature_log")
    low, high = (convert(Decimal(end), "degC", log.unit) for end in (-40, 100))
    if any(not low <= value <= high for _at, value in readings):
        raise Refusal(say("excursion_temperatures"), "temperature_log")
    return Series.of(readings, unit=log.unit, longest_gap=timedelta(minutes=float(minutes)))


def _hours(value: Decimal) -> str:
    return amount(decimal_text(value, 2), "h")


def work_exposure(answers: Answers) -> Worked:
    """Time in each band of the table, for one organism or all, and the growth where a model exists."""
    food = answers.choice("food_state")
    require_food(food)
    series = _series(answers.log("temperature_log"), answers.number("reading_gap"))
    chosen = answers.choice("organism")
    names = tuple(EXPOSURES) if chosen == EVERY else (chosen,)
    found = [exposure_of(series, name, food=food) for name in names]
    worst = max(found, key=lambda one: one.combined)
    modelled = [name for name in names if name in MODELS]
    increases = [_increase(name, series) for name in modelled]
    return Worked(
        result=_verdict(worst),
        more=(*(_verdict(one) for one in found if one is not worst), *(said for said, _step in increases)),
        steps=(*_steps(worst), *(step for _said, step in increases)),
        validity=_validity(series, worst),
        cautions=(
            say("excursion_memory"),
            say("excursion_lag"),
            say("excursion_not_in_numbers"),
            say("excursion_decides"),
        ),
        sources=(SOURCE, *(_source(name) for name in modelled)),
        chart=_chart(series, worst),
    )


def _verdict(found: Exposed) -> Sentence:
    name, share = found.organism, amount(decimal_text(100 * found.combined, 0), "percent")
    if found.exceeded:
        return say("excursion_exceeded", organism=name, share=share)
    if found.gaps:
        return say("excursion_gaps", organism=name, share=share, gaps=str(found.gaps))
    return say("excursion_below", organism=name, share=share)


def _steps(found: Exposed) -> tuple[Sentence, ...]:
    lines = [
        say(
            "excursion_step_band",
            organism=found.organism,
            above=amount(trim(band.above_f), "degF"),
            celsius=amount(decimal_text(convert(band.above_f, "degF", "degC"), 1), "degC"),
            hours=_hours(band.hours),
            limit=_hours(band.limit_hours),
            share=amount(decimal_text(100 * band.share, 1), "percent"),
        )
        for band in found.bands
    ]
    total = amount(decimal_text(100 * found.combined, 1), "percent")
    return (*lines, say("excursion_step_sum", total=total))


def _increase(name: str, series: Series) -> tuple[Sentence, Sentence]:
    value = growth.potential_increase(series, _rate(name))
    text = decimal_text(value, 2)
    times = decimal_text(Decimal(2) ** min(value * Decimal("3.3219"), Decimal(40)), 1)
    return (
        say("excursion_increase", organism=name, increase=text),
        say("excursion_step_increase", organism=name, increase=text, times=times),
    )


def _rate(name: str) -> growth.Rate:
    if name in SQUARE_ROOTS:
        return partial(_square_root, name)
    return partial(_cardinal, name)


def _square_root(name: str, temperature_c: Decimal) -> Decimal:
    """Above the range of a square-root model its highest rate is taken, so that it is not too small."""
    model = SQUARE_ROOTS[name]
    return growth.log10_rate_square_root(model, temperature_c=min(temperature_c, model.up_to_c))


def _cardinal(name: str, temperature_c: Decimal) -> Decimal:
    return growth.log10_rate_from_ln(growth.ln_rate_cardinal(CARDINALS[name], temperature_c=temperature_c))


def _source(name: str) -> str:
    return SQUARE_ROOTS[name].source if name in SQUARE_ROOTS else CARDINALS[name].source


def _validity(series: Series, worst: Exposed) -> tuple[Sentence, ...]:
    gap = amount(trim(Decimal(series.longest_gap_ms) / 60_000), "min")
    found = [say("excursion_valid", gap=gap)]
    if worst.gaps:
        found.append(say("excursion_gap_not_counted", gaps=str(worst.gaps)))
    return tuple(found)


def _chart(series: Series, worst: Exposed) -> Chart:
    start = milliseconds(_START)
    points = tuple(
        (Decimal(time - start) / _HOUR_MS, value)
        for time, value in zip(series.times, series.decimals(), strict=True)
    )
    edge = convert(worst.bands[0].above_f, "degF", series.unit)
    return Chart(
        x="excursion_hours",
        y="excursion_celsius" if series.unit == "degC" else "excursion_fahrenheit",
        trace="excursion_measured",
        points=points,
        limit="excursion_growth_begins",
        limit_steps=((Decimal(0), edge),),
    )


def work_listeria(answers: Answers) -> Worked:
    """Whether growth of Listeria is to be reckoned with over the shelf life of a cheese."""
    aw, moisture, days = (answers.optional(name) for name in ("highest_aw", "moisture", "shelf_life"))
    cheese = listeria.Cheese(
        highest_ph=answers.number("highest_ph").value,
        highest_aw=aw.value if aw else None,
        moisture_percent=moisture.value if moisture else None,
        shelf_life_days=days.in_unit("d") if days else None,
    )
    wording = answers.choice("wording")
    decision = listeria.growth_decision(
        cheese,
        wording=wording,
        rind=answers.choice("rind"),
        challenge_study=answers.choice("challenge_study") == "study_attached",
    )
    steps = decision.clauses or (say("listeria_no_clause"),)
    return Worked(
        result=decision.sentence,
        steps=(say("listeria_step_wording", option=wording), *steps),
        validity=(say("listeria_valid"), say("listeria_wordings_differ")),
        cautions=(say("listeria_deemed_only"), say("excursion_decides")),
        sources=(listeria.SOURCES[wording],),
    )


CALCULATOR = Calculator(
    "excursion",
    (
        Task(
            "time_in_warmth",
            (
                Ask("food_state", "choice", options=(*FOODS, CURD)),
                Ask("organism", "choice", options=(EVERY, *EXPOSURES)),
                Ask(
                    "temperature_log",
                    "log",
                    "temperature",
                    ("degC", "degF"),
                    columns=("temperature",),
                    clock="h",
                ),
                Ask(
                    "reading_gap",
                    quantity="duration",
                    units=("min", "h"),
                    default="60",
                    help=say("excursion_gap_help"),
                ),
            ),
            work_exposure,
        ),
        Task(
            "listeria_growth",
            (
                Ask("rind", "choice", options=(*listeria.OTHER_RINDS, *listeria.RISING_RINDS)),
                Ask("highest_ph", quantity="ph", units=("pH",), help=say("listeria_highest_help")),
                Ask("highest_aw", quantity="water_activity", units=("aw",), required=False),
                Ask("moisture", quantity="percent", units=("percent",), required=False),
                Ask("shelf_life", quantity="duration", units=("d",), required=False),
                Ask("wording", "choice", options=(listeria.EUROPE, listeria.AUSTRALIA)),
                Ask("challenge_study", "choice", options=("study_none", "study_attached")),
            ),
            work_listeria,
        ),
    ),
)
