"""What keeps a plan version from being applied to a lot; each refusal has its allowed twin.

The rules are of our own design.
"""

from typing import Any

import pytest

from records.batches.models import Lot, PlanApplied
from records.batches.queries import version_of
from records.deviations.disposing import Line, dispose
from records.deviations.queries import deviations
from records.deviations.services import confirm_hold, evaluate, take_action
from records.signoff.release import dispatch_lot, release_lot
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from safetyplan.plans.models import PlanApproved
from tests.builders import HOLD_PARTS, a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import Cast
from tests.records.batches.revised import a_souring_lot, apply_to, revise
from tests.records.rules.limits import document

pytestmark = pytest.mark.django_db


def refused(cast: Cast, lot: Lot, version: PlanApproved, **more: Any) -> str:
    """Try to apply; give why it was refused, and see that nothing was recorded."""
    with pytest.raises(Refused) as caught:
        apply_to(cast, lot, version=version, **more)
    assert not PlanApplied.objects.of(cast.dairy).exists()
    return str(caught.value.message)


def test_without_a_lot_or_a_reason_nothing_is_signed(working: Cast) -> None:
    lot = a_souring_lot(working)
    version = revise(working)

    assert "reason" in refused(working, lot, version, why=" ")
    with pytest.raises(BadInput, match="at least one lot"):
        apply_to(working, version=version)


@pytest.mark.parametrize("who", ["maker", "reviewer", "inspector"])
def test_only_the_responsible_person_applies_a_version(working: Cast, who: str) -> None:
    lot = a_souring_lot(working)
    version = revise(working)

    with pytest.raises(NotAllowed):
        apply_to(working, lot, version=version, who=getattr(working, who))
    assert apply_to(working, lot, version=version).rows


def test_a_version_not_in_force_is_refused(working: Cast) -> None:
    lot = a_souring_lot(working)
    first = version_of(working.dairy, lot)
    revise(working)

    assert "Only the plan version in force" in refused(working, lot, first)


def test_the_version_a_lot_follows_already_is_refused(working: Cast) -> None:
    lot = a_souring_lot(working)

    said = refused(working, lot, version_of(working.dairy, lot))

    assert "TF-0514: it follows version 1 already" in said


def test_a_version_without_the_lots_product_is_refused(working: Cast) -> None:
    lot = a_souring_lot(working)
    plan = document()
    plan["products"] = [product for product in plan["products"] if product["code"] != "TF"]
    for part in ("hazards", "controls"):
        for item in plan[part]:
            item["products"] = [code for code in item["products"] if code != "TF"]

    assert "does not have its product TF" in refused(working, lot, revise(working, plan))


def a_whole_lot(cast: Cast, milk: str = "3.8") -> Lot:
    """Tell a lot from its milk to its packing."""
    with at(cast.dairy, hours(0.5)):
        lot = a_lot(cast)
        a_reading(cast, lot_slot(lot, "OPRP3"), hours(0.4), temperature=milk)
    with at(cast.dairy, hours(2)):
        a_reading(cast, lot_slot(lot, "CCP1"), hours(1.6), **HOLD_PARTS)
        an_event(cast, lot, "starter_added", hours(2))
    with at(cast.dairy, hours(25.5)):
        a_reading(cast, lot_slot(lot, "CCP2"), hours(25.5), ph="4.35")
    with at(cast.dairy, hours(80)):
        an_event(cast, lot, "packed", hours(80))
    return lot


def release(cast: Cast, lot: Lot, pieces: str, mass: str) -> None:
    """Release some of a lot."""
    with at(cast.dairy, hours(81)):
        release_lot(
            establishment=cast.dairy, proof=cast.proof(cast.owner), lot=lot, pieces=pieces, mass_typed=mass
        )


def test_a_released_lot_is_refused(working: Cast) -> None:
    lot = a_whole_lot(working)
    version = revise(working, hour=80.5)
    release(working, lot, "280", "33.6")

    assert "TF-0514: it is released" in refused(working, lot, version, hour=82)


def test_of_a_lot_released_in_part_the_rest_is_still_open(working: Cast) -> None:
    lot = a_whole_lot(working)
    version = revise(working, hour=80.5)
    release(working, lot, "100", "12")

    assert apply_to(working, lot, version=version, hour=82).rows


def test_a_lot_that_has_left_is_refused(working: Cast) -> None:
    lot = a_whole_lot(working)
    version = revise(working, hour=80.5)
    release(working, lot, "280", "33.6")
    with at(working.dairy, hours(82)):
        dispatch_lot(
            establishment=working.dairy,
            by=working.maker,
            lot=lot,
            customer="Corner shop",
            pieces="280",
            mass_typed="33.6",
        )

    assert "TF-0514: it has left" in refused(working, lot, version, hour=83)


def test_a_lot_that_was_destroyed_is_refused(working: Cast) -> None:
    lot = a_whole_lot(working, milk="9.5")
    version = revise(working, hour=80.5)
    about = {"establishment": working.dairy, "deviation": deviations(working.dairy)[0]}
    with at(working.dairy, hours(81)):
        confirm_hold(by=working.maker, place="Store", tag="H-1", pieces="280", mass_typed="33.6", **about)
        take_action(by=working.maker, text="Set apart", **about)
        evaluate(by=working.owner, text="Warm for too long", evidence="The recorder", **about)
        dispose(proof=working.proof(working.owner), lines=[Line("destroy", "280", "33.6")], **about)

    assert "nothing is left" in refused(working, lot, version, hour=82)


def test_one_lot_that_cannot_follow_keeps_the_act_from_all(working: Cast) -> None:
    done, other = a_whole_lot(working), a_souring_lot(working, "TF-2")
    version = revise(working, hour=80.5)
    release(working, done, "280", "33.6")

    with pytest.raises(BadInput, match="TF-0514: it is released"):
        apply_to(working, other, done, version=version, hour=82)
    assert not PlanApplied.objects.of(working.dairy).exists()
