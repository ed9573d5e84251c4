"""The plans of the invented dairies: nothing is found once they are confirmed; each says what its story asks.

What is expected is written down from the stories of the three dairies, not from the files.
"""

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from safetyplan.integrity import canonical
from safetyplan.plans.document import read
from safetyplan.plans.parts import Control, Plan
from safetyplan.plans.plan_check import check
from safetyplan.words import render
from tests.builders import at, hours, plan_in_force
from tests.cast import Cast
from tests.safetyplan.plans.rules.plans import confirmed

FOLDER = Path(__file__).parents[3] / "fixtures" / "demo"
NAMES = ("tarrowby", "ostervane", "roccavenda")
TODAY = date(2026, 9, 10)


def document(name: str) -> dict[str, Any]:
    """Give the plan of a dairy as it stands in its file."""
    found: dict[str, Any] = json.loads((FOLDER / f"{name}_plan.json").read_text(encoding="utf-8"))
    return found


def plan(name: str) -> Plan:
    """Read the plan of a dairy."""
    return read(document(name))


def control(name: str, words: str) -> Control:
    """Find the one control of a plan with some words in its name."""
    (found,) = (one for one in plan(name).controls if words in one.name)
    return found


def limit(name: str, words: str) -> str:
    """Give the limit of a control in words."""
    return " ".join(str(render(sentence)) for sentence in control(name, words).limit.describe())


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_found_in_a_plan_once_it_is_confirmed(name: str) -> None:
    found = plan(name)

    assert check(found, confirmed(found, today=TODAY)) == []
    assert check(found) != []


@pytest.mark.parametrize("name", NAMES)
def test_a_plan_is_one_document_that_can_be_kept_and_promises_nothing(name: str) -> None:
    found = document(name)

    assert canonical.loads(canonical.dumps(found)) == found
    assert not re.search(r"\bsafe\b", json.dumps(found), re.IGNORECASE)


@pytest.mark.parametrize("name", NAMES)
def test_a_plan_is_approved_and_read_again(cast: Cast, name: str) -> None:
    with at(cast.dairy, hours(0)):
        version = plan_in_force(cast, document(name))

    assert version.plan() == plan(name)


# dairy, part of the name of the control, what its limit says
LIMITS = [
    ("ostervane", "Heat treatment", ("72 °C", "0.25 min")),
    ("ostervane", "Inhibitor test", ("negative",)),
    ("ostervane", "Vane Red at 24", ("at most 5.2 within 24 h",)),
    ("ostervane", "Oster Blue at 24", ("at most 4.9 within 24 h",)),
    ("ostervane", "Milk temperature", ("at most 7 °C",)),
    ("ostervane", "Brine", ("18 %", "22 %", "10 °C", "14 °C", "5.0", "5.4")),
    ("ostervane", "Wash fresh", ("24 h",)),
    ("ostervane", "Needles out", ("needles out and needles in are equal",)),
    ("ostervane", "Sanitiser", ("100 ppm", "200 ppm")),
    ("roccavenda", "Raw milk warm", ("2 h", "6 °C")),
    ("roccavenda", "Acid at 6", ("at most 5.8 within 6 h", "at most 5.4 within 24 h")),
    ("roccavenda", "Days of ageing", ("60 d", "4 °C")),
    ("roccavenda", "Ricotta at 85", ("85 °C", "5 min")),
    ("roccavenda", "Ricotta at 10", ("at most 10 °C",)),
]


@pytest.mark.parametrize(("name", "words", "said"), LIMITS, ids=[f"{row[0]} {row[1]}" for row in LIMITS])
def test_each_limit_of_the_story_is_in_the_plan(name: str, words: str, said: tuple[str, ...]) -> None:
    printed = limit(name, words)

    assert [text for text in said if text not in printed] == []


def test_the_critical_points_are_those_of_the_stories() -> None:
    critical = {name: sorted(one.name for one in plan(name).controls if one.is_ccp) for name in NAMES[1:]}

    assert critical == {
        "ostervane": [
            "Acid of Oster Blue at 24 hours",
            "Acid of Vane Red at 24 hours",
            "Heat treatment",
            "Inhibitor test of each load",
        ],
        "roccavenda": [
            "Acid at 6 and at 24 hours",
            "Days of ageing before sale",
            "Raw milk warm within 2 hours, or cold",
            "Ricotta at 10 °C within 4 hours",
            "Ricotta at 85 °C for 5 minutes",
        ],
    }


def test_the_second_dairy_holds_back_the_starter_until_its_load_is_tested() -> None:
    tested = control("ostervane", "Inhibitor test")

    assert (tested.of_load, tested.products, tested.before_event) == (True, (), "starter_added")


def test_the_second_dairy_looks_at_each_brine_and_each_wash_and_washes_young_lots_first() -> None:
    assert control("ostervane", "Brine").when.each == "brine"
    assert control("ostervane", "Wash fresh").when.each == "preparation"
    assert control("ostervane", "Young lots").limit.to_document() == {
        "kind": "in_order",
        "part": "lots_washed",
        "first": "youngest",
    }


def test_the_second_dairy_walks_twelve_points_and_photographs_its_labels() -> None:
    assert len(control("ostervane", "Cold store").points) == 12
    label = control("ostervane", "First and last label")
    assert (label.photo, [part.name for part in label.limit.parts()]) == (
        "required",
        ["first_label", "last_label"],
    )


def test_the_second_dairy_goes_its_round_by_exception_and_counts_glass_each_time() -> None:
    found = {one.name: one.by_exception for one in plan("ostervane").controls if one.rank == "prp"}

    assert found == {
        "Sanitiser strength": False,
        "Surfaces before work starts": False,
        "People fit for work": True,
        "Signs of pests": True,
        "Water at the tap": True,
        "Glass and sharps counted": False,
        "Humidity of the ripening room": False,
        "Cleaned at close": True,
        "Vat washed": False,
    }


def test_the_second_dairy_names_lots_of_ingredients_and_the_things_its_cheese_goes_through() -> None:
    asked = {
        (product.code, event.code, detail.entry, detail.of)
        for product in plan("ostervane").products
        for event in product.events
        for detail in event.details
        if detail.of
    }

    assert {
        ("VR", "starter_added", "ingredient", "culture"),
        ("VR", "rennet_added", "ingredient", "rennet"),
        ("VR", "brined", "thing", "brine"),
        ("VR", "unbrined", "thing", "brine"),
        ("VR", "to_ripening", "thing", "room"),
        ("OB", "salted", "ingredient", "salt"),
        ("OB", "packed", "ingredient", "label"),
    } <= asked


def test_the_third_dairy_refuses_an_overdue_instrument_and_counts_the_days_of_ageing() -> None:
    blocking = [one.name for one in plan("roccavenda").controls if one.overdue_instrument == "block"]
    aged = control("roccavenda", "Days of ageing")

    assert "Ricotta at 85 °C for 5 minutes" in blocking
    assert (aged.before_event, aged.limit.parts()[0].unit) == ("packed", "d")


def test_the_third_dairy_counts_staphylococci_in_its_milk_each_week() -> None:
    weekly = [
        v for v in plan("roccavenda").verifications if "staphylococci" in v.name and "week" in v.how_often
    ]

    assert len(weekly) == 1
    assert "at most 100 in a millilitre" in weekly[0].how
