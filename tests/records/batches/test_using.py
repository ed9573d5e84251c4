"""Shared things that an event names: a lot goes into a brine and comes out; a wrong entry is put right."""

import json
from datetime import datetime
from typing import Any

import pytest

from records.batches.models import Lot, LotEvent
from records.batches.services import EventContent
from records.checks.services import correct_event
from records.checks.voiding import void_event
from records.things.models import Thing
from records.things.queries import uses
from records.things.services import Birth, make_thing
from safetyplan.integrity.refusals import BadInput
from tests.builders import PLAN_FILE, T0, a_lot, an_event, at, hours, plan_in_force
from tests.cast import Cast


def with_brine() -> dict[str, Any]:
    """Give a plan whose lots go into a brine and come out of it."""
    plan: dict[str, Any] = json.loads(PLAN_FILE.read_text())
    asked = {"entry": "thing", "of": "brine", "quantity": "", "unit": "", "required": "yes"}
    for product in plan["products"]:
        product["events"] += [
            {
                "code": code,
                "name": name,
                "expected_within_hours": 96,
                "details": [{"name": "brine", "label": "Brine", **asked}],
            }
            for code, name in (("into_brine", "Into the brine"), ("out_of_brine", "Out of the brine"))
        ]
    return plan


@pytest.fixture
def brining(cast: Cast) -> Cast:
    """Open the dairy with a brine of the day before."""
    with at(cast.dairy, T0.replace(day=13)):
        plan_in_force(cast, with_brine())
        make_thing(
            establishment=cast.dairy,
            by=cast.maker,
            birth=Birth(kind="brine", code="B-1", name="Brine", begun_at=T0.replace(day=13)),
        )
    return cast


def salted(cast: Cast) -> tuple[Lot, LotEvent]:
    """Put a lot into the brine at two hours."""
    with at(cast.dairy, hours(2)):
        lot = a_lot(cast, started=hours(1.9))
        return lot, an_event(cast, lot, "into_brine", hours(2), brine="b-1")


def times(cast: Cast, lot: Lot) -> list[tuple[datetime, datetime | None]]:
    """Give from when until when the lot was in the brine, by the uses that stand."""
    return [(use.from_at, use.until_at) for use in uses(cast.dairy).filter(lot=lot)]


def test_a_lot_goes_into_the_brine_and_comes_out_with_its_events(brining: Cast) -> None:
    lot, event = salted(brining)
    assert times(brining, lot) == [(hours(2), None)]
    assert uses(brining.dairy).get(lot=lot).event == event

    with at(brining.dairy, hours(6)):
        an_event(brining, lot, "out_of_brine", hours(6), brine="B-1")

    assert times(brining, lot) == [(hours(2), hours(6))]


def test_a_brine_that_is_not_known_is_refused_at_its_field_and_nothing_is_kept(brining: Cast) -> None:
    with at(brining.dairy, hours(2)):
        lot = a_lot(brining, started=hours(1.9))
        with pytest.raises(BadInput, match="B-7 is not known") as refused:
            an_event(brining, lot, "into_brine", hours(2), brine="B-7")

    assert refused.value.part == "brine"
    assert not LotEvent.objects.of(brining.dairy).exists()
    assert Thing.objects.of(brining.dairy).count() == 1


def test_a_corrected_time_moves_the_use_with_it(brining: Cast) -> None:
    lot, event = salted(brining)
    with at(brining.dairy, hours(6)):
        out = an_event(brining, lot, "out_of_brine", hours(6), brine="B-1")
        for original, moment in ((event, hours(2.5)), (out, hours(5.5))):
            content = EventContent(
                event=original.event,
                observed_at=moment,
                details=({"name": "brine", "raw": "B-1", "unit": "", "confirmed": False},),
                late_reason="Read from the wrong line",
                reason="Read from the wrong line",
            )
            correct_event(establishment=brining.dairy, by=brining.maker, original=original, content=content)

    assert times(brining, lot) == [(hours(2.5), hours(5.5))]


def test_a_void_event_takes_its_use_with_it(brining: Cast) -> None:
    lot, event = salted(brining)
    with at(brining.dairy, hours(2.1)):
        void_event(establishment=brining.dairy, by=brining.maker, original=event, why="The other lot")

    assert times(brining, lot) == []


def test_a_lot_whose_coming_out_is_void_is_in_the_brine_still(brining: Cast) -> None:
    lot, _event = salted(brining)
    with at(brining.dairy, hours(6)):
        out = an_event(brining, lot, "out_of_brine", hours(6), brine="B-1")
        void_event(establishment=brining.dairy, by=brining.maker, original=out, why="The other lot")

    assert times(brining, lot) == [(hours(2), None)]
