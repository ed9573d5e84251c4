"""Brine of sodium chloride: density, strength and its three bases, saturation, freezing point.

Strength is % w/w throughout: kg of salt in 100 kg of brine. All of it is decimal arithmetic on the published
tables of `brine_tables`, with straight lines between their figures, so that a person can follow it by hand;
results carry up to 28 digits and are not rounded. It holds for clean salt in water: whey in a used brine
makes a hydrometer read high (1 to 2 °Bé after two or three months: handbook chapter, buffalobrewingstl.com),
and 5 °C overlooked are about 0.3 % of salt.
"""

from bisect import bisect_right
from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation.brine_tables import (
    DENSITY,
    DENSITY_SOURCE,
    EUTECTIC_PERCENT,
    FREEZING,
    FREEZING_SOURCE,
    HIGHEST_C,
    HIGHEST_PERCENT,
    LOWEST_C,
    SATURATION_F,
    TEMPERATURES_C,
)
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import say
from safetyplan.calculation.units import (
    convert,
)

Point = tuple[Decimal, Decimal]
Line = tuple[Point, ...]
_ZERO = Decimal(0)
MOST_KG = Decimal(1_000_000)
# What 28 digits leave behind in masses up to that and in densities; smaller differences are none.
LAST_DIGITS = Decimal("1e-18")
_A_TANK = "a tank; common practice, no source"
# Densities and strengths computed are shown with hundredths.
_DECIMALS = 2


def percent_text(percent_ww: Decimal) -> str:
    """A strength half up to hundredths: "18.25 % w/w"."""
    return amount(decimal_text(percent_ww, _DECIMALS), "percent_ww")


def density_text(density_kg_m3: Decimal) -> str:
    """A density half up to hundredths: "1136.43 kg/m³"."""
    return amount(decimal_text(density_kg_m3, _DECIMALS), "kg_per_m3")


def require_temperature(temperature_c: Decimal, *, field: str = "") -> None:
    """Refuse a brine outside 0 to 30 °C, the range of the density table, and what is no number."""
    require_within(
        temperature_c,
        LOWEST_C,
        HIGHEST_C,
        quantity="temperature",
        unit="degC",
        source=DENSITY_SOURCE,
        field=field,
    )


def require_strength(percent_ww: Decimal, *, field: str = "") -> None:
    """Refuse a strength outside 0 to 26.3 % w/w, and what is no number.

    Above it the sentence says that the figure is an entry error or the brine saturated with salt left over.
    """
    if percent_ww.is_finite() and percent_ww > HIGHEST_PERCENT:
        high = amount(trim(HIGHEST_PERCENT), "percent_ww")
        raise Refusal(
            say("brine_too_strong", value=_above(percent_ww), high=high, source=DENSITY_SOURCE), field
        )
    require_within(
        percent_ww,
        _ZERO,
        HIGHEST_PERCENT,
        quantity="salt_strength",
        unit="percent_ww",
        source=DENSITY_SOURCE,
        field=field,
    )


def _above(percent_ww: Decimal) -> str:
    """A strength above the highest, with as many decimals as it takes for it to be seen above."""
    if percent_ww >= 100:
        return amount("100", "percent_ww")
    near = (decimal_text(percent_ww, decimals) for decimals in range(_DECIMALS, 30))
    return amount(next(text for text in near if Decimal(text) > HIGHEST_PERCENT), "percent_ww")


def require_mass(mass_kg: Decimal, *, field: str = "", zero: bool = False) -> None:
    """Refuse a mass of zero or less (with `zero`: below zero), above 1,000,000 kg, and what is no number."""
    if not mass_kg.is_finite() or not 0 <= mass_kg <= MOST_KG or (mass_kg == 0 and not zero):
        raise Refusal(say("brine_amount", most=amount(trim(MOST_KG), "kg"), source=_A_TANK), field)


def neighbours(line: Line, x: Decimal) -> tuple[Point, Point]:
    """The points of a rising table on both sides of x; below or beyond it, its first or its last two."""
    place = bisect_right([point[0] for point in line], x)
    after = min(max(place, 1), len(line) - 1)
    return line[after - 1], line[after]


def between(line: Line, x: Decimal) -> Decimal:
    """The value at x on the straight line through the two points of a table beside it (`neighbours`).

    y = y1 + (x - x1) x (y2 - y1) / (x2 - x1). Source: definition of linear interpolation.
    """
    (x1, y1), (x2, y2) = neighbours(line, x)
    return y1 + (x - x1) * (y2 - y1) / (x2 - x1)


def densities_at(temperature_c: Decimal, *, field: str = "") -> Line:
    """Pairs of (% w/w, kg/m³) at a temperature, 0 to 26 %: the density table along one temperature.

    Between two columns of the table a straight line. Validity: 0 to 30 °C. Raises Refusal outside.
    Source: DENSITY_SOURCE.
    """
    require_temperature(temperature_c, field=field)
    return tuple(
        (percent, between(tuple(zip(TEMPERATURES_C, row, strict=True)), temperature_c))
        for percent, row in DENSITY
    )


def brine_density(*, percent_ww: Decimal, temperature_c: Decimal, field: str = "") -> Decimal:
    """Density in kg/m³ of a brine of so many % w/w at °C.

    Table by straight lines; the last 0.3 % continue the line from 24 to 26 %. Not rounded. Within 0.5 kg/m³
    of CoolProp INCOMP::MNA up to 23 % and within 0.3 kg/m³ of Rogers and Pitzer (1982).
    Validity: 0 to 26.3 % w/w, 0 to 30 °C. Raises Refusal outside, for the strength with `field`.
    Source: DENSITY_SOURCE.
    """
    require_strength(percent_ww, field=field)
    return between(densities_at(temperature_c), percent_ww)


def water_density(temperature_c: Decimal) -> Decimal:
    """Density of water in kg/m³ at °C, from the same table. Raises Refusal outside 0 to 30 °C."""
    return brine_density(percent_ww=_ZERO, temperature_c=temperature_c)


def percent_from_density(*, density_kg_m3: Decimal, temperature_c: Decimal, field: str = "") -> Decimal:
    """Strength in % w/w of a brine from its density (kg/m³) at °C: `brine_density` the other way round.

    w = w1 + (d - d1) x (w2 - w1) / (d2 - d1) between the table's strengths w1 and w2. Not rounded.
    Validity: 0 to 30 °C, densities from water's to that of 26.3 %. Raises Refusal outside, for the density
    with `field`; above, the brine is saturated, holds more than salt, or the figure is wrong.
    Source: DENSITY_SOURCE.
    """
    line = densities_at(temperature_c)
    low, high = line[0][1], between(line, HIGHEST_PERCENT)
    if not density_kg_m3.is_finite() or not low - LAST_DIGITS <= density_kg_m3 <= high + LAST_DIGITS:
        raise Refusal(
            say(
                "brine_density_outside",
                value=_beyond(density_kg_m3, low, high),
                low=density_text(low),
                high=density_text(high),
                temperature=amount(decimal_text(temperature_c, _DECIMALS), "degC"),
                source=DENSITY_SOURCE,
            ),
            field,
        )
    by_density = tuple((density, percent) for percent, density in line)
    return min(max(between(by_density, density_kg_m3), _ZERO), HIGHEST_PERCENT)


def _beyond(density_kg_m3: Decimal, low: Decimal, high: Decimal) -> str:
    """A density outside low..high, with as many decimals as it takes to be seen outside both as shown."""
    if not density_kg_m3.is_finite() or abs(density_kg_m3) > MOST_KG:
        return str(density_kg_m3)
    shown_low, shown_high = (Decimal(decimal_text(end, _DECIMALS)) for end in (low, high))
    near = [decimal_text(density_kg_m3, decimals) for decimals in range(_DECIMALS, 10)]
    outside = [text for text in near if not shown_low <= Decimal(text) <= shown_high]
    return amount((outside or near)[0], "kg_per_m3")


def saturation_percent(temperature_c: Decimal) -> Decimal:
    """Strength in % w/w of saturated brine at °C, by a straight line between the published ones.

    Nearly flat: 26.29 at 0 °C, 26.57 at 30 °C. Not rounded. Validity: 0 to 30 °C. Raises Refusal outside.
    Source: SATURATION_SOURCE.
    """
    require_temperature(temperature_c)
    return between(SATURATION_F, convert(temperature_c, "degC", "degF"))


def freezing_point_c(percent_ww: Decimal, *, field: str = "") -> Decimal:
    """Temperature in °C at which ice begins to form in brine of % w/w, by a straight line between tables.

    Not rounded. Validity: 0 to 23.3 % w/w, the eutectic (about -21.1 °C); above it salt comes out before ice.
    Raises Refusal outside. Source: FREEZING_SOURCE.
    """
    require_within(
        percent_ww,
        _ZERO,
        EUTECTIC_PERCENT,
        quantity="salt_strength",
        unit="percent_ww",
        source=FREEZING_SOURCE,
        field=field,
    )
    return between(FREEZING, percent_ww)


@dataclass(frozen=True)
class Bases:
    """One strength on the three bases in use: none of the three figures is another of them.

    percent_ww: kg of salt in 100 kg of brine. kg_per_100_l_water: kg of salt put to 100 litres of water.
    g_per_l: g of salt in a litre of brine, ten times the % w/v.
    """

    percent_ww: Decimal
    kg_per_100_l_water: Decimal
    g_per_l: Decimal

    @property
    def percent_wv(self) -> Decimal:
        """Kg of salt in 100 litres of brine."""
        return self.g_per_l / 10


def bases_of(*, percent_ww: Decimal, temperature_c: Decimal, field: str = "") -> Bases:
    """The three bases of a strength, brine and water measured at °C.

    kg per 100 L water = w / (100 - w) x density of water / 10; g/l = w x density of brine / 100. Not rounded.
    Validity: 0 to 26.3 % w/w, 0 to 30 °C. Raises Refusal outside. Source: definitions.
    """
    density = brine_density(percent_ww=percent_ww, temperature_c=temperature_c, field=field)
    to_water = percent_ww * water_density(temperature_c) / (10 * (100 - percent_ww))
    return Bases(percent_ww, to_water, percent_ww * density / 100)


def strength_percent(*, salt_kg: Decimal, water_kg: Decimal, field: str = "") -> Decimal:
    """Strength in % w/w of salt and water put together: 100 x salt / (salt + water).

    Not rounded. Validity: salt from 0, water above 0, each to 1,000,000 kg. Raises Refusal outside. What is
    above the saturation does not dissolve. Source: mass balance.
    """
    require_mass(salt_kg, field=field, zero=True)
    require_mass(water_kg, field=field)
    return 100 * salt_kg / (salt_kg + water_kg)


def percent_from_per_100_l_water(*, kg: Decimal, temperature_c: Decimal, field: str = "") -> Decimal:
    """Strength in % w/w of so many kg of salt put to 100 litres of water of °C: 20 are 16.7 %, not 20 %.

    Not rounded. Validity: up to 26.3 % w/w, 0 to 30 °C. Raises Refusal outside. Source: mass balance.
    """
    percent = strength_percent(salt_kg=kg, water_kg=water_density(temperature_c) / 10, field=field)
    require_strength(percent, field=field)
    return percent


def percent_from_g_per_l(*, g_per_l: Decimal, temperature_c: Decimal, field: str = "") -> Decimal:
    """Strength in % w/w of brine with so many grams of salt in a litre (ten times the % w/v) at °C.

    Solves g = w x (a + b x w) / 100 for w, where a + b x w is the straight line of density between the two
    strengths of the table. 28 digits, not rounded. Validity: up to 26.3 % w/w, 0 to 30 °C. Raises Refusal
    outside. Source: definition.
    """
    line = densities_at(temperature_c)
    high = between(line, HIGHEST_PERCENT) * HIGHEST_PERCENT / 100
    if not g_per_l.is_finite() or not 0 <= g_per_l <= high:
        value = trim(g_per_l) if g_per_l.is_finite() and abs(g_per_l) < MOST_KG else str(g_per_l)
        most = decimal_text(high, _DECIMALS)
        raise Refusal(say("brine_grams_outside", value=value, high=most, source=DENSITY_SOURCE), field)
    (_, w1), (_, w2) = neighbours(tuple((w * density / 100, w) for w, density in line), g_per_l)
    slope = (between(line, w2) - between(line, w1)) / (w2 - w1)
    start = between(line, w1) - slope * w1
    percent = ((start * start + 400 * slope * g_per_l).sqrt() - start) / (2 * slope)
    return min(percent, HIGHEST_PERCENT)
