"""Rounds: prerequisites seen and in order confirmed at once; never a critical control point."""

from typing import Any
from uuid import UUID

import pytest

from records.checks.due import Status
from records.checks.rounds import RoundContent, confirm_round, states_of_day, void_round, waiting
from records.checks.services import explain_check
from records.checks.slots import thing_slot_id
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from safetyplan.plans.parts import Control
from tests.builders import T0, Device, a_device, a_lot, a_reading, at, day_slot, hours, lot_slot
from tests.cast import Cast
from tests.records.things.stage import a_thing, cast

__all__ = ["cast"]  # the fixture


def confirm(cast: Cast, *slots: str, moment=None, late_reason: str = "", by=None):
    content = RoundContent(slots, moment or hours(0), late_reason)
    return confirm_round(establishment=cast.dairy, by=by or cast.maker, content=content)


def status(cast: Cast, slot: str) -> Status:
    local = ZoneTime(zone_of(cast.dairy))
    with at(cast.dairy, hours(1)):
        found = states_of_day(cast.dairy, T0.date(), local, hours(1))
    return next(state.status for state in found if state.slot.id == slot)


def test_a_round_answers_the_checks_it_names_and_no_other(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        confirm(cast, day_slot(T0, "OP1", 0), day_slot(T0, "OP2", 1))
    assert status(cast, day_slot(T0, "OP1", 0)) == Status.BY_EXCEPTION
    assert status(cast, day_slot(T0, "OP2", 1)) == Status.BY_EXCEPTION
    assert status(cast, day_slot(T0, "OP1", 1)) == Status.OVERDUE


def test_the_room_of_the_plan_is_part_of_a_round_too(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        room = a_thing(cast, "room", "C2", hours(-1), late_reason="Entered today")
        slot = thing_slot_id(room.id, "CV1", T0.date(), 0)
        local = ZoneTime(zone_of(cast.dairy))
        offered = [state.slot.id for state in waiting(cast.dairy, T0.date(), local, hours(0))]
        confirm(cast, slot)
    assert slot in offered
    assert len(offered) == 5
    assert status(cast, slot) == Status.BY_EXCEPTION


def test_what_is_not_in_order_is_a_value_of_its_own_check(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        found = a_reading(cast, day_slot(T0, "OP1", 1), hours(0), state="dirty")
        with pytest.raises(Refused, match="answered already"):
            confirm(cast, day_slot(T0, "OP1", 0), day_slot(T0, "OP1", 1))
        confirm(cast, day_slot(T0, "OP1", 0))
    assert found.reading.state == "outside_limit"
    assert status(cast, day_slot(T0, "OP1", 1)) == Status.RECORDED


def test_a_check_that_the_plan_asks_a_value_of_is_not_confirmed(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        with pytest.raises(Refused, match="each value of OP3"):
            confirm(cast, day_slot(T0, "OP3", 0))
        a_reading(cast, day_slot(T0, "OP3", 0), hours(0), strength="150")
    assert status(cast, day_slot(T0, "OP3", 0)) == Status.RECORDED


def test_a_critical_control_point_is_never_confirmed_by_a_round(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        lot = a_lot(cast)
        for slots in ([lot_slot(lot, "CCP1")], [lot_slot(lot, "CCP2"), day_slot(T0, "OP1", 0)]):
            with pytest.raises(Refused):
                confirm(cast, *slots)
        confirm(cast, day_slot(T0, "OP1", 0))
    assert status(cast, day_slot(T0, "OP1", 0)) == Status.BY_EXCEPTION


def test_even_a_plan_that_says_so_does_not_let_a_critical_check_be_confirmed(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Control, "is_ccp", property(lambda self: self.code == "OP1"))
    with at(cast.dairy, hours(0)), pytest.raises(Refused, match="critical control point"):
        confirm(cast, day_slot(T0, "OP1", 0))


@pytest.mark.parametrize(
    ("slots", "when", "late", "words"),
    [
        ((), 0, "", "no check is open"),
        (("nonsense",), 0, "", "not known"),
        (("day:2026-05-14:OP9:0",), 0, "", "does not know"),
        (("day:2026-05-14:OP1:7",), 0, "", "does not know"),
        (("day:2026-05-14:OP1:0", "day:2026-05-15:OP1:0"), 0, "", "one day"),
        (("day:2026-05-14:OP1:0",), -1.5, "Forgotten", "not open at this time"),
        (("day:2026-05-14:OP1:0",), 0, "", "reason"),
        (("day:2026-05-14:OP1:0",), 9, "", "not open at this time"),
    ],
)
def test_a_round_that_cannot_be_is_refused(
    cast: Cast, slots: tuple[str, ...], when: float, late: str, words: str
) -> None:
    with at(cast.dairy, hours(3 if not late and words == "reason" else 1)):
        with pytest.raises(Refused, match=words):
            confirm(cast, *slots, moment=hours(when), late_reason=late)
        confirm(cast, day_slot(T0, "OP2", 0), moment=hours(0.9), late_reason="Hands were wet")


def test_only_makers_confirm_rounds(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        with pytest.raises(NotAllowed):
            confirm(cast, day_slot(T0, "OP1", 0), by=cast.reviewer)
        confirm(cast, day_slot(T0, "OP1", 0))


def test_a_voided_round_leaves_its_checks_to_be_made(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        row = confirm(cast, day_slot(T0, "OP1", 0))
        with pytest.raises(Refused, match="void the round"):
            explain_check(establishment=cast.dairy, by=cast.maker, slot=day_slot(T0, "OP1", 0), why="No time")
        about = {"establishment": cast.dairy, "by": cast.maker, "original": row}
        with pytest.raises(BadInput):
            void_round(why="", **about)
        void_round(why="Nobody went there", **about)
        with pytest.raises(Refused, match="voided already"):
            void_round(why="Nobody went there", **about)
    assert status(cast, day_slot(T0, "OP1", 0)) == Status.OVERDUE


def test_a_device_confirms_a_round_by_a_signed_claim_once(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        phone = a_device(cast.dairy, cast.maker)
        content = {
            "slots": [day_slot(T0, "OP1", 0)],
            "observed_at": "2026-05-14T07:00:00.000Z",
            "late_reason": "",
        }
        claim = phone.claim("round", content)
        first, again = phone.send(claim), phone.send(claim)
    assert (first.duplicate, again.duplicate) == (False, True)
    assert first.record.author_id == cast.maker.pk
    assert status(cast, day_slot(T0, "OP1", 0)) == Status.BY_EXCEPTION


def undo(phone: Device, named: object, why: object = "Undone on the device") -> dict[str, Any]:
    """Make the claim that takes a round back."""
    content = {"round": named, "reason": why, "observed_at": "2026-05-14T07:01:00.000Z"}
    return phone.claim("round_void", content)


def test_a_device_takes_a_round_back_by_a_signed_claim_once(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        phone, row = a_device(cast.dairy, cast.maker), confirm(cast, day_slot(T0, "OP1", 0))
        claim = undo(phone, str(row.pk))
        first, again = phone.send(claim), phone.send(claim)
    assert (first.duplicate, again.duplicate) == (False, True)
    assert (first.record.supersedes_id, first.record.reason) == (row.pk, "Undone on the device")
    assert status(cast, day_slot(T0, "OP1", 0)) == Status.OVERDUE


@pytest.mark.parametrize(
    ("named", "why", "part"), [(str(UUID(int=7)), "Undone", "round"), (None, "Undone", ""), ("", 7, "reason")]
)
def test_a_round_that_is_not_known_or_is_taken_back_without_a_reason_stays(
    cast: Cast, named: str | None, why: object, part: str
) -> None:
    with at(cast.dairy, hours(0)):
        phone, row = a_device(cast.dairy, cast.maker), confirm(cast, day_slot(T0, "OP1", 0))
        with pytest.raises(BadInput) as refusal:
            phone.send(undo(phone, str(row.pk) if named == "" else named, why))
    assert refusal.value.part == part
    assert status(cast, day_slot(T0, "OP1", 0)) == Status.BY_EXCEPTION


def test_fitness_is_told_in_three_words_and_nothing_else(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        with pytest.raises(BadInput):
            a_reading(cast, day_slot(T0, "OP2", 1), hours(0), fitness="has a fever")
        found = a_reading(cast, day_slot(T0, "OP2", 1), hours(0), fitness="excluded")
    assert found.reading.state == "outside_limit"
