"""What a failed check of an instrument reaches: readings not valid, their lots in one deviation."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from records.batches.models import Lot
from records.batches.services import EventContent
from records.checks.due import lot_states
from records.checks.models import Reading, RejudgedByInstrument
from records.checks.services import correct_event, correct_reading, void_reading
from records.deviations.closing import close_deviation, doers
from records.deviations.models import Cause, Deviation
from records.deviations.queries import DeviationState, state_of
from records.deviations.services import evaluate
from records.instruments.models import Instrument
from records.signoff.release import hindrances
from safetyplan.integrity.refusals import Refused
from safetyplan.integrity.verification import verify
from tests.builders import an_event, at, day_slot, lot_slot
from tests.cast import Cast
from tests.records.checks.malga import (
    CODES,
    august,
    begin,
    brine_of,
    corrected,
    in_ice,
    read,
    reading_content,
    ricotta,
    sold,
    week,
)
from tests.safetyplan.integrity.every_kind import rolled_back

NOT_VALID = "instrument_not_valid"


@pytest.fixture
def probe(cast: Cast) -> Instrument:
    """Put the plan in force and register the probe."""
    return begin(cast)


def judged(cast: Cast) -> list[Any]:
    """Give the readings judged again by a failed instrument, in the order of time."""
    rows = RejudgedByInstrument.objects.of(cast.dairy).select_related("reading", "deviation")
    return list(rows.order_by("reading__observed_at", "entry__sequence"))


def gathered(cast: Cast) -> Deviation:
    """Give the only deviation of a failed instrument."""
    found: Deviation = Deviation.objects.of(cast.dairy).get(cause=Cause.INSTRUMENT)
    return found


def state(cast: Cast) -> DeviationState:
    return state_of(cast.dairy, gathered(cast))


def result(cast: Cast, lot: Lot, code: str = "CCP1") -> str:
    """Give the result of a lot's check as it stands."""
    states = lot_states(cast.dairy, [lot], august(12))[lot.pk]
    return str(next(s.result for s in states if s.slot.control.code == code))


def hindered(cast: Cast, lot: Lot) -> str:
    with at(cast.dairy, august(12)):
        return "; ".join(hindrances(cast.dairy, lot, august(12)))


def close_as_error(cast: Cast) -> None:
    with at(cast.dairy, august(11)):
        for lot in state(cast).affected:
            assert lot.hold is None
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
    from records.deviations.files import attach_file

    attach_file(
        establishment=cast.dairy,
        by=cast.maker,
        deviation=gathered(cast),
        name="ice.txt",
        content=b"Repeated in melting ice: 0.1\n",
    )


def test_the_failed_probe_of_the_third_dairy_reaches_every_ricotta_since_it_was_good(
    cast: Cast, probe: Instrument
) -> None:
    """Values: trade.md 9, plant C: recorded 86 °C, true 84.2 °C, limit 85 °C; 31.5 kg sold, 6 kg here."""
    before = ricotta(cast, probe, 1, value="86")
    lots = week(cast, probe)

    opened = in_ice(cast, probe, august(9, 6), "1.8").opened

    assert [deviation.pk for deviation in opened] == [gathered(cast).pk]
    rows = judged(cast)
    assert [row.reading.lot_id for row in rows] == [lot.pk for lot in lots]
    assert {row.state for row in rows} == {NOT_VALID}
    assert {row.state_before for row in rows} == {"within"}
    assert [[(v["value"], v["shown"]) for v in row.values()] for row in rows] == [[("84.2", "84.2 °C")]] * 6
    assert {row.would_state for row in rows} == {"outside_limit"}
    assert [one.name for one in state(cast).affected] == list(CODES)
    assert sum(Decimal("6.3") for one in state(cast).affected if one.sent) == Decimal("31.5")
    assert [one.name for one in state(cast).affected if one.to_hold] == ["RM-0808"]
    assert state(cast).missing() == ["hold", "action", "cause", "evaluation", "disposition", "recall"]
    assert (result(cast, before), result(cast, lots[0])) == ("within", NOT_VALID)
    assert verify(cast.dairy) == []


def test_its_lots_are_not_released_and_the_check_counts_as_not_shown(cast: Cast, probe: Instrument) -> None:
    lots = week(cast, probe)
    assert "Heat of the ricotta is not shown" not in hindered(cast, lots[5])

    in_ice(cast, probe, august(9, 6), "1.8")

    assert f"deviation {gathered(cast).number} is open" in hindered(cast, lots[5])
    assert "CCP1 Heat of the ricotta is not shown" in hindered(cast, lots[5])


def test_the_description_says_what_failed_since_when_and_how_much(cast: Cast, probe: Instrument) -> None:
    week(cast, probe)
    read(cast, brine_of(4), august(4, 11), "12", probe)
    read(cast, day_slot(august(4), "STORE"), august(4, 11), "4", probe)

    in_ice(cast, probe, august(9, 6), "1.8")

    told = gathered(cast).description
    assert "P2 Probe P2 failed its check on 2026-08-09 07:00" in told
    assert "since its last good check on 2026-08-02 07:00 is not valid" in told
    assert "outside the tolerance" in told
    assert "6 readings of critical control points, 1 of operational prerequisites, 1 of other" in told
    ranks = [row.reading.rank for row in judged(cast)]
    assert sorted(ranks) == ["ccp"] * 6 + ["oprp", "prp"]


def test_without_any_good_check_it_reaches_back_to_the_registration_and_says_so(
    cast: Cast, probe: Instrument
) -> None:
    lot = ricotta(cast, probe, 1)

    in_ice(cast, probe, august(9, 6), "1.8")

    assert state(cast).lots == [lot]
    told = gathered(cast).description
    assert "no earlier check found it good" in told
    assert "It was registered on 2026-07-31." in told


def test_a_reading_at_the_minute_of_the_good_check_stays_and_one_a_minute_later_falls(
    cast: Cast, probe: Instrument
) -> None:
    in_ice(cast, probe, august(2, 11, 30), "0.2")
    at_once = read(cast, brine_of(2), august(2, 11, 30) + timedelta(seconds=59), "12", probe).reading
    after = read(cast, day_slot(august(2), "BRINE", "extra"), august(2, 11, 31), "12", probe).reading

    in_ice(cast, probe, august(9, 6), "1.8")

    assert [row.reading.pk for row in judged(cast)] == [after.pk]
    assert at_once.pk != after.pk


def test_a_second_failure_without_a_good_check_adds_only_what_is_new(cast: Cast, probe: Instrument) -> None:
    week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")
    lot = ricotta(cast, probe, 9, mass="5")
    assert len(judged(cast)) == 7
    before = len(judged(cast))

    again = in_ice(cast, probe, august(10, 6), "1.9").opened

    assert again == ()
    assert len(judged(cast)) == before
    assert lot in state(cast).lots


def test_a_failure_after_a_good_check_opens_a_deviation_of_its_own(cast: Cast, probe: Instrument) -> None:
    week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")
    in_ice(cast, probe, august(10, 6), "0.1")
    lot = ricotta(cast, probe, 10, mass="5")
    assert result(cast, lot) == "within"

    opened = in_ice(cast, probe, august(11, 6), "1.8").opened

    assert [state_of(cast.dairy, deviation).lots for deviation in opened] == [[lot]]
    assert Deviation.objects.of(cast.dairy).filter(cause=Cause.INSTRUMENT).count() == 2


def test_a_reading_entered_after_the_failure_joins_its_deviation_at_once(
    cast: Cast, probe: Instrument
) -> None:
    lots = week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")
    slot = lot_slot(lots[0], "CCP1", "extra")
    late = read(cast, slot, august(3, 8, 40), "87", probe, entered=august(9, 12))

    assert late.deviation == gathered(cast)
    assert judged(cast)[1].reading == late.reading
    assert judged(cast)[1].values()[0]["value"] == "85.2"
    assert judged(cast)[1].would_state == "within"


def test_a_reading_by_another_instrument_is_not_reached(cast: Cast, probe: Instrument) -> None:
    from tests.records.instruments.acts import a_probe

    other = a_probe(cast, "P3", since=august(1))
    week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")
    with at(cast.dairy, august(9, 12)):
        lot = ricotta(cast, other, 9)
    assert result(cast, lot) == "within"
    assert lot not in state(cast).lots


def test_a_correction_that_names_the_failed_instrument_joins(cast: Cast, probe: Instrument) -> None:
    in_ice(cast, probe, august(2, 6), "0.2")
    ricotta(cast, probe, 3)
    lot = ricotta(cast, None, 4)
    in_ice(cast, probe, august(9, 6), "1.8")
    assert lot not in state(cast).lots
    original = Reading.objects.of(cast.dairy).get(lot=lot)
    content = reading_content(original.slot, original.observed_at, "86", probe)
    with at(cast.dairy, august(9, 12)):
        correct_reading(
            establishment=cast.dairy, by=cast.maker, original=original, content=content, why="It was P2"
        )

    assert lot in state(cast).lots
    assert result(cast, lot) == NOT_VALID


def test_a_correction_to_another_instrument_takes_no_lot_out(cast: Cast, probe: Instrument) -> None:
    lots = week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")
    original = Reading.objects.of(cast.dairy).get(lot=lots[5], control="CCP1")
    content = reading_content(original.slot, original.observed_at, "86", None)
    with at(cast.dairy, august(9, 12)):
        correct_reading(
            establishment=cast.dairy, by=cast.maker, original=original, content=content, why="It was P1"
        )

    assert lots[5] in state(cast).lots
    assert f"deviation {gathered(cast).number} is open" in hindered(cast, lots[5])


def test_a_voided_reading_is_left_out(cast: Cast, probe: Instrument) -> None:
    in_ice(cast, probe, august(2, 6), "0.2")
    lot, other = ricotta(cast, probe, 3), ricotta(cast, probe, 4)
    original = Reading.objects.of(cast.dairy).get(lot=lot, control="CCP1")
    with at(cast.dairy, august(4, 12)):
        void_reading(establishment=cast.dairy, by=cast.maker, original=original, why="Of another kettle")

    in_ice(cast, probe, august(9, 6), "1.8")

    assert state(cast).lots == [other]


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
    from records.instruments.measured import Readings

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
        from tests.builders import a_lot

        lot = a_lot(cast, "RM-0803", started=august(3, 7))
    read(cast, lot_slot(lot, "CCP1"), august(3, 8, 30), "186.8", probe, unit="degF")

    in_ice(cast, probe, august(9, 6), "1.8")

    assert [value["value"] for value in judged(cast)[0].values()] == ["183.56"]
    assert judged(cast)[0].would_state == "outside_limit"


def test_everything_held_evaluated_and_decided_it_is_closed_and_what_was_released_may_leave(
    cast: Cast, probe: Instrument
) -> None:
    from records.deviations.disposing import Line, dispose
    from records.deviations.services import confirm_hold, find_cause, take_action

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
    from records.deviations.services import find_cause, take_action

    in_ice(cast, probe, august(2, 6), "0.2")
    lot = ricotta(cast, probe, 3)
    sold(cast, lot, "6.3", august(3, 12))
    in_ice(cast, probe, august(9, 6), "1.8")
    first = gathered(cast)
    about: dict[str, Any] = {"establishment": cast.dairy, "deviation": first}
    with at(cast.dairy, august(9, 12)), pytest.raises(Refused, match="Not finished"):
        close_deviation(proof=cast.proof(cast.reviewer), recording_error=False, why="All decided", **about)
    with at(cast.dairy, august(9, 12)):
        from records.deviations.services import decide_recall

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
