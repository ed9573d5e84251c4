"""The plan document: one JSON object, read into frozen dataclasses. Pure, no database.

    {"schema": 1, "title", "form_number", "language", "late_after_minutes", "release_role",
     "products": [{"code", "name", "description", "milk", "shelf_life_days", "storage", "label",
                   "events": [{"code", "name", "expected_within_hours", "details": [part...]}],
                   "steps": [{"code", "name", "inputs": [..]}]}],
     "hazards":  [{"code", "products", "step", "kind", "name", "significant", "reason",
                   "removed_by_reheating", "controlled_by"}],
     "controls": [{"code", "class": "ccp"|"oprp"|"prp", "name", "products", "step", "limit": {...},
                   "monitoring": {"what", "how", "who", "instrument", "when": {...}},
                   "corrective_actions": [{"code", "text"}], "measure_next_minutes", "verification"}]}

`when` is one of
    {"kind": "after_event", "event", "after_minutes", "window_before_minutes", "window_after_minutes"}
    {"kind": "limit_points"}      the limit itself says when (value reached by an elapsed time)
    {"kind": "daily", "days": "every"|"production", "times": ["06:30"], "window_before_minutes",
     "window_after_minutes"}
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from safetyplan.calculation.limits.catalogue import load
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.limits.shape import Limit, LimitError
from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.integrity import canonical
from safetyplan.words import render

CLASSES = ("ccp", "oprp", "prp")
STARTED = "started"
CLOCK = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")


class DocumentError(ValueError):
    """The document cannot be read; `where` is the path of the first bad value."""

    def __init__(self, where: str, message: str) -> None:
        super().__init__(f"{where}: {message}")
        self.where = where
        self.message = message


@dataclass(frozen=True)
class Event:
    """Something that happens to a lot and is recorded with its time."""

    code: str
    name: str
    expected_within_hours: int
    details: tuple[Mapping[str, str], ...]


@dataclass(frozen=True)
class Step:
    """A step of the process, in order."""

    code: str
    name: str
    inputs: tuple[str, ...]


@dataclass(frozen=True)
class Product:
    """A product and how it is made."""

    code: str
    name: str
    description: str
    milk: str
    shelf_life_days: int
    storage: str
    label: str
    events: tuple[Event, ...]
    steps: tuple[Step, ...]

    def event(self, code: str) -> Event | None:
        """Find an event by code."""
        return next((event for event in self.events if event.code == code), None)


@dataclass(frozen=True)
class Hazard:
    """A hazard at a step and where it is controlled."""

    code: str
    products: tuple[str, ...]
    step: str
    kind: str
    name: str
    significant: bool
    reason: str
    removed_by_reheating: bool
    controlled_by: str


@dataclass(frozen=True)
class When:
    """When a check is due."""

    kind: str
    event: str = ""
    after_minutes: int = 0
    before: int = 0
    after: int = 0
    days: str = "every"
    times: tuple[str, ...] = ()


@dataclass(frozen=True)
class Control:
    """A critical control point or a prerequisite control, with its limit and monitoring."""

    code: str
    rank: str
    name: str
    products: tuple[str, ...]
    step: str
    limit: Limit
    what: str
    how: str
    who: str
    instrument: str
    when: When
    corrective_actions: tuple[tuple[str, str], ...]
    measure_next_minutes: int
    verification: str

    @property
    def is_ccp(self) -> bool:
        """Tell whether this is a critical control point."""
        return self.rank == "ccp"

    @property
    def of_lot(self) -> bool:
        """Tell whether the check belongs to a lot (else to a day of the establishment)."""
        return self.when.kind != "daily"


@dataclass(frozen=True)
class Plan:
    """A whole food-safety plan."""

    title: str
    form_number: str
    language: str
    late_after_minutes: int
    release_role: str
    products: tuple[Product, ...]
    hazards: tuple[Hazard, ...]
    controls: tuple[Control, ...]

    def product(self, code: str) -> Product:
        """Find a product by code."""
        return next(p for p in self.products if p.code == code)

    def control(self, code: str) -> Control | None:
        """Find a control by code."""
        return next((c for c in self.controls if c.code == code), None)

    def hazards_of(self, control: Control) -> tuple[Hazard, ...]:
        """Give the hazards that a control is there for."""
        return tuple(h for h in self.hazards if h.controlled_by == control.code)


def _get(data: Any, key: str, kind: type, where: str, default: Any = None) -> Any:
    if not isinstance(data, Mapping):
        raise DocumentError(where, "must be an object")
    if key not in data:
        if default is not None:
            return default
        raise DocumentError(f"{where}.{key}", "is missing")
    value = data[key]
    if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
        raise DocumentError(f"{where}.{key}", f"must be {kind.__name__}")
    return value


def _texts(data: Any, key: str, where: str) -> tuple[str, ...]:
    values = _get(data, key, list, where, default=[])
    if not all(isinstance(value, str) for value in values):
        raise DocumentError(f"{where}.{key}", "must be a list of texts")
    return tuple(values)


def _unique(codes: list[str], where: str) -> None:
    double = {code for code in codes if codes.count(code) > 1}
    if double:
        raise DocumentError(where, f"the code {sorted(double)[0]} is used twice")


def _detail(data: Any, where: str) -> Mapping[str, str]:
    if not isinstance(data, Mapping) or not all(isinstance(value, str) for value in data.values()):
        raise DocumentError(where, "must be an object of texts")
    if set(data) != {"name", "label", "entry", "quantity", "unit", "required"}:
        raise DocumentError(where, "needs name, label, entry, quantity, unit and required, and nothing else")
    if data["entry"] not in ("number", "text"):
        raise DocumentError(f"{where}.entry", "must be number or text")
    if data["entry"] == "number" and data["unit"] not in getattr(
        QUANTITIES.get(data["quantity"]), "units", ()
    ):
        raise DocumentError(f"{where}.unit", "must be a unit of the quantity")
    return data


def _event(data: Any, where: str) -> Event:
    details = _get(data, "details", list, where, default=[])
    _unique([str(dict(d).get("name")) for d in details if isinstance(d, Mapping)], f"{where}.details")
    return Event(
        code=_get(data, "code", str, where),
        name=_get(data, "name", str, where),
        expected_within_hours=_get(data, "expected_within_hours", int, where, default=24),
        details=tuple(_detail(d, f"{where}.details[{i}]") for i, d in enumerate(details)),
    )


def _step(data: Any, where: str) -> Step:
    return Step(_get(data, "code", str, where), _get(data, "name", str, where), _texts(data, "inputs", where))


def _product(data: Any, where: str) -> Product:
    events = [_event(e, f"{where}.events[{i}]") for i, e in enumerate(_get(data, "events", list, where))]
    steps = [_step(s, f"{where}.steps[{i}]") for i, s in enumerate(_get(data, "steps", list, where))]
    _unique([event.code for event in events], f"{where}.events")
    _unique([step.code for step in steps], f"{where}.steps")
    if any(event.code == STARTED for event in events):
        raise DocumentError(f"{where}.events", f"the code {STARTED} is the lot's own start")
    return Product(
        code=_get(data, "code", str, where),
        name=_get(data, "name", str, where),
        description=_get(data, "description", str, where, default=""),
        milk=_get(data, "milk", str, where, default=""),
        shelf_life_days=_get(data, "shelf_life_days", int, where, default=0),
        storage=_get(data, "storage", str, where, default=""),
        label=_get(data, "label", str, where, default=""),
        events=tuple(events),
        steps=tuple(steps),
    )


def _hazard(data: Any, where: str) -> Hazard:
    return Hazard(
        code=_get(data, "code", str, where),
        products=_texts(data, "products", where),
        step=_get(data, "step", str, where),
        kind=_get(data, "kind", str, where),
        name=_get(data, "name", str, where),
        significant=_get(data, "significant", bool, where),
        reason=_get(data, "reason", str, where),
        removed_by_reheating=_get(data, "removed_by_reheating", bool, where),
        controlled_by=_get(data, "controlled_by", str, where, default=""),
    )


def _when(data: Any, where: str) -> When:
    kind = _get(data, "kind", str, where)
    if kind not in ("after_event", "limit_points", "daily"):
        raise DocumentError(f"{where}.kind", "must be after_event, limit_points or daily")
    times = _texts(data, "times", where)
    if not all(CLOCK.fullmatch(text) for text in times):
        raise DocumentError(f"{where}.times", "must be times of day like 06:30")
    if kind == "daily" and not times:
        raise DocumentError(f"{where}.times", "must name at least one time of day")
    return When(
        kind=kind,
        event=_get(data, "event", str, where) if kind == "after_event" else "",
        after_minutes=_get(data, "after_minutes", int, where, default=0),
        before=_get(data, "window_before_minutes", int, where, default=60),
        after=_get(data, "window_after_minutes", int, where, default=60),
        days=_get(data, "days", str, where, default="every"),
        times=times,
    )


def _actions(data: Any, where: str) -> tuple[tuple[str, str], ...]:
    items = _get(data, "corrective_actions", list, where)
    return tuple((_get(item, "code", str, where), _get(item, "text", str, where)) for item in items)


def _limit(data: Any, where: str) -> Limit:
    try:
        return load(_get(data, "limit", dict, where))
    except LimitError as error:
        raise DocumentError(f"{where}.limit", str(render(error.sentence))) from error


def _control(data: Any, where: str) -> Control:
    rank = _get(data, "class", str, where)
    if rank not in CLASSES:
        raise DocumentError(f"{where}.class", "must be ccp, oprp or prp")
    monitoring = _get(data, "monitoring", dict, where)
    inside = f"{where}.monitoring"
    when = _when(_get(monitoring, "when", dict, inside), f"{inside}.when")
    limit = _limit(data, where)
    if isinstance(limit, ReachedBy) != (when.kind == "limit_points"):
        raise DocumentError(f"{inside}.when", "limit_points belongs to a limit reached by an elapsed time")
    return Control(
        code=_get(data, "code", str, where),
        rank=rank,
        name=_get(data, "name", str, where),
        products=_texts(data, "products", where),
        step=_get(data, "step", str, where, default=""),
        limit=limit,
        what=_get(monitoring, "what", str, inside),
        how=_get(monitoring, "how", str, inside),
        who=_get(monitoring, "who", str, inside),
        instrument=_get(monitoring, "instrument", str, inside, default=""),
        when=when,
        corrective_actions=_actions(data, where),
        measure_next_minutes=_get(data, "measure_next_minutes", int, where, default=0),
        verification=_get(data, "verification", str, where, default=""),
    )


def read(data: Any) -> Plan:
    """Read a plan document; DocumentError names the first value that cannot be taken."""
    if _get(data, "schema", int, "plan") != 1:
        raise DocumentError("plan.schema", "must be 1")
    lists = {key: _get(data, key, list, "plan") for key in ("products", "hazards", "controls")}
    products = tuple(_product(p, f"products[{i}]") for i, p in enumerate(lists["products"]))
    hazards = tuple(_hazard(h, f"hazards[{i}]") for i, h in enumerate(lists["hazards"]))
    controls = tuple(_control(c, f"controls[{i}]") for i, c in enumerate(lists["controls"]))
    for name, coded in (("products", products), ("hazards", hazards), ("controls", controls)):
        _unique([item.code for item in coded], name)
    return Plan(
        title=_get(data, "title", str, "plan"),
        form_number=_get(data, "form_number", str, "plan"),
        language=_get(data, "language", str, "plan", default="en"),
        late_after_minutes=_get(data, "late_after_minutes", int, "plan", default=30),
        release_role=_get(data, "release_role", str, "plan", default="responsible"),
        products=products,
        hazards=hazards,
        controls=controls,
    )


@lru_cache(maxsize=64)
def read_text(text: str) -> Plan:
    """Read the canonical text of an approved plan."""
    return read(canonical.loads(text.encode()))
