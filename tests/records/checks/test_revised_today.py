"""A daily check asked differently from the middle of a day on: what was read before answers nothing new."""

from datetime import datetime
from typing import Any
from uuid import uuid4

import pytest

from records.checks.corrections import make_correction, open_readings
from records.checks.due import SlotState, Status, day_states
from records.checks.places import points_of
from records.checks.services import ReadingContent, record_reading
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity.refusals import BadInput
from tests.builders import T0, a_reading, at, day_slot, hours
from tests.cast import Cast
from tests.records.rules.limits import approve, document
from tests.web import signed_in, text_of

DUE, RECORDED = Status.DUE, Status.RECORDED


def stores(times: list[str], *points: str) -> dict[str, Any]:
    """Write the demonstration's plan with the cold store read at some times and points."""
    plan = document()
    store = next(control for control in plan["controls"] if control["code"] == "PRP1")
    store["monitoring"]["when"]["times"] = times
    if points:
        store["points"] = list(points)
    return plan


def found(cast: Cast, hour: float) -> list[SlotState]:
    """Give how the checks of the cold store stand on the day."""
    local = ZoneTime(zone_of(cast.dairy))
    states = day_states(cast.dairy, T0.date(), local, hours(hour))
    chosen = [state for state in states if state.slot.control.code == "PRP1"]
    return sorted(chosen, key=lambda state: (state.slot.due_at or T0, state.slot.ordinal))


@pytest.fixture
def morning(cast: Cast) -> Cast:
    """Read the cold store in the morning, under a plan that asks for it at 07:00 and 17:00 in Dublin."""
    approve(cast, stores(["07:00", "17:00"]), hours(-24))
    with at(cast.dairy, hours(0)):
        a_reading(cast, day_slot(T0, "PRP1"), hours(0), temperature="3.6")
    return cast


def test_what_was_read_before_the_change_answers_none_of_the_new_points(morning: Cast) -> None:
    approve(morning, stores(["12:00"], "Left", "Right"), hours(2))

    states = found(morning, 3)
    assert [(s.slot.point, s.status) for s in states] == [("", RECORDED), ("Left", DUE), ("Right", DUE)]
    assert len({state.slot.id for state in states}) == 3

    with at(morning.dairy, hours(3)):
        record = a_reading(morning, states[1].slot.id, hours(3), temperature="3.7").reading
    assert record.plan_version.number == 2
    assert [s.status for s in found(morning, 3)] == [RECORDED, RECORDED, DUE]


def test_a_change_of_something_else_leaves_the_check_what_it_was(morning: Cast) -> None:
    with at(morning.dairy, hours(8)):
        before = found(morning, 8)
        a_reading(morning, before[1].slot.id, hours(8), temperature="3.7")
    plan = stores(["07:00", "17:00"])
    plan["title"] = "The plan, printed anew"
    approve(morning, plan, hours(8.5))

    after = found(morning, 9)

    assert [(s.slot.id, s.status) for s in after] == [(s.slot.id, RECORDED) for s in before]


def test_a_third_plan_of_the_day_counts_on_from_the_second(morning: Cast) -> None:
    approve(morning, stores(["12:00"], "Left", "Right"), hours(2))
    approve(morning, stores(["12:30"], "Left", "Right", "Back"), hours(2.5))

    ordinals = [state.slot.ordinal for state in found(morning, 3)]

    assert ordinals == [0, 6, 7, 8]


@pytest.mark.parametrize(("point", "right"), [("extra-0", True), ("extra-1", False)])
def test_a_point_is_put_right_by_its_name_where_the_plan_names_the_points_in_another_order(
    cast: Cast, point: str, right: bool
) -> None:
    approve(cast, stores(["07:00"], "Left", "Right"), hours(-24))
    with at(cast.dairy, hours(0)):
        bad = a_reading(cast, day_slot(T0, "PRP1", 1), hours(0), temperature="9.5").reading
        make_correction(
            establishment=cast.dairy, by=cast.maker, reading=bad, text="Door closed", done_at=hours(0)
        )
    approve(cast, stores(["07:00"], "Right", "Left"), hours(1))

    with at(cast.dairy, hours(2)):
        page = signed_in(cast.maker).get(f"/near/readings/{bad.pk}/correction/")
        a_reading(cast, day_slot(T0, "PRP1", point), hours(2), temperature="3.5")

    assert page.context["again"] == day_slot(T0, "PRP1", "extra-0")
    assert (open_readings(cast.dairy) == []) is right


@pytest.mark.parametrize(("observed", "slot"), [(0.5, "extra-1"), (1.9, "extra-0")])
@pytest.mark.parametrize("named", ["by the old page", "by the new page"])
def test_a_further_reading_is_stored_at_the_point_that_its_page_named_as_the_plan_of_its_time_counts_it(
    cast: Cast, named: str, observed: float, slot: str
) -> None:
    old = approve(cast, stores(["07:00"], "Left", "Right"), hours(-24))
    new = approve(cast, stores(["07:00"], "Right", "Left"), hours(1))
    point, version = ("extra-1", old) if named == "by the old page" else ("extra-0", new)  # Right

    with at(cast.dairy, hours(2)):
        content = further(point, hours(observed), plan_version=version.pk)
        found = record_reading(establishment=cast.dairy, by=cast.maker, content=content).reading

    assert found.slot == day_slot(T0, "PRP1", slot)
    assert points_of(cast.dairy, [found]) == {found.pk: "Right"}


def test_a_point_that_the_plan_of_the_time_did_not_have_is_refused_and_one_it_had_is_not(cast: Cast) -> None:
    approve(cast, stores(["07:00"], "Left", "Right"), hours(-24))
    approve(cast, stores(["07:00"], "Left", "Middle"), hours(1))

    with at(cast.dairy, hours(2)):
        with pytest.raises(BadInput, match="did not have this point"):
            record_reading(establishment=cast.dairy, by=cast.maker, content=further("extra-1", hours(0.5)))
        record_reading(establishment=cast.dairy, by=cast.maker, content=further("extra-0", hours(0.5)))


def further(point: str, observed: datetime, **more: Any) -> ReadingContent:
    """Say what a further reading of the cold store was."""
    part = {"name": "temperature", "raw": "3.5", "unit": "", "confirmed": False}
    slot = day_slot(T0, "PRP1", point)
    return ReadingContent(slot, observed, [part], late_reason="Entered after the round", **more)


def test_another_reading_of_a_point_leads_to_the_same_point_under_the_plan_of_now(cast: Cast) -> None:
    approve(cast, stores(["07:00"], "Left", "Right"), hours(-24))
    with at(cast.dairy, hours(0)):
        a_reading(cast, day_slot(T0, "PRP1", 1), hours(0), temperature="3.5")
    approve(cast, stores(["07:00"], "Right", "Left"), hours(1))

    with at(cast.dairy, hours(2)):
        page = signed_in(cast.maker).get(f"/near/checks/{day_slot(T0, 'PRP1', 1)}/")

    assert "PRP1 Cold store: Right" in text_of(page)
    assert page.context["extra"] == day_slot(T0, "PRP1", "extra-0")


def test_what_was_too_warm_yesterday_is_measured_again_today(cast: Cast) -> None:
    approve(cast, stores(["07:00"], "Left", "Right"), hours(-24))
    with at(cast.dairy, hours(0)):
        bad = a_reading(cast, day_slot(T0, "PRP1", 1), hours(0), temperature="9.5").reading
        make_correction(
            establishment=cast.dairy, by=cast.maker, reading=bad, text="Door closed", done_at=hours(0)
        )
    with at(cast.dairy, hours(24)):
        again = signed_in(cast.maker).get(f"/near/readings/{bad.pk}/correction/").context["again"]
        a_reading(cast, again, hours(24), temperature="3.5")

    assert again == day_slot(hours(24), "PRP1", "extra-1")
    assert open_readings(cast.dairy) == []


def test_one_reason_for_all_points_stands_for_those_of_one_time(cast: Cast) -> None:
    approve(cast, stores(["05:00", "07:30"], "A", "B", "C"), hours(-24))
    approve(cast, stores(["10:00"], "A", "B", "C", "D", "E", "F"), hours(1))
    first = found(cast, 2)[3].slot.id

    with at(cast.dairy, hours(2)):
        typed = {"reason": "Nobody was there", "uuid": str(uuid4()), "every": "on"}
        signed_in(cast.maker).post(f"/near/checks/{first}/explain/", typed)

    stands = [state.status for state in found(cast, 2)]
    assert stands.count(Status.EXPLAINED) == 3


def test_a_point_that_the_plan_has_no_more_cannot_be_measured_again(cast: Cast) -> None:
    approve(cast, stores(["07:00"], "Left", "Right"), hours(-24))
    with at(cast.dairy, hours(0)):
        bad = a_reading(cast, day_slot(T0, "PRP1", 1), hours(0), temperature="9.5").reading
        before = signed_in(cast.maker).get(f"/near/readings/{bad.pk}/correction/")
    approve(cast, stores(["07:00"], "Left", "Middle"), hours(1))

    with at(cast.dairy, hours(2)):
        after = signed_in(cast.maker).get(f"/near/readings/{bad.pk}/correction/")

    assert [">Measure again</a>" in text_of(page) for page in (before, after)] == [True, False]
