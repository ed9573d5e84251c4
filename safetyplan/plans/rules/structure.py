"""Rules on the frame of a plan: its form, its profile, and that whatever it names is there."""

from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.limits.shape import events_of
from safetyplan.plans.around import Around
from safetyplan.plans.document_keys import SCHEMA
from safetyplan.plans.parts import HAZARD_KINDS, STARTED, Control, Hazard, Plan
from safetyplan.plans.rules.rule import ERROR, WARNING, Found, rule

KIND_WORDS = {
    "biological": gettext_lazy("biological"),
    "chemical": gettext_lazy("chemical"),
    "physical": gettext_lazy("physical"),
    "radiological": gettext_lazy("radiological"),
}
# chemical hazards that are looked at apart: 21 CFR 117.130(b)(1)(ii)
CHEMICAL_APART = {
    "allergen": gettext_lazy("No allergen is considered. Every cheese has at least milk."),
    "drug_residue": gettext_lazy(
        "No residue of animal medicines is considered. Write down at least why there is none."
    ),
}


@rule("P001", ERROR, gettext_lazy("The plan names at least one product."))
def a_product(plan: Plan, around: Around) -> Iterator[Found]:
    """A plan needs a product."""
    if not plan.products:
        yield Found("products", _("The plan names no product."))


def _named(plan: Plan) -> tuple[Control | Hazard, ...]:
    return (*plan.controls, *plan.hazards)


@rule("P004", ERROR, gettext_lazy("Every product that a control or a hazard names is in the plan."))
def products_named(plan: Plan, around: Around) -> Iterator[Found]:
    """Products that controls and hazards name must be there."""
    there = {product.code for product in plan.products}
    for item in _named(plan):
        for code in item.products:
            if code not in there:
                message = _("Names the product “%(code)s”, which is not in the plan.") % {"code": code}
                yield Found(item.code, message)


@rule("P005", ERROR, gettext_lazy("Every step that a control or a hazard names is a step of its products."))
def steps_named(plan: Plan, around: Around) -> Iterator[Found]:
    """Steps that controls and hazards name must be steps of each of their products."""
    products = {product.code: product for product in plan.products}
    for item in _named(plan):
        for product in (products[code] for code in item.products if code in products):
            if item.step and product.step(item.step) is None:
                words = {"step": item.step, "product": product.name}
                message = _("Names the step “%(step)s”, which %(product)s does not have.") % words
                yield Found(item.code, message)


OF_LOAD = frozenset(("milked", "received"))
OF_THING = frozenset(("made",))


def _own_events(control: Control) -> frozenset[str]:
    """Give the events that what is checked has by itself: a load of milk, a shared thing."""
    return OF_LOAD if control.of_load else OF_THING if control.of_thing else frozenset()


@rule("P006", ERROR, gettext_lazy("Every event that a check waits for is an event of its products."))
def events_named(plan: Plan, around: Around) -> Iterator[Found]:
    """A check that waits for an event needs that event on each of its products; its own is there."""
    products = {product.code: product for product in plan.products}
    for control in plan.controls:
        named = {*events_of(control.limit), control.when.event} - {"", STARTED} - _own_events(control)
        for product in (products[code] for code in control.products if code in products):
            for event in sorted(event for event in named if product.event(event) is None):
                words = {"event": event, "product": product.name}
                message = _("Waits for the event “%(event)s”, which %(product)s does not have.") % words
                yield Found(control.code, message)


@rule("P012", ERROR, gettext_lazy("A check that counts from an event of a lot belongs to a lot."))
def events_of_lots(plan: Plan, around: Around) -> Iterator[Found]:
    """An event happens to a lot; a check of a day has none. A load and a shared thing have their own."""
    for control in plan.controls:
        if not control.of_lot and set(events_of(control.limit)) - _own_events(control):
            yield Found(control.code, _("Counts from an event of a lot, but the check belongs to a day."))


@rule("P014", ERROR, gettext_lazy("The plan is a document of the present form."))
def present_form(plan: Plan, around: Around) -> Iterator[Found]:
    """A document of form 1 is still read, and can no longer be approved."""
    if plan.schema < SCHEMA:
        words = {"old": plan.schema, "new": SCHEMA}
        message = _("This plan is of form %(old)d. Write it again in form %(new)d before it is approved.")
        yield Found("plan", message % words)


@rule("P043", WARNING, gettext_lazy("The plan follows a regulatory profile."))
def a_profile(plan: Plan, around: Around) -> Iterator[Found]:
    """Without a profile no limit is compared with any figure of the law."""
    if plan.profile is None:
        message = _("No regulatory profile is chosen: no limit was compared with any figure of the law.")
        yield Found("profile", message)


@rule("P044", WARNING, gettext_lazy("The hazard analysis considers every kind of hazard."))
def every_kind(plan: Plan, around: Around) -> Iterator[Found]:
    """Biological, chemical, physical and radiological hazards are each looked at, and be it to say no.

    Among the chemical ones allergens and residues of medicines are looked at apart.
    """
    for kind in HAZARD_KINDS:
        if not any(hazard.kind == kind for hazard in plan.hazards):
            message = _("No %(kind)s hazard is considered. Write down at least why there is none.")
            yield Found("hazards", message % {"kind": KIND_WORDS[kind]})
    for group, words in CHEMICAL_APART.items():
        if not any(hazard.group == group for hazard in plan.hazards):
            yield Found("hazards", str(words))


@rule("P046", ERROR, gettext_lazy("Every step leads to steps that the product has."))
def steps_that_follow(plan: Plan, around: Around) -> Iterator[Found]:
    """A step may only lead to a step of the same product."""
    for product in plan.products:
        for step in product.steps:
            for code in step.next:
                if product.step(code) is None:
                    words = {"step": step.name, "next": code}
                    message = _("The step “%(step)s” leads to “%(next)s”, which the product does not have.")
                    yield Found(product.code, message % words)
