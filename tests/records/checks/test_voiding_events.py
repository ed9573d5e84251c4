"""Voiding an event: it stays readable, nothing counts from it, and it never launders what hung on it."""

from http import HTTPStatus

import pytest
from django.urls import reverse

from records.batches.models import LotEvent, LotEventVoided
from records.batches.queries import effective_events, first_times
from records.batches.services import EventContent
from records.checks.due import Status, lot_states
from records.checks.models import Rejudged
from records.checks.services import correct_event
from records.checks.voiding import void_event
from records.deviations.queries import open_deviations
from records.signoff.queries import day_sheet
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.form_claims import new_uuid
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from safetyplan.integrity.verification import verify
from tests.builders import T0, a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import Cast
from tests.web import entries, signed_in, text_of


def void(cast: Cast, event: LotEvent, why: str = "Told of the wrong lot") -> LotEventVoided:
    """Void an event as the maker."""
    row, _opened = void_event(establishment=cast.dairy, by=cast.maker, original=event, why=why)
    return row


def test_a_void_event_stays_readable_and_nothing_counts_from_it(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        lot = a_lot(working, started=hours(1.9))
        event = an_event(working, lot, "starter_added", hours(2))
        void(working, event)
        states = lot_states(working.dairy, [lot], clock.now(working.dairy))[lot.pk]

    assert LotEvent.objects.of(working.dairy).filter(pk=event.pk).exists()
    assert first_times(effective_events(working.dairy, [lot.pk])) == {}
    assert {s.status for s in states if s.slot.control.code == "CCP2"} == {Status.WAITING}
    assert verify(working.dairy) == []


def test_the_event_told_anew_is_the_one_that_counts_even_when_it_is_earlier(working: Cast) -> None:
    with at(working.dairy, hours(2.2)):
        lot = a_lot(working, started=hours(1.9))
        event = an_event(working, lot, "starter_added", hours(2.2))
        with pytest.raises(Refused, match="at a later time"):
            an_event(working, lot, "starter_added", hours(2))
        void(working, event)

        an_event(working, lot, "starter_added", hours(2))

    assert first_times(effective_events(working.dairy, [lot.pk])) == {"starter_added": hours(2)}


def test_a_reading_that_was_good_is_judged_again_when_its_event_is_void_and_a_deviation_opens(
    working: Cast,
) -> None:
    with at(working.dairy, hours(2)):
        lot = a_lot(working, started=hours(1.9))
        event = an_event(working, lot, "starter_added", hours(2))
    with at(working.dairy, hours(26)):
        a_reading(working, lot_slot(lot, "CCP2"), hours(26), ph="4.5")
        before = open_deviations(working.dairy).filter(control="CCP2").count()

        void(working, event)

    assert Rejudged.objects.of(working.dairy).filter(event=event).count() == 1
    assert open_deviations(working.dairy).filter(control="CCP2").count() == before + 1


def test_a_deviation_outlives_the_event_that_is_void(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        lot = a_lot(working, started=hours(1.9))
        event = an_event(working, lot, "starter_added", hours(2))
    with at(working.dairy, hours(26)):
        found = a_reading(working, lot_slot(lot, "CCP2"), hours(26), ph="4.71")
        assert found.deviation is not None

        void(working, event)

    assert open_deviations(working.dairy).filter(pk=found.deviation.pk).exists()


def test_what_is_void_or_corrected_is_not_voided_and_what_is_void_not_corrected(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        lot = a_lot(working, started=hours(1.9))
        event = an_event(working, lot, "rennet_added", hours(2), rennet="R 12")
        again = EventContent(
            event="rennet_added",
            observed_at=hours(1.95),
            details=({"name": "rennet", "raw": "R 12", "unit": "", "confirmed": False},),
            reason="Read from the wrong line",
        )
        about = {"establishment": working.dairy, "by": working.maker}
        newest, _opened = correct_event(original=event, content=again, **about)
        with pytest.raises(Refused, match="Void the newest entry"):
            void(working, event)
        void(working, newest)
        with pytest.raises(Refused, match="was voided"):
            void(working, newest)
        with pytest.raises(Refused, match="was voided"):
            correct_event(original=newest, content=again, **about)


def test_a_void_gives_its_reason_and_is_a_makers(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        event = an_event(working, a_lot(working, started=hours(1.9)), "drained", hours(2))
        with pytest.raises(BadInput) as refused:
            void(working, event, " ")
        assert refused.value.part == "reason"
        with pytest.raises(NotAllowed):
            void_event(establishment=working.dairy, by=working.reviewer, original=event, why="Not so")


def test_the_sheet_of_the_day_holds_the_void_so_that_a_signed_day_needs_signing_again(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        event = an_event(working, a_lot(working, started=hours(1.9)), "drained", hours(2))
        zone, now = ZoneTime(zone_of(working.dairy)), clock.now(working.dairy)
        before = day_sheet(working.dairy, T0.date(), zone, now).record_ids()

        row = void(working, event)

        assert set(day_sheet(working.dairy, T0.date(), zone, now).record_ids()) == {*before, str(row.pk)}


def test_the_page_voids_once_however_often_it_is_sent(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        event = an_event(working, a_lot(working, started=hours(1.9)), "drained", hours(2))
        address = reverse("event_void", args=[working.dairy.slug, event.pk])
        browser, form = signed_in(working.maker), {"uuid": new_uuid(), "reason": "Told of the wrong lot"}
        asked = text_of(browser.get(address))
        refused = browser.post(address, {**form, "reason": ""})
        stored = entries(working.dairy)

        first, second = browser.post(address, form), browser.post(address, form)
        page = text_of(browser.get(reverse("lot", args=[working.dairy.slug, event.lot_id])))

    assert "Void this event" in asked
    assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert (first.status_code, second.status_code) == (HTTPStatus.FOUND, HTTPStatus.FOUND)
    assert entries(working.dairy) == stored + 1
    assert "VOID since" in page
