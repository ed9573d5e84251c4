"""Rules on how a check is recorded and on what waits for it: each value, points, loads, things, events."""

from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.plans.around import Around
from safetyplan.plans.described import gate_words
from safetyplan.plans.parts import STARTED, Control, Plan, Product
from safetyplan.plans.rules.rule import ERROR, WARNING, Found, products_of, rule


@rule("P050", ERROR, gettext_lazy("Every critical control point is recorded by each value."))
def each_value_recorded(plan: Plan, around: Around) -> Iterator[Found]:
    """What is written down only when it is out of order shows nothing of the times when it was in order."""
    for control in plan.controls:
        if control.is_ccp and control.by_exception:
            message = _("A critical control point is recorded by each value, never by exception.")
            yield Found(control.code, message)


@rule("P051", ERROR, gettext_lazy("Only a check at times of the day has several points."))
def points_of_daily(plan: Plan, around: Around) -> Iterator[Found]:
    """The points of a round are walked at a time of the day; a lot or a load has none.

    The reader of a document refuses others already; here it is looked at once more.
    """
    for control in plan.controls:
        if control.points and control.when.kind != "daily":
            yield Found(control.code, _("Has several points, but is not due at times of the day."))


@rule(
    "P052",
    WARNING,
    gettext_lazy("What is critical about a load of milk is shown before an event of the lot."),
)
def load_waits(plan: Plan, around: Around) -> Iterator[Found]:
    """Milk that goes into the vat while its result is pending cannot be taken out again.

    A check of a load is due on every load, for nobody knows yet what it will become. The products that it
    names are those whose lots must wait for it; where it names none, the lots of all products that have the
    event.
    """
    for control in plan.controls:
        if control.of_load and control.is_ccp and not control.before_event:
            message = _(
                "No event of a lot waits for this check: the milk can be used before the result is there."
            )
            yield Found(control.code, message)


@rule(
    "P053",
    ERROR,
    gettext_lazy("Every event that must wait for a check is an event of the products concerned."),
)
def gate_named(plan: Plan, around: Around) -> Iterator[Found]:
    """Each product that is named needs the event; where none is named, at least one product of the plan.

    A check of a day or of a shared thing belongs to no lot and to no load, so no event can wait for it.
    """
    for control in (one for one in plan.controls if one.before_event):
        if not (control.of_lot or control.of_load):
            yield Found(
                control.code, _("Only a check of a lot or of a load of milk can come before an event.")
            )
            continue
        without = [p for p in products_of(plan, control) if p.event(control.before_event) is None]
        if without and (control.products or len(without) == len(plan.products)):
            words = {"event": control.before_event, "products": ", ".join(p.name for p in without)}
            message = _("Must come before the event “%(event)s”, which is no event of: %(products)s.")
            yield Found(control.code, message % words)


@rule("P054", ERROR, gettext_lazy("A check that must come before an event is due no later than that event."))
def gate_in_time(plan: Plan, around: Around) -> Iterator[Found]:
    """The time at which the check is due is compared with that by which the event is expected.

    Both count from the start of the lot: the check from the hours in which its own event is expected, with
    the time after it; for a value reached by elapsed times the last of them counts. A check that waits for
    the very event, or for one that comes after it, can never come before it. A load is received before the
    lot begins: of it only a time after the receipt is planned, which cannot be compared.
    """
    for control in plan.controls:
        if control.before_event and control.of_lot:
            late = [p.name for p in products_of(plan, control) if _too_late(p, control)]
            if late:
                words = {"event": gate_words(plan, control), "products": ", ".join(late)}
                message = _("Is due only after %(event)s, before which it must come (%(products)s).")
                yield Found(control.code, message % words)


def _too_late(product: Product, control: Control) -> bool:
    gate = product.event(control.before_event)
    limit, when = control.limit, control.when
    base = limit.event if isinstance(limit, ReachedBy) else when.event
    own = product.event(base)
    if gate is None or (own is None and base != STARTED):
        return False  # an event that the product does not have is found by other rules
    if own is not None and product.events.index(own) >= product.events.index(gate):
        return True
    after = limit.due[-1].hours * 60 if isinstance(limit, ReachedBy) else when.after_minutes
    begun = own.expected_within_hours * 60 if own is not None else 0
    return begun + after > gate.expected_within_hours * 60


@rule(
    "P055", WARNING, gettext_lazy("A check of each shared thing names the step or the products that use it.")
)
def thing_used(plan: Plan, around: Around) -> Iterator[Found]:
    """A brine, a preparation, a room or a vat matters through what it touches."""
    for control in plan.controls:
        if control.of_thing and not control.step and not control.products:
            message = _("Names neither a step nor a product that uses what is checked.")
            yield Found(control.code, message)


@rule("P056", WARNING, gettext_lazy("A check that refuses an overdue instrument names its instrument."))
def instrument_named(plan: Plan, around: Around) -> Iterator[Found]:
    """Where no instrument is asked for, none can be overdue, and nothing is ever refused."""
    for control in plan.controls:
        if control.overdue_instrument == "block" and not control.instrument.strip():
            yield Found(control.code, _("Refuses an instrument that is overdue, but names no instrument."))
