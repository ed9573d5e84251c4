"""The main story through the services: a limit missed, held, disposed of, closed, signed, released."""

from records.deviations.closing import close_deviation
from records.deviations.disposing import Line, dispose
from records.deviations.services import confirm_hold, evaluate, find_cause, take_action
from records.inspection.compose import render_issue
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from records.signoff.release import dispatch_lot, release_lot
from records.signoff.services import sign_day
from safetyplan.integrity.verification import verify
from tests.builders import HOLD_PARTS, T0, a_device, a_lot, a_reading, an_event, at, day_slot, hours, lot_slot
from tests.cast import Cast


def test_a_missed_limit_is_held_disposed_closed_released_and_printed(working: Cast) -> None:
    dairy = working.dairy
    with at(dairy, hours(0.5)):
        phone = a_device(dairy, working.maker)
        lot = a_lot(working)
        a_reading(working, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8")
        a_reading(working, day_slot(T0, "PRP1"), hours(0.2), temperature="3.5")
        phone.send(phone.reading(day_slot(T0, "PRP3"), hours(0.1), strength="150"))
    with at(dairy, hours(2)):
        a_reading(working, lot_slot(lot, "CCP1"), hours(1.6), **HOLD_PARTS)
        an_event(working, lot, "starter_added", hours(2))
    with at(dairy, hours(10)):
        a_reading(working, day_slot(T0, "PRP1", 1), hours(9.9), temperature="3,6")
    with at(dairy, hours(17)):
        sign_day(establishment=dairy, proof=working.proof(working.reviewer), day=T0.date())
    with at(dairy, hours(18)):
        a_reading(working, lot_slot(lot, "OPRP1"), hours(18), ph="5.12")
    with at(dairy, hours(26)):
        found = a_reading(working, lot_slot(lot, "CCP2"), hours(26), ph="4.71")
    deviation = found.deviation
    assert deviation is not None
    with at(dairy, hours(27)):
        confirm_hold(
            establishment=dairy,
            by=working.maker,
            deviation=deviation,
            place="Cold store, top shelf",
            tag="H-1",
            pieces="280",
            mass_typed="33.6",
        )
        take_action(establishment=dairy, by=working.maker, deviation=deviation, text="Lot tagged and chilled")
    with at(dairy, hours(80)):
        evaluate(
            establishment=dairy,
            by=working.owner,
            deviation=deviation,
            text="No growth towards toxin",
            evidence="Count 40 per g at 24 h",
        )
        dispose(
            establishment=dairy,
            proof=working.proof(working.owner),
            deviation=deviation,
            lines=[
                Line("release", "262", "31.4"),
                Line("used_for_test", "8", "1.0"),
                Line("destroy", "10", "1.2"),
            ],
        )
        find_cause(
            establishment=dairy,
            by=working.maker,
            deviation=deviation,
            cause="Door closer broken",
            prevention="Closer fixed",
            under_control="Next lot at pH 4.5",
            reanalysis=False,
            reanalysis_reason="Foreseen by the plan",
        )
        close_deviation(
            establishment=dairy,
            proof=working.proof(working.reviewer),
            deviation=deviation,
            recording_error=False,
            why="Complete",
        )
        an_event(working, lot, "packed", hours(79.9), pieces="280", mass="33.6")
        release_lot(
            establishment=dairy, proof=working.proof(working.owner), lot=lot, pieces="262", mass_typed="31.4"
        )
        dispatch_lot(
            establishment=dairy,
            by=working.maker,
            lot=lot,
            customer="Corner shop",
            pieces="262",
            mass_typed="31.4",
        )
        issue = issue_print(establishment=dairy, by=working.owner, what="lot", subject=str(lot.pk))
        day = issue_print(establishment=dairy, by=working.owner, what="day", subject="2026-05-14")

    assert render_issue(issue) == kept_bytes(issue)
    assert render_issue(day) == kept_bytes(day)
    assert verify(dairy) == []
