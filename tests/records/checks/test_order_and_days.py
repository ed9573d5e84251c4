"""Young lots before old ones, and days of ageing counted by a person: from what was typed to the result."""

from typing import Any

import pytest

from records.checks.models import Reading
from safetyplan.integrity.refusals import BadInput
from tests.builders import a_lot, a_reading, an_event, at, day_slot, hours, lot_slot
from tests.cast import Cast
from tests.records.rules.limits import approve, document, prerequisite

pytestmark = pytest.mark.django_db
ORDER = {"kind": "in_order", "part": "lots_washed", "first": "youngest"}
DAYS = {
    "kind": "not_before",
    "part": "days_at_temperature",
    "event": "starter_added",
    "days": "60",
    "unit": "degC",
    "at_least": "4",
    "counted": True,
}


@pytest.fixture
def washing(cast: Cast) -> Cast:
    """Put a plan in force that asks for both, with an old and a young lot."""
    plan = document()
    when = {"kind": "after_event", "event": "starter_added", "after_minutes": 86400}
    ageing = prerequisite("AGED", DAYS)
    ageing |= {"class": "oprp", "products": ["TF"], "monitoring": {**ageing["monitoring"], "when": when}}
    plan["controls"] += [prerequisite("ORDER", ORDER), ageing]
    approve(cast, plan, hours(-1))
    with at(cast.dairy, hours(0)):
        a_lot(cast, "TF-OLD")
    with at(cast.dairy, hours(2)):
        a_lot(cast, "TF-YOUNG", started=hours(2))
    return cast


def washed(cast: Cast, codes: str) -> Reading:
    """Write down the lots in the order in which they were washed."""
    with at(cast.dairy, hours(4)):
        return a_reading(cast, day_slot(hours(4), "ORDER"), hours(4), lots_washed=codes).reading


@pytest.mark.parametrize(
    ("codes", "state"),
    [
        ("TF-YOUNG, TF-OLD", "within"),
        ("TF-OLD, TF-YOUNG", "outside_limit"),
        ("TF-YOUNG, TF-NOBODY", "not_shown"),
    ],
)
def test_young_lots_are_washed_before_old_ones(washing: Cast, codes: str, state: str) -> None:
    assert washed(washing, codes).state == state


def test_the_order_is_judged_by_the_lots_of_the_own_dairy(washing: Cast) -> None:
    said = washed(washing, "TF-OLD, TF-YOUNG")

    assert "TF-OLD" in said.sentence_text
    assert "TF-YOUNG" in said.sentence_text


def test_all_lots_of_a_day_fit_into_one_check(washing: Cast) -> None:
    codes = ", ".join(["TF-YOUNG"] * 40 + ["TF-OLD"])

    assert washed(washing, codes).state == "within"


def aged(cast: Cast, days: str, after: float) -> Reading:
    """Enter the days counted for a lot so many days after its starter."""
    with at(cast.dairy, hours(5)):
        lot = a_lot(cast, "TF-AGED", started=hours(5))
        an_event(cast, lot, "starter_added", hours(5))
    moment = hours(5 + 24 * after)
    with at(cast.dairy, moment):
        parts: dict[str, Any] = {"days_at_temperature": days}
        return a_reading(cast, lot_slot(lot, "AGED"), moment, **parts).reading


@pytest.mark.parametrize(
    ("days", "after", "state"), [("60", 60, "within"), ("59", 60, "not_shown"), ("59", 59, "not_yet_due")]
)
def test_days_of_ageing_that_were_counted_are_judged(
    washing: Cast, days: str, after: float, state: str
) -> None:
    assert aged(washing, days, after).state == state


def test_more_days_than_have_passed_are_refused(washing: Cast) -> None:
    with pytest.raises(BadInput, match="more days than have passed"):
        aged(washing, "61", 60)
