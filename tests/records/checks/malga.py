"""The third invented dairy's failed probe: ricotta of 3 to 8 August, checked with P2 (trade.md 9, plant C).

P2 shows +1.8 °C in ice on 9 August, was good on 2 August, tolerance ± 0.5 °C. Ricotta was recorded at 86 °C
where 85 °C is the critical limit: 84.2 °C in truth. 31.5 kg are sold already, 6 kg are on hand.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

from records.batches.models import Dispatch, Lot
from records.checks.due import lot_states
from records.checks.instrument_checks import CheckRecorded, correct_check, record_check
from records.checks.models import RejudgedByInstrument
from records.checks.services import ReadingContent, Recorded, record_reading
from records.deviations.closing import close_deviation
from records.deviations.files import attach_file
from records.deviations.models import Cause, Deviation
from records.deviations.queries import DeviationState, state_of
from records.instruments.checking import CheckContent
from records.instruments.measured import Readings
from records.instruments.models import Instrument, InstrumentCheck
from records.signoff.kinds import DISPATCH
from records.signoff.release import hindrances
from safetyplan.integrity import index, ledger
from tests.builders import a_lot, an_event, at, day_slot, lot_slot
from tests.cast import Cast
from tests.records.instruments.acts import a_probe
from tests.records.rules.limits import approve, bound, document, prerequisite
from tests.remembering import told_again

WEIGHTS = ("6.3", "6.3", "6.3", "6.3", "6.3", "6")
NOT_VALID = "instrument_not_valid"
CODES = tuple(f"RM-080{day}" for day in range(3, 9))


def august(day: int, hour: int = 9, minute: int = 0) -> datetime:
    """Give a moment of that August."""
    return datetime(2026, 8, day, hour, minute, tzinfo=UTC)


def plan() -> dict[str, Any]:
    """Write a plan with the ricotta's heat as its only critical control, and two daily checks by probe."""
    found = document()
    found["products"][0]["name"] = "Ricotta della Malga"
    heat = next(control for control in found["controls"] if control["code"] == "CCP1")
    heat["limit"] = bound("temperature", "temperature", "degC", at_least="85")
    heat["name"] = "Heat of the ricotta"
    store = prerequisite("STORE", bound("temperature", "temperature", "degC", at_most="5"))
    brine = {
        **prerequisite("BRINE", bound("temperature", "temperature", "degC", at_most="14")),
        "class": "oprp",
    }
    found["controls"] += [store, brine]
    return found


def begin(cast: Cast) -> Instrument:
    """Put the plan in force and register probe P2 at the end of July."""

    def told() -> Instrument:
        approve(cast, plan(), datetime(2026, 7, 30, 8, tzinfo=UTC))
        return a_probe(cast, "P2", since=datetime(2026, 7, 31, 8, tzinfo=UTC))

    return told_again("the hut in July", told)


def in_ice(
    cast: Cast, probe: Instrument, moment: datetime, shown: str, entered: datetime | None = None, **more: Any
) -> CheckRecorded:
    """Record what a probe shows in ice, with everything that hangs on it; it should show 0 °C."""
    late = "written down on paper first" if entered else ""
    content = CheckContent("ice_point", moment, Readings([{"shown": shown}]), late_reason=late, **more)
    with at(cast.dairy, entered or moment):
        return record_check(establishment=cast.dairy, by=cast.maker, instrument=probe, content=content)


def corrected(cast: Cast, check: InstrumentCheck, shown: str, moment: datetime) -> CheckRecorded:
    """Correct what a probe showed in ice."""
    content = CheckContent("ice_point", check.checked_at, Readings([{"shown": shown}]))
    with at(cast.dairy, moment):
        return correct_check(
            establishment=cast.dairy,
            by=cast.maker,
            original=check,
            content=content,
            why="Read the wrong line",
        )


def reading_content(
    slot: str, moment: datetime, value: str, probe: Instrument | None, unit: str = "degC", late: str = ""
) -> ReadingContent:
    """Say what was read with a probe."""
    part = {"name": "temperature", "raw": value, "unit": unit, "confirmed": True}
    pk = probe.pk if probe else None
    return ReadingContent(slot, moment, [part], late_reason=late, instrument=pk)


def read(
    cast: Cast,
    slot: str,
    moment: datetime,
    value: str,
    probe: Instrument | None,
    entered: datetime | None = None,
    unit: str = "degC",
) -> Recorded:
    """Record a reading by a probe, at once or later."""
    content = reading_content(slot, moment, value, probe, unit, "was on the pasture" if entered else "")
    with at(cast.dairy, entered or moment):
        return record_reading(establishment=cast.dairy, by=cast.maker, content=content)


def ricotta(cast: Cast, probe: Instrument | None, day: int, value: str = "86", mass: str = "6.3") -> Lot:
    """Make the ricotta of a day: started at seven, heated by half past eight, packed at nine (UTC)."""
    with at(cast.dairy, august(day, 7)):
        lot = a_lot(cast, f"RM-08{day:02d}", started=august(day, 7))
    read(cast, lot_slot(lot, "CCP1"), august(day, 8, 30), value, probe)
    with at(cast.dairy, august(day, 9)):
        an_event(cast, lot, "packed", august(day, 9), pieces="25", mass=mass)
    return lot


def sold(cast: Cast, lot: Lot, mass: str, moment: datetime) -> None:
    """Record that a lot has left, as it stands in the ledger after a dispatch."""
    row = Dispatch(
        lot=lot,
        customer="Shop in the valley",
        pieces=25,
        mass_text=mass,
        left_at=moment,
        left_on_hold=False,
        note="",
    )
    with at(cast.dairy, moment):
        ledger.append(kind=DISPATCH, row=row, establishment=cast.dairy, author=cast.maker)
        index.close(cast.dairy, "lot", lot.pk)


def week(cast: Cast, probe: Instrument) -> list[Lot]:
    """Tell the week: P2 good on 2 August, ricotta of 3 to 8 August, all but the last sold."""
    in_ice(cast, probe, august(2, 6), "0.2")
    lots = [ricotta(cast, probe, day, mass=mass) for day, mass in zip(range(3, 9), WEIGHTS, strict=True)]
    for lot, mass in zip(lots[:5], WEIGHTS, strict=False):
        sold(cast, lot, mass, lot.started_at + timedelta(hours=5))
    return lots


def brine_of(day: int) -> str:
    """Name the brine's check of a day."""
    return day_slot(august(day), "BRINE")


def judged(cast: Cast) -> list[Any]:
    """Give the readings judged again by a failed instrument, in the order of time."""
    rows = RejudgedByInstrument.objects.of(cast.dairy).select_related("reading", "deviation")
    return list(rows.order_by("reading__observed_at", "entry__sequence"))


def gathered(cast: Cast) -> Deviation:
    """Give the only deviation of a failed instrument."""
    found: Deviation = Deviation.objects.of(cast.dairy).get(cause=Cause.INSTRUMENT)
    return found


def state(cast: Cast) -> DeviationState:
    """Give what is recorded about the deviation of the failed instrument."""
    return state_of(cast.dairy, gathered(cast))


def result(cast: Cast, lot: Lot, code: str = "CCP1") -> str:
    """Give the result of a lot's check as it stands."""
    states = lot_states(cast.dairy, [lot], august(12))[lot.pk]
    return str(next(s.result for s in states if s.slot.control.code == code))


def hindered(cast: Cast, lot: Lot) -> str:
    """Give what keeps a lot from being released."""
    with at(cast.dairy, august(12)):
        return "; ".join(hindrances(cast.dairy, lot, august(12)))


def close_as_error(cast: Cast) -> None:
    """Close the deviation as a recording error, with evidence."""
    with at(cast.dairy, august(11)):
        evaluate_error(cast)
        close_deviation(
            establishment=cast.dairy,
            proof=cast.proof(cast.reviewer),
            deviation=gathered(cast),
            recording_error=True,
            why="The ice had not melted: the check itself was wrong",
        )


def evaluate_error(cast: Cast) -> None:
    """Attach the evidence that a recording error needs."""
    attach_file(
        establishment=cast.dairy,
        by=cast.maker,
        deviation=gathered(cast),
        name="ice.txt",
        content=b"Repeated in melting ice: 0.1\n",
    )
