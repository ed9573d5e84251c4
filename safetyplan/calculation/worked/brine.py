"""The brine calculator: strength from a hydrometer; make, raise, dilute a tank; the balance after a batch."""

from decimal import Decimal

from safetyplan.calculation.brine import (
    bases_of,
    densities_at,
    density_text,
    freezing_point_c,
    neighbours,
    percent_from_density,
    percent_text,
    saturation_percent,
    water_density,
)
from safetyplan.calculation.brine_scales import (
    baume_from_percent,
    density_from_baume,
    density_from_salometer,
    reference_density,
    salometer_field_corrected,
)
from safetyplan.calculation.brine_tables import (
    BAUME_SCALES,
    BAUME_SOURCE,
    DENSITY_SOURCE,
    EUTECTIC_C,
    EUTECTIC_PERCENT,
    FIELD_SOURCE,
    FREEZING_SOURCE,
    SALOMETER_SOURCE,
    SATURATION_SOURCE,
)
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.units import convert
from safetyplan.calculation.worked.brine_batch import AFTER_BATCH
from safetyplan.calculation.worked.brine_parts import (
    CAUTION_SOURCES,
    CAUTIONS,
    TEMPERATURE,
    VALIDITY,
    bases_sentence,
    figure,
    temperature_c,
    temperature_text,
)
from safetyplan.calculation.worked.brine_tank import DILUTE, MAKE, RAISE
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Task, Worked

KG_M3, G_ML, SALOMETER = "density_kg_m3", "density_g_ml", "salometer"
READING = "hydrometer_reading"


def work_strength(answers: Answers) -> Worked:
    """Strength of a brine from what a hydrometer shows at a temperature."""
    celsius, instrument = temperature_c(answers), answers.choice("hydrometer")
    reading = answers.number(READING).value
    density, density_step, sources = _density(instrument, reading)
    percent = percent_from_density(density_kg_m3=density, temperature_c=celsius, field=READING)
    found = [bases_sentence(percent, celsius), _saturation(percent, celsius), _freezing(percent)]
    if instrument == SALOMETER:
        found.append(_field_rule(reading, celsius))
    return Worked(
        result=say(
            "brine_strength",
            percent=percent_text(percent),
            density=density_text(density),
            temperature=temperature_text(celsius),
        ),
        more=(*found, _stems(percent, celsius)),
        steps=(
            density_step,
            *_table_steps(density, percent, celsius),
            *_basis_steps(percent, density, celsius),
        ),
        validity=(*VALIDITY, say("brine_validity_reading")),
        cautions=CAUTIONS,
        sources=(*sources, DENSITY_SOURCE, SATURATION_SOURCE, FREEZING_SOURCE, *CAUTION_SOURCES),
        chart=_chart(density, percent, celsius),
    )


def _density(instrument: str, reading: Decimal) -> tuple[Decimal, Sentence, tuple[str, ...]]:
    """The density the stem shows, the step to it, and the sources of its scale."""
    value = trim(reading)
    if instrument in BAUME_SCALES:
        density = density_from_baume(degrees=reading, scale=instrument, field=READING)
        scale = BAUME_SCALES[instrument]
        step = say(
            "brine_step_baume",
            value=value,
            modulus=trim(scale.modulus),
            water=density_text(reference_density(instrument)),
            reference=temperature_text(scale.reference_c),
            density=density_text(density),
        )
        return density, step, (BAUME_SOURCE,)
    if instrument == SALOMETER:
        density = density_from_salometer(degrees=reading, field=READING)
        percent = percent_text(convert(reading, "salometer", "percent_ww"))
        step = say("brine_step_salometer", value=value, percent=percent, density=density_text(density))
        return density, step, (SALOMETER_SOURCE, FIELD_SOURCE)
    density = reading if instrument == KG_M3 else convert(reading, "g_per_ml", "kg_per_m3")
    return density, say("brine_step_density", density=density_text(density)), ()


def _table_steps(density: Decimal, percent: Decimal, celsius: Decimal) -> tuple[Sentence, ...]:
    (w1, d1), (w2, d2) = neighbours(densities_at(celsius), percent)
    low, high = trim(w1), trim(w2)
    return (
        say(
            "brine_step_table",
            low=amount(low, "percent_ww"),
            low_density=density_text(d1),
            high=amount(high, "percent_ww"),
            high_density=density_text(d2),
            temperature=temperature_text(celsius),
        ),
        say(
            "brine_step_between",
            low=low,
            high=high,
            density=decimal_text(density, 2),
            low_density=decimal_text(d1, 2),
            high_density=decimal_text(d2, 2),
            result=percent_text(percent),
        ),
    )


def _basis_steps(percent: Decimal, density: Decimal, celsius: Decimal) -> tuple[Sentence, ...]:
    bases = bases_of(percent_ww=percent, temperature_c=celsius)
    number, rest = figure(percent), figure(100 - percent)
    return (
        say(
            "brine_step_to_water",
            percent=number,
            rest=rest,
            water=density_text(water_density(celsius)),
            result=amount(decimal_text(bases.kg_per_100_l_water, 2), "kg"),
        ),
        say(
            "brine_step_to_volume",
            percent=number,
            density=density_text(density),
            result=f"{decimal_text(bases.g_per_l, 1)} g/l",
        ),
        say(
            "brine_step_share",
            percent=number,
            saturated=decimal_text(saturation_percent(celsius), 2),
            share=_share(percent, celsius),
        ),
    )


def _share(percent: Decimal, celsius: Decimal) -> str:
    return amount(decimal_text(100 * percent / saturation_percent(celsius), 1), "percent")


def _saturation(percent: Decimal, celsius: Decimal) -> Sentence:
    saturated = percent_text(saturation_percent(celsius))
    return say(
        "brine_share",
        share=_share(percent, celsius),
        saturated=saturated,
        temperature=temperature_text(celsius),
    )


def _freezing(percent: Decimal) -> Sentence:
    if percent > EUTECTIC_PERCENT:
        eutectic, lowest = amount(trim(EUTECTIC_PERCENT), "percent_ww"), amount(trim(EUTECTIC_C), "degC")
        return say("brine_no_freezing", eutectic=eutectic, lowest=lowest)
    return say("brine_freezing", freezing=amount(decimal_text(freezing_point_c(percent), 1), "degC"))


def _field_rule(reading: Decimal, celsius: Decimal) -> Sentence:
    corrected = salometer_field_corrected(degrees=reading, temperature_c=celsius)
    return say(
        "brine_field_rule",
        reading=amount(trim(reading), "salometer"),
        corrected=amount(decimal_text(corrected, 1), "salometer"),
    )


def _stems(percent: Decimal, celsius: Decimal) -> Sentence:
    american, rational, gerlach = (
        decimal_text(baume_from_percent(percent_ww=percent, scale=scale, temperature_c=celsius), 1)
        for scale in BAUME_SCALES
    )
    return say("brine_stems", american=american, rational=rational, gerlach=gerlach)


def _chart(density: Decimal, percent: Decimal, celsius: Decimal) -> Chart:
    """Density against strength at this temperature; the level starts at the brine measured."""
    points = sorted({*densities_at(celsius), (percent, density)})
    return Chart(
        x="strength_ww",
        y=KG_M3,
        trace="density_of_brine",
        points=tuple(points),
        target="brine_measured",
        target_steps=((percent, density),),
    )


STRENGTH = Task(
    "strength",
    (
        Ask("hydrometer", entry="choice", options=(KG_M3, G_ML, *BAUME_SCALES, SALOMETER)),
        Ask(READING, quantity="ratio", units=("ratio",), help=say("brine_help_reading")),
        TEMPERATURE,
    ),
    work_strength,
)

CALCULATOR = Calculator("brine", (STRENGTH, MAKE, RAISE, DILUTE, AFTER_BATCH))
