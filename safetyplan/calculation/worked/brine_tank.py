"""The tasks that change a tank: make a brine, raise it, dilute it."""

from decimal import Decimal

from safetyplan.calculation.brine import brine_density, density_text, percent_text
from safetyplan.calculation.brine_tables import DENSITY_SOURCE
from safetyplan.calculation.brine_tank import (
    kg_text,
    require_target,
    salt_to_make,
    salt_to_raise,
    water_to_dilute,
)
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.brine_parts import (
    BALANCE_SOURCE,
    BASIS,
    BRINE_MASS,
    BRINE_VOLUME,
    CAUTION_SOURCES,
    CAUTIONS,
    MASSES,
    TEMPERATURE,
    VALIDITY,
    VOLUMES,
    afterwards,
    bases_sentence,
    figure,
    litres_text,
    read_brine,
    read_strength,
    read_water,
    strength_ask,
    temperature_c,
    temperature_text,
)
from safetyplan.calculation.worked.shape import Answers, Ask, Task, Worked

_SOURCES = (BALANCE_SOURCE, DENSITY_SOURCE, *CAUTION_SOURCES)


def work_make(answers: Answers) -> Worked:
    """Salt to put to water for a brine of a strength."""
    celsius = temperature_c(answers)
    target = read_strength(answers, "target_strength", celsius)
    percent = target.percent_ww
    require_target(percent, field="target_strength")
    water = read_water(answers, celsius)
    salt = salt_to_make(water_kg=water.kg, target_percent=percent, field="target_strength")
    figures = {"water": kg_text(water.kg), "salt": kg_text(salt)}
    return Worked(
        result=say("brine_make", salt=figures["salt"], water=figures["water"], percent=percent_text(percent)),
        more=(afterwards(water.kg + salt, percent, celsius), bases_sentence(percent, celsius)),
        steps=(
            target.step,
            *water.steps,
            say(
                "brine_step_make",
                water=figures["water"],
                percent=figure(percent),
                rest=figure(100 - percent),
                salt=figures["salt"],
            ),
            _volume_step(water.kg + salt, percent, celsius),
        ),
        validity=VALIDITY,
        cautions=(say("brine_caution_measure"), *CAUTIONS),
        sources=_SOURCES,
    )


def work_raise(answers: Answers) -> Worked:
    """Salt to put to a tank that is too weak."""
    celsius = temperature_c(answers)
    present = read_strength(answers, "present_strength", celsius)
    target = read_strength(answers, "target_strength", celsius)
    brine = read_brine(answers, present.percent_ww, celsius)
    low, high = present.percent_ww, target.percent_ww
    salt = salt_to_raise(brine_kg=brine.kg, from_percent=low, to_percent=high, field="target_strength")
    step = say(
        "brine_step_raise",
        mass=kg_text(brine.kg),
        present=figure(low),
        wanted=figure(high),
        rest=figure(100 - high),
        salt=kg_text(salt),
    )
    return Worked(
        result=say("brine_raise", salt=kg_text(salt), present=percent_text(low), wanted=percent_text(high)),
        more=(afterwards(brine.kg + salt, high, celsius), bases_sentence(high, celsius)),
        steps=(
            present.step,
            target.step,
            *brine.steps,
            step,
            _volume_step(brine.kg + salt, high, celsius),
        ),
        validity=VALIDITY,
        cautions=(say("brine_caution_measure"), *CAUTIONS),
        sources=_SOURCES,
    )


def work_dilute(answers: Answers) -> Worked:
    """Water to put to a tank that is too strong."""
    celsius = temperature_c(answers)
    present = read_strength(answers, "present_strength", celsius)
    target = read_strength(answers, "target_strength", celsius)
    brine = read_brine(answers, present.percent_ww, celsius)
    high, low = present.percent_ww, target.percent_ww
    water = water_to_dilute(brine_kg=brine.kg, from_percent=high, to_percent=low, field="target_strength")
    step = say(
        "brine_step_dilute",
        mass=kg_text(brine.kg),
        present=figure(high),
        wanted=figure(low),
        water=kg_text(water),
    )
    return Worked(
        result=say(
            "brine_dilute",
            water=kg_text(water),
            volume=litres_text(water, Decimal(0), celsius),
            present=percent_text(high),
            wanted=percent_text(low),
        ),
        more=(afterwards(brine.kg + water, low, celsius), bases_sentence(low, celsius)),
        steps=(
            present.step,
            target.step,
            *brine.steps,
            step,
            _volume_step(brine.kg + water, low, celsius),
        ),
        validity=VALIDITY,
        cautions=(say("brine_caution_measure"), *CAUTIONS),
        sources=_SOURCES,
    )


def _volume_step(mass_kg: Decimal, percent_ww: Decimal, celsius: Decimal) -> Sentence:
    return say(
        "brine_step_volume",
        mass=kg_text(mass_kg),
        density=density_text(brine_density(percent_ww=percent_ww, temperature_c=celsius)),
        temperature=temperature_text(celsius),
        volume=litres_text(mass_kg, percent_ww, celsius),
    )


_TANK = (
    BRINE_VOLUME,
    BRINE_MASS,
    TEMPERATURE,
    BASIS,
    strength_ask("present_strength"),
    strength_ask("target_strength"),
)
MAKE = Task(
    "make",
    (
        Ask("water_volume", quantity="volume", units=VOLUMES, required=False, help=say("brine_help_amount")),
        Ask("water_mass", quantity="mass", units=MASSES, required=False),
        TEMPERATURE,
        BASIS,
        strength_ask("target_strength"),
    ),
    work_make,
)
RAISE = Task("raise_strength", _TANK, work_raise)
DILUTE = Task("dilute", _TANK, work_dilute)
