"""A plan in words: what pages show of products, hazards and controls."""

from dataclasses import dataclass, replace

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.sentences import Sentence
from safetyplan.plans.document import STARTED, Control, Hazard, Plan, Product, When
from safetyplan.words import name_words, render

TARGET = "target"
TOLERANCE = "tolerance"
WINDOW = "window"
LIMIT = "limit"
EACH_WORDS = {
    "brine": gettext_lazy("on each brine"),
    "preparation": gettext_lazy("on each preparation"),
    "room": gettext_lazy("in each room"),
    "vat": gettext_lazy("on each vat"),
}


@dataclass(frozen=True)
class ControlWords:
    """One control in words."""

    control: Control
    rank: str
    where: str
    limits: list[str]
    targets: list[str]
    tolerances: list[str]
    when: list[str]
    recorded: list[str]
    hazards: list[Hazard]


def rank_words(rank: str) -> str:
    """Name the class of a control."""
    return {
        "ccp": _("Critical control point"),
        "oprp": _("Operational prerequisite"),
        "prp": _("Prerequisite"),
    }[rank]


def _named(sentences: tuple[Sentence, ...], kind: str) -> list[str]:
    def kind_of(sentence: Sentence) -> str:
        words = sentence.code.split("_")
        return next((name for name in (TARGET, TOLERANCE, WINDOW) if name in words), LIMIT)

    return [render(sentence) for sentence in sentences if kind_of(sentence) == kind]


def limit_words(control: Control) -> list[str]:
    """Write the critical limit of a control, with the window in which it is measured."""
    sentences = control.limit.describe()
    return _named(sentences, LIMIT) + _named(sentences, WINDOW)


def duration_words(minutes: int) -> str:
    """Write a number of minutes: whole hours as hours."""
    if minutes and minutes % 60 == 0:
        return _("%(hours)d h") % {"hours": minutes // 60}
    return _("%(minutes)d min") % {"minutes": minutes}


def event_words(plan: Plan, control: Control, event: str) -> str:
    """Name an event as the products of a control call it."""
    if event == STARTED:
        return _("the start of the lot")
    found = [p.event(event) for p in plan.products if p.code in control.products]
    named = next((e.name for e in found if e is not None), None)
    return f"“{named}”" if named else name_words(event)


def when_words(plan: Plan, control: Control) -> str:
    """Write when a check is due."""
    when = control.when
    if when.kind == "limit_points":
        return _("At the times the limit names")
    if when.kind == "daily":
        days = _("On days of production") if when.days == "production" else _("Every day")
        if when.each:
            days = f"{days}, {EACH_WORDS[when.each]}"
        return _("%(days)s at %(times)s; %(window)s") % {
            "days": days,
            "times": ", ".join(when.times),
            "window": _window(when),
        }
    event = _("the receipt of each load") if when.kind == "load" else event_words(plan, control, when.event)
    if not when.after_minutes:
        return _("At %(event)s; %(window)s") % {"event": event, "window": _window(when)}
    after = duration_words(when.after_minutes)
    return _("%(after)s after %(event)s; %(window)s") % {
        "after": after,
        "event": event,
        "window": _window(when),
    }


def recorded_words(plan: Plan, control: Control) -> list[str]:
    """Write how a check is recorded, as far as it differs from each value typed in by itself."""
    said = []
    if control.points:
        said.append(_("Points: %(points)s") % {"points": "; ".join(control.points)})
    if control.by_exception:
        said.append(_("By exception: only what is not in order is written down."))
    if control.photo:
        required = control.photo == "required"
        said.append(_("A photo is required.") if required else _("A photo is asked for."))
    if control.overdue_instrument == "block":
        said.append(_("No reading with an instrument that was not checked in time."))
    if control.before_event:
        event = gate_words(plan, control)
        said.append(_("Must show control before %(event)s.") % {"event": event})
    return said


def gate_words(plan: Plan, control: Control) -> str:
    """Name the event of a lot that has to wait for a check."""
    products = control.products or tuple(product.code for product in plan.products)
    return event_words(plan, replace(control, products=products), control.before_event)


def _window(when: When) -> str:
    return _("at most %(before)s earlier or %(late)s later") % {
        "before": duration_words(when.before),
        "late": duration_words(when.after),
    }


def _step_words(plan: Plan, products: tuple[str, ...], code: str) -> str:
    for product in plan.products:
        for step in product.steps:
            if step.code == code and (not products or product.code in products):
                return step.name
    return code


def control_words(plan: Plan, control: Control) -> ControlWords:
    """Write one control."""
    sentences = control.limit.describe()
    return ControlWords(
        control=control,
        rank=rank_words(control.rank),
        where=_step_words(plan, control.products, control.step),
        limits=_named(sentences, LIMIT),
        targets=_named(sentences, TARGET),
        tolerances=_named(sentences, TOLERANCE),
        when=[when_words(plan, control), *_named(sentences, WINDOW)],
        recorded=recorded_words(plan, control),
        hazards=list(plan.hazards_of(control)),
    )


def controls_words(plan: Plan) -> list[ControlWords]:
    """Write every control, critical ones first."""
    order = ("ccp", "oprp", "prp")
    return [control_words(plan, c) for c in sorted(plan.controls, key=lambda c: order.index(c.rank))]


def flow(plan: Plan, product: Product) -> list[tuple[str, str, list[str]]]:
    """Give the steps of a product in order: name, what goes in, the controls at the step."""
    return [
        (
            step.name,
            ", ".join(step.inputs),
            [c.code for c in plan.controls if c.step == step.code and c.stands_in(product.code)],
        )
        for step in product.steps
    ]
