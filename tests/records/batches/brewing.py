"""A plan whose starter asks for the lot of a culture and its dose, and lots of cultures as received."""

import json
from datetime import date
from typing import Any

from records.receiving.ingredient_services import IngredientContent, receive_ingredient
from records.receiving.models import IngredientLot
from safetyplan.integrity import clock
from tests.builders import PLAN_FILE
from tests.cast import Cast

GRAMS = {"quantity": "mass", "unit": "g"}


def with_cultures(given: dict[str, Any] | None = None) -> dict[str, Any]:
    """Give a plan (the demonstration's) whose starter asks for a culture and its dose in grams."""
    plan: dict[str, Any] = given or json.loads(PLAN_FILE.read_text())
    asked = {"name": "culture", "label": "Culture", "entry": "ingredient", "of": "culture", "required": "yes"}
    for product in plan["products"]:
        for event in product["events"]:
            if event["code"] == "starter_added":
                event["details"] = [{**asked, **GRAMS}]
    return plan


def a_culture(
    cast: Cast, code: str = "K81", kind: str = "culture", use_by: date | None = None
) -> IngredientLot:
    """Receive a lot of a culture, or of another kind."""
    content = IngredientContent(kind, "Mesophilic", code, clock.now(cast.dairy), use_by=use_by)
    return receive_ingredient(establishment=cast.dairy, by=cast.maker, content=content)
