"""Yield of a make and what is usual for a product: kilograms per 100 L, percent by mass, median and range.

What is usual is information about earlier makes, never a limit: nothing is judged by it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation.refusal import require_within
from safetyplan.calculation.unit_tables import QUANTITIES

FEWEST_MAKES = 3
_LEAST = Decimal("0.001")
_VAT = "a vat of milk and its cheese on a scale; common practice, no source"
_DENSITY = "range of milk, whey and brine; common practice, no source"


def _require(value: Decimal, quantity: str, unit: str) -> None:
    most = QUANTITIES[quantity].physical[unit][1]
    require_within(value, _LEAST, most, quantity=quantity, unit=unit, source=_VAT, field=quantity)


def yield_per_100_l(*, cheese_kg: Decimal, milk_l: Decimal) -> Decimal:
    """Yield of cheese in kg for each 100 L of milk: 100 x cheese / milk.

    28 digits, not rounded. Validity: both above 0, at most 50 000. Raises Refusal outside. Source:
    definition; milk measured by volume is reckoned so (common practice, no source).
    """
    _require(cheese_kg, "mass", "kg")
    _require(milk_l, "volume", "L")
    return 100 * cheese_kg / milk_l


def yield_percent(*, cheese_kg: Decimal, milk_l: Decimal, density_g_per_ml: Decimal) -> Decimal:
    """Yield of cheese in % of the mass of the milk: 100 x cheese / (milk x density).

    Density of the milk in g/ml, which is kg/L, about 1.03. 28 digits, not rounded. Validity: as
    yield_per_100_l, density 0.95 to 1.25 g/ml. Raises Refusal outside. Source: definition of density.
    """
    least, most = QUANTITIES["density"].plausible["g_per_ml"]
    require_within(
        density_g_per_ml, least, most, quantity="density", unit="g_per_ml", source=_DENSITY, field="density"
    )
    return yield_per_100_l(cheese_kg=cheese_kg, milk_l=milk_l) / density_g_per_ml


@dataclass(frozen=True)
class Usual:
    """What earlier makes came to: the middle one, the lowest and the highest, and how many they were."""

    median: Decimal
    lowest: Decimal
    highest: Decimal
    count: int

    def holds(self, value: Decimal) -> bool:
        """Tell whether a value lies within the range of the earlier makes."""
        return self.lowest <= value <= self.highest


def usual(values: Sequence[Decimal]) -> Usual | None:
    """The median and the range of earlier makes; None for fewer than three, which show nothing usual.

    Median: the middle value, of an even number the mean of the two in the middle. Unit as given, 28 digits,
    not rounded. Source: definition of the median; the least number is common practice, no source.
    """
    if len(values) < FEWEST_MAKES:
        return None
    ordered = sorted(values)
    half = len(ordered) // 2
    median = ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2
    return Usual(median, ordered[0], ordered[-1], len(ordered))
