"""A lot keeps the plan version it began with until a signature applies the one in force.

That an old limit must not survive a revision, and that both judgements stay, are rules of our own design.
"""

from typing import Any

import pytest

from records.batches.models import Lot, LotEvent, PlanApplied
from records.batches.queries import version_of
from records.batches.services import EventContent, record_event
from records.checks.due import Status, lot_states
from records.checks.history import history_of
from records.checks.models import Reading, RejudgedByPlan
from records.checks.services import ReadingContent, correct_event, correct_reading
from records.deviations.queries import open_deviations
from records.signoff.release import hindrances
from safetyplan.integrity import canonical
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.verification import verify
from tests.builders import a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import Cast
from tests.records.batches.revised import (
    SOUR,
    a_souring_lot,
    acid_deviations,
    apply_to,
    check_of,
    revise,
    tightened,
)
from tests.records.rules.limits import approve, document

pytestmark = pytest.mark.django_db


def test_a_lot_open_across_the_approval_is_judged_by_its_own_version(working: Cast) -> None:
    lot = a_souring_lot(working)
    revise(working)

    with at(working.dairy, hours(26.6)):
        extra = a_reading(working, lot_slot(lot, "CCP2", "extra"), hours(26.6), ph=SOUR)

    assert check_of(working, lot).result == "outside_target"
    assert extra.reading.plan_version.number == 1
    assert extra.reading.state != "outside_limit"
    assert acid_deviations(working) == []


def test_a_lot_begun_after_the_approval_is_judged_by_the_new_version(working: Cast) -> None:
    version = approve(working, tightened(), hours(1))
    lot = a_souring_lot(working)

    assert version_of(working.dairy, lot) == version
    assert check_of(working, lot).result == "outside_limit"


def test_applied_the_new_version_judges_what_is_read_from_then_on(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        lot = a_lot(working, started=hours(2))
        an_event(working, lot, "starter_added", hours(2))
    version = revise(working, hour=3)
    apply_to(working, lot, version=version, hour=4)

    with at(working.dairy, hours(25)):
        read = a_reading(working, lot_slot(lot, "CCP2"), hours(25), ph=SOUR)

    assert (read.reading.plan_version.number, read.reading.state) == (2, "outside_limit")
    assert "4.50" in read.reading.limit_words
    assert read.deviation is not None
    assert read.deviation.hold_required


def test_applied_the_new_version_judges_again_what_was_read_and_a_new_miss_opens_a_deviation(
    working: Cast,
) -> None:
    lot = a_souring_lot(working)
    done = apply_to(working, lot, version=revise(working))

    again = RejudgedByPlan.objects.of(working.dairy).get(reading__control="CCP2")
    assert (again.state_before, again.state) == ("outside_target", "outside_limit")
    assert "4.50" in again.limit_words
    assert check_of(working, lot).result == "outside_limit"
    (deviation,) = acid_deviations(working)
    assert deviation in done.deviations
    assert deviation.hold_required
    assert "4.50" in deviation.limit_words
    assert deviation.description.startswith("Judged again by plan version 2, applied to the lot:")


def test_the_reading_keeps_its_copy_and_its_page_shows_both_judgements(working: Cast) -> None:
    lot = a_souring_lot(working)
    apply_to(working, lot, version=revise(working))

    reading = Reading.objects.of(working.dairy).get(control="CCP2")
    newest = history_of(working.dairy, reading).newest
    assert (reading.state, reading.plan_version.number) == ("outside_target", 1)
    assert "4.60" in reading.limit_words
    assert (newest.state, len(newest.judged_again)) == ("outside_limit", 1)
    assert newest.by_plan is not None
    assert newest.by_plan.applied.plan_version.number == 2


def test_a_reading_that_meets_the_new_limit_too_is_judged_again_and_opens_nothing(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        lot = a_lot(working, started=hours(2))
        an_event(working, lot, "starter_added", hours(2))
    with at(working.dairy, hours(25)):
        a_reading(working, lot_slot(lot, "CCP2"), hours(25), ph="4.35")
    apply_to(working, lot, version=revise(working))

    again = RejudgedByPlan.objects.of(working.dairy).get(reading__control="CCP2")
    assert (again.state_before, again.state) == ("within", "within")
    assert acid_deviations(working) == []


def test_a_looser_version_closes_no_deviation_and_heals_no_miss_of_before(working: Cast) -> None:
    approve(working, tightened(), hours(1))
    lot = a_souring_lot(working)
    loose = approve(working, document(), hours(26.5))

    apply_to(working, lot, version=loose)

    assert check_of(working, lot).result == "outside_target"
    assert [d.control for d in open_deviations(working.dairy).filter(control="CCP2")] == ["CCP2"]
    assert any("deviation" in said for said in hindrances(working.dairy, lot, hours(27)))


def test_a_check_missed_by_the_old_version_stays_missed(working: Cast) -> None:
    """The new version gives the check more time: what had passed by the old one is opened first."""
    with at(working.dairy, hours(2)):
        lot = a_lot(working, started=hours(2))
        an_event(working, lot, "starter_added", hours(2))
    plan = document()
    acid = next(control for control in plan["controls"] if control["code"] == "CCP2")
    acid["limit"]["points"][0]["hours"] = "30"
    version = revise(working, plan, hour=27)

    apply_to(working, lot, version=version, hour=27.5)

    assert [d.cause for d in acid_deviations(working)] == ["not_made"]


def test_a_critical_check_that_only_the_new_version_asks_for_and_is_past_its_time_opens_a_deviation(
    working: Cast,
) -> None:
    lot = a_souring_lot(working)
    plan = document()
    milk = next(control for control in plan["controls"] if control["code"] == "OPRP3")
    plan["controls"].append({**milk, "code": "CCP3", "class": "ccp", "name": "Milk again"})
    plan["hazards"].append({**plan["hazards"][0], "code": "H90", "controlled_by": "CCP3"})
    plan["validations"][0]["controls"].append("CCP3")
    version = revise(working, plan)

    done = apply_to(working, lot, version=version)

    assert [d.cause for d in done.deviations if d.control == "CCP3"] == ["not_made"]
    assert check_of(working, lot, "CCP3").status == Status.MISSING


def test_a_control_the_new_version_drops_is_not_due_any_more_and_its_reading_stays(working: Cast) -> None:
    lot = a_souring_lot(working)
    with at(working.dairy, hours(25)):
        a_reading(working, lot_slot(lot, "OPRP1"), hours(18), late_reason="forgot", ph="5.2")
    plan = document()
    plan["controls"] = [control for control in plan["controls"] if control["code"] != "OPRP1"]
    plan["hazards"] = [hazard for hazard in plan["hazards"] if hazard["controlled_by"] != "OPRP1"]
    for part in ("verifications", "validations"):
        for item in plan[part]:
            item["controls"] = [code for code in item["controls"] if code != "OPRP1"]

    apply_to(working, lot, version=revise(working, plan))

    codes = {state.slot.control.code for state in lot_states(working.dairy, [lot], hours(27))[lot.pk]}
    assert "OPRP1" not in codes
    assert not RejudgedByPlan.objects.of(working.dairy).exists()
    with at(working.dairy, hours(28)):
        original = Reading.objects.of(working.dairy).get(control="OPRP1")
        corrected = correct_reading(
            establishment=working.dairy,
            by=working.maker,
            original=original,
            content=ReadingContent(original.slot, original.observed_at, [{"name": "ph", "raw": "5.1"}]),
            why="Misread",
        )
    assert corrected.reading.plan_version.number == 1


def test_a_correction_after_the_act_is_judged_by_the_new_version(working: Cast) -> None:
    lot = a_souring_lot(working)
    apply_to(working, lot, version=revise(working))
    original = Reading.objects.of(working.dairy).get(control="CCP2")

    with at(working.dairy, hours(28)):
        corrected = correct_reading(
            establishment=working.dairy,
            by=working.maker,
            original=original,
            content=ReadingContent(original.slot, original.observed_at, [{"name": "ph", "raw": "4.54"}]),
            why="Misread",
        )

    assert (corrected.reading.plan_version.number, corrected.reading.state) == (2, "outside_limit")
    assert check_of(working, lot).result == "outside_limit"


def test_a_corrected_event_after_the_act_judges_by_the_new_version_and_the_newest_result_holds(
    working: Cast,
) -> None:
    lot = a_souring_lot(working)
    apply_to(working, lot, version=revise(working))
    with at(working.dairy, hours(28)):
        original = an_event_of(working, lot)
        content = EventContent(
            event="starter_added",
            observed_at=hours(2.1),
            details=({"name": "culture", "raw": "MA K81", "unit": ""},),
            late_reason="Wrong line",
            reason="Read from the wrong line",
        )
        correct_event(establishment=working.dairy, by=working.maker, original=original, content=content)

    reading = Reading.objects.of(working.dairy).get(control="CCP2")
    judged = history_of(working.dairy, reading).newest.judged_again
    assert [type(again).__name__ for again in judged] == ["RejudgedByPlan", "Rejudged"]
    assert [again.state for again in judged] == ["outside_limit", "outside_limit"]


def an_event_of(cast: Cast, lot: Lot) -> Any:
    """Give the starter of a lot as it was recorded."""
    return LotEvent.objects.of(cast.dairy).select_related("lot__plan_version").get(lot=lot)


def test_an_event_that_only_the_new_version_knows_can_be_recorded_once_it_is_applied(working: Cast) -> None:
    lot = a_souring_lot(working)
    plan = tightened()
    for product in plan["products"]:
        product["events"].append(
            {"code": "pressed", "name": "Pressed", "expected_within_hours": 48, "details": []}
        )
    version = revise(working, plan)
    content = EventContent(event="pressed", observed_at=hours(27))
    told = {"establishment": working.dairy, "by": working.maker, "lot": lot, "content": content}

    with at(working.dairy, hours(27)), pytest.raises(BadInput, match="does not know this event"):
        record_event(**told)
    apply_to(working, lot, version=version)
    with at(working.dairy, hours(27.1)):
        assert record_event(**told).event_name == "Pressed"


def test_one_signature_holds_for_every_lot_chosen_each_with_its_own_record(working: Cast) -> None:
    lots = [a_souring_lot(working, f"TF-{n}") for n in (1, 2, 3)]
    version = revise(working)

    apply_to(working, *lots, version=version)

    rows = PlanApplied.objects.of(working.dairy)
    assert {row.lot.code for row in rows} == {lot.code for lot in lots}
    assert {row.author_id for row in rows} == {working.owner.pk}
    assert len({row.signed_proof for row in rows}) == 3
    (told,) = canonical.loads(rows[0].changes.encode())
    assert told.startswith("Control CCP2 (Acid at 24 hours): the critical limit was “pH at most 4.60")


def test_the_records_verify_after_the_act(working: Cast) -> None:
    lot = a_souring_lot(working)
    apply_to(working, lot, version=revise(working))

    assert verify(working.dairy) == []


def test_the_limit_a_lot_had_before_the_act_is_still_seen_as_of_then(working: Cast) -> None:
    lot = a_souring_lot(working)
    version = revise(working)
    done = apply_to(working, lot, version=version)
    before = done.rows[0].entry.sequence - 1

    assert version_of(working.dairy, lot, before).number == 1
    assert version_of(working.dairy, lot).number == 2
    states = lot_states(working.dairy, [lot], hours(27), before)[lot.pk]
    assert {state.plan_version.number for state in states} == {1}
