"""The main story, extended: a correction, a void, a late entry, an explained check, a corrected event.

One lot misses its limit at 24 hours, is held, disposed of, closed and released; a second one waits.
"""

from dataclasses import dataclass
from datetime import timedelta

from records.batches.models import Lot, LotEvent
from records.batches.services import EventContent
from records.checks.models import Reading
from records.checks.services import (
    ReadingContent,
    correct_event,
    correct_reading,
    explain_check,
    void_reading,
)
from records.checks.tick import tick
from records.deviations.closing import close_deviation
from records.deviations.disposing import Line, dispose
from records.deviations.models import Deviation
from records.deviations.services import confirm_hold, evaluate, find_cause, take_action
from records.signoff.release import dispatch_lot, release_lot
from records.signoff.services import sign_day
from safetyplan.establishments.models import Person
from tests.builders import (
    HOLD_PARTS,
    T0,
    a_lot,
    a_reading,
    an_event,
    an_unforeseen_one,
    at,
    day_slot,
    hours,
    lot_slot,
)
from tests.cast import Cast

DAY = T0.date()
TYPO = "Read the wrong line of the display"
LATE = "The phone had no power"
NOT_MADE = "Nobody was at the dairy at five"
TWICE = "Entered twice"
WARM = "The door of the cold store stood open"
WATCH_SLOW = "The watch at the vat was slow"


@dataclass(frozen=True)
class Story:
    """What the tests look at."""

    cast: Cast
    lot: Lot
    other: Lot
    deviation: Deviation
    starter: LotEvent


def corrected(cast: Cast, reading: Reading, why: str, *, by: Person | None = None, **parts: str) -> Reading:
    """Correct a reading, keeping its time."""
    content = ReadingContent(
        slot=reading.slot,
        observed_at=reading.observed_at,
        parts=[{"name": name, "raw": raw, "unit": "", "confirmed": False} for name, raw in parts.items()],
    )
    done = correct_reading(
        establishment=cast.dairy, by=by or cast.maker, original=reading, content=content, why=why
    )
    return done.reading


def moved_event(cast: Cast, event: LotEvent, minutes: int, why: str = WATCH_SLOW) -> LotEvent:
    """Correct the time of an event."""
    content = EventContent(
        event=event.event,
        observed_at=event.observed_at + timedelta(minutes=minutes),
        details=({"name": "culture", "raw": "MA K81", "unit": "", "confirmed": False},),
        late_reason=why,
        reason=why,
    )
    return correct_event(establishment=cast.dairy, by=cast.maker, original=event, content=content)[0]


def morning(cast: Cast) -> Lot:
    """Record the morning: a lot, its milk, the cold store with a typing error, the heat treatment."""
    dairy = cast.dairy
    with at(dairy, hours(0.5)):
        lot = a_lot(cast)
        a_reading(cast, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8")
        wrong = a_reading(cast, day_slot(T0, "PRP1"), hours(0.2), temperature="8.5").reading
        an_unforeseen_one(cast, WARM)
        a_reading(cast, day_slot(T0, "PRP3"), hours(0.1), by=cast.helper, strength="150")
        double = a_reading(
            cast, lot_slot(lot, "OPRP3"), hours(0.45), by=cast.helper, temperature="3.9"
        ).reading
    with at(dairy, hours(0.7)):
        corrected(cast, wrong, TYPO, temperature="3.5")
        void_reading(establishment=dairy, by=cast.helper, original=double, why=TWICE)
    with at(dairy, hours(2.4)):
        a_reading(cast, lot_slot(lot, "CCP1"), hours(1.6), late_reason=LATE, **HOLD_PARTS)
    return lot


def day_of_the_lot(cast: Cast) -> tuple[Lot, LotEvent]:
    """Record the whole day; the evening check of the cold store is explained."""
    lot = morning(cast)
    with at(cast.dairy, hours(2.4)):
        starter = an_event(cast, lot, "starter_added", hours(2))
    with at(cast.dairy, hours(14)):
        explain_check(establishment=cast.dairy, by=cast.maker, slot=day_slot(T0, "PRP1", 1), why=NOT_MADE)
    return lot, starter


def held(cast: Cast, lot: Lot) -> Deviation:
    """Miss the limit at 24 hours and hold the lot."""
    dairy = cast.dairy
    with at(dairy, hours(18)):
        a_reading(cast, lot_slot(lot, "OPRP1"), hours(18), ph="5.12")
    with at(dairy, hours(22)):
        a_reading(cast, lot_slot(lot, "CCP2", "extra"), hours(22), ph="4.88")
    with at(dairy, hours(26)):
        tick(dairy)
        found = a_reading(cast, lot_slot(lot, "CCP2"), hours(26), ph="4.71").deviation
    assert found is not None
    with at(dairy, hours(27)):
        confirm_hold(
            establishment=dairy,
            by=cast.maker,
            deviation=found,
            place="Cold store, top shelf",
            tag="H-1",
            pieces="280",
            mass_typed="33.6",
        )
        take_action(establishment=dairy, by=cast.maker, deviation=found, text="Tagged and chilled to 3 °C")
    return found


def finish(cast: Cast, lot: Lot, deviation: Deviation) -> None:
    """Evaluate, dispose, understand and close; then release and dispatch what may go."""
    dairy = cast.dairy
    with at(dairy, hours(80)):
        evaluate(
            establishment=dairy,
            by=cast.owner,
            deviation=deviation,
            text="No growth towards toxin",
            evidence="Count 40 per g at 24 h and 30 per g on day 2; room logger and curve looked at",
        )
        lines = [
            Line("release", "262", "31.4", note="life cut to 12 d"),
            Line("used_for_test", "8", "1.0"),
            Line("destroy", "10", "1.2"),
        ]
        dispose(establishment=dairy, proof=cast.proof(cast.owner), deviation=deviation, lines=lines)
        find_cause(
            establishment=dairy,
            by=cast.maker,
            deviation=deviation,
            cause="Door closer broken, the room fell to 17.5 °C",
            prevention="Closer fixed, door checked each evening",
            under_control="Next lot at pH 4.5 after 24 h",
            reanalysis=False,
            reanalysis_reason="The plan foresaw this",
        )
        close_deviation(
            establishment=dairy,
            proof=cast.proof(cast.reviewer),
            deviation=deviation,
            recording_error=False,
            why="Everything is done and shown",
        )
        an_event(cast, lot, "packed", hours(79.9), pieces="280", mass="33.6")
    _send(cast, lot)


def _send(cast: Cast, lot: Lot) -> None:
    dairy = cast.dairy
    with at(dairy, hours(80)):
        a_reading(cast, lot_slot(lot, "PRP2"), hours(80), label="correct")
        release_lot(
            establishment=dairy, proof=cast.proof(cast.owner), lot=lot, pieces="262", mass_typed="31.4"
        )
        dispatch_lot(
            establishment=dairy,
            by=cast.maker,
            lot=lot,
            customer="Corner shop",
            pieces="200",
            mass_typed="24.0",
        )


def tell(cast: Cast, *, move_starter: bool = True) -> Story:
    """Tell the whole story; the starter's time is corrected after the day was signed."""
    lot, starter = day_of_the_lot(cast)
    with at(cast.dairy, hours(17)):
        sign_day(establishment=cast.dairy, proof=cast.proof(cast.reviewer), day=DAY)
    deviation = held(cast, lot)
    if move_starter:
        with at(cast.dairy, hours(28)):
            starter = moved_event(cast, starter, -10)
    with at(cast.dairy, hours(31)):
        other = a_lot(cast, code="TL-0515", product="TL", started=hours(30.9))
    finish(cast, lot, deviation)
    return Story(cast, lot, other, deviation, starter)
