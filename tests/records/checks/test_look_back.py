"""What a failed check of an instrument reaches: readings not valid, their lots in one deviation."""

from datetime import timedelta
from decimal import Decimal

import pytest

from records.checks.models import Reading
from records.checks.services import correct_reading, void_reading
from records.deviations.models import Cause, Deviation
from records.deviations.queries import state_of
from records.instruments.models import Instrument
from safetyplan.integrity.verification import verify
from tests.builders import at, day_slot, lot_slot
from tests.cast import Cast
from tests.records.checks.malga import (
    CODES,
    NOT_VALID,
    august,
    begin,
    brine_of,
    gathered,
    hindered,
    in_ice,
    judged,
    read,
    reading_content,
    result,
    ricotta,
    state,
    week,
)
from tests.records.instruments.acts import a_probe


@pytest.fixture
def probe(cast: Cast) -> Instrument:
    """Put the plan in force and register the probe."""
    return begin(cast)


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
