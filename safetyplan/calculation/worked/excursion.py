"""An excursion in warmth: time in each band of the table, what could have grown, and whether it may grow."""

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal

from safetyplan.calculation import listeria
from safetyplan.calculation.exposure import CURD, FOODS, Exposed, exposure_of, require_food
from safetyplan.calculation.exposure_tables import EXPOSURES, SOURCE
from safetyplan.calculation.growth_limits import Conditions, growth_possible, limits_of
from safetyplan.calculation.growth_tables import OTHER_RINDS, RISING_RINDS
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, shown_against, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series, milliseconds
from safetyplan.calculation.units import convert
from safetyplan.calculation.worked.excursion_growth import MODELS, hours_text, increase_of, listed
from safetyplan.calculation.worked.shape import (
    LOG_BEGINS,
    Answers,
    Ask,
    Calculator,
    Chart,
    Log,
    Number,
    Pair,
    Task,
    Worked,
)

EVERY = "every_organism"
# the table is for fish too: its Vibrio is no hazard of milk or cheese (common practice, no source)
CONCERN = tuple(name for name in EXPOSURES if name != "vibrio")
NO_RIND_GIVEN = "rind_not_given"
_HOUR_MS = 3_600_000
MOST_GAP_MINUTES = 7 * 24 * 60
COLDEST_C, WARMEST_C = Decimal(-40), Decimal(100)


def _series(log: Log, gap: Number) -> Series:
    """The log as a series; a value left out is no reading."""
    minutes = gap.in_unit("min")
    if not 0 < minutes <= MOST_GAP_MINUTES:
        raise Refusal(say("excursion_gap_range", high=str(MOST_GAP_MINUTES)), "reading_gap")
    series = log.series(longest_gap=timedelta(milliseconds=int(minutes * 60_000)))
    if len(series) < 2:
        raise Refusal(say("excursion_two_readings"), "temperature_log")
    low, high = (convert(end, "degC", log.unit) for end in (COLDEST_C, WARMEST_C))
    if any(not low <= value <= high for value in series.decimals()):
        raise Refusal(say("excursion_temperatures"), "temperature_log")
    return series


def work_exposure(answers: Answers) -> Worked:
    """Time in each band, for one organism or all; whether they may grow, and how much by a model."""
    food = answers.choice("food_state")
    require_food(food)
    series = _series(answers.log("temperature_log"), answers.number("reading_gap"))
    chosen = answers.choice("organism")
    names = CONCERN if chosen == EVERY else (chosen,)
    found = sorted((exposure_of(series, name, food=food) for name in names), key=lambda one: -one.combined)
    conditions, rind = _conditions(series, answers), _rind(food, answers)
    possible = [growth_possible(name, conditions, rind=rind) for name in names]
    increases = [increase_of(name, series) for name in names if name in MODELS]
    limits = dict.fromkeys(limits.source for name in names for limits in limits_of(name))
    return Worked(
        result=_verdict(found[0]),
        more=(
            *(_verdict(one) for one in found[1:]),
            *(reason for finding in possible for reason in finding.reasons),
            *(increase.said for increase in increases),
        ),
        steps=(
            *_warm_ends(series),
            *(line for one in found for line in _bands(one, whole=one is found[0])),
            *(step for increase in increases for step in increase.steps),
        ),
        validity=_validity(series, found[0]),
        cautions=_CAUTIONS,
        sources=(SOURCE, *limits, *(increase.source for increase in increases)),
        chart=_chart(series, found[0]),
    )


_CAUTIONS = (
    say("excursion_memory"),
    say("excursion_lag"),
    say("excursion_model_zero"),
    say("excursion_not_in_numbers"),
    say("excursion_decides"),
)


def _conditions(series: Series, answers: Answers) -> Conditions:
    """What was met: without a gap also the temperatures, for in a gap nobody knows them."""
    ph, aw = answers.optional("highest_ph"), answers.optional("highest_aw")
    ends = (Decimal(end(series.values)).scaleb(-3).normalize() for end in (min, max))
    coldest, warmest = (convert(end, series.unit, "degC") for end in ends)
    return Conditions(
        temperatures=None if series.gaps() else (coldest, warmest),
        highest_ph=ph.value if ph else None,
        highest_aw=aw.value if aw else None,
    )


def _rind(food: str, answers: Answers) -> str:
    """The rind; milk has none, and a cheese must say which before its pH or water activity can count."""
    if food != "finished_cheese":
        return "rind_none"
    rind = answers.given.get("rind")
    if isinstance(rind, str) and rind != NO_RIND_GIVEN:
        return rind
    if answers.optional("highest_ph") or answers.optional("highest_aw"):
        raise Refusal(say("excursion_rind_needed"), "rind")
    return "rind_none"


def _percent(share: Decimal) -> str:
    """A share in per cent; with more decimals where it is a little more than the whole."""
    percent = 100 * share
    if decimal_text(percent, 1) == "100.0":
        return amount(shown_against(percent, Decimal(100), "percent", "percent"), "percent")
    return amount(decimal_text(percent, 1), "percent")


def _verdict(found: Exposed) -> Sentence:
    name, share = found.organism, _percent(found.combined)
    if found.finding == "exceeded":
        return say("excursion_exceeded", organism=name, share=share)
    if found.finding == "not_shown":
        return say("excursion_gaps", organism=name, share=share, gaps=str(found.gaps))
    return say("excursion_below", organism=name, share=share)


def _warm_ends(series: Series) -> tuple[Sentence, ...]:
    """How much time counts at which temperature, from the warmest."""
    spent: dict[int, int] = {}
    for ms, before, after in series.spans():
        spent[max(before, after)] = spent.get(max(before, after), 0) + ms
    if not spent:
        return (say("excursion_step_no_span"),)

    def line(pair: tuple[int, int]) -> Sentence:
        temperature = amount(trim(Decimal(pair[0]).scaleb(-3).normalize()), series.unit)
        return say("excursion_step_warm", temperature=temperature, hours=hours_text(pair[1]))

    def rest(pairs: Sequence[tuple[int, int]]) -> Sentence:
        hours = hours_text(sum(ms for _value, ms in pairs))
        return say("excursion_step_warm_rest", count=str(len(pairs)), hours=hours)

    return listed(sorted(spent.items(), reverse=True), line, rest)


def _bands(found: Exposed, *, whole: bool) -> tuple[Sentence, ...]:
    """Each band of an organism with its share; unless `whole`, only those in which there was any time."""
    lines = [
        say(
            "excursion_step_band",
            organism=found.organism,
            above=amount(trim(band.above_f), "degF"),
            celsius=amount(decimal_text(convert(band.above_f, "degF", "degC"), 1), "degC"),
            hours=hours_text(band.spent_ms),
            limit=amount(decimal_text(band.limit_hours, 2), "h"),
            share=_percent(band.share),
        )
        for band in found.bands
        if whole or band.spent_ms
    ]
    return (*lines, say("excursion_step_sum", organism=found.organism, total=_percent(found.combined)))


def _validity(series: Series, worst: Exposed) -> tuple[Sentence, ...]:
    gap = amount(trim((Decimal(series.longest_gap_ms) / 60_000).normalize()), "min")
    found = [say("excursion_valid", gap=gap), say("excursion_rates_of")]
    if worst.gaps:
        found.append(say("excursion_gap_not_counted", gaps=str(worst.gaps)))
    return tuple(found)


def _chart(series: Series, worst: Exposed) -> Chart:
    points = tuple(
        (_chart_hours(time), value) for time, value in zip(series.times, series.decimals(), strict=True)
    )
    first = worst.bands[0].above_f
    return Chart(
        x="excursion_hours",
        y="excursion_celsius" if series.unit == "degC" else "excursion_fahrenheit",
        trace="excursion_measured",
        points=points,
        limit="excursion_growth_begins",
        limit_steps=((Decimal(0), convert(first, "degF", series.unit)),),
        band="excursion_counted",
        bands=_warm_stretches(series, series.lowest_at_least(first, "degF")),
    )


def _chart_hours(time: int) -> Decimal:
    return Decimal(time - milliseconds(LOG_BEGINS)) / _HOUR_MS


def _warm_stretches(series: Series, edge: int) -> tuple[Pair, ...]:
    """The stretches that count in some band: spans of which an end is at or above the lowest edge."""
    found: list[list[int]] = []
    for part in series.parts():
        times, values = part.times, part.values
        for a, b, one, other in zip(times, times[1:], values, values[1:], strict=False):
            if max(one, other) >= edge:
                if found and found[-1][1] == a:
                    found[-1][1] = b
                else:
                    found.append([a, b])
    return tuple((_chart_hours(a), _chart_hours(b)) for a, b in found)


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


# those that ripen upwards first: what nobody chose errs towards the eater
_RINDS = (*RISING_RINDS, *OTHER_RINDS)
_HIGHEST_AW = Ask("highest_aw", quantity="water_activity", units=("aw",), required=False)

CALCULATOR = Calculator(
    "excursion",
    (
        Task(
            "time_in_warmth",
            (
                Ask("food_state", "choice", options=(*FOODS, CURD)),
                Ask("organism", "choice", options=(EVERY, *CONCERN)),
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
                Ask(
                    "rind",
                    "choice",
                    options=(NO_RIND_GIVEN, *_RINDS),
                    required=False,
                    help=say("excursion_rind_help"),
                ),
                Ask(
                    "highest_ph",
                    quantity="ph",
                    units=("pH",),
                    required=False,
                    help=say("listeria_highest_help"),
                ),
                _HIGHEST_AW,
            ),
            work_exposure,
        ),
        Task(
            "listeria_growth",
            (
                Ask("rind", "choice", options=_RINDS),
                Ask("highest_ph", quantity="ph", units=("pH",), help=say("listeria_highest_help")),
                _HIGHEST_AW,
                Ask("moisture", quantity="percent", units=("percent",), required=False),
                Ask("shelf_life", quantity="duration", units=("d",), required=False),
                Ask("wording", "choice", options=(listeria.EUROPE, listeria.AUSTRALIA)),
                Ask("challenge_study", "choice", options=("study_none", "study_attached")),
            ),
            work_listeria,
        ),
    ),
)
