"""Products, hazards and controls of a plan document, read value by value. Pure, no database."""

from collections.abc import Mapping
from typing import Any

from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.limits.shape import Limit, LimitError
from safetyplan.calculation.open_limit import OpenLimit
from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.plans import parts
from safetyplan.plans.decision_tree import ANSWERS, TREES
from safetyplan.plans.document_keys import (
    CLOCK,
    CONTROL_TEXTS,
    DECIMAL,
    HAZARD_TEXTS,
    KEYS,
    PRODUCT_TEXTS,
)
from safetyplan.plans.event_parts import ENTRIES, INGREDIENTS, Detail, Event
from safetyplan.plans.parts import CLASSES, STARTED, Control, Hazard, Product, Step, When
from safetyplan.plans.reading import (
    DocumentError,
    flag,
    get,
    minutes,
    objects,
    one_of,
    only,
    text,
    texts,
    unique,
)
from safetyplan.words import render

MOST_POINTS = 40
MOST_OPTIONS = 12


DETAIL_TEXTS = ("name", "label", "entry", "quantity", "unit", "required")


def _detail(data: Any, where: str) -> Detail:
    if not isinstance(data, Mapping) or not all(isinstance(data.get(key, ""), str) for key in DETAIL_TEXTS):
        raise DocumentError(where, "must be an object of texts")
    if not set(DETAIL_TEXTS) <= set(data) <= {*DETAIL_TEXTS, "options", "of"}:
        raise DocumentError(
            where, "needs name, label, entry, quantity, unit and required, and besides only options and of"
        )
    entry, options, of = data["entry"], texts(data, "options", where), text(data, "of", where)
    if entry not in ENTRIES:
        raise DocumentError(f"{where}.entry", f"must be one of {', '.join(ENTRIES)}")
    measured = entry == "number" or (entry == "ingredient" and data["unit"])
    if measured and data["unit"] not in getattr(QUANTITIES.get(data["quantity"]), "units", ()):
        raise DocumentError(f"{where}.unit", "must be a unit of the quantity")
    if (entry == "choice") != bool(options) or len(options) > MOST_OPTIONS:
        raise DocumentError(f"{where}.options", f"belong to a choice, 1 to {MOST_OPTIONS} of them")
    unique(list(options), f"{where}.options")
    if of not in {"ingredient": INGREDIENTS, "thing": parts.EACH}.get(entry, ("",)):
        raise DocumentError(
            f"{where}.of", "must be a kind of ingredient or of shared thing, where one is asked"
        )
    given = {key: data[key] for key in DETAIL_TEXTS if key != "required"}
    return Detail(**given, required=data["required"] == "yes", options=options, of=of)


class PartReader:
    """Reads one document of a form; form 1 has no list of keys to hold to."""

    def __init__(self, schema: int) -> None:
        self.schema = schema

    def keys(self, data: Any, name: str, where: str) -> None:
        if self.schema > 1:
            only(data, KEYS[name], where)

    def event(self, data: Any, where: str) -> Event:
        self.keys(data, "event", where)
        details = objects(data, "details", where)
        unique(
            [str(dict(d).get("name")) for d, _path in details if isinstance(d, Mapping)], f"{where}.details"
        )
        return Event(
            code=get(data, "code", str, where),
            name=get(data, "name", str, where),
            expected_within_hours=get(data, "expected_within_hours", int, where, default=24),
            details=tuple(_detail(d, path) for d, path in details),
            repeats=flag(data, "repeats", where),
            every_minutes=minutes(data, "every_minutes", where, 0),
            after_event=text(data, "after_event", where),
            after_minutes=minutes(data, "after_minutes", where, 0),
        )

    def step(self, data: Any, where: str) -> Step:
        self.keys(data, "step", where)
        return Step(
            code=get(data, "code", str, where),
            name=get(data, "name", str, where),
            inputs=texts(data, "inputs", where),
            kind=one_of(data, "kind", parts.STEP_KINDS, where) or "operation",
            next=texts(data, "next", where),
            note=text(data, "note", where),
        )

    def product(self, data: Any, where: str) -> Product:
        self.keys(data, "product", where)
        get(data, "events", list, where)
        get(data, "steps", list, where)
        events = [self.event(e, path) for e, path in objects(data, "events", where)]
        steps = [self.step(s, path) for s, path in objects(data, "steps", where)]
        unique([event.code for event in events], f"{where}.events")
        unique([step.code for step in steps], f"{where}.steps")
        if any(event.code == STARTED for event in events):
            raise DocumentError(f"{where}.events", f"the code {STARTED} is the lot's own start")
        for event, (_data, path) in zip(events, objects(data, "events", where), strict=True):
            if event.after_event not in {"", STARTED, *(one.code for one in events)} - {event.code}:
                raise DocumentError(f"{path}.after_event", "must be another event of the product")
        return Product(
            code=get(data, "code", str, where),
            name=get(data, "name", str, where),
            shelf_life_days=get(data, "shelf_life_days", int, where, default=0),
            events=tuple(events),
            steps=tuple(steps),
            allergens=texts(data, "allergens", where),
            treatment=one_of(data, "treatment", parts.TREATMENTS, where),
            exposed=flag(data, "exposed", where),
            rich=flag(data, "rich", where),
            **{key: text(data, key, where) for key in PRODUCT_TEXTS},
        )

    def hazard(self, data: Any, where: str) -> Hazard:
        self.keys(data, "hazard", where)
        kind = get(data, "kind", str, where)
        if self.schema > 1:
            one_of(data, "kind", parts.HAZARD_KINDS, where)
        return Hazard(
            code=get(data, "code", str, where),
            products=texts(data, "products", where),
            step=get(data, "step", str, where),
            kind=kind,
            name=get(data, "name", str, where),
            significant=get(data, "significant", bool, where),
            reason=get(data, "reason", str, where),
            removed_by_reheating=get(data, "removed_by_reheating", bool, where),
            group=one_of(data, "group", parts.HAZARD_GROUPS, where),
            effect=one_of(data, "effect", parts.EFFECTS, where),
            measure_type=one_of(data, "measure_type", parts.MEASURE_TYPES, where),
            where=one_of(data, "where", parts.WHERE, where),
            determination=self.determination(data, where),
            **{key: text(data, key, where) for key in HAZARD_TEXTS},
        )

    def determination(self, data: Any, where: str) -> parts.Determination | None:
        if "determination" not in data:
            return None
        found, path = get(data, "determination", dict, where), f"{where}.determination"
        self.keys(found, "determination", path)
        tree = TREES.get(get(found, "tree", str, path))
        if tree is None:
            raise DocumentError(f"{path}.tree", f"must be one of {', '.join(TREES)}")
        answers = get(found, "answers", dict, path)
        for code, answer in answers.items():
            if tree.question(str(code)) is None or answer not in ANSWERS:
                raise DocumentError(
                    f"{path}.answers.{str(code)[:60]}", "must be yes or no to a question of the tree"
                )
        return parts.Determination(tree.code, answers, text(found, "reason", path))

    def control(self, data: Any, where: str) -> Control:
        self.keys(data, "control", where)
        rank = get(data, "class", str, where)
        if rank not in CLASSES:
            raise DocumentError(f"{where}.class", "must be ccp, oprp or prp")
        monitoring, inside = get(data, "monitoring", dict, where), f"{where}.monitoring"
        self.keys(monitoring, "monitoring", inside)
        when = self.when(get(monitoring, "when", dict, inside), f"{inside}.when")
        limit = self.limit(data, where)
        if not isinstance(limit, OpenLimit) and isinstance(limit, ReachedBy) != (when.kind == "limit_points"):
            raise DocumentError(
                f"{inside}.when", "limit_points belongs to a limit reached by an elapsed time"
            )
        if not DECIMAL.fullmatch(text(data, "resolution", where)):
            raise DocumentError(f"{where}.resolution", "must be a decimal number, or empty")
        return Control(
            code=get(data, "code", str, where),
            rank=rank,
            name=get(data, "name", str, where),
            products=texts(data, "products", where),
            limit=limit,
            what=get(monitoring, "what", str, inside),
            how=get(monitoring, "how", str, inside),
            who=get(monitoring, "who", str, inside),
            instrument=text(monitoring, "instrument", inside),
            when=when,
            corrective_actions=self.actions(data, where),
            measure_next_minutes=get(data, "measure_next_minutes", int, where, default=0),
            provenance=one_of(data, "provenance", parts.PROVENANCES, where),
            points=self.points(data, when, where),
            recording=one_of(data, "recording", parts.RECORDINGS, where),
            overdue_instrument=one_of(data, "overdue_instrument", parts.OVERDUE_INSTRUMENT, where),
            photo=one_of(data, "photo", parts.PHOTOS, where),
            **{key: text(data, key, where) for key in CONTROL_TEXTS},
        )

    def points(self, data: Any, when: When, where: str) -> tuple[str, ...]:
        found = texts(data, "points", where)
        if found and when.kind != "daily":
            raise DocumentError(f"{where}.points", "belong to a daily check")
        if len(found) > MOST_POINTS:
            raise DocumentError(f"{where}.points", f"are at most {MOST_POINTS}")
        unique(list(found), f"{where}.points")
        return found

    def when(self, data: Any, where: str) -> When:
        self.keys(data, "when", where)
        kind = get(data, "kind", str, where)
        if kind not in ("after_event", "limit_points", "load", "daily"):
            raise DocumentError(f"{where}.kind", "must be after_event, limit_points, load or daily")
        times = texts(data, "times", where)
        if not all(CLOCK.fullmatch(time) for time in times):
            raise DocumentError(f"{where}.times", "must be times of day like 06:30")
        if kind == "daily" and not times:
            raise DocumentError(f"{where}.times", "must name at least one time of day")
        return When(
            kind=kind,
            event=text(data, "event", where) if kind == "after_event" else "",
            after_minutes=minutes(data, "after_minutes", where, 0),
            before=minutes(data, "window_before_minutes", where, 60),
            after=minutes(data, "window_after_minutes", where, 60),
            days=one_of(data, "days", ("every", "production"), where) or "every",
            times=times,
            each=one_of(data, "each", parts.EACH, where) if kind == "daily" else "",
        )

    def actions(self, data: Any, where: str) -> tuple[tuple[str, str], ...]:
        get(data, "corrective_actions", list, where)
        found = objects(data, "corrective_actions", where)
        for item, path in found:
            self.keys(item, "action", path)
        return tuple((get(item, "code", str, path), get(item, "text", str, path)) for item, path in found)

    def limit(self, data: Any, where: str) -> Limit:
        found, path = get(data, "limit", dict, where), f"{where}.limit"
        if self.schema > 1 and found.get("kind") == OpenLimit.kind:
            self.keys(found, "open", path)
            return OpenLimit(
                get(found, "prompt", str, path), texts(found, "sources", path), text(found, "suggests", path)
            )
        try:
            return load(found)
        except LimitError as error:
            raise DocumentError(path, str(render(error.sentence))) from error
