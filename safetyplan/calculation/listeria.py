"""Whether a cheese is held to support the growth of Listeria, by the published criteria.

Judged on the highest pH and the highest water activity of the whole shelf life, surface included. Mould on
the rind, smear and blue raise the pH as they ripen: for them growth is always possible, unless a challenge
study of this very cheese is attached. A criterion says what the law deems, not that nothing can go wrong.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from safetyplan.calculation.growth_limits import require_rind
from safetyplan.calculation.growth_tables import RISING_RINDS
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, trim
from safetyplan.calculation.sentences import Sentence, say

AUSTRALIA = "wording_australia"
EUROPE = "wording_eu"
AUSTRALIA_SOURCE = "Australian guidance on soft cheese and Listeria (agriculture.gov.au)"
EUROPE_SOURCE = (
    "Regulation (EC) 2073/2005, annex I, footnote 8, text of 31 December 2020 (shelf life below 5 days "
    "from memory)"
)
SOURCES = {AUSTRALIA: AUSTRALIA_SOURCE, EUROPE: EUROPE_SOURCE}
Finding = Literal["possible", "deemed_not_to_support"]


@dataclass(frozen=True)
class Cheese:
    """What the criteria look at: the highest pH and water activity of the shelf life, moisture %, days."""

    highest_ph: Decimal
    highest_aw: Decimal | None = None
    moisture_percent: Decimal | None = None
    shelf_life_days: Decimal | None = None


def _checked(cheese: Cheese) -> Cheese:
    ranges = (
        (cheese.highest_ph, "14", "ph", "pH", "highest_ph"),
        (cheese.highest_aw, "1", "water_activity", "aw", "highest_aw"),
        (cheese.moisture_percent, "100", "moisture", "percent", "moisture"),
        (cheese.shelf_life_days, "3650", "shelf_life", "d", "shelf_life"),
    )
    for value, high, quantity, unit, field in ranges:
        if value is not None:
            require_within(
                value,
                Decimal(0),
                Decimal(high),
                quantity=quantity,
                unit=unit,
                source="range of the quantity",
                field=field,
            )
    return cheese


def clauses_met(cheese: Cheese, *, wording: str) -> tuple[Sentence, ...]:
    """Every clause of a wording that a cheese meets; exactly as it is written, with < or with <=.

    Australia: pH < 4.4; aw < 0.92; pH < 5.0 and aw < 0.94; pH < 5.0 and moisture < 39 %; refrigerated life
    <= 5 days. EU: pH <= 4.4; aw <= 0.92; pH <= 5.0 and aw <= 0.94; shelf life < 5 days. What is not given
    meets nothing. Raises Refusal outside the ranges and for an unknown wording. Source: SOURCES[wording].
    """
    found = _checked(cheese)
    if wording == AUSTRALIA:
        return _australia(found)
    if wording == EUROPE:
        return _europe(found)
    raise Refusal(say("listeria_unknown_wording"), "wording")


def _ph(value: Decimal) -> str:
    return amount(trim(value), "pH")


def _australia(cheese: Cheese) -> tuple[Sentence, ...]:
    ph, aw, moisture, days = (
        cheese.highest_ph,
        cheese.highest_aw,
        cheese.moisture_percent,
        cheese.shelf_life_days,
    )
    found = []
    if ph < Decimal("4.4"):
        found.append(say("listeria_ph_below", value=_ph(ph), limit="pH 4.4"))
    if aw is not None and aw < Decimal("0.92"):
        found.append(say("listeria_aw_below", value=amount(trim(aw), "aw"), limit="aw 0.92"))
    if aw is not None and ph < 5 and aw < Decimal("0.94"):
        found.append(say("listeria_both_below", ph=_ph(ph), aw=amount(trim(aw), "aw")))
    if moisture is not None and ph < 5 and moisture < 39:
        found.append(say("listeria_dry_below", ph=_ph(ph), moisture=amount(trim(moisture), "percent")))
    if days is not None and days <= 5:
        found.append(say("listeria_days_most", days=amount(trim(days), "d")))
    return tuple(found)


def _europe(cheese: Cheese) -> tuple[Sentence, ...]:
    ph, aw, days = cheese.highest_ph, cheese.highest_aw, cheese.shelf_life_days
    found = []
    if ph <= Decimal("4.4"):
        found.append(say("listeria_ph_most", value=_ph(ph), limit="pH 4.4"))
    if aw is not None and aw <= Decimal("0.92"):
        found.append(say("listeria_aw_most", value=amount(trim(aw), "aw"), limit="aw 0.92"))
    if aw is not None and ph <= 5 and aw <= Decimal("0.94"):
        found.append(say("listeria_both_most", ph=_ph(ph), aw=amount(trim(aw), "aw")))
    if days is not None and days < 5:
        found.append(say("listeria_days_below", days=amount(trim(days), "d")))
    return tuple(found)


@dataclass(frozen=True)
class Decision:
    """Growth possible, or deemed not to support it; why, and the clauses met."""

    finding: Finding
    sentence: Sentence
    clauses: tuple[Sentence, ...]


def growth_decision(cheese: Cheese, *, wording: str, rind: str, challenge_study: bool) -> Decision:
    """Whether growth of Listeria is to be reckoned with, by one wording and the kind of rind.

    A rind that raises the pH (bloomy, washed, blue) is always "possible" without a challenge study, whatever
    the figures. "Deemed not to support" is the word of the criterion and releases nothing. Raises Refusal as
    clauses_met, and for an unknown rind. Source: SOURCES[wording]; the rind: rule of the plan.
    """
    require_rind(rind)
    clauses = clauses_met(cheese, wording=wording)
    if rind in RISING_RINDS and not challenge_study:
        return Decision("possible", say("listeria_rind", option=rind), clauses)
    if not clauses:
        return Decision("possible", say("listeria_possible", source=SOURCES[wording]), clauses)
    return Decision("deemed_not_to_support", say("listeria_deemed", source=SOURCES[wording]), clauses)
