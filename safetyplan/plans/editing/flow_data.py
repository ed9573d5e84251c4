"""The flow of a product in the document: a step more, a step less, the order. Plain JSON, no database.

A step whose `next` is empty leads to the one after it in the list.
"""

from collections.abc import Sequence

from safetyplan.plans.document import Product, Step
from safetyplan.plans.editing.frame import Data


def place_after(steps: list[Data], after: str, step: Data) -> None:
    """Put a step after another one ('' puts it first).

    Where that one leads to a step it names, the new step stands between the two; where it branches, the new
    step is one more branch.
    """
    at = next((i for i, one in enumerate(steps) if one["code"] == after), -1)
    if at >= 0 and (named := list(steps[at].get("next", []))):
        if len(named) == 1:
            step["next"] = named
            steps[at]["next"] = []
        else:
            steps[at]["next"] = [*named, step["code"]]
    steps.insert(at + 1, step)


def take_out(steps: list[Data], code: str) -> list[Data]:
    """Take a step out; what named it leads to whatever followed it."""
    at = next(i for i, step in enumerate(steps) if step["code"] == code)
    gone = steps[at]
    follows = list(gone.get("next", []))
    if not follows and gone.get("kind") != "end" and at + 1 < len(steps):
        follows = [steps[at + 1]["code"]]
    left = [step for step in steps if step is not gone]
    for step in left:
        if code in step.get("next", []):
            place = step["next"].index(code)
            joined = [*step["next"][:place], *follows, *step["next"][place + 1 :]]
            step["next"] = [one for one in dict.fromkeys(joined) if one not in (step["code"], code)]
    return left


def move(items: list[Data], code: str, by: int) -> None:
    """Move an item of a list up (-1) or down (1); at the end of the list it stays."""
    at = next((i for i, one in enumerate(items) if one["code"] == code), -1)
    to = at + by
    if at >= 0 and 0 <= to < len(items):
        items[at], items[to] = items[to], items[at]


def leads_to(product: Product, step: Step) -> list[str]:
    """Name the steps that a step leads to, where that is not simply the next one."""
    after = product.steps.index(step) + 1
    if not step.next or step.next == tuple(one.code for one in product.steps[after : after + 1]):
        return []
    return [found.name if (found := product.step(code)) else code for code in step.next]


def without_way(product: Product) -> set[str]:
    """Give the codes of the steps that no step leads to, the first and other beginnings aside.

    A step that names what goes in, such as a brine or a wash, begins a branch of its own.
    """
    reached = {code for step in product.steps for code in product.follows(step)}
    return {
        step.code
        for at, step in enumerate(product.steps)
        if at and step.kind != "start" and not step.inputs and step.code not in reached
    }


def codes(items: Sequence[Data]) -> list[str]:
    """Give the codes of a list of the document."""
    return [str(item["code"]) for item in items]
