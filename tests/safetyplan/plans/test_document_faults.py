"""A plan document that cannot be worked with is refused when it is read, with the place of the fault."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from safetyplan.integrity.refusals import BadInput
from safetyplan.plans import document
from safetyplan.plans.services import read_draft_text
from tests.builders import PLAN_FILE

Change = Callable[[dict[str, Any]], None]


def daily(plan: dict[str, Any]) -> dict[str, Any]:
    """Find the monitoring time of the daily check."""
    when: dict[str, Any] = next(c for c in plan["controls"] if c["code"] == "PRP1")["monitoring"]["when"]
    return when


def first_event(plan: dict[str, Any]) -> dict[str, Any]:
    """Find the first event of the first product."""
    event: dict[str, Any] = plan["products"][0]["events"][0]
    return event


FAULTS: dict[str, tuple[Change, str]] = {
    "an hour that no day has": (lambda p: daily(p).update(times=["25:00"]), "times"),
    "a time without minutes": (lambda p: daily(p).update(times=["7"]), "times"),
    "a daily check without a time": (lambda p: daily(p).update(times=[]), "times"),
    "a detail that is no object": (lambda p: first_event(p).update(details=[1]), "details[0]"),
    "a detail without a label": (lambda p: first_event(p).update(details=[{"name": "x"}]), "details[0]"),
    "a detail asked for twice": (
        lambda p: first_event(p).update(details=first_event(p)["details"][:1] * 2),
        "details",
    ),
    "a unit that is not of the quantity": (
        lambda p: first_event(p)["details"][1].update(unit="kg"),
        "details[1].unit",
    ),
    "a choice without anything to choose": (
        lambda p: first_event(p)["details"][0].update(entry="choice"),
        "details[0].options",
    ),
    "choices where none is made": (
        lambda p: first_event(p)["details"][0].update(options=["a"]),
        "details[0].options",
    ),
    "the same choice twice": (
        lambda p: first_event(p)["details"][0].update(entry="choice", options=["a", "a"]),
        "details[0].options",
    ),
    "an ingredient of no kind": (
        lambda p: first_event(p)["details"][0].update(entry="ingredient"),
        "details[0].of",
    ),
    "a shared thing of an ingredient's kind": (
        lambda p: first_event(p)["details"][0].update(entry="thing", of="culture"),
        "details[0].of",
    ),
    "a dose in a unit that is not of its quantity": (
        lambda p: first_event(p)["details"][0].update(
            entry="ingredient", of="culture", quantity="mass", unit="L"
        ),
        "details[0].unit",
    ),
    "a detail with a key that is not known": (
        lambda p: first_event(p)["details"][0].update(colour="red"),
        "details[0]",
    ),
    "an event that follows itself": (
        lambda p: first_event(p).update(after_event=first_event(p)["code"]),
        "events[0].after_event",
    ),
    "an event that follows none of the product": (
        lambda p: first_event(p).update(after_event="gone"),
        "events[0].after_event",
    ),
    "minutes between two that are no number": (
        lambda p: first_event(p).update(every_minutes="often"),
        "events[0].every_minutes",
    ),
    "an event called like the lot's own start": (lambda p: first_event(p).update(code="started"), "events"),
    "a control of an unknown class": (lambda p: p["controls"][0].update({"class": "other"}), "class"),
    "two controls of one code": (lambda p: p["controls"].append(p["controls"][0]), "controls"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_in_the_document_is_named_with_its_place(fault: str) -> None:
    change, place = FAULTS[fault]
    plan = json.loads(PLAN_FILE.read_text())
    document.read(plan)

    change(plan)

    with pytest.raises(document.DocumentError) as refused:
        document.read(plan)
    assert place in refused.value.where


def test_a_name_written_twice_in_one_object_is_refused() -> None:
    text = PLAN_FILE.read_text()
    read_draft_text(text)

    with pytest.raises(BadInput, match="written twice"):
        read_draft_text(text.replace('"schema": 2', '"schema": 2, "schema": 2', 1))


def test_a_text_nested_without_end_is_refused() -> None:
    with pytest.raises(BadInput):
        read_draft_text("[" * 100_000)
