"""Rules on a limit and the instrument that measures it: recordable, target inside, resolved."""

from collections.abc import Iterator
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation import rounding
from safetyplan.calculation.limits.band import Band, Edge
from safetyplan.calculation.limits.bound import Bound
from safetyplan.calculation.limits.difference import Difference
from safetyplan.calculation.limits.held_for import HeldFor
from safetyplan.calculation.limits.not_before import NotBefore
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.limits.shape import Limit, nested
from safetyplan.plans.around import Around
from safetyplan.plans.parts import Control, Plan
from safetyplan.plans.rules.rule import ERROR, Found, rule

# Their evidence is a log or a run of results: no check can record it yet.
NOT_RECORDED = frozenset({"exposure", "rolling_geometric_mean", "last_of"})
# measured in steps of a strip or a plate: the noughts at the end of such a figure are no digits
IN_STEPS = ("strength_ppm", "colony_count")


def recorded(limit: Limit) -> bool:
    """Tell whether one check can record what a limit needs; of days of ageing only their number."""
    if isinstance(limit, NotBefore):
        return limit.counted
    return limit.kind not in NOT_RECORDED


@rule("P013", ERROR, gettext_lazy("A check can record what each limit needs."))
def can_be_shown(plan: Plan, around: Around) -> Iterator[Found]:
    """A limit whose evidence cannot be recorded would leave every lot not shown."""
    for control in plan.controls:
        for kind in dict.fromkeys(one.kind for one in nested(control.limit) if not recorded(one)):
            message = _("Nobody can show a limit of the kind “%(kind)s” yet: no check records what it needs.")
            if kind == NotBefore.kind:
                message = _(
                    "No single check shows days of ageing by their temperatures: let the days be counted."
                )
            yield Found(control.code, message % {"kind": kind})


def bands(limit: Limit) -> list[tuple[Band, Decimal]]:
    """Give the bounds inside a limit, each with the tolerance of its instrument."""
    found: list[tuple[Band, Decimal]] = []
    for one in nested(limit):
        if isinstance(one, Bound | Difference):
            found.append((one.band, one.tolerance))
        elif isinstance(one, ReachedBy):
            found += [(one.band(point), one.tolerance) for point in one.due]
        elif isinstance(one, HeldFor):
            found += [(one.product, one.tolerance), (one.air_space, one.tolerance)]
    return found


@rule("P022", ERROR, gettext_lazy("A target lies inside its limit, by at least the instrument's tolerance."))
def target_inside(plan: Plan, around: Around) -> Iterator[Found]:
    """A target outside its limit, or closer to it than the instrument can tell, warns of nothing.

    The reader of a document refuses such a limit already; here it is looked at once more, inside others too.
    """
    for control in plan.controls:
        for band, tolerance in bands(control.limit):
            for outer in band.edges("limit"):
                for target in band.edges("target"):
                    if outer.distance(target.value) < tolerance:
                        words = {
                            "target": _amount(target.value, band.unit),
                            "limit": _amount(outer.value, band.unit),
                            "tolerance": _amount(tolerance, band.unit),
                        }
                        message = _(
                            "The target %(target)s is not inside the limit %(limit)s by %(tolerance)s."
                        )
                        yield Found(control.code, message % words)


def _amount(value: Decimal, unit: str) -> str:
    return rounding.amount(rounding.trim(value), unit)


def last_digit(value: Decimal, quantity: str) -> Decimal:
    """Give the step of the last digit of a figure: 0.01 for 4.60, 1 for 7; 100 for 200 ppm of a strip."""
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)
    if quantity in IN_STEPS and exponent >= 0 and value:
        exponent = int(value.normalize().as_tuple().exponent)
    return Decimal(1).scaleb(exponent)


def _edges(band: Band) -> list[Edge]:
    return [*band.edges("limit"), *band.edges("target")]


@rule("P023", ERROR, gettext_lazy("The instrument shows steps small enough for the limit."))
def instrument_resolves(plan: Plan, around: Around) -> Iterator[Found]:
    """The smallest step shown is no coarser than the tolerance, nor than the last digit of the limit.

    A tolerance of nought says nothing. The resolution stands in the unit of the limit; where a limit measures
    in several units, one figure cannot speak for all of its instruments and nothing is compared. Only what
    the plan states is compared: no resolution, no finding.
    """
    for control in plan.controls:
        found = [(band, tolerance) for band, tolerance in bands(control.limit) if _edges(band)]
        if control.resolution and len({band.unit for band, _tolerance in found}) == 1:
            yield from _unresolved(control, found)


def _unresolved(control: Control, found: list[tuple[Band, Decimal]]) -> Iterator[Found]:
    step, unit, quantity = Decimal(control.resolution), found[0][0].unit, found[0][0].quantity
    finest = min(last_digit(edge.value, quantity) for band, _tolerance in found for edge in _edges(band))
    tolerances = [tolerance for _band, tolerance in found if tolerance > 0]
    shows = _amount(step, unit)
    if tolerances and step > min(tolerances):
        words = {"step": shows, "tolerance": _amount(min(tolerances), unit)}
        message = _("The instrument shows steps of %(step)s: coarser than its tolerance of %(tolerance)s.")
        yield Found(control.code, message % words)
    elif step > finest:
        words = {"step": shows, "digit": _amount(finest, unit)}
        message = _("The instrument shows steps of %(step)s; the limit is written to %(digit)s.")
        yield Found(control.code, message % words)
