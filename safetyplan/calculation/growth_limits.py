"""Where pathogens can grow: every source, how far the sources differ, and whether growth is possible at all.

Where sources differ, the figure that errs towards the eater counts, each quantity for itself. Growth is
judged on the highest pH and the highest water activity of the whole shelf life, surface included. On a rind
that ripens upwards (bloomy, washed, blue) pH and water activity exclude nothing unless a challenge study of
this very cheese is attached, and Listeria is always possible. That no source has growth releases nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation.growth_tables import LIMITS, OTHER_RINDS, RISING_RINDS, GrowthLimits
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, shown_against, trim
from safetyplan.calculation.sentences import Sentence, say

LOWEST_C, HIGHEST_C = Decimal(-50), Decimal(150)
FOOD = "temperatures that food meets; common practice, no source"
_PRINTED = "range of the quantity"
LISTERIA = "listeria_monocytogenes"


@dataclass(frozen=True)
class Spread:
    """How far the sources of one figure differ: the lowest and the highest of them, each with its source."""

    lowest: Decimal
    lowest_source: str
    highest: Decimal
    highest_source: str


@dataclass(frozen=True)
class Spreads:
    """The spread of each limit of growth of one organism; None where no source says anything."""

    organism: str
    lowest_c: Spread
    highest_c: Spread | None
    lowest_ph: Spread | None
    lowest_aw: Spread | None


def limits_of(organism: str) -> tuple[GrowthLimits, ...]:
    """Where an organism can grow, by every source. Raises Refusal for an organism nobody declared."""
    found = tuple(limits for limits in LIMITS if limits.organism == organism)
    if not found:
        raise Refusal(say("growth_unknown_organism", organism=organism), "organism")
    return found


def spread_of(organism: str) -> Spreads:
    """How far the sources of each limit of growth differ. The fail-safe figures are `lowest_c.lowest`,
    `highest_c.highest`, `lowest_ph.lowest` and `lowest_aw.lowest`.

    Raises Refusal for an organism nobody declared. Source: growth_tables.LIMITS.
    """
    rows = limits_of(organism)
    cold = _spread(rows, lambda row: row.lowest_c)
    assert cold is not None
    return Spreads(
        organism,
        cold,
        _spread(rows, lambda row: row.highest_c),
        _spread(rows, lambda row: row.lowest_ph),
        _spread(rows, lambda row: row.lowest_aw),
    )


def _spread(rows: tuple[GrowthLimits, ...], of: Callable[[GrowthLimits], Decimal | None]) -> Spread | None:
    found = [(value, row.source) for row in rows if (value := of(row)) is not None]
    if not found:
        return None
    low, high = min(found), max(found)
    return Spread(low[0], low[1], high[0], high[1])


@dataclass(frozen=True)
class Conditions:
    """What an organism met: from the coldest to the warmest, and the highest pH and water activity.

    None: not known, and so excludes nothing. temperatures: (coldest, warmest) in °C.
    """

    temperatures: tuple[Decimal, Decimal] | None = None
    highest_ph: Decimal | None = None
    highest_aw: Decimal | None = None


@dataclass(frozen=True)
class GrowthFinding:
    """Whether growth is possible, and why or why not."""

    possible: bool
    reasons: tuple[Sentence, ...]


def growth_possible(
    organism: str, conditions: Conditions, *, rind: str = "rind_none", challenge_study: bool = False
) -> GrowthFinding:
    """Whether an organism may have grown: it may, unless one condition is outside the limits of every source.

    Exactly on a limit counts as growth. A rind that ripens upwards makes pH and water activity exclude
    nothing without a challenge study, and Listeria always possible. Validity: -50 to 150 °C, pH 0 to 14,
    water activity 0 to 1. Raises Refusal, also for an organism or a rind nobody declared. Source:
    growth_tables.LIMITS; the rind: rule of the plan.
    """
    require_rind(rind)
    _check(conditions)
    spreads = spread_of(organism)
    ripens = rind in RISING_RINDS and not challenge_study
    if ripens and organism == LISTERIA:
        return GrowthFinding(True, (say("growth_possible_rind", organism=organism, option=rind),))
    found = _outside_temperatures(spreads, conditions)
    if not ripens:
        found += _outside_the_rest(spreads, conditions)
    if found:
        return GrowthFinding(False, tuple(found))
    return GrowthFinding(True, (_why_possible(spreads, conditions),))


def require_rind(rind: str) -> None:
    """Refuse a rind nobody declared."""
    if rind not in (*RISING_RINDS, *OTHER_RINDS):
        raise Refusal(say("growth_unknown_rind"), "rind")


def _check(conditions: Conditions) -> None:
    for temperature in conditions.temperatures or ():
        require_within(
            temperature,
            LOWEST_C,
            HIGHEST_C,
            quantity="temperature",
            unit="degC",
            source=FOOD,
            field="temperature",
        )
    for value, high, quantity, unit, field in (
        (conditions.highest_ph, 14, "ph", "pH", "highest_ph"),
        (conditions.highest_aw, 1, "water_activity", "aw", "highest_aw"),
    ):
        if value is not None:
            require_within(
                value, Decimal(0), Decimal(high), quantity=quantity, unit=unit, source=_PRINTED, field=field
            )


def _outside_temperatures(spreads: Spreads, conditions: Conditions) -> list[Sentence]:
    if conditions.temperatures is None:
        return []
    coldest, warmest = conditions.temperatures
    cold, hot, name = spreads.lowest_c, spreads.highest_c, spreads.organism
    found = []
    if warmest < cold.lowest:
        found.append(
            say(
                "growth_too_cold",
                organism=name,
                value=_celsius(warmest, cold.lowest),
                limit=_celsius(cold.lowest),
                source=cold.lowest_source,
            )
        )
    if hot is not None and coldest > hot.highest:
        found.append(
            say(
                "growth_too_hot",
                organism=name,
                value=_celsius(coldest, hot.highest),
                limit=_celsius(hot.highest),
                source=hot.highest_source,
            )
        )
    return found


def _outside_the_rest(spreads: Spreads, conditions: Conditions) -> list[Sentence]:
    """pH and water activity below every source; too high a pH excludes nothing, for it was lower before."""
    found = []
    for value, spread, unit in (
        (conditions.highest_ph, spreads.lowest_ph, "pH"),
        (conditions.highest_aw, spreads.lowest_aw, "aw"),
    ):
        if value is not None and spread is not None and value < spread.lowest:
            found.append(
                say(
                    "growth_too_low",
                    organism=spreads.organism,
                    value=amount(trim(value), unit),
                    limit=amount(trim(spread.lowest), unit),
                    source=spread.lowest_source,
                )
            )
    return found


def _why_possible(spreads: Spreads, conditions: Conditions) -> Sentence:
    cold, name = spreads.lowest_c, spreads.organism
    if conditions.temperatures is None:
        return say(
            "growth_possible_unknown", organism=name, limit=_celsius(cold.lowest), source=cold.lowest_source
        )
    return say(
        "growth_possible",
        organism=name,
        value=_celsius(conditions.temperatures[1], cold.lowest),
        limit=_celsius(cold.lowest),
        source=cold.lowest_source,
        highest=_celsius(cold.highest),
    )


def _celsius(value: Decimal, against: Decimal | None = None) -> str:
    """A temperature as displayed, on its true side of the limit it is compared with."""
    limit = value if against is None else against
    return amount(shown_against(value, limit, "temperature", "degC"), "degC")
