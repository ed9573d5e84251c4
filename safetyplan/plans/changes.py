"""What changed between two plans, in plain words."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.plans.described import limit_words, rank_words, when_words
from safetyplan.plans.document import Control, Hazard, Plan, Product

ADDED = "added"
REMOVED = "removed"
CHANGED = "changed"


@dataclass(frozen=True)
class Change:
    """One change: what kind, of what, and for a change the words before and after."""

    kind: str
    subject: str
    what: str = ""
    before: str = ""
    after: str = ""


Facts = dict[str, str]


def _control_facts(plan: Plan, control: Control) -> Facts:
    return {
        _("class"): rank_words(control.rank),
        _("name"): control.name,
        _("products"): ", ".join(control.products),
        _("step"): control.step,
        _("critical limit"): " ".join(limit_words(control)),
        _("limit and target as a document"): str(control.limit.to_document()),
        _("what is measured"): control.what,
        _("how"): control.how,
        _("who"): control.who,
        _("instrument"): control.instrument,
        _("when"): when_words(plan, control),
        _("corrective actions"): "; ".join(text for _code, text in control.corrective_actions),
        _("next measurement"): str(control.measure_next_minutes),
        _("verification"): control.verification,
    }


def _hazard_facts(plan: Plan, hazard: Hazard) -> Facts:
    yes_no = {True: _("yes"), False: _("no")}
    return {
        _("name"): hazard.name,
        _("kind"): hazard.kind,
        _("products"): ", ".join(hazard.products),
        _("step"): hazard.step,
        _("significant"): yes_no[hazard.significant],
        _("reason"): hazard.reason,
        _("removed by reheating"): yes_no[hazard.removed_by_reheating],
        _("controlled by"): hazard.controlled_by,
    }


def _product_facts(plan: Plan, product: Product) -> Facts:
    return {
        _("name"): product.name,
        _("description"): product.description,
        _("milk"): product.milk,
        _("shelf life in days"): str(product.shelf_life_days),
        _("storage"): product.storage,
        _("label"): product.label,
        _("steps"): " → ".join(step.name for step in product.steps),
        _("events"): ", ".join(event.name for event in product.events),
    }


def _plan_facts(plan: Plan) -> Facts:
    return {
        _("title"): plan.title,
        _("form number"): plan.form_number,
        _("minutes until a record is late"): str(plan.late_after_minutes),
        _("role that releases"): plan.release_role,
    }


def _different(subject: str, old: Facts, new: Facts) -> Iterator[Change]:
    """Name each fact that differs; a document only when the words beside it do not show the change."""
    words = [name for name in new if old[name] != new[name]]
    document = _("limit and target as a document")
    for name in words:
        if name != document or _("critical limit") not in words:
            yield Change(CHANGED, subject, name, old[name], new[name])


def _compare(
    old: Sequence[Any], new: Sequence[Any], title: str, facts_of: Callable[[Any, bool], Facts]
) -> Iterator[Change]:
    before, after = {item.code: item for item in old}, {item.code: item for item in new}
    for code, item in after.items():
        subject = f"{title} {code} ({item.name})"
        if code not in before:
            yield Change(ADDED, subject)
        else:
            yield from _different(subject, facts_of(before[code], True), facts_of(item, False))
    for code, item in before.items():
        if code not in after:
            yield Change(REMOVED, f"{title} {code} ({item.name})")


def compare(old: Plan, new: Plan) -> list[Change]:
    """List what changed from an old plan to a new one: controls first, then hazards, products, the rest."""

    def facts(write: Callable[[Plan, Any], Facts]) -> Callable[[Any, bool], Facts]:
        return lambda item, is_old: write(old if is_old else new, item)

    return [
        *_compare(old.controls, new.controls, _("Control"), facts(_control_facts)),
        *_compare(old.hazards, new.hazards, _("Hazard"), facts(_hazard_facts)),
        *_compare(old.products, new.products, _("Product"), facts(_product_facts)),
        *_different(_("Plan"), _plan_facts(old), _plan_facts(new)),
    ]
