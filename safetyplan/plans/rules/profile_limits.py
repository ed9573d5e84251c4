"""Rules on limits against the regulatory profile: not looser, in its unit; a changed figure has a reason."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation import rounding
from safetyplan.calculation.units import convert
from safetyplan.plans.around import Around
from safetyplan.plans.figures import parameter_words
from safetyplan.plans.parts import Control, Parameter, Plan
from safetyplan.plans.rules import heat_limits
from safetyplan.plans.rules.profile_figures import (
    KINDS,
    MAY_BE_WORDS,
    Term,
    answers_to,
    cited,
    comparable,
    figure_of,
    parameter_for,
    quantities,
    term_of,
)
from safetyplan.plans.rules.rule import ERROR, WARNING, Found, rule
from safetyplan.reference.profiles import PARAMETERS, profiles

PHOSPHATASE = ("phosphatase_most", "phosphatase_below")
# the greatest activity that a verification accepts, in its words: "at most 350 mU/L", "below 350 mU/L"
ACTIVITY = re.compile(
    r"(?:at most|up to|below|under|less than|not more than|no more than|maximum|≤|<)\s*"
    r"([0-9]{1,10}(?:[.,][0-9]{1,6})?)\s*mU\s*/\s*L",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Compared:
    """A limit beside a figure of the profile. term: what the limit lets pass, None when it bounds nothing."""

    control: Control
    parameter: Parameter
    value: Decimal
    unit: str
    term: Term | None
    other_quantity: bool = False

    @property
    def looser(self) -> bool:
        """Tell whether the limit lets more pass than the figure."""
        if self.other_quantity:
            return False
        if self.term is None or self.term.looser_than(self.value, self.unit):
            return True
        below = KINDS[self.parameter.code].below
        return below and convert(self.term.value, self.term.unit, self.unit) == self.value


def _codes(plan: Plan, control: Control) -> list[str]:
    """Give the figures a control answers to; a temperature beside days of ageing answers to its own."""
    code = answers_to(plan, control)
    if code == "ageing_days" and term_of(control.limit, KINDS["ageing_temperature_least"]):
        return [code, "ageing_temperature_least"]
    return [code]


def comparisons(plan: Plan) -> Iterator[Compared]:
    """Set each limit beside the figures of the profile that it answers to; heat is compared apart."""
    for control in plan.controls:
        for code in _codes(plan, control):
            parameter = parameter_for(plan, control, code) if code in KINDS else None
            figure = figure_of(parameter) if parameter else None
            if parameter and figure and (compared := _compared(control, parameter, *figure)):
                yield compared


def _compared(control: Control, parameter: Parameter, value: Decimal, unit: str) -> Compared | None:
    kind, found = KINDS[parameter.code], quantities(control.limit)
    if not found and parameter.code in MAY_BE_WORDS:
        return None
    term = term_of(control.limit, kind)
    other = kind.quantity not in found or (term is not None and not comparable(term, unit))
    return Compared(control, parameter, value, unit, term, other)


@rule("P021", ERROR, gettext_lazy("No limit is looser than the figure of the profile."))
def not_looser(plan: Plan, around: Around) -> Iterator[Found]:
    """Compared exactly, in the unit of the profile: 35 °F is not 1.7 °C, and exactly the figure is kept.

    A figure that does not fit is changed in the plan's copy of the profile, with a reason; then that is what
    limits are compared with. A figure of phosphatase is looked for in the words of its verification: "at most
    350 mU/L".
    """
    for compared in comparisons(plan):
        if compared.looser:
            yield Found(compared.control.code, _looser(compared))
    yield from _phosphatase(plan)
    yield from heat_limits.looser(plan)


def _looser(compared: Compared) -> str:
    words = {"figure": cited(compared.parameter)}
    if compared.term is None:
        return _("The limit is open to the side that the profile bounds: %(figure)s.") % words
    words["limit"] = compared.term.words
    if KINDS[compared.parameter.code].side == "at_most":
        return _("The limit lets up to %(limit)s pass; the profile has: %(figure)s.") % words
    return _("The limit asks only %(limit)s; the profile has: %(figure)s.") % words


def _phosphatase(plan: Plan) -> Iterator[Found]:
    parameters = [found for code in PHOSPHATASE if plan.profile and (found := plan.profile.parameter(code))]
    for verification in plan.verifications:
        given = [Decimal(text.replace(",", ".")) for text in ACTIVITY.findall(verification.how)]
        for parameter in parameters if verification.kind == "phosphatase" and given else ():
            if _is_number(parameter.value) and max(given) > Decimal(parameter.value):
                words = {"given": rounding.trim(max(given)), "figure": cited(parameter)}
                message = _("Accepts up to %(given)s mU/L; the profile has: %(figure)s.")
                yield Found(verification.code, message % words)


@rule("P025", WARNING, gettext_lazy("A limit stands in the quantity and the unit of the profile's figure."))
def same_unit(plan: Plan, around: Around) -> Iterator[Found]:
    """Another unit is compared exactly and passes with a warning; another quantity cannot be compared."""
    for compared in comparisons(plan):
        words = {"figure": cited(compared.parameter)}
        if compared.other_quantity:
            message = _("The limit does not bound what the profile bounds: %(figure)s.")
            yield Found(compared.control.code, message % words, ERROR)
        elif compared.term and not compared.looser and compared.term.unit != compared.unit:
            yield Found(compared.control.code, _other_unit(compared, compared.term))
    yield from heat_limits.units(plan)


def _other_unit(compared: Compared, term: Term) -> str:
    exact = convert(compared.value, compared.unit, term.unit)
    near = rounding.shown_against(exact, term.value, term.quantity, term.unit)
    words = {
        "limit": term.words,
        "figure": cited(compared.parameter),
        "near": rounding.amount(near, term.unit),
    }
    return (
        _("The limit of %(limit)s is in another unit than the profile: %(figure)s, about %(near)s.") % words
    )


@rule(
    "P034",
    ERROR,
    gettext_lazy("A rich product has the raised heat limit, on the product and on the air space."),
)
def rich_product_raised(plan: Plan, around: Around) -> Iterator[Found]:
    """The table of heat treatment that the profile names says how much more a rich product needs.

    A table that asks more without a figure wants a limit above its own; one that prints no raise gives a
    warning unless the limit has the raise of the American tables.
    """
    yield from heat_limits.not_raised(plan)


@rule("P045", ERROR, gettext_lazy("A figure of the profile that was changed gives its reason."))
def change_explained(plan: Plan, around: Around) -> Iterator[Found]:
    """The plan's copy of the profile is compared with the profile as it is kept here; none may be missing."""
    if plan.profile is None or plan.profile.code not in profiles():
        return
    for original in profiles()[plan.profile.code].parameters:
        mine = plan.profile.parameter(original.code)
        name = str(PARAMETERS.get(original.code, original.code))
        if mine is None:
            message = _("The profile's figure “%(name)s” is missing: take it in again.")
            yield Found(f"legal:{original.code}", message % {"name": name})
        elif not mine.reason.strip() and not _same(mine, original.value, original.unit):
            words = {"name": name, "mine": parameter_words(mine) or "–", "day": profiles_read_on(plan)}
            message = _("“%(name)s” was changed to %(mine)s from the profile as read on %(day)s: say why.")
            yield Found(f"legal:{original.code}", message % words)


def profiles_read_on(plan: Plan) -> str:
    """Give the day on which the profile kept here was read."""
    return profiles()[plan.profile.code].read_on if plan.profile else ""


def _is_number(text: str) -> bool:
    try:
        return Decimal(text).is_finite()
    except InvalidOperation:
        return False


def _same(mine: Parameter, value: str, unit: str) -> bool:
    if mine.unit != unit:
        return False
    if _is_number(mine.value) and _is_number(value):
        return Decimal(mine.value) == Decimal(value)
    return mine.value == value
