"""A limit found missed after the goods have left: nothing to set apart, a recall to decide."""

import pytest

from records.checks.services import ReadingContent, correct_reading
from records.deviations.closing import close_deviation
from records.deviations.models import Deviation
from records.deviations.queries import state_of
from records.deviations.services import decide_recall, evaluate, find_cause, take_action
from records.signoff.release import dispatch_lot, release_lot
from safetyplan.integrity.refusals import Refused
from tests.builders import HOLD_PARTS, T0, a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import Cast

LEFT = hours(82)


@pytest.fixture
def corrected(working: Cast) -> Deviation:
    """Send a whole lot out, then correct its heat treatment to a value outside the limit."""
    dairy = working.dairy
    with at(dairy, hours(2)):
        lot = a_lot(working, started=hours(1.5))
        heat = a_reading(working, lot_slot(lot, "CCP1"), hours(2), **HOLD_PARTS)
        an_event(working, lot, "starter_added", hours(2))
    with at(dairy, hours(25)):
        a_reading(working, lot_slot(lot, "CCP2"), hours(25), ph="4.45")
    with at(dairy, LEFT):
        an_event(working, lot, "packed", LEFT, pieces="280", mass="33.6")
        release_lot(
            establishment=dairy, proof=working.proof(working.owner), lot=lot, pieces="280", mass_typed="33.6"
        )
        dispatch_lot(
            establishment=dairy, by=working.maker, lot=lot, customer="Shop", pieces="280", mass_typed="33.6"
        )
        content = ReadingContent(
            slot=heat.reading.slot,
            observed_at=heat.reading.observed_at,
            parts=[
                {"name": name, "raw": raw, "unit": "", "confirmed": False}
                for name, raw in {**HOLD_PARTS, "product": "62.1"}.items()
            ],
        )
        found = correct_reading(
            establishment=dairy, by=working.maker, original=heat.reading, content=content, why="Read again"
        )
    assert found.deviation is not None
    return found.deviation


def work_off(cast: Cast, deviation: Deviation) -> None:
    """Record action, evaluation and cause."""
    take_action(
        establishment=cast.dairy, by=cast.maker, deviation=deviation, text="Shop told to stop selling"
    )
    evaluate(
        establishment=cast.dairy, by=cast.owner, deviation=deviation, text="Below the limit", evidence="Chart"
    )
    find_cause(
        establishment=cast.dairy,
        by=cast.maker,
        deviation=deviation,
        cause="Chart misread",
        prevention="Two people read the chart",
        under_control="Charts of the week read again",
        reanalysis=False,
        reanalysis_reason="Foreseen",
    )


def test_a_correction_after_dispatch_asks_for_a_recall_decision_instead_of_a_hold(
    working: Cast, corrected: Deviation
) -> None:
    state = state_of(working.dairy, corrected)

    assert state.all_left
    assert not state.hold_missing
    assert state.missing() == ["action", "cause", "evaluation", "recall"]


def test_it_closes_when_the_recall_is_decided_and_not_before(working: Cast, corrected: Deviation) -> None:
    with at(working.dairy, LEFT):
        work_off(working, corrected)
        with pytest.raises(Refused, match="recall"):
            close_deviation(
                establishment=working.dairy,
                proof=working.proof(working.reviewer),
                deviation=corrected,
                recording_error=False,
                why="Complete",
            )
        decide_recall(
            establishment=working.dairy,
            proof=working.proof(working.owner),
            deviation=corrected,
            recall=True,
            why="Under-heated",
        )

        close_deviation(
            establishment=working.dairy,
            proof=working.proof(working.reviewer),
            deviation=corrected,
            recording_error=False,
            why="Complete",
        )

    assert not state_of(working.dairy, corrected).is_open


def test_a_good_value_taken_before_the_window_of_a_critical_check_does_not_answer_it(working: Cast) -> None:
    from records.checks.due import Status, lot_states

    with at(working.dairy, hours(0.3)):
        lot = a_lot(working, started=T0)
    with at(working.dairy, hours(1)):
        early = lot_slot(lot, "CCP1")
        content_start = {**HOLD_PARTS, "hold_start": "07:20", "hold_end": "07:52"}
        a_reading(working, early, hours(0.9), **content_start)

    states = lot_states(working.dairy, [lot], hours(1.1))[lot.pk]
    heat = next(s for s in states if s.slot.control.code == "CCP1")

    # The demonstration's window opens with the lot itself, so this one counts …
    assert heat.status == Status.RECORDED
    # … and the same reading does not when the window opens later.
    from dataclasses import replace

    heat.slot = replace(heat.slot, opens_at=hours(0.95))
    assert heat.status == Status.DUE
    assert not heat.shown
