"""Products of the document: a new one, what names one, its steps and events. Plain JSON, no database."""

from collections.abc import Collection, Iterator, Sequence

from django.utils.translation import gettext as _

from safetyplan.calculation.limits.shape import events_of
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.document import Control, Hazard, Plan, Product
from safetyplan.plans.editing.codes import PRODUCT_CODE, product_code
from safetyplan.plans.editing.frame import Data


def new_product(code: str, name: str) -> Data:
    """Give a product of which nothing is said yet."""
    return {"code": code, "name": name, "events": [], "steps": []}


def item_words(item: Control | Hazard) -> str:
    """Name a hazard or a control with its code."""
    return f"{item.code} {item.name}".strip()


def _naming(plan: Plan) -> tuple[Control | Hazard, ...]:
    return (*plan.hazards, *plan.controls)


def naming_product(plan: Plan, code: str) -> list[Control | Hazard]:
    """List the hazards and controls that name a product."""
    return [item for item in _naming(plan) if code in item.products]


def names_step(item: Control | Hazard, product: Product, step: str) -> bool:
    """Tell whether a hazard or a control stands at a step of a product, or is carried to it."""
    if item.products and product.code not in item.products:
        return False
    return step in (item.step, getattr(item, "controlled_step", ""))


def naming_step(plan: Plan, product: Product, step: str) -> list[Control | Hazard]:
    """List the hazards and controls that name a step of a product."""
    return [item for item in _naming(plan) if names_step(item, product, step)]


def waiting_for(plan: Plan, product: Product, event: str) -> list[Control]:
    """List the controls of a product that wait for an event, count from it or must come before it."""
    return [c for c in plan.controls if c.stands_in(product.code) and event in _events(c)]


def _events(control: Control) -> set[str]:
    return {*events_of(control.limit), control.when.event, control.before_event} - {""}


def awaited(plan: Plan, product: Product) -> Iterator[str]:
    """Give the codes of the events that the controls of a product wait for."""
    for control in plan.controls:
        if product.code in control.products:
            yield from _events(control)


def still_named(what: str, items: Sequence[Control | Hazard]) -> str:
    """Say why something cannot be removed yet."""
    return _("%(what)s is still named by: %(items)s. Change those first.") % {
        "what": what,
        "items": "; ".join(item_words(item) for item in items),
    }


def named(typed: dict[str, str], taken: Collection[str]) -> tuple[str, str]:
    """Read the name and the short code of a product; a code left empty is made from the name."""
    name = clean(typed["name"], most=120, part="name")
    if not name:
        raise BadInput(_("Give the product its name."), part="name")
    code = typed["code"].strip()
    if code and not PRODUCT_CODE.fullmatch(code):
        raise BadInput(
            _("A short code has letters, digits, - and _ only, and begins with a letter or digit."),
            part="code",
        )
    if code in taken:
        raise BadInput(_("Another product has this code already. Take another one."), part="code")
    return name, code or product_code(name, taken)
