"""The page of a make at the vat: what comes next, timers, checks, the curve, its forecast, the last make."""

import json
import re
from datetime import timedelta
from http import HTTPStatus
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from records.batches.acid import advice, forecasts, last_good_curve, own_curve
from records.batches.models import Lot, LotEventVoided
from records.batches.queries import effective_events, version_of
from records.checks.due import lot_states
from records.deviations.queries import open_deviations
from records.signoff.release import dispatch_lot, release_lot
from safetyplan.integrity import canonical, clock
from tests.builders import (
    HOLD_PARTS,
    PLAN_FILE,
    T0,
    a_device,
    a_link,
    a_lot,
    a_reading,
    an_event,
    at,
    hours,
    lot_slot,
    plan_in_force,
)
from tests.cast import Cast
from tests.records.checks.sending import send, told
from tests.records.deviations.stage import slow_vat
from tests.web import signed_in, text_of


def page(cast: Cast, lot: Lot, person: Any = None) -> str:
    """Give the page of a make as text."""
    return text_of(signed_in(person or cast.maker).get(reverse("lot_make", args=[cast.dairy.slug, lot.pk])))


def washed_curd() -> dict[str, Any]:
    """Give a plan whose product is stirred and turned several times, with timers between its events."""
    plan: dict[str, Any] = json.loads(PLAN_FILE.read_text())
    plan["title"] = "Plan with a make that repeats"
    product = plan["products"][0]
    starter, rennet = product["events"][:2]
    rennet |= {"after_event": "starter_added", "after_minutes": 45}
    plain = {"quantity": "", "unit": "", "required": "no"}
    cut = {
        "code": "cut",
        "name": "Cut",
        "expected_within_hours": 12,
        "after_event": "rennet_added",
        "after_minutes": 40,
        "details": [
            {**plain, "name": "size", "label": "Size", "entry": "choice", "options": ["hazelnut", "rice"]}
        ],
    }
    stirred = {
        "code": "stirred",
        "name": "Stirred",
        "expected_within_hours": 12,
        "repeats": True,
        "every_minutes": 15,
        "details": [],
    }
    product["events"] = [starter, rennet, cut, stirred, *product["events"][2:]]
    return plan


@pytest.fixture
def washing(cast: Cast) -> Cast:
    """Open the dairy with the plan of the make that repeats."""
    with at(cast.dairy, T0.replace(day=13)):
        plan_in_force(cast, washed_curd())
    return cast


def in_the_vat(cast: Cast) -> Lot:
    """Start a lot, add the starter at two hours and the rennet 50 minutes later."""
    with at(cast.dairy, hours(2)):
        lot = a_lot(cast, started=hours(1.9))
        an_event(cast, lot, "starter_added", hours(2))
    with at(cast.dairy, hours(2) + timedelta(minutes=50)):
        an_event(cast, lot, "rennet_added", hours(2) + timedelta(minutes=50), rennet="R 12")
    return lot


def test_the_page_offers_what_comes_next_and_a_timer_from_what_was_recorded(washing: Cast) -> None:
    lot = in_the_vat(washing)
    with at(washing.dairy, hours(3)):
        shown = page(washing, lot)

    usual = canonical.instant(hours(2) + timedelta(minutes=90))
    assert f'data-until="{usual}"' in shown
    assert re.search(r'class="button primary make-button"[^>]*data-tap="cut"', shown)
    assert f'data-since="{canonical.instant(hours(2))}"' in shown
    assert f'data-now="{canonical.instant(hours(3))}"' in shown


def test_what_must_be_asked_is_not_recorded_by_a_tap(washing: Cast) -> None:
    with at(washing.dairy, hours(2)):
        lot = a_lot(washing, started=hours(1.9))
        shown = page(washing, lot)

    assert "Starter added" in shown
    assert 'data-tap="starter_added"' not in shown


def test_what_repeats_may_be_tapped_again_with_its_count_and_next_time(washing: Cast) -> None:
    lot = in_the_vat(washing)
    with at(washing.dairy, hours(3.5)):
        an_event(washing, lot, "stirred", hours(3.4))
        an_event(washing, lot, "stirred", hours(3.5))
        shown = page(washing, lot)

    assert f'data-until="{canonical.instant(hours(3.75))}"' in shown
    assert "recorded 2 times" in shown


def test_a_tap_and_its_undo_are_claims_of_the_person_and_stay_readable(washing: Cast, client: Client) -> None:
    lot = in_the_vat(washing)
    with at(washing.dairy, hours(3.5)):
        phone = a_device(washing.dairy, washing.maker)
        moment = canonical.instant(clock.now(washing.dairy))
        tap = {"lot": str(lot.pk), "event": "stirred", "observed_at": moment, "details": []}
        claim = phone.claim("lot_event", {**tap, "late_reason": "", "supersedes": None, "reason": ""})
        assert send(client, phone, claim).status_code == HTTPStatus.CREATED
        undo = phone.claim(
            "lot_event_void",
            {"event": claim["uuid"], "reason": "Undone right after the tap", "observed_at": moment},
        )

        first, again = send(client, phone, undo), send(client, phone, undo)

        assert (first.status_code, again.status_code) == (HTTPStatus.CREATED, HTTPStatus.OK)
        void = LotEventVoided.objects.of(washing.dairy).get()
        assert (str(void.event_id), void.author) == (claim["uuid"], washing.maker)
        assert "stirred" not in {e.event for e in effective_events(washing.dairy, [lot.pk])}
        assert "VOID since" in page(washing, lot)


@pytest.mark.parametrize("event", ["not a uuid", "00000000-0000-4000-8000-000000000000", None, 5])
def test_an_undo_of_nothing_is_refused_in_words(washing: Cast, client: Client, event: Any) -> None:
    with at(washing.dairy, hours(3.5)):
        phone = a_device(washing.dairy, washing.maker)
        moment = canonical.instant(clock.now(washing.dairy))
        undo = phone.claim("lot_event_void", {"event": event, "reason": "Undone", "observed_at": moment})

        answer = send(client, phone, undo)

    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert told(answer)["message"]
    assert not LotEventVoided.objects.of(washing.dairy).exists()


def test_a_check_due_after_midnight_shows_on_the_page_of_the_evening_before(working: Cast) -> None:
    with at(working.dairy, hours(13)):
        lot = a_lot(working, started=hours(12.9))
        an_event(working, lot, "starter_added", hours(13))
        shown = page(working, lot)

    assert f'data-until="{canonical.instant(hours(13 + 24))}"' in shown
    assert f'data-until="{canonical.instant(hours(13 + 16))}"' in shown


def test_the_inspector_reads_the_page_and_is_offered_nothing_to_record(working: Cast) -> None:
    lot = in_the_vat(working)
    with at(working.dairy, hours(3)):
        shown = page(working, lot, working.inspector)

    assert "data-tap" not in shown
    assert "What comes next" not in shown
    assert "Starter added" in shown


def test_what_is_open_on_a_linked_lot_stands_on_the_page(working: Cast) -> None:
    with at(working.dairy, hours(1.5)):
        milk = a_lot(working, "TF-M", started=hours(1.4))
    stage = slow_vat(working)
    with at(working.dairy, hours(27)):
        a_link(working, milk, stage.lot, hours(27), "10", known=True)
        shown = page(working, milk)

    assert "Something of this lot is in lot TF-0514" in shown


# The curve -----------------------------------------------------------------------------------------


def measured(cast: Cast, lot: Lot, *values: tuple[float, str]) -> None:
    """Measure the pH of a lot at some hours after the test's morning."""
    for hour, ph in values:
        with at(cast.dairy, hours(hour)):
            a_reading(cast, lot_slot(lot, "CCP2", "extra"), hours(hour), ph=ph)


def test_the_forecast_is_a_hint_from_the_measured_values_and_never_a_pass(working: Cast) -> None:
    lot = in_the_vat(working)
    measured(working, lot, (8, "5.60"), (11, "5.30"), (14, "5.00"))

    curve = own_curve(working.dairy, lot, "starter_added")
    assert curve is not None
    plan = version_of(working.dairy, lot).plan()
    # by hand: 0.1 an hour; from 5.00 at 12 h after the starter 4.60 is reached at 16 h, 4.90 at 13 h
    acid, on_the_way = forecasts(plan, curve)
    assert "16" in acid.words
    assert "13" in on_the_way.words
    assert (acid.shown, acid.late) == (True, False)
    with at(working.dairy, hours(14.1)):
        shown = page(working, lot)
        states = lot_states(working.dairy, [lot], clock.now(working.dairy))[lot.pk]
    assert "Forecast, not a result:" in shown
    assert not any(s.shown for s in states if s.slot.control.code == "CCP2")
    assert "safe" not in shown.lower()


def test_a_slow_vat_is_told_what_the_plan_says_and_when_to_measure_again(working: Cast) -> None:
    stage = slow_vat(working)
    plan = version_of(working.dairy, stage.lot).plan()
    control = plan.control("CCP2")
    assert control is not None
    with at(working.dairy, hours(26.1)):
        states = lot_states(working.dairy, [stage.lot], clock.now(working.dairy))[stage.lot.pk]
        curve = own_curve(working.dairy, stage.lot, "starter_added")
        assert curve is not None
        found = advice(plan, curve, states)
        shown = page(working, stage.lot)

    assert found is not None
    assert found.actions == tuple(text for _code, text in control.corrective_actions)
    assert found.next_at == hours(26) + timedelta(minutes=control.measure_next_minutes)
    assert found.actions[0] in shown


def test_after_a_good_value_the_next_check_of_the_curve_is_told(working: Cast) -> None:
    lot = in_the_vat(working)
    with at(working.dairy, hours(17)):
        a_reading(working, lot_slot(lot, "OPRP1"), hours(17), ph="4.80")
        states = lot_states(working.dairy, [lot], clock.now(working.dairy))[lot.pk]
        curve = own_curve(working.dairy, lot, "starter_added")
        assert curve is not None
        found = advice(version_of(working.dairy, lot).plan(), curve, states)

    assert found is not None
    assert (found.actions, found.next_at) == ((), hours(26))


def test_a_value_of_the_curve_can_be_recorded_before_its_check_opens(working: Cast) -> None:
    with at(working.dairy, hours(0.4)):
        lot = a_lot(working)
        an_event(working, lot, "starter_added", hours(0.2))
        shown = page(working, lot)
    assert f"/near/checks/{lot_slot(lot, 'CCP2', 'extra')}/" in shown
    assert f"/near/checks/{lot_slot(lot, 'CCP2')}/" not in shown


def gone(cast: Cast, code: str) -> Lot:
    """Make a lot that went as planned and has wholly left."""
    with at(cast.dairy, hours(0.1)):
        lot = a_lot(cast, code)
    with at(cast.dairy, hours(2)):
        a_reading(cast, lot_slot(lot, "CCP1"), hours(1.6), **HOLD_PARTS)
        an_event(cast, lot, "starter_added", hours(2))
    measured(cast, lot, (12, "5.2"))
    with at(cast.dairy, hours(26)):
        a_reading(cast, lot_slot(lot, "CCP2"), hours(26), ph="4.5")
    with at(cast.dairy, hours(27)):
        an_event(cast, lot, "packed", hours(27), pieces="100", mass="12")
        amounts = {"establishment": cast.dairy, "lot": lot, "pieces": "100", "mass_typed": "12"}
        release_lot(proof=cast.proof(cast.owner), **amounts)
        dispatch_lot(by=cast.maker, customer="Corner shop", **amounts)
    return lot


def test_the_last_make_beside_this_one_is_one_that_left_without_a_deviation(working: Cast) -> None:
    good = gone(working, "TF-1")
    stage = slow_vat(working, "TF-2")
    with at(working.dairy, hours(30)):
        lot = a_lot(working, "TF-3", started=hours(29.9))
        an_event(working, lot, "starter_added", hours(30))
        found = last_good_curve(working.dairy, lot, "starter_added")
        shown = page(working, lot)

    assert found is not None
    assert found.lot == good
    assert open_deviations(working.dairy).filter(lot=stage.lot).exists()
    assert "Crosses: lot TF-1" in shown
    assert "5.2" in shown


def test_a_make_without_an_earlier_one_says_so(working: Cast) -> None:
    lot = in_the_vat(working)
    with at(working.dairy, hours(3)):
        assert last_good_curve(working.dairy, lot, "starter_added") is None
        assert "There is no earlier lot of this product" in page(working, lot)
