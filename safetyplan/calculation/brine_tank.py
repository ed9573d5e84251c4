"""A tank of brine: salt to make, raise or dilute it, and the balance of salt after a batch of cheese.

Everything is kept by mass, because salt and water add up by mass and not by volume; a volume becomes a mass
through the density at its temperature. Decimal arithmetic of 28 digits, nothing is rounded. No result is
below zero: a task the wrong way round is refused and the other one named.
"""

from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation.brine import (
    LAST_DIGITS,
    brine_density,
    percent_text,
    require_mass,
    require_strength,
    water_density,
)
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import say
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.calculation.units import UnitError, convert

LEAST_TARGET = Decimal("0.1")
MOST_SALT_GAINED, MOST_MOISTURE_LOST = Decimal(10), Decimal(30)
_BATCH_SOURCE = "what a cheese takes up or gives off; common practice, no source"


def kg_text(mass_kg: Decimal) -> str:
    """A mass in kg, half up to grams: "2.500 kg"."""
    return amount(decimal_text(mass_kg, 3), "kg")


def brine_mass_kg(
    value: Decimal, unit: str, *, percent_ww: Decimal, temperature_c: Decimal, field: str = ""
) -> Decimal:
    """Mass in kg of an amount of brine: a mass as it is, a volume x density at its strength and temperature.

    m = V x density / 1000, V in litres. Not rounded. Validity: above 0 to 1,000,000 kg, 0 to 26.3 % w/w, 0 to
    30 °C. Raises Refusal outside, UnitError for a unit that is neither volume nor mass. Source: definition.
    """
    density = brine_density(percent_ww=percent_ww, temperature_c=temperature_c)
    return _mass(value, unit, density, field)


def water_mass_kg(value: Decimal, unit: str, *, temperature_c: Decimal, field: str = "") -> Decimal:
    """Mass in kg of an amount of water, as `brine_mass_kg`: a litre is 1.000 kg at 4 °C, 0.998 at 20 °C."""
    return _mass(value, unit, water_density(temperature_c), field)


def _mass(value: Decimal, unit: str, density_kg_m3: Decimal, field: str) -> Decimal:
    kind = UNITS[unit].quantity if unit in UNITS else ""
    if kind not in ("mass", "volume"):
        raise UnitError(say("unit_unknown", unit=unit), field)
    require_mass(value, field=field)
    mass = convert(value, unit, "kg") if kind == "mass" else convert(value, unit, "L") * density_kg_m3 / 1000
    require_mass(mass, field=field)
    return mass


def litres_of(mass_kg: Decimal, *, percent_ww: Decimal, temperature_c: Decimal) -> Decimal:
    """Volume in litres of a mass of brine at °C; at 0 % of water. Not rounded; refusals as brine_density."""
    return mass_kg * 1000 / brine_density(percent_ww=percent_ww, temperature_c=temperature_c)


def require_target(percent_ww: Decimal, *, field: str = "") -> None:
    """Refuse a brine to be made or diluted to less than 0.1 % w/w: that is water."""
    if not percent_ww.is_finite() or percent_ww < LEAST_TARGET:
        source = "less is water; common practice, no source"
        raise Refusal(
            say("brine_target_too_weak", least=amount(trim(LEAST_TARGET), "percent_ww"), source=source), field
        )


def salt_to_make(*, water_kg: Decimal, target_percent: Decimal, field: str = "") -> Decimal:
    """Salt in kg to put to water for a brine of so many % w/w: salt = water x w / (100 - w).

    Not rounded. Validity: water above 0 to 1,000,000 kg, 0 to 26.3 % w/w. Raises Refusal outside, for the
    strength with `field`. Source: mass balance.
    """
    require_mass(water_kg)
    require_strength(target_percent, field=field)
    return water_kg * target_percent / (100 - target_percent)


def salt_to_raise(
    *, brine_kg: Decimal, from_percent: Decimal, to_percent: Decimal, field: str = ""
) -> Decimal:
    """Salt in kg to put to brine to raise it: M x (w2 - w1) / (100 - w2).

    Not rounded. Validity: brine above 0 to 1,000,000 kg, 0 to 26.3 % w/w, w2 not below w1 (that is to
    dilute). Raises Refusal outside, with `field` for the strength wanted. Source: mass balance.
    """
    require_mass(brine_kg)
    require_strength(from_percent)
    require_strength(to_percent, field=field)
    if to_percent < from_percent:
        present, wanted = percent_text(from_percent), percent_text(to_percent)
        raise Refusal(say("brine_is_stronger", present=present, wanted=wanted), field)
    return brine_kg * (to_percent - from_percent) / (100 - to_percent)


def water_to_dilute(
    *, brine_kg: Decimal, from_percent: Decimal, to_percent: Decimal, field: str = ""
) -> Decimal:
    """Water in kg to put to brine to weaken it: M x (w1 - w2) / w2.

    Not rounded. Validity: brine above 0 to 1,000,000 kg, 0 to 26.3 % w/w, w2 at least 0.1 % (no amount of
    water makes water of brine) and not above w1 (that is to raise). Raises Refusal outside, with `field` for
    the strength wanted. Source: mass balance.
    """
    require_mass(brine_kg)
    require_strength(from_percent)
    require_strength(to_percent, field=field)
    if to_percent > from_percent:
        present, wanted = percent_text(from_percent), percent_text(to_percent)
        raise Refusal(say("brine_is_weaker", present=present, wanted=wanted), field)
    require_target(to_percent, field=field)
    return brine_kg * (from_percent - to_percent) / to_percent


@dataclass(frozen=True)
class Tank:
    """Brine by what is in it, in kg."""

    salt_kg: Decimal
    water_kg: Decimal

    @classmethod
    def of(cls, *, brine_kg: Decimal, percent_ww: Decimal) -> "Tank":
        """The tank of so many kg of brine of % w/w. Raises Refusal outside 0 to 26.3 %, 1,000,000 kg."""
        require_mass(brine_kg)
        require_strength(percent_ww)
        salt = brine_kg * percent_ww / 100
        return cls(salt, brine_kg - salt)

    @property
    def brine_kg(self) -> Decimal:
        """Salt and water together."""
        return self.salt_kg + self.water_kg

    @property
    def percent_ww(self) -> Decimal:
        """Strength: 100 x salt / (salt + water)."""
        return 100 * self.salt_kg / self.brine_kg


def after_batch(
    before: Tank, *, cheese_kg: Decimal, salt_gained_percent: Decimal, moisture_lost_percent: Decimal
) -> Tank:
    """The tank after a batch: salt - C x s / 100 and water + C x m / 100.

    s and m are kg of salt taken up and kg of water given off per 100 kg of cheese as it went in. Not rounded.
    Brine that drips off with the cheese, evaporation and whey solids are not counted. Validity: cheese above
    0 to 1,000,000 kg, s 0 to 10, m 0 to 30, and no more salt taken up than the brine holds. Raises Refusal
    outside, `field` being cheese_mass, salt_gained or moisture_lost. Source: mass balance.
    """
    require_mass(cheese_kg, field="cheese_mass")
    _require_share(salt_gained_percent, MOST_SALT_GAINED, "salt_gained")
    _require_share(moisture_lost_percent, MOST_MOISTURE_LOST, "moisture_lost")
    taken = cheese_kg * salt_gained_percent / 100
    if taken > before.salt_kg:
        raise Refusal(
            say("brine_not_enough_salt", taken=kg_text(taken), held=kg_text(before.salt_kg)), "salt_gained"
        )
    return Tank(before.salt_kg - taken, before.water_kg + cheese_kg * moisture_lost_percent / 100)


def _require_share(percent: Decimal, most: Decimal, name: str) -> None:
    require_within(percent, Decimal(0), most, quantity=name, unit="percent", source=_BATCH_SOURCE, field=name)


@dataclass(frozen=True)
class Uptake:
    """What a strength measured after says: salt taken up, in kg and per 100 kg of cheese, and the tank."""

    salt_kg: Decimal
    percent_of_cheese: Decimal
    after: Tank


def uptake_measured(
    before: Tank, *, cheese_kg: Decimal, moisture_lost_percent: Decimal, measured_percent: Decimal
) -> Uptake:
    """Salt the cheese took up, from the strength measured after: water does not get lost, so it tells.

    Water after W = water before + C x m / 100; salt after = W x w / (100 - w); taken up = salt before - salt
    after. Not rounded; assumptions as `after_batch`. Validity: cheese above 0 to 1,000,000 kg, m 0 to 30,
    strength 0 to 26.3 % w/w, and no more salt after than before. Raises Refusal outside, `field` being
    cheese_mass, moisture_lost or strength_measured_after. Source: mass balance.
    """
    require_mass(cheese_kg, field="cheese_mass")
    _require_share(moisture_lost_percent, MOST_MOISTURE_LOST, "moisture_lost")
    require_strength(measured_percent, field="strength_measured_after")
    water = before.water_kg + cheese_kg * moisture_lost_percent / 100
    salt = salt_to_make(water_kg=water, target_percent=measured_percent)
    if salt - before.salt_kg > LAST_DIGITS:
        sentence = say("brine_gained_salt", after=kg_text(salt), before=kg_text(before.salt_kg))
        raise Refusal(sentence, "strength_measured_after")
    taken = max(before.salt_kg - salt, Decimal(0))
    return Uptake(taken, 100 * taken / cheese_kg, Tank(salt, water))
