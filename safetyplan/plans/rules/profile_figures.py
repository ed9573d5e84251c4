"""Which figure of the profile a control answers to, and what its limit lets pass. Pure.

A control names the figure in its key `parameter`. Without it, a control whose words leave no doubt is taken
for what it says, in English only: a limit written by hand is then not overlooked.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from django.utils.translation import gettext as _

from safetyplan.calculation import rounding
from safetyplan.calculation.limits.any_of import AnyOf
from safetyplan.calculation.limits.bound import Bound
from safetyplan.calculation.limits.held_for import HeldFor
from safetyplan.calculation.limits.not_before import NotBefore
from safetyplan.calculation.limits.shape import Limit, nested
from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.calculation.units import UnitError, convert
from safetyplan.plans.figures import OF_UNPASTEURISED, parameter_words
from safetyplan.plans.parts import Control, Parameter, Plan
from safetyplan.plans.rules.ageing import is_ageing
from safetyplan.plans.rules.rule import UNPASTEURISED, may_be_raw, products_of
from safetyplan.reference.profiles import PARAMETERS

HEAT_RULE = "heat_rule"
PROFILE_UNITS: Mapping[str, str] = {"days": "d"}


@dataclass(frozen=True)
class Kind:
    """What a figure of the profile bounds: a quantity, on one side; below: the figure itself is too much."""

    quantity: str
    side: str
    below: bool = False


KINDS: Mapping[str, Kind] = {
    "milk_temperature_most": Kind("temperature", "at_most"),
    "milk_at_dairy_most": Kind("temperature", "at_most"),
    "milk_before_setting_most": Kind("temperature", "at_most"),
    "cold_store_most": Kind("temperature", "at_most"),
    "ageing_days": Kind("duration", "at_least"),
    "ageing_temperature_least": Kind("temperature", "at_least"),
    "phosphatase_most": Kind("enzyme_activity", "at_most"),
    "phosphatase_below": Kind("enzyme_activity", "at_most", below=True),
}
# where the limit may also be a word: days counted on the calendar, a test that says negative
MAY_BE_WORDS = ("ageing_days", "phosphatase_most", "phosphatase_below")

# a control without the key: its name and what it measures, the first that fits
BY_WORDS: tuple[tuple[str, re.Pattern[str]], ...] = (
    ("milk_before_setting_most", re.compile(r"\bmilk\b.*\bbefore setting\b", re.IGNORECASE)),
    (
        "milk_temperature_most",
        re.compile(
            r"\bmilk\b.*\b(receipt|arrival|intake|reception|received)\b"
            r"|\b(receipt|arrival|intake|reception) of (the )?milk\b|\bincoming milk\b",
            re.IGNORECASE,
        ),
    ),
    (
        "milk_at_dairy_most",
        re.compile(r"\bmilk (in the )?(tank|storage|store)\b|\bbulk tank\b", re.IGNORECASE),
    ),
    ("cold_store_most", re.compile(r"\bcold[ -](store|storage|room)\b|\bchill(er| store)\b", re.IGNORECASE)),
)


@dataclass(frozen=True)
class Term:
    """One bound of a limit: a quantity in a unit, from one side."""

    quantity: str
    unit: str
    side: str
    value: Decimal

    @property
    def words(self) -> str:
        """The bound with its unit."""
        return rounding.amount(rounding.trim(self.value), self.unit)

    def looser_than(self, value: Decimal, unit: str) -> bool:
        """Tell whether this bound lets more pass than a value; compared in the unit of the value."""
        mine = convert(self.value, self.unit, unit)
        return mine > value if self.side == "at_most" else mine < value


def _leaf_terms(limit: Limit) -> list[Term]:
    if isinstance(limit, Bound):
        band = limit.band
        return [Term(band.quantity, band.unit, edge.side, edge.value) for edge in band.edges("limit")]
    if isinstance(limit, NotBefore):
        return [
            Term("duration", "d", "at_least", limit.days),
            Term("temperature", limit.unit, "at_least", limit.at_least),
        ]
    return []


def term_of(limit: Limit, kind: Kind) -> Term | None:
    """Give what a limit lets pass of a quantity on one side; None when it bounds nothing there.

    Of limits that must all be kept the tightest bound counts. Of limits of which one is enough the loosest
    counts, among those that bound the quantity at all: the others are another way to keep the limit.
    """
    members: tuple[Limit, ...] = getattr(limit, "members", ())
    alone = getattr(limit, "member", None)
    if alone is not None:
        members = (alone,)
    if not members:
        own = [t for t in _leaf_terms(limit) if (t.quantity, t.side) == (kind.quantity, kind.side)]
        return own[0] if own else None
    found = [term for term in (term_of(member, kind) for member in members) if term is not None]
    chosen: Term | None = None
    for term in found:
        if chosen is None or term.looser_than(chosen.value, chosen.unit) == isinstance(limit, AnyOf):
            chosen = term
    return chosen


def quantities(limit: Limit) -> set[str]:
    """Give the quantities that a limit bounds."""
    return {term.quantity for one in nested(limit) for term in _leaf_terms(one)}


def _by_words(control: Control) -> str:
    if "temperature" not in quantities(control.limit):
        return ""
    said = (control.name, control.what)
    return next((code for code, words in BY_WORDS if any(words.search(text) for text in said)), "")


def _holds_heat(plan: Plan, control: Control) -> bool:
    """Tell whether a hold without the key is the pasteurisation of a product that has no other one."""
    if not any(isinstance(one, HeldFor) for one in nested(control.limit)):
        return False
    keyed = [other for other in plan.controls if other.parameter == HEAT_RULE]
    return any(
        product.treatment == "pasteurised" and not any(product in products_of(plan, other) for other in keyed)
        for product in products_of(plan, control)
    )


def answers_to(plan: Plan, control: Control) -> str:
    """Give the code of the parameter that the limit of a control answers to; "" for none."""
    if control.parameter:
        return control.parameter
    if _holds_heat(plan, control):
        return HEAT_RULE
    if is_ageing(control):
        return "ageing_days"
    return _by_words(control)


def concerns(plan: Plan, control: Control, code: str) -> bool:
    """Tell whether a figure speaks of a product of the control: heat of pasteurised milk, ageing of other."""
    products = products_of(plan, control)
    if code in OF_UNPASTEURISED:
        return any(may_be_raw(product) for product in products)
    if code == HEAT_RULE:
        return any(product.treatment not in UNPASTEURISED for product in products)
    return True


def parameter_for(plan: Plan, control: Control, code: str) -> Parameter | None:
    """Give the figure of the profile that a control is compared with, if it has a value and speaks of it."""
    parameter = plan.profile.parameter(code) if plan.profile else None
    if parameter is None or not parameter.value.strip() or isinstance(control.limit, OpenLimit):
        return None
    return parameter if concerns(plan, control, code) else None


def figure_of(parameter: Parameter) -> tuple[Decimal, str] | None:
    """Give the value of a parameter and its unit; None when it is no number in a known unit."""
    unit = PROFILE_UNITS.get(parameter.unit, parameter.unit)
    try:
        value = Decimal(parameter.value)
    except InvalidOperation:
        return None
    return (value, unit) if unit in UNITS and value.is_finite() else None


def cited(parameter: Parameter) -> str:
    """Write a figure of the profile with its citation."""
    words = {
        "name": str(PARAMETERS.get(parameter.code, parameter.code)),
        "figure": parameter_words(parameter),
        "citation": parameter.citation or _("no source given"),
    }
    return _("%(name)s %(figure)s (%(citation)s)") % words


def comparable(term: Term, unit: str) -> bool:
    """Tell whether a bound can be converted into a unit."""
    try:
        convert(term.value, term.unit, unit)
    except UnitError:
        return False
    return True
