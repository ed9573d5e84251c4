"""How a control or a measure that is nothing but ageing is recognised."""

import re

from safetyplan.calculation.limits.bound import Bound
from safetyplan.calculation.limits.not_before import NotBefore
from safetyplan.calculation.limits.shape import Limit, nested
from safetyplan.plans.parts import Control

PARAMETERS = ("ageing_days", "ageing_temperature_least")
WORD = re.compile(r"[^\W\d_]+")


def _words(text: str) -> list[str]:
    return text.split()


SAYS_AGEING = frozenset(
    _words("age aged ageing aging mature matured maturing maturation ripe ripened ripening")
)
# words that add nothing to a measure of ageing
BESIDE_IT = frozenset(
    _words(
        "a above alone and at before below by c cave cellar cheese cold d day days f for from h hours in is "
        "it kept least long made make milk minimum month months more not of on only or over raw room rule "
        "sale sold store stored than the time to under until week weeks with years"
    )
)


def leaves(limit: Limit) -> list[Limit]:
    """Give the limits inside a limit that are made of no others."""
    return [one for one in nested(limit) if not hasattr(one, "members") and not hasattr(one, "member")]


def holds_days(limit: Limit) -> bool:
    """Tell whether a limit is a number of days that must have passed."""
    if isinstance(limit, NotBefore):
        return True
    return isinstance(limit, Bound) and limit.band.quantity == "duration" and limit.band.at_least is not None


def is_ageing(control: Control) -> bool:
    """Tell whether a control is one of ageing: it says so, or its limit is days with temperatures at most."""
    if control.parameter in PARAMETERS:
        return True
    inside = leaves(control.limit)
    days_or_warmth = [
        holds_days(one) or (isinstance(one, Bound) and one.band.quantity == "temperature") for one in inside
    ]
    days = [one for one in inside if isinstance(one, NotBefore) or (holds_days(one) and _in_days(one))]
    return bool(days) and all(days_or_warmth)


def _in_days(limit: Limit) -> bool:
    return isinstance(limit, Bound) and limit.band.unit == "d"


def says_ageing_only(measure: str) -> bool:
    """Tell whether a measure speaks of ageing and of nothing else."""
    words = {word.casefold() for word in WORD.findall(measure)}
    return bool(words & SAYS_AGEING) and words <= SAYS_AGEING | BESIDE_IT
