"""The lot that goes wrong: a door stood open, the vat was slow, the 24-hour pH was missed."""

from datetime import timedelta
from typing import Any

from records.batches.models import Lot
from records.checks.judging import kept_parts
from records.checks.models import Reading
from records.checks.services import Recorded
from records.demonstration.makes import begin, pack
from records.demonstration.teller import Teller
from records.deviations.closing import close_deviation
from records.deviations.disposing import Line, dispose
from records.deviations.files import attach_file
from records.deviations.models import Deviation
from records.deviations.services import confirm_hold, evaluate, find_cause, take_action
from records.inspection.services import issue_print
from records.signoff.release import dispatch_lot, release_lot
from records.signoff.services import sign_day


def slow_vat(teller: Teller, start: int, story: dict[str, Any]) -> Lot:
    """Tell the slow vat from milk to the closed deviation and the part that was let go."""
    make = story["slow"]
    lot = begin(teller, start, make)
    teller.read(
        teller.of_lot(lot, "OPRP1"),
        teller.moment(start + 1, "10:00"),
        {"ph": "5.12"},
        written=teller.moment(start + 1, "22:10"),
        late="written on my hand in the morning, typed in the evening",
    )
    teller.read(teller.of_lot(lot, "CCP2", "extra"), teller.moment(start + 1, "14:00"), {"ph": "4.88"})
    found = teller.read(teller.of_lot(lot, "CCP2"), teller.moment(start + 1, "18:00"), {"ph": "4.71"})
    teller.read(teller.of_lot(lot, "CCP2", "extra"), teller.moment(start + 1, "20:00"), {"ph": "4.58"})
    teller.event(lot, "ladled", teller.moment(start + 1, "20:10"), pieces="280")
    deviation = found.deviation
    assert deviation is not None
    _hold(teller, deviation, start)
    pack(teller, lot, start + 2, make)
    _evaluate(teller, deviation, start, story)
    _close(teller, deviation, start)
    with teller.at(teller.moment(start + 5, "17:00")):
        release_lot(
            establishment=teller.dairy,
            proof=teller.proof(teller.owner),
            lot=lot,
            pieces="262",
            mass_typed="31.4",
            note="Shelf life cut to 12 days",
        )
    with teller.at(teller.moment(start + 6, "09:30")):
        dispatch_lot(
            establishment=teller.dairy,
            by=teller.maker,
            lot=lot,
            customer="Saturday market stall",
            pieces="262",
            mass_typed="31.4",
        )
    return lot


def _hold(teller: Teller, deviation: Deviation, start: int) -> None:
    with teller.at(teller.moment(start + 1, "20:30")):
        confirm_hold(
            establishment=teller.dairy,
            by=teller.maker,
            deviation=deviation,
            place="Second cold store at 3 °C, lower shelf",
            tag="T-07",
            pieces="280",
            mass_typed="33.6",
        )
    with teller.at(teller.moment(start + 1, "20:40")):
        code, text = "CCP2-1", "Tag and hold the whole lot, keep it cold"
        take_action(
            establishment=teller.dairy, by=teller.maker, deviation=deviation, text=text, action_code=code
        )


def _evaluate(teller: Teller, deviation: Deviation, start: int, story: dict[str, Any]) -> None:
    with teller.at(teller.moment(start + 4, "19:00")):
        for name, lines in story["documents"].items():
            attach_file(
                establishment=teller.dairy,
                by=teller.owner,
                name=name,
                content="\n".join(lines).encode(),
                deviation=deviation,
            )
        evaluate(
            establishment=teller.dairy,
            by=teller.owner,
            deviation=deviation,
            text="Room log, curve and counts read together: no growth towards toxin. "
            "The shelf life of what is let go is cut to 12 days.",
            evidence="Coagulase-positive staphylococci 40 per g at 24 h and 30 per g on day 2; "
            "room 17.5 °C from 18:40 to 06:10; pH 4.58 at 26 h. Documents attached.",
        )
        dispose(
            establishment=teller.dairy,
            proof=teller.proof(teller.owner),
            deviation=deviation,
            lines=[
                Line("release", "262", "31.4", note="life cut to 12 days"),
                Line("used_for_test", "8", "1.0", note="sent to the laboratory"),
                Line("destroy", "10", "1.2", note="broken while turned"),
            ],
        )


def _close(teller: Teller, deviation: Deviation, start: int) -> None:
    with teller.at(teller.moment(start + 5, "08:30")):
        find_cause(
            establishment=teller.dairy,
            by=teller.maker,
            deviation=deviation,
            cause="The closer of the setting-room door was broken; the door stood open overnight.",
            prevention="Closer mended, room alarm set to 19 °C, the door added to the opening check.",
            under_control="The next lot reached pH 4.47 at 23.5 h.",
            reanalysis=False,
            reanalysis_reason="The plan foresaw a slow vat; the limit and the checks stay.",
        )
    with teller.at(teller.moment(start + 5, "16:30")):
        close_deviation(
            establishment=teller.dairy,
            proof=teller.proof(teller.owner),
            deviation=deviation,
            recording_error=False,
            why="Held, evaluated, split and understood; the quantities add up.",
        )


def correct_heat(teller: Teller, start: int, lot: Lot) -> None:
    """The weekly review finds a heat reading taken from the wrong probe; its day is signed again."""
    reading = Reading.objects.of(teller.dairy).get(lot=lot, control="CCP1")
    parts = {part["name"]: part["raw"] for part in kept_parts(reading)}
    written = teller.moment(start + 6, "19:10")
    teller.correct(
        Recorded(reading, None),
        written,
        "read wrong probe",
        reading.observed_at,
        **{**parts, "product": "63.4"},
    )
    with teller.at(teller.moment(start + 6, "19:30")):
        sign_day(
            establishment=teller.dairy,
            proof=teller.proof(teller.owner),
            day=teller.today + timedelta(days=start),
            note="Heat reading corrected at the weekly review",
        )
        issue_print(establishment=teller.dairy, by=teller.owner, what="lot", subject=str(lot.pk))
