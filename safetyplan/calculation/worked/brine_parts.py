"""What the tasks of the brine calculator share: their inputs, the basis of a strength, amounts, cautions."""

from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation.brine import (
    bases_of,
    brine_density,
    density_text,
    percent_from_g_per_l,
    percent_from_per_100_l_water,
    percent_text,
    require_strength,
    require_temperature,
    water_density,
)
from safetyplan.calculation.brine_tables import DENSITY_SOURCE
from safetyplan.calculation.brine_tank import brine_mass_kg, kg_text, litres_of, water_mass_kg
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.shape import Answers, Ask, Number

VOLUMES, MASSES = ("L", "gal_us", "gal_imp"), ("kg", "g", "lb")
WEIGHT_IN_WEIGHT, SALT_TO_WATER, WEIGHT_IN_VOLUME = "weight_in_weight", "salt_to_water", "weight_in_volume"

_FIGURE_DECIMALS = 4
TEMPERATURE = Ask("brine_temperature", quantity="temperature", units=("degC", "degF"))
BASIS = Ask(
    "strength_basis",
    entry="choice",
    options=(WEIGHT_IN_WEIGHT, SALT_TO_WATER, WEIGHT_IN_VOLUME),
    help=say("brine_help_basis"),
)
BRINE_VOLUME = Ask(
    "brine_volume", quantity="volume", units=VOLUMES, required=False, help=say("brine_help_amount")
)
BRINE_MASS = Ask("brine_mass", quantity="mass", units=MASSES, required=False)

BALANCE_SOURCE = "mass balance of salt and water"
USED_SOURCE = "handbook chapter on brine salting (buffalobrewingstl.com): a used brine reads 1 to 2 °Bé high"
LISTERIA_SOURCE = (
    "Larson, Johnson and Nelson 1999, J Dairy Sci 82:1860: Listeria in dairy brines, under 7 to over 259 days"
)
CAUTIONS = (say("brine_caution_used"), say("brine_caution_listeria"), say("brine_caution_plan"))
CAUTION_SOURCES = (USED_SOURCE, LISTERIA_SOURCE)
VALIDITY = (say("brine_validity"), say("brine_validity_table", source=DENSITY_SOURCE))


def strength_ask(name: str, *, required: bool = True) -> Ask:
    """An input for a strength, a number on the basis chosen."""
    return Ask(name, quantity="ratio", units=("ratio",), required=required)


def temperature_c(answers: Answers, name: str = "brine_temperature") -> Decimal:
    """The temperature in °C. Raises Refusal naming the input when it is missing or outside 0 to 30 °C."""
    found = answers.number(name).in_unit("degC")
    require_temperature(found, field=name)
    return found


def temperature_text(temperature_c: Decimal) -> str:
    """A temperature as typed where it is in °C, else half up to hundredths."""
    short = len(temperature_c.as_tuple().digits) < 8
    return amount(trim(temperature_c) if short else decimal_text(temperature_c, 2), "degC")


@dataclass(frozen=True)
class Strength:
    """A strength in % w/w and the step that says how it came from what was given."""

    percent_ww: Decimal
    step: Sentence


def read_strength(answers: Answers, name: str, temperature_c: Decimal) -> Strength:
    """A strength on the basis chosen. Raises Refusal naming the input, as the function of its basis."""
    given = answers.number(name).value
    value = trim(given)
    basis = answers.choice("strength_basis")
    if basis == SALT_TO_WATER:
        percent = percent_from_per_100_l_water(kg=given, temperature_c=temperature_c, field=name)
        water = decimal_text(water_density(temperature_c) / 10, 3)
        result = amount(figure(percent), "percent_ww")
        return Strength(percent, say("brine_basis_water", part=name, value=value, water=water, result=result))
    if basis == WEIGHT_IN_VOLUME:
        percent = percent_from_g_per_l(g_per_l=given * 10, temperature_c=temperature_c, field=name)
        density = density_text(brine_density(percent_ww=percent, temperature_c=temperature_c))
        result = amount(figure(percent), "percent_ww")
        step = say("brine_basis_volume", part=name, value=value, density=density, result=result)
        return Strength(percent, step)
    require_strength(given, field=name)
    return Strength(given, say("brine_basis_weight", part=name, value=value))


def bases_sentence(percent_ww: Decimal, temperature_c: Decimal) -> Sentence:
    """One strength on its three bases."""
    bases = bases_of(percent_ww=percent_ww, temperature_c=temperature_c)
    return say(
        "brine_bases",
        percent=percent_text(percent_ww),
        water=decimal_text(bases.kg_per_100_l_water, 2),
        grams=decimal_text(bases.g_per_l, 1),
        volume=decimal_text(bases.percent_wv, 2),
        temperature=temperature_text(temperature_c),
    )


@dataclass(frozen=True)
class Mass:
    """An amount of brine or water in kg, and the steps from what was given."""

    kg: Decimal
    steps: tuple[Sentence, ...]


def read_brine(answers: Answers, percent_ww: Decimal, temperature_c: Decimal) -> Mass:
    """The brine in the tank, given as a volume or a mass. Raises Refusal when none or both are given."""
    given, field = _one_of(answers, "brine_volume", "brine_mass")
    kg = brine_mass_kg(
        given.value, given.unit, percent_ww=percent_ww, temperature_c=temperature_c, field=field
    )
    density = brine_density(percent_ww=percent_ww, temperature_c=temperature_c)
    return Mass(kg, _steps(given, kg, density, temperature_c))


def read_water(answers: Answers, temperature_c: Decimal) -> Mass:
    """The water for a brine, given as a volume or a mass. Raises Refusal when none or both are given."""
    given, field = _one_of(answers, "water_volume", "water_mass")
    kg = water_mass_kg(given.value, given.unit, temperature_c=temperature_c, field=field)
    return Mass(kg, _steps(given, kg, water_density(temperature_c), temperature_c))


def _one_of(answers: Answers, volume: str, mass: str) -> tuple[Number, str]:
    litres, kilos = answers.optional(volume), answers.optional(mass)
    if litres is not None and kilos is not None:
        raise Refusal(say("brine_two_amounts"), mass)
    if litres is not None:
        return litres, volume
    if kilos is not None:
        return kilos, mass
    raise Refusal(say("brine_no_amount"), volume)


def _steps(given: Number, kg: Decimal, density: Decimal, temperature_c: Decimal) -> tuple[Sentence, ...]:
    kind = "L" if given.unit in VOLUMES else "kg"
    in_kind = amount(decimal_text(given.in_unit(kind), 3), kind)
    converted = () if given.unit == kind else (say("brine_step_converted", given=given.text, result=in_kind),)
    if kind == "kg":
        return converted
    step = say(
        "brine_step_mass",
        volume=in_kind if converted else given.text,
        density=density_text(density),
        temperature=temperature_text(temperature_c),
        mass=kg_text(kg),
    )
    return (*converted, step)


def figure(percent: Decimal) -> str:
    """A percentage within a formula: half up to four decimals, without zeros at the end."""
    near = Decimal(decimal_text(percent, _FIGURE_DECIMALS))
    return trim(Decimal(format(near.normalize(), "f")))


def litres_text(mass_kg: Decimal, percent_ww: Decimal, temperature_c: Decimal) -> str:
    """The volume of a mass of brine (at 0 % of water), half up to hundredths of a litre."""
    litres = litres_of(mass_kg, percent_ww=percent_ww, temperature_c=temperature_c)
    return amount(decimal_text(litres, 2), "L")


def afterwards(mass_kg: Decimal, percent_ww: Decimal, temperature_c: Decimal) -> Sentence:
    """How much brine there is in the end."""
    return say(
        "brine_makes",
        mass=kg_text(mass_kg),
        volume=litres_text(mass_kg, percent_ww, temperature_c),
        temperature=temperature_text(temperature_c),
    )
