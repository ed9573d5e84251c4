"""A small plan of two cheeses for the tests of the hazard screens, and the acts of those who write it."""

import json
from typing import Any

from django.http import HttpResponse

from safetyplan.establishments.models import Person
from safetyplan.integrity import canonical
from tests.builders import at, hours
from tests.cast import Cast
from tests.safetyplan.plans.stage import draft_of, url, write
from tests.web import signed_in

Data = dict[str, Any]
BOUND = {
    "kind": "bound",
    "part": "milk",
    "quantity": "temperature",
    "unit": "degC",
    "at_most": "7",
    "tolerance": "0.5",
}


def step(code: str, name: str, **more: Any) -> Data:
    """Give a step."""
    return {"code": code, "name": name, "inputs": [], **more}


def control(code: str, rank: str, name: str, at_step: str, products: list[str]) -> Data:
    """Give a control that waits for the start of a lot."""
    when = {"kind": "after_event", "event": "started"}
    monitoring = {"what": "temperature", "how": "probe", "who": "maker", "when": when}
    return {
        "code": code,
        "class": rank,
        "name": name,
        "products": products,
        "step": at_step,
        "limit": BOUND,
        "monitoring": monitoring,
        "corrective_actions": [{"code": "hold", "text": "Hold it."}],
        "verification": "Read the records every week.",
        "record": "Vat sheet",
    }


def hazard(code: str, at_step: str, name: str, **more: Any) -> Data:
    """Give a hazard of both cheeses that heat removes."""
    return {
        "code": code,
        "products": ["AA", "BB"],
        "step": at_step,
        "kind": "biological",
        "name": name,
        "significant": True,
        "reason": "Raw milk may carry it.",
        "removed_by_reheating": True,
        "controlled_by": "CCP1",
        **more,
    }


def product(code: str, name: str, steps: list[Data]) -> Data:
    """Give a product."""
    return {
        "code": code,
        "name": name,
        "description": "",
        "milk": "cow",
        "shelf_life_days": 20,
        "storage": "cold",
        "label": "Contains milk",
        "events": [],
        "steps": steps,
        "treatment": "pasteurised",
    }


def document(**changes: Any) -> Data:
    """Give the plan: two cheeses, of which one is salted, one heat control, one cold store, one programme."""
    fresh = [
        step("receive", "Milk receipt", inputs=["raw milk"]),
        step("heat", "Heating"),
        step("pack", "Packing"),
    ]
    salted = [step("receive", "Milk receipt"), step("heat", "Heating"), step("salt", "Salting")]
    return {
        "schema": 2,
        "title": "Small plan",
        "form_number": "FSP-1",
        "products": [product("AA", "Alder Fresh", fresh), product("BB", "Birch Salted", salted)],
        "hazards": [
            hazard("H1", "heat", "Vegetative pathogens", where="this_step", effect="controlled"),
            hazard("H2", "receive", "Brucella", where="later_step", controlled_step="heat"),
        ],
        "controls": [
            control("CCP1", "ccp", "Heat treatment", "heat", ["AA", "BB"]),
            control("OPRP1", "oprp", "Cold milk", "receive", ["AA", "BB"]),
        ],
        "prerequisites": [{"code": "PRP1", "name": "Cleaning", "text": "Clean every day."}],
        **changes,
    }


def begun(cast: Cast, **changes: Any) -> None:
    """Save the plan as the draft."""
    write(cast, json.dumps(document(**changes)))


def data_of(cast: Cast) -> Data:
    """Give the document of the draft."""
    draft = draft_of(cast)
    assert draft is not None
    found: Data = canonical.loads(draft.text.encode())
    return found


def hazard_of(cast: Cast, code: str) -> Data:
    """Give a hazard of the draft."""
    return next(item for item in data_of(cast)["hazards"] if item["code"] == code)


def revision(cast: Cast) -> str:
    """Give the revision of the draft."""
    draft = draft_of(cast)
    assert draft is not None
    return str(draft.revision)


def send(
    cast: Cast, person: Person, name: str, *arguments: str, typed: dict[str, Any], query: str = ""
) -> HttpResponse:
    """Send a form to an address that names a hazard."""
    with at(cast.dairy, hours(1)):
        return signed_in(person).post(url(cast, name, *arguments) + query, typed)


def typed_hazard(cast: Cast, **changes: Any) -> dict[str, Any]:
    """Give everything that is typed for a hazard of metal at the packing of the fresh cheese."""
    return {
        "revision": revision(cast),
        "name": "Wire of the curd knife",
        "agent": "",
        "kind": "physical",
        "group": "",
        "products": ["AA"],
        "step": "pack",
        "effect": "introduced",
        "severity": "Grave: it can hurt the throat.",
        "likelihood": "Rare: knives are looked at before and after use.",
        "significant": "no",
        "reason": "Wires are counted at every cleaning.",
        "removed_by_reheating": "no",
        "measure": "Look at the knives.",
        "measure_type": "prerequisite",
        "where": "prerequisite",
        "controlled_step": "",
        "controlled_by": "PRP1",
        "source": "own experience",
        **changes,
    }
