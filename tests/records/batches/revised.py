"""A lot open across a revision of the plan: the acid limit a tenth lower in the second version."""

from typing import Any

from records.batches.models import Lot
from records.checks.due import SlotState, lot_states
from records.deviations.models import Deviation
from records.deviations.queries import deviations
from records.signoff.applying import Applied, apply_plan
from safetyplan.establishments.models import Person
from safetyplan.plans.models import PlanApproved
from tests.builders import a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import Cast
from tests.records.rules.limits import approve, document

SOUR = "4.55"  # at most 4.60 by the first version, above the 4.50 of the second


def tightened() -> dict[str, Any]:
    """Give the demonstration's plan with the acid limit a tenth lower."""
    plan = document()
    acid = next(control for control in plan["controls"] if control["code"] == "CCP2")
    acid["limit"]["points"][0] |= {"limit": "4.50", "target": "4.40"}
    return plan


def a_souring_lot(cast: Cast, code: str = "TF-0514") -> Lot:
    """Start a lot, treat it, add the starter, and read its acid when it is due."""
    with at(cast.dairy, hours(2)):
        lot = a_lot(cast, code, started=hours(2))
        an_event(cast, lot, "starter_added", hours(2))
    with at(cast.dairy, hours(25)):
        a_reading(cast, lot_slot(lot, "CCP2"), hours(25), ph=SOUR)
    return lot


def revise(cast: Cast, plan: dict[str, Any] | None = None, hour: float = 26.5) -> PlanApproved:
    """Approve the second version."""
    return approve(cast, plan or tightened(), hours(hour))


def apply_to(
    cast: Cast, *lots: Lot, version: PlanApproved, hour: float = 27, who: Person | None = None, why: str = ""
) -> Applied:
    """Sign the act."""
    with at(cast.dairy, hours(hour)):
        return apply_plan(
            establishment=cast.dairy,
            proof=cast.proof(who or cast.owner),
            lots=lots,
            version=version,
            why=why or "The old acid limit proved too high",
        )


def check_of(cast: Cast, lot: Lot, code: str = "CCP2") -> SlotState:
    """Give where a check of a lot stands."""
    states = lot_states(cast.dairy, [lot], hours(27))[lot.pk]
    return next(state for state in states if state.slot.control.code == code)


def acid_deviations(cast: Cast) -> list[Deviation]:
    """Give the deviations of the acid check."""
    return list(deviations(cast.dairy).filter(control="CCP2"))
