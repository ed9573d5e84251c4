"""No starter before the results that the plan asks for on the milk; a bad result reaches every lot."""

import pytest

from records.checks.gate import hindrances
from records.checks.receipts import correct_receipt
from records.checks.services import correct_reading
from records.checks.tick import tick
from records.deviations.queries import deviations, state_of
from records.receiving.refusing import refuse_milk
from records.signoff.release import record_left_on_hold
from tests.builders import a_reading, an_event, at, hours
from tests.records.receiving.stage import Dairy, causes, content_of, refusal

pytestmark = pytest.mark.django_db


def test_a_starter_before_the_inhibitor_result_deviates_and_holds_the_lot(door: Dairy) -> None:
    with door.at(1):
        lot = door.lot()
        door.fill(lot, door.load(received_at=hours(0)))
        warned = [one.words for one in hindrances(door.cast.dairy, lot, "starter_added")]
        _event, opened = door.starter(lot, 1)

    assert warned == ["CCP3 Inhibitor test of load M-1: the result is not there yet."]
    assert causes(opened) == ["not_shown"]
    assert opened[0].hold_required
    assert "Starter added was done before control was shown." in opened[0].description


def test_a_starter_after_a_negative_result_opens_nothing(door: Dairy) -> None:
    with door.at(1):
        lot, load = door.lot(), door.load(received_at=hours(0))
        door.fill(lot, load)
        door.read(load, "CCP3", 0.8, inhibitor="negative")
        warned = hindrances(door.cast.dairy, lot, "starter_added")
        _event, opened = door.starter(lot, 1)

    assert warned == []
    assert opened == []


def test_a_result_observed_after_the_starter_does_not_count_back(door: Dairy) -> None:
    with door.at(1):
        lot, load = door.lot(), door.load(received_at=hours(0))
        door.fill(lot, load)
        door.read(load, "CCP3", 0.9, inhibitor="negative")
        _event, opened = door.starter(lot, 0.6)

    assert causes(opened) == ["not_shown"]


def test_another_event_does_not_wait_for_the_result(door: Dairy) -> None:
    with door.at(1):
        lot = door.lot()
        door.fill(lot, door.load(received_at=hours(0)))

        assert hindrances(door.cast.dairy, lot, "rennet_added") == []


def test_a_lot_that_names_no_load_has_shown_nothing(door: Dairy) -> None:
    with door.at(1):
        _event, opened = door.starter(door.lot(), 1)

    assert len(opened) == 1
    assert "nothing says which load" in opened[0].description


def test_naming_the_milk_later_opens_what_the_starter_did_not_wait_for(door: Dairy) -> None:
    with door.at(1):
        lot, good, late = door.lot(), door.load(received_at=hours(0)), door.load("M-2", received_at=hours(0))
        door.read(good, "CCP3", 0.8, inhibitor="negative")
        door.fill(lot, good)
        door.starter(lot, 1)
        opened = door.fill(lot, late)

    assert causes(opened) == ["not_shown"]
    assert opened[0].slot.startswith(f"load:{late.pk}:CCP3")


def test_a_positive_result_holds_every_lot_with_the_milk(door: Dairy) -> None:
    with door.at(1):
        load, other = door.load(received_at=hours(0)), door.load("M-2", received_at=hours(0))
        one, two, clean = door.lot("TF-1"), door.lot("TF-2"), door.lot("TF-3")
        door.fill(one, load)
        door.fill(two, load)
        door.fill(clean, other)
        found = door.read(load, "CCP3", 0.9, inhibitor="positive")

    assert found.deviation is not None
    assert found.deviation.cause == "outside_limit"
    assert door.held() == {"TF-1", "TF-2"}


def test_a_positive_result_before_any_lot_deviates_too(door: Dairy) -> None:
    with door.at(1):
        load = door.load(received_at=hours(0))
        found = door.read(load, "CCP3", 0.9, inhibitor="positive")

    assert found.deviation is not None
    assert "Load M-1." in found.deviation.description


def test_positive_milk_that_goes_into_a_vat_holds_the_lot_at_once(door: Dairy) -> None:
    with door.at(1):
        load, lot = door.load(received_at=hours(0)), door.lot()
        door.read(load, "CCP3", 0.9, inhibitor="positive")
        opened = door.fill(lot, load)

    assert causes(opened) == ["outside_limit"]
    assert door.held() == {"TF-1"}


def test_a_result_corrected_to_positive_reaches_a_lot_that_has_left(door: Dairy) -> None:
    with door.at(1):
        load, lot = door.load(received_at=hours(0)), door.lot()
        door.fill(lot, load)
        found = door.read(load, "CCP3", 0.9, inhibitor="negative")
        door.starter(lot, 1)
    with at(door.cast.dairy, hours(80)):
        an_event(door.cast, lot, "packed", hours(79.9), pieces="280", mass="33.6")
        leaving = {"lot": lot, "customer": "Corner shop", "pieces": "280", "mass_typed": "33.6"}
        record_left_on_hold(**leaving, **door.about)
    with at(door.cast.dairy, hours(81)):
        before = deviations(door.cast.dairy).count()
        done = correct_reading(
            original=found.reading,
            content=content_of(found.reading, inhibitor="positive"),
            why="Strip read wrongly",
            **door.about,
        )

    assert done.deviation is not None
    assert done.deviation.cause == "corrected"
    assert deviations(door.cast.dairy).count() == before + 1
    assert state_of(door.cast.dairy, done.deviation).recall_asked


def test_a_second_test_that_is_negative_does_not_wash_a_positive_one(door: Dairy) -> None:
    with door.at(1):
        load, lot = door.load(received_at=hours(0)), door.lot()
        door.read(load, "CCP3", 0.8, inhibitor="positive")
        extra = f"load:{load.pk}:CCP3:extra"
        a_reading(door.cast, extra, hours(0.9), inhibitor="negative")
        door.fill(lot, load)
        found = hindrances(door.cast.dairy, lot, "starter_added")

    assert len(found) == 1
    assert "does not show control" in found[0].words


def test_a_further_test_that_is_positive_stops_the_starter(door: Dairy) -> None:
    with door.at(1):
        load, lot = door.load(received_at=hours(0)), door.lot()
        door.read(load, "CCP3", 0.8, inhibitor="negative")
        door.fill(lot, load)
        a_reading(door.cast, f"load:{load.pk}:CCP3:extra", hours(0.9), inhibitor="positive")
        found = hindrances(door.cast.dairy, lot, "starter_added")

    assert len(found) == 1
    assert door.held() == {"TF-1"}


def test_the_clock_opens_the_deviation_of_a_critical_check_of_a_load_not_made(door: Dairy) -> None:
    with door.at(0.1):
        load = door.load(received_at=hours(0))
    with door.at(4.1):
        early = tick(door.cast.dairy)
    with door.at(4.3):
        opened = tick(door.cast.dairy)
        again = tick(door.cast.dairy)

    assert early == []
    assert [d.slot for d in opened] == [f"load:{load.pk}:CCP3:0"]
    assert again == []


def test_a_load_refused_at_the_door_is_not_asked_for_its_checks(door: Dairy) -> None:
    with door.at(0.1):
        load = door.load(received_at=hours(0))
        refuse_milk(load=load, content=refusal(0.1), **door.about)
    with door.at(5):
        assert tick(door.cast.dairy) == []


def test_the_age_is_judged_from_the_oldest_milking(door: Dairy) -> None:
    with door.at(1):
        load = door.load(received_at=hours(0), milkings=[hours(-47.5), hours(-1)])
        found = door.read(load, "OPRP5", 0.9, used="08:45")

    assert found.reading.state == "outside_limit"
    assert "48.2" in found.reading.sentence_text or "48" in found.reading.sentence_text


def test_a_corrected_receipt_judges_the_age_again_and_both_results_stay(door: Dairy) -> None:
    with door.at(1):
        load, lot = door.load(received_at=hours(0)), door.lot()
        door.fill(lot, load)
        found = door.read(load, "OPRP5", 0.9, used="08:45")
        older = door.content(received_at=hours(0), milkings=[hours(-60)])
        done = correct_receipt(load=load, content=older, why="Two days in the farm tank", **door.about)

    assert found.reading.state == "within"
    assert causes(done.deviations) == ["event_corrected"]
    assert door.held() == {"TF-1"}
