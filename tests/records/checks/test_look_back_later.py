"""What is found out after a failed check of an instrument: late and corrected checks, closing, any order."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from records.batches.services import EventContent
from records.checks.services import correct_event
from records.deviations.closing import close_deviation, doers
from records.deviations.disposing import Line, dispose
from records.deviations.queries import state_of
from records.deviations.services import confirm_hold, decide_recall, evaluate, find_cause, take_action
from records.instruments.measured import Readings
from records.instruments.models import Instrument
from safetyplan.integrity.refusals import Refused
from tests.builders import a_lot, an_event, at, day_slot, lot_slot
from tests.cast import Cast
from tests.records.checks.malga import (
    CODES,
    NOT_VALID,
    august,
    begin,
    brine_of,
    close_as_error,
    corrected,
    gathered,
    hindered,
    in_ice,
    judged,
    read,
    result,
    ricotta,
    sold,
    state,
    week,
)
from tests.safetyplan.integrity.every_kind import rolled_back


@pytest.fixture
def probe(cast: Cast) -> Instrument:
    """Put the plan in force and register the probe."""
    return begin(cast)


def test_a_good_check_entered_late_changes_nothing(cast: Cast, probe: Instrument) -> None:
    lots = week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")

    in_ice(cast, probe, august(6, 6), "0.1", entered=august(9, 12))
    late = read(
        cast, lot_slot(lots[0], "CCP1", "extra"), august(3, 8, 40), "87", probe, entered=august(9, 13)
    )

    assert late.deviation == gathered(cast)
    assert [one.name for one in state(cast).affected] == list(CODES)
    assert {result(cast, lot) for lot in lots} == {NOT_VALID}


def test_a_good_check_that_is_corrected_to_a_failure_opens_the_look_back(
    cast: Cast, probe: Instrument
) -> None:
    in_ice(cast, probe, august(2, 6), "0.2")
    lot = ricotta(cast, probe, 3)
    good = in_ice(cast, probe, august(4, 6), "0.3").check
    assert result(cast, lot) == "within"

    opened = corrected(cast, good, "1.8", august(4, 9)).opened

    assert [deviation.pk for deviation in opened] == [gathered(cast).pk]
    assert result(cast, lot) == NOT_VALID


def test_a_failure_corrected_to_good_stays_until_a_reviewer_closes_it_as_an_error(
    cast: Cast, probe: Instrument
) -> None:
    lots = week(cast, probe)
    failed = in_ice(cast, probe, august(9, 6), "1.8").check
    corrected(cast, failed, "0.1", august(9, 9))
    assert state(cast).is_open
    assert {result(cast, lot) for lot in lots} == {NOT_VALID}

    close_as_error(cast)

    assert {result(cast, lot) for lot in lots} == {"within"}
    assert "Heat of the ricotta is not shown" not in hindered(cast, lots[5])


def test_a_failure_closed_as_an_error_reaches_nothing_more(cast: Cast, probe: Instrument) -> None:
    lots = week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")
    close_as_error(cast)

    slot = lot_slot(lots[0], "CCP1", "extra")
    late = read(cast, slot, august(3, 8, 40), "87", probe, entered=august(11, 12))

    assert late.deviation is None
    assert result(cast, lots[0]) == "within"


def test_who_measured_or_checked_does_not_close_it_as_an_error(cast: Cast, probe: Instrument) -> None:
    week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")
    assert cast.maker.pk in doers(state(cast))
    assert cast.reviewer.pk not in doers(state(cast))


def test_a_corrected_event_makes_nothing_valid_again(cast: Cast, probe: Instrument) -> None:
    lots = week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")
    with at(cast.dairy, august(8, 10)):
        starter = an_event(cast, lots[5], "starter_added", august(8, 9, 50))
        content = EventContent(
            event="starter_added",
            observed_at=august(8, 9, 45),
            details=({"name": "culture", "raw": "MA K81", "unit": "", "confirmed": False},),
            reason="Read from the wrong line",
        )
        correct_event(establishment=cast.dairy, by=cast.maker, original=starter, content=content)
    assert result(cast, lots[5]) == NOT_VALID


def test_a_probe_adjusted_on_the_spot_is_good_from_then_on(cast: Cast, probe: Instrument) -> None:
    in_ice(cast, probe, august(2, 6), "0.2")
    lot = ricotta(cast, probe, 3)
    in_ice(cast, probe, august(9, 6), "1.8", left=Readings([{"shown": "0.1"}]), done="adjusted")
    later = ricotta(cast, probe, 9)

    assert state(cast).lots == [lot]
    assert (result(cast, lot), result(cast, later)) == (NOT_VALID, "within")


def test_prerequisites_alone_open_no_deviation_but_are_not_valid(cast: Cast, probe: Instrument) -> None:
    in_ice(cast, probe, august(2, 6), "0.2")
    read(cast, day_slot(august(4), "STORE"), august(4, 11), "4", probe)

    assert in_ice(cast, probe, august(9, 6), "1.8").opened == ()
    assert [(row.reading.rank, row.state, row.deviation) for row in judged(cast)] == [
        ("prp", NOT_VALID, None)
    ]


def test_readings_of_no_lot_are_listed_in_it_and_lots_can_be_named_later(
    cast: Cast, probe: Instrument
) -> None:
    in_ice(cast, probe, august(2, 6), "0.2")
    read(cast, brine_of(4), august(4, 11), "12", probe)

    in_ice(cast, probe, august(9, 6), "1.8")

    assert state(cast).lots == []
    assert [row.deviation for row in judged(cast)] == [gathered(cast)]


def test_a_value_in_fahrenheit_is_recomputed_exactly(cast: Cast, probe: Instrument) -> None:
    """86 °C is 186.8 °F and 84.2 °C is 183.56 °F: °F = °C x 9/5 + 32 (NIST Handbook 44)."""
    in_ice(cast, probe, august(2, 6), "0.2")
    with at(cast.dairy, august(3, 7)):
        lot = a_lot(cast, "RM-0803", started=august(3, 7))
    read(cast, lot_slot(lot, "CCP1"), august(3, 8, 30), "186.8", probe, unit="degF")

    in_ice(cast, probe, august(9, 6), "1.8")

    assert [value["value"] for value in judged(cast)[0].values()] == ["183.56"]
    assert judged(cast)[0].would_state == "outside_limit"


def test_everything_held_evaluated_and_decided_it_is_closed_and_what_was_released_may_leave(
    cast: Cast, probe: Instrument
) -> None:
    in_ice(cast, probe, august(2, 6), "0.2")
    lot = ricotta(cast, probe, 8, mass="6")
    in_ice(cast, probe, august(9, 6), "1.8")
    about: dict[str, Any] = {"establishment": cast.dairy, "deviation": gathered(cast)}
    with at(cast.dairy, august(9, 12)):
        held = {"place": "Cellar", "tag": "H-1", "pieces": "25", "mass_typed": "6"}
        confirm_hold(by=cast.maker, **held, **about)
        take_action(by=cast.maker, text="P2 out of use", **about)
        evaluate(by=cast.owner, text="Heated again before sale", evidence="Second probe: 85.6 °C", **about)
        dispose(proof=cast.proof(cast.owner), lines=[Line("release", "25", "6")], **about)
        find_cause(
            by=cast.maker,
            cause="Dropped on stone",
            prevention="A guard for the probe",
            under_control="P3 in use",
            reanalysis=False,
            reanalysis_reason="Foreseen",
            **about,
        )
        assert "CCP1 Heat of the ricotta is not shown" in hindered(cast, lot)
        close_deviation(proof=cast.proof(cast.reviewer), recording_error=False, why="All decided", **about)
    assert "CCP1 Heat of the ricotta is not shown" not in hindered(cast, lot)
    assert result(cast, lot) == NOT_VALID


def test_after_it_is_closed_what_still_comes_in_opens_another(cast: Cast, probe: Instrument) -> None:
    in_ice(cast, probe, august(2, 6), "0.2")
    lot = ricotta(cast, probe, 3)
    sold(cast, lot, "6.3", august(3, 12))
    in_ice(cast, probe, august(9, 6), "1.8")
    first = gathered(cast)
    about: dict[str, Any] = {"establishment": cast.dairy, "deviation": first}
    with at(cast.dairy, august(9, 12)), pytest.raises(Refused, match="Not finished"):
        close_deviation(proof=cast.proof(cast.reviewer), recording_error=False, why="All decided", **about)
    with at(cast.dairy, august(9, 12)):
        take_action(by=cast.maker, text="P2 out of use", **about)
        evaluate(by=cast.owner, text="Sold and eaten", evidence="Shop's till", **about)
        told = {"cause": "Dropped", "prevention": "A guard", "under_control": "P3 in use"}
        find_cause(by=cast.maker, reanalysis=False, reanalysis_reason="Foreseen", **told, **about)
        decide_recall(proof=cast.proof(cast.owner), recall=True, why="Below the limit", **about)
        close_deviation(proof=cast.proof(cast.reviewer), recording_error=False, why="All decided", **about)

    slot = lot_slot(lot, "CCP1", "extra")
    late = read(cast, slot, august(3, 8, 40), "87", probe, entered=august(10, 12))

    assert late.deviation is not None
    assert late.deviation.pk != first.pk
    assert state_of(cast.dairy, late.deviation).lots == [lot]


STEPS = st.lists(
    st.tuples(st.integers(1, 3), st.sampled_from(["good", "bad", "read"])), min_size=2, max_size=7
)


@settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS)
def test_whatever_the_order_of_checks_and_readings_the_set_equals_brute_force(
    cast: Cast, probe: Instrument, steps: list[tuple[int, str]]
) -> None:
    """As the records come in: a reading falls by a failure with no good check between the two."""
    with rolled_back():
        moment = august(3, 6)
        told: list[tuple[datetime, str]] = []
        slots: dict[datetime, Any] = {}
        for minutes, what in steps:
            moment += timedelta(minutes=minutes)
            told.append((moment, what))
            if what == "read":
                slot = day_slot(moment, "BRINE", "extra")
                slots[moment] = read(cast, slot, moment, "12", probe).reading.pk
            else:
                in_ice(cast, probe, moment, "0.1" if what == "good" else "1.8")
        good = {at for at, what in told if what == "good"}
        failed = {at for at, what in told if what == "bad"}
        expected = {
            pk
            for at, pk in slots.items()
            if any(not any(min(at, bad) < one < max(at, bad) for one in good) for bad in failed)
        }
        assert {row.reading.pk for row in judged(cast)} == expected
