"""Release, dispatch and "it left anyway" from the lot's page."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from records.batches.models import Dispatch, Lot
from records.deviations.models import Deviation
from records.signoff.models import LotRelease
from tests.builders import HOLD_PARTS, a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import PASSWORD, Cast
from tests.records.inspection.browsing import address, as_person, field, words
from tests.remembering import told_again

pytestmark = pytest.mark.django_db
NOW = hours(30)


@pytest.fixture
def good(working: Cast) -> Lot:
    """A lot of which every critical check is shown, packed and weighed."""
    return told_again("a good lot", lambda: _good(working))


def _good(working: Cast) -> Lot:
    dairy = working.dairy
    with at(dairy, hours(1.7)):
        lot = a_lot(working, started=hours(1.3))
        a_reading(working, lot_slot(lot, "CCP1"), hours(1.65), **HOLD_PARTS)
        an_event(working, lot, "starter_added", hours(1.7))
    with at(dairy, hours(25.5)):
        a_reading(working, lot_slot(lot, "CCP2"), hours(25.5), ph="4.5")
    with at(dairy, NOW):
        an_event(working, lot, "packed", NOW)
    return lot


def post(client: Client, cast: Cast, name: str, lot: Lot, **typed: str) -> Any:
    with at(cast.dairy, NOW):
        return client.post(address(name, lot.pk), typed)


def release(cast: Cast, lot: Lot, **changes: str) -> Any:
    typed = {"uuid": str(uuid4()), "pieces": "200", "mass": "24", "note": "", "password": PASSWORD, **changes}
    return post(as_person(cast.owner), cast, "lot_release", lot, **typed)


def dispatch(cast: Cast, lot: Lot, name: str = "lot_dispatch", **changes: str) -> Any:
    typed = {
        "uuid": str(uuid4()),
        "customer": "Corner shop",
        "pieces": "100",
        "mass": "12",
        "on_date": "2026-05-15",
        "on_time": "14:00",
        "note": "",
        **changes,
    }
    return post(as_person(cast.maker), cast, name, lot, **typed)


def test_the_form_offers_all_that_can_be_released(working: Cast, good: Lot) -> None:
    with at(working.dairy, NOW):
        page = as_person(working.owner).get(address("lot", good.pk))
    assert (field(page, "pieces"), field(page, "mass")) == ("280", "33.6")


def test_a_release_is_signed(working: Cast, good: Lot) -> None:
    assert release(working, good).status_code == 302
    row = LotRelease.objects.of(working.dairy).get()
    assert (row.pieces, row.signed_name, row.author) == (200, "Owner Person", working.owner)


@pytest.mark.parametrize(
    ("changes", "status", "message"),
    [
        ({"password": "wrong"}, 422, "The password does not match. Nothing was signed."),
        ({"pieces": "281"}, 422, "At most 280 pieces"),
        ({"pieces": ""}, 422, "Nothing was typed."),
        ({"pieces": "2,5"}, 422, "Only whole numbers here"),
        ({"mass": "40"}, 422, "At most 280 pieces and 33.6 kg"),
        ({"note": "n" * 1001}, 422, "at most 1000"),
    ],
)
def test_a_refused_release_signs_nothing_and_keeps_what_was_typed(
    working: Cast, good: Lot, changes: dict[str, str], status: int, message: str
) -> None:
    response = release(working, good, **{"note": "first half", **changes})
    assert response.status_code == status
    assert message in words(response)
    assert field(response, "pieces") == changes.get("pieces", "200")
    assert field(response, "note") == changes.get("note", "first half")
    assert field(response, "password") == ""
    assert LotRelease.objects.of(working.dairy).count() == 0


def test_a_lot_with_a_check_not_shown_is_not_released(working: Cast) -> None:
    with at(working.dairy, NOW):
        lot = a_lot(working, started=NOW)
    response = release(working, lot)
    assert response.status_code == 409
    assert "CCP1 Heat treatment is not shown" in words(response)


def test_only_whom_the_plan_names_may_release(working: Cast, good: Lot) -> None:
    typed = {"uuid": str(uuid4()), "pieces": "1", "mass": "", "note": "", "password": PASSWORD}
    answers = {
        who: post(as_person(getattr(working, who)), working, "lot_release", good, **typed).status_code
        for who in ("maker", "reviewer", "inspector", "stranger", "owner")
    }
    assert answers == {"maker": 403, "reviewer": 403, "inspector": 403, "stranger": 404, "owner": 302}


def test_what_is_not_released_may_not_leave(working: Cast, good: Lot) -> None:
    response = dispatch(working, good)
    assert response.status_code == 409
    assert "it is not released" in words(response)
    assert Dispatch.objects.of(working.dairy).count() == 0


def test_what_is_released_may_leave(working: Cast, good: Lot) -> None:
    release(working, good)
    assert dispatch(working, good).status_code == 302
    row = Dispatch.objects.of(working.dairy).get()
    assert (row.pieces, row.customer, row.left_at) == (100, "Corner shop", NOW)


def test_a_dispatch_sent_twice_is_recorded_once(working: Cast, good: Lot) -> None:
    release(working, good)
    same = str(uuid4())
    assert [dispatch(working, good, uuid=same).status_code for _ in range(2)] == [302, 302]
    assert Dispatch.objects.of(working.dairy).count() == 1


def test_a_second_dispatch_of_the_same_amount_is_another_one(working: Cast, good: Lot) -> None:
    release(working, good)
    assert [dispatch(working, good).status_code for _ in range(2)] == [302, 302]
    assert Dispatch.objects.of(working.dairy).count() == 2


def test_a_release_sent_twice_is_signed_once(working: Cast, good: Lot) -> None:
    same = str(uuid4())
    answers = [release(working, good, pieces="10", mass="1", uuid=same).status_code for _ in range(2)]
    assert answers == [302, 302]
    assert LotRelease.objects.of(working.dairy).count() == 1


def test_a_form_without_its_number_is_refused(working: Cast, good: Lot) -> None:
    refused = release(working, good, uuid="")
    assert refused.status_code == 422
    assert "This form is not complete. Load the page again." in words(refused)


def test_the_claim_kept_with_a_release_holds_what_was_typed_and_no_password(working: Cast, good: Lot) -> None:
    release(working, good, mass="24,0")
    row = LotRelease.objects.of(working.dairy).get()
    assert row.claim is not None
    assert row.claim["content"]["mass"] == "24,0"
    assert PASSWORD not in str(row.claim_text)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"customer": " "}, "Say to whom it goes."),
        ({"pieces": "201"}, "At most 200 pieces"),
        ({"on_time": "16:00"}, "still to come"),
        ({"on_date": "2026-05-12"}, "Give the reason for the late entry"),
        ({"on_date": "2026-05-14", "on_time": "13:00"}, "Give a reason"),
    ],
)
def test_a_refused_dispatch_keeps_what_was_typed(
    working: Cast, good: Lot, changes: dict[str, str], message: str
) -> None:
    release(working, good)
    response = dispatch(working, good, **changes)
    assert response.status_code == 422
    assert message in words(response)
    wanted = {"customer": "Corner shop", "pieces": "100", "on_time": "14:00", **changes}
    assert field(response, "customer") == wanted["customer"].strip() or wanted["customer"]
    assert field(response, "pieces") == wanted["pieces"]
    assert field(response, "on_time") == wanted["on_time"]
    assert Dispatch.objects.of(working.dairy).count() == 0


def test_a_choice_offered_for_an_ambiguous_number_is_taken(working: Cast, good: Lot) -> None:
    release(working, good)
    asked = dispatch(working, good, mass="26.46 lb")
    assert "Did you mean" in words(asked)
    assert dispatch(working, good, mass="26.46 lb", mass_offer="0").status_code == 302
    # One pound is 0.45359237 kg exactly (NIST Handbook 44, appendix C): 26.46 lb are 12.002 kg.
    assert Dispatch.objects.of(working.dairy).get().mass_text == "12.002"


def test_goods_that_left_anyway_open_a_deviation_that_asks_for_a_recall(working: Cast) -> None:
    with at(working.dairy, NOW):
        lot = a_lot(working, started=NOW)
    response = dispatch(working, lot, name="lot_left_on_hold")
    assert response.status_code == 302
    opened = Deviation.objects.of(working.dairy).get(cause="left_on_hold")
    assert "100 pieces left while on hold, to Corner shop" in opened.description
    with at(working.dairy, NOW):
        page = words(as_person(working.reviewer).get(address("lot", lot.pk)))
    assert "Left while on hold" in page


def test_sent_twice_it_left_once(working: Cast) -> None:
    with at(working.dairy, NOW):
        lot = a_lot(working, started=NOW)
    same = str(uuid4())
    answers = [dispatch(working, lot, name="lot_left_on_hold", uuid=same).status_code for _ in range(2)]
    assert answers == [302, 302]
    assert Deviation.objects.of(working.dairy).filter(cause="left_on_hold").count() == 1


@pytest.mark.parametrize("name", ["lot_dispatch", "lot_left_on_hold"])
def test_reviewers_and_inspectors_send_nothing_away(working: Cast, good: Lot, name: str) -> None:
    release(working, good)
    typed = {
        "uuid": str(uuid4()),
        "customer": "X",
        "pieces": "1",
        "on_date": "2026-05-15",
        "on_time": "14:00",
    }
    answers = {
        who: post(as_person(getattr(working, who)), working, name, good, **typed).status_code
        for who in ("reviewer", "inspector", "stranger", "maker")
    }
    assert answers == {"reviewer": 403, "inspector": 403, "stranger": 404, "maker": 302}
