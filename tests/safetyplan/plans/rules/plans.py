"""Plans for the tests of the rules: a whole one without any finding, to be changed in one thing.

`fresh` is a fresh cheese of pasteurised milk, `aged` a hard cheese of raw milk; all of it is invented. A
`Pair` is a change that a rule finds, and its twin that the rule does not find.
"""

from collections.abc import Callable, Iterable
from copy import deepcopy
from dataclasses import dataclass
from datetime import date
from typing import Any

from safetyplan.plans.around import Around
from safetyplan.plans.document import Plan, read
from safetyplan.plans.figures import figures, flow_value, targets_value
from safetyplan.plans.plan_check import Finding, check
from safetyplan.reference.profiles import profiles

Data = dict[str, Any]
Change = Callable[[Data], None]
TODAY = date(2026, 5, 14)
FILE = "ab" * 32


def bound(part: str, quantity: str, unit: str, tolerance: str = "0", **bounds: str) -> Data:
    """Write a bound."""
    return {
        "kind": "bound",
        "part": part,
        "quantity": quantity,
        "unit": unit,
        "tolerance": tolerance,
        **bounds,
    }


def warmth(unit: str = "degC", **bounds: str) -> Data:
    """Write a bound on a temperature."""
    return bound("temperature", "temperature", unit, **bounds)


def vat(minutes: str = "30", unit: str = "degC", product: str | None = "63", air: str | None = "66") -> Data:
    """Write the hold of a vat."""
    return {
        "kind": "held_for",
        "minutes": minutes,
        "unit": unit,
        "product_at_least": product,
        "air_space_at_least": air,
        "product_target": None,
        "recorder_not_above_indicating": True,
        "agitator": True,
        "tolerance": "0.25",
    }


def acid(*points: tuple[str, str]) -> Data:
    """Write a pH reached by hours after the starter."""
    return {
        "kind": "reached_by",
        "part": "ph",
        "quantity": "ph",
        "unit": "pH",
        "direction": "at_most",
        "event": "starter_added",
        "tolerance": "0.05",
        "points": [
            {"hours": hours, "limit": limit, "target": None, "window_before_minutes": 60}
            for hours, limit in points
        ],
    }


def nested(kind: str, *members: Data) -> Data:
    """Write a limit made of others."""
    return {"kind": kind, "members": list(members)}


OPEN = {"kind": "open", "prompt": "Which pH, by when?", "sources": [], "suggests": "reached_by"}
WORD = {"kind": "attribute", "part": "result", "options": ["good", "bad"], "accepted": ["good"]}


def after(event: str, minutes: int = 0, late: int = 60) -> Data:
    """Write that a check is due after an event."""
    return {"kind": "after_event", "event": event, "after_minutes": minutes, "window_after_minutes": late}


def daily(*times: str) -> Data:
    """Write that a check is due every day."""
    return {"kind": "daily", "times": list(times)}


def control(code: str, rank: str, name: str, step: str, limit: Data, when: Data, **more: Any) -> Data:
    """Write a control with all that it needs."""
    said = {"justification": "Our trial makes stayed within it", "figure_source": "Trial book, page 4"}
    return {
        **(said if rank == "ccp" else {}),
        "code": code,
        "class": rank,
        "name": name,
        "products": ["P"] if when["kind"] != "daily" else [],
        "step": step,
        "limit": limit,
        "monitoring": {"what": "The value", "how": "By hand", "who": "maker", "instrument": "", "when": when},
        "corrective_actions": [{"code": f"{code}-1", "text": "Hold the lot"}],
        "measure_next_minutes": 30,
        "verification": "Records read weekly",
        "record": "Lot record",
        **more,
    }


def hazard(code: str, kind: str, step: str, name: str, by: str, **more: Any) -> Data:
    """Write a hazard that its own step controls."""
    return {
        "code": code,
        "products": ["P"] if step else [],
        "step": step,
        "kind": kind,
        "name": name,
        "significant": True,
        "reason": "It makes people ill and happens without a control",
        "removed_by_reheating": False,
        "controlled_by": by,
        "severity": "Grave: people go to hospital",
        "likelihood": "Likely without a control",
        "where": "this_step",
        "determination": {"tree": "codex_2022", "answers": dict(CRITICAL if by.startswith("C") else ROUTINE)},
        **more,
    }


CRITICAL = {"q1": "no", "q2": "yes", "q3": "no", "q4": "yes"}
ROUTINE = {"q1": "yes"}
STEPS = ("receive", "heat", "set", "acidify", "age", "pack", "store")


def _product(**more: Any) -> Data:
    return {
        "code": "P",
        "name": "Invented cheese",
        "label": "Made with milk of the farm. Contains: milk.",
        "shelf_life_days": 14,
        "shelf_life_evidence": "Own study of two lots",
        "allergens": ["milk"],
        "treatment": "pasteurised",
        "exposed": True,
        "family": "fresh_lactic",
        "events": [{"code": "starter_added", "name": "Starter added"}, {"code": "packed", "name": "Packed"}],
        "steps": [{"code": code, "name": code.capitalize(), "inputs": []} for code in STEPS],
        **more,
    }


def _plan(profile: str, product: Data, controls: list[Data], hazards: list[Data]) -> Data:
    rules = profiles()[profile]
    return {
        "schema": 2,
        "title": "Plan of an invented dairy",
        "form_number": "T-1",
        "profile": {
            "code": profile,
            "read_on": rules.read_on,
            "parameters": [{**vars(parameter), "reason": ""} for parameter in rules.parameters],
        },
        "products": [product],
        "controls": controls,
        "hazards": hazards,
        "prerequisites": [{"code": "PR", "name": "Zones", "text": "Boots of the room, swabs every month"}],
        "verifications": [
            {
                "code": "V1",
                "kind": "phosphatase",
                "name": "Phosphatase",
                "how": "Laboratory, at most 350 mU/L",
                "how_often": "weekly",
                "controls": [],
            }
        ],
        "validations": [
            {"code": "E1", "kind": "study", "text": "Own study", "controls": ["CCP1", "CCP2"], "file": FILE}
        ],
        "recall": {
            key: "The owner" for key in ("responsible", "consignees", "public", "effectiveness", "disposal")
        },
        "positive_action": {"product": "Hold and test", "environment": "Clean and swab again"},
    }


def _hazards() -> list[Data]:
    return [
        hazard("H1", "biological", "heat", "Salmonella", "CCP1", agent="salmonella"),
        hazard("H2", "biological", "acidify", "Toxin of staphylococci", "CCP2", group="toxin"),
        hazard(
            "H3", "biological", "pack", "Listeria", "PR", group="environmental_pathogen", where="prerequisite"
        ),
        hazard("H4", "chemical", "pack", "Milk not declared", "PRP2", group="allergen"),
        hazard("H5", "physical", "set", "Pieces of mould", "PR", significant=False, where="prerequisite"),
        hazard("H7", "chemical", "receive", "Antibiotics", "PR", group="drug_residue", where="prerequisite"),
        hazard("H6", "radiological", "", "Caesium", "", significant=False),
    ]


def fresh(profile: str = "gb") -> Data:
    """Write a fresh cheese of pasteurised milk; its limits stand in the unit of the profile."""
    american = profile.startswith("us")
    heat = vat("30", "degF", "145", "150") if american else vat("30")
    if profile == "au":
        heat = vat("0.25", product="72")
    cold = warmth("degF", at_most="39") if american else warmth(at_most="4")
    controls = [
        control("CCP1", "ccp", "Heat", "heat", heat, after("started"), parameter="heat_rule"),
        control("CCP2", "ccp", "Acid", "acidify", acid(("24", "4.60")), {"kind": "limit_points"}),
        control("O1", "oprp", "Milk", "receive", cold, after("started"), parameter="milk_temperature_most"),
        control("PRP1", "prp", "Cold", "", cold, daily("07:00"), parameter="cold_store_most"),
        control("PRP2", "prp", "Label", "pack", WORD, after("packed")),
    ]
    return _plan(profile, _product(), controls, _hazards())


def aged(profile: str = "us_full") -> Data:
    """Write a hard cheese of raw milk with days of ageing and a pH at 6 h."""
    american = profile.startswith("us")
    days = bound("age", "duration", "d", at_least="90")
    room = warmth("degF", at_least="45") if american else warmth(at_least="7")
    label = "Made with raw milk of the farm. Contains: milk."
    product = _product(treatment="raw", family="hard_raw", label=label, exposed=False)
    controls = [
        control("CCP1", "ccp", "Clean milk", "receive", WORD, after("started")),
        control(
            "CCP2", "ccp", "Acid", "acidify", acid(("6", "5.8"), ("24", "5.3")), {"kind": "limit_points"}
        ),
        control("O1", "oprp", "Days", "pack", days, after("packed"), parameter="ageing_days"),
        control("PRP1", "prp", "Room", "", room, daily("07:00"), parameter="ageing_temperature_least"),
        control("PRP2", "prp", "Label", "pack", WORD, after("packed")),
    ]
    plan = _plan(profile, product, controls, _hazards())
    return {**plan, "verifications": []}


def confirmed(plan: Plan, **changes: Any) -> Around:
    """Confirm everything about a plan as it stands."""
    everything: dict[str, Any] = {
        "confirmed": frozenset((figure.what, figure.value) for figure in figures(plan)),
        "targets": frozenset({targets_value(plan)}),
        "flows": frozenset((product.code, flow_value(product)) for product in plan.products),
        "files": frozenset({FILE}),
        "today": TODAY,
    }
    return Around(**{**everything, **changes})


def findings(document: Data, around: Callable[[Plan], Around] = confirmed) -> list[Finding]:
    """Check a document with everything confirmed, unless told otherwise."""
    plan = read(document)
    return check(plan, around(plan))


def changed(document: Data, *changes: Change) -> Data:
    """Give a copy of a document with some changes."""
    copy = deepcopy(document)
    for change in changes:
        change(copy)
    return copy


def item(document: Data, code: str) -> Data:
    """Find a product, hazard, control or other coded part of a document."""
    lists: Iterable[list[Data]] = (
        document[name]
        for name in ("products", "hazards", "controls", "prerequisites", "verifications", "validations")
    )
    return next(one for items in lists for one in items if one["code"] == code)


def put(code: str, **values: Any) -> Change:
    """Change some values of one part, found by its code."""
    return lambda document: item(document, code).update(values)


def put_when(code: str, when: Data) -> Change:
    """Change when a check is due."""
    return lambda document: item(document, code)["monitoring"].update(when=when)


def put_parameter(code: str, **values: str) -> Change:
    """Change a figure of the profile."""

    def change(document: Data) -> None:
        parameters = document["profile"]["parameters"]
        next(one for one in parameters if one["code"] == code).update(values)

    return change


def with_limit(code: str, limit: Data, **more: Any) -> Change:
    """Change the limit of a control."""
    return put(code, limit=limit, **more)


def nothing(document: Data) -> None:
    """Change nothing."""


@dataclass(frozen=True)
class Pair:
    """A change that a rule finds at a place, and its twin that the rule does not find."""

    id: str
    name: str
    where: str
    bad: Change
    twin: Change
    base: Data
    level: str = "error"

    def __str__(self) -> str:
        return f"{self.id}: {self.name}"

    def found(self, change: Change) -> list[tuple[str, str]]:
        """Give where and how gravely the rule finds something in the changed plan."""
        return [(f.where, f.level) for f in findings(changed(self.base, change)) if f.id == self.id]


def pair(
    id: str,
    name: str,
    where: str,
    bad: Change,
    twin: Change = nothing,
    level: str = "error",
    base: Data | None = None,
) -> Pair:
    """Write a pair on the fresh cheese, unless another base is given."""
    return Pair(id, name, where, bad, twin, fresh() if base is None else base, level)


def finds(one: Pair) -> None:
    """Hold a pair to what it says: the bad one is found once at its place, the twin is not."""
    assert one.found(one.bad) == [(one.where, one.level)]
    assert one.found(one.twin) == []
