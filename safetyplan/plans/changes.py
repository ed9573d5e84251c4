"""What changed between two plans, in plain words: one sentence for each change.

Every value of the document is compared. A limit, its target, its tolerance and its window are told together:
who tightens a limit by a tenth reads one sentence, not four.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.plans import change_facts as facts
from safetyplan.plans.change_fact import Fact, gist_of_control
from safetyplan.plans.document import Control, Plan, Product

ADDED = "added"
REMOVED = "removed"
CHANGED = "changed"

CONTROLS = "controls"
HAZARDS = "hazards"
PRODUCTS = "products"
PREREQUISITES = "prerequisites"
VERIFICATIONS = "verifications"
VALIDATIONS = "validations"
PROFILE = "profile"
RECALL = "recall"
PLAN = "plan"


@dataclass(frozen=True)
class Change:
    """One change: what kind, of what, and for a change the words before and after.

    part: the part of the plan it stands in. many: the words of `what` are in the plural.
    """

    kind: str
    subject: str
    what: str = ""
    before: str = ""
    after: str = ""
    part: str = PLAN
    many: bool = False

    def sentence(self) -> str:
        """Tell the change in one sentence."""
        return _sentence(self) % {
            "subject": self.subject,
            "what": self.what,
            "before": self.before,
            "after": self.after,
        }


def _sentence(change: Change) -> str:
    if change.kind == ADDED:
        return _("%(subject)s is new: “%(after)s”.") if change.after else _("%(subject)s is new.")
    if change.kind == REMOVED:
        if change.before:
            return _("%(subject)s is left out; it was “%(before)s”.")
        return _("%(subject)s is left out.")
    if not change.before:
        if change.many:
            return _("%(subject)s: the %(what)s were empty and become “%(after)s”.")
        return _("%(subject)s: the %(what)s was empty and becomes “%(after)s”.")
    if not change.after:
        if change.many:
            return _("%(subject)s: the %(what)s were “%(before)s” and are left out.")
        return _("%(subject)s: the %(what)s was “%(before)s” and is left out.")
    if change.many:
        return _("%(subject)s: the %(what)s were “%(before)s” and become “%(after)s”.")
    return _("%(subject)s: the %(what)s was “%(before)s” and becomes “%(after)s”.")


def _different(part: str, subject: str, old: Iterable[Fact], new: Iterable[Fact]) -> Iterator[Change]:
    """Name each fact that differs, in the order of the new ones, then those that are gone."""
    before, after = {f.matched_by: f for f in old}, {f.matched_by: f for f in new}
    for key in [*after, *(key for key in before if key not in after)]:
        was, now = before.get(key), after.get(key)
        known = now or was
        if known is None or (was.value if was else None) == (now.value if now else None):
            continue
        words = was.words if was else "", now.words if now else ""
        if words[0] == words[1]:  # the words hide what differs: show the values themselves
            words = str(was.value) if was else "", str(now.value) if now else ""
        yield Change(CHANGED, subject, known.name, *words, part=part, many=known.many)


def _no_gist(plan: Plan, item: Any) -> str:
    return ""


def _nothing_inside(plans: tuple[Plan, Plan], old: Any, new: Any) -> Iterator[Change]:
    return iter(())


@dataclass(frozen=True)
class _Kind:
    """How one kind of thing is compared: its part of the plan, its title, its facts, its gist when new.

    facts_of is given the plan, the thing and its twin in the other version. inner: compares what a thing that
    both versions have is made of. within: what it is a part of.
    """

    part: str
    title: str
    facts_of: Callable[[Plan, Any, Any], Iterable[Fact]]
    gist: Callable[[Plan, Any], str] = _no_gist
    inner: Callable[[tuple[Plan, Plan], Any, Any], Iterator[Change]] = _nothing_inside
    within: str = ""

    def subject(self, item: Any) -> str:
        """Name one thing: "Control CCP2 (Acid at 24 hours)"."""
        name = getattr(item, "name", "")
        return f"{self.within}{self.title} {item.code}" + (f" ({name})" if name else "")

    def changes(self, plans: tuple[Plan, Plan], old: Sequence[Any], new: Sequence[Any]) -> Iterator[Change]:
        """Compare the things of this kind, matched by their codes."""
        before, after = {item.code: item for item in old}, {item.code: item for item in new}
        for code, item in after.items():
            twin = before.get(code)
            if twin is None:
                yield Change(ADDED, self.subject(item), after=self.gist(plans[1], item), part=self.part)
                continue
            was, now = self.facts_of(plans[0], twin, item), self.facts_of(plans[1], item, twin)
            yield from _different(self.part, self.subject(item), was, now)
            yield from self.inner(plans, twin, item)
        for code, item in before.items():
            if code not in after:
                yield Change(REMOVED, self.subject(item), before=self.gist(plans[0], item), part=self.part)


def _control_kind() -> _Kind:
    return _Kind(CONTROLS, _("Control"), facts.of_control, gist_of_control, _actions)


def _actions(plans: tuple[Plan, Plan], old: Control, new: Control) -> Iterator[Change]:
    """Compare the corrective actions of a control that both versions have."""
    title = _("Control")
    kind = _Kind(
        CONTROLS,
        _("corrective action"),
        facts.of_action,
        lambda plan, action: action.text,
        within=f"{title} {new.code} ({new.name}), ",
    )
    yield from kind.changes(plans, facts.actions_of(old), facts.actions_of(new))


def _steps_and_events(plans: tuple[Plan, Plan], old: Product, new: Product) -> Iterator[Change]:
    """Compare what a product that both versions have is made by."""
    title = _("Product")
    inside = f"{title} {new.code} ({new.name}), "

    def holder(plan: Plan) -> Product:
        return old if plan is plans[0] else new

    steps = _Kind(
        PRODUCTS,
        _("step"),
        lambda plan, step, twin: facts.of_step(holder(plan), step),
        lambda plan, step: facts.place_of_step(holder(plan), step),
        within=inside,
    )
    events = _Kind(
        PRODUCTS,
        _("event"),
        lambda plan, event, twin: facts.of_event(holder(plan), event),
        within=inside,
    )
    yield from steps.changes(plans, old.steps, new.steps)
    yield from events.changes(plans, old.events, new.events)


def _product_kind(plans: tuple[Plan, Plan]) -> _Kind:
    def product_facts(plan: Plan, product: Product, twin: Product) -> list[Fact]:
        is_old = plan is plans[0]
        both = facts.orders(*((product, twin) if is_old else (twin, product)))
        return [*facts.of_product(product), *both[0 if is_old else 1]]

    return _Kind(
        PRODUCTS,
        _("Product"),
        product_facts,
        lambda plan, product: product.description,
        _steps_and_events,
    )


def _profile(plans: tuple[Plan, Plan]) -> Iterator[Change]:
    """Compare the profile and each of its figures; of a profile that is new or gone only its name."""
    old, new = plans
    yield from _different(PROFILE, _("Regulatory profile"), facts.of_profile(old), facts.of_profile(new))
    if old.profile is None or new.profile is None:
        return
    before, after = ({p.code: p for p in profile.parameters} for profile in (old.profile, new.profile))
    for code in [*after, *(code for code in before if code not in after)]:
        subject = _("Regulatory profile, “%(name)s”") % {"name": facts.parameter_name(code)}
        was, now = before.get(code), after.get(code)
        if was is None or now is None:
            words = facts.parameter_value(was) if was else "", facts.parameter_value(now) if now else ""
            kind = REMOVED if now is None else ADDED
            yield Change(kind, subject, before=words[0], after=words[1], part=PROFILE)
        else:
            yield from _different(PROFILE, subject, facts.of_parameter(was), facts.of_parameter(now))


def compare(old: Plan, new: Plan) -> list[Change]:
    """List what changed from an old plan to a new one: controls first, then hazards, products, the rest."""
    plans = (old, new)
    hazards = _Kind(HAZARDS, _("Hazard"), facts.of_hazard, facts.gist_of_hazard)
    prerequisites = _Kind(PREREQUISITES, _("Prerequisite programme"), facts.of_prerequisite)
    verifications = _Kind(VERIFICATIONS, _("Verification"), facts.of_verification)
    validations = _Kind(
        VALIDATIONS, _("Validation"), facts.of_validation, lambda plan, validation: validation.text
    )
    return [
        *_control_kind().changes(plans, old.controls, new.controls),
        *hazards.changes(plans, old.hazards, new.hazards),
        *_product_kind(plans).changes(plans, old.products, new.products),
        *prerequisites.changes(plans, old.prerequisites, new.prerequisites),
        *verifications.changes(plans, old.verifications, new.verifications),
        *validations.changes(plans, old.validations, new.validations),
        *_profile(plans),
        *_different(RECALL, _("Recall procedure"), facts.of_recall(old), facts.of_recall(new)),
        *_different(RECALL, _("After a positive result"), facts.of_positive(old), facts.of_positive(new)),
        *_different(PLAN, _("Plan"), facts.of_plan(old), facts.of_plan(new)),
    ]


def compare_checks(old: Plan, new: Plan, product: str) -> list[Change]:
    """List what changes in the checks of one product's lots; what is checked by the day is left out."""

    def checks(plan: Plan) -> list[Control]:
        return [c for c in plan.controls if c.of_lot and product in c.products]

    return list(_control_kind().changes((old, new), checks(old), checks(new)))
