"""A series of points, and a required photo: what the plan says of how a check is made."""

import json
import re
from collections.abc import Iterator
from datetime import timedelta
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest

from records.checks import explain_views
from records.checks.corrections import make_correction, open_readings
from records.checks.models import CheckExplained, Reading
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.verification import verify
from tests.builders import PLAN_FILE, T0, Device, a_device, a_reading, at, day_slot, hours, plan_in_force
from tests.cast import Cast
from tests.records.checks.sending import send, told
from tests.web import signed_in, text_of

POINTS = [f"Shelf {number}" for number in range(1, 13)]


def plan(**changes: dict[str, Any]) -> dict[str, Any]:
    """Give the demonstration's plan with more said of some of its controls."""
    document: dict[str, Any] = json.loads(PLAN_FILE.read_text())
    for control in document["controls"]:
        control.update(changes.get(control["code"], {}))
    return document


@pytest.fixture
def staged(cast: Cast) -> Iterator[Cast]:
    """A dairy whose cold store has twelve points and whose label wants a photo."""
    document = plan(
        PRP1={"points": POINTS},
        PRP2={"photo": "required"},
        PRP3={"photo": "asked"},
    )
    with at(cast.dairy, T0 - timedelta(days=1)):
        plan_in_force(cast, document)
    with at(cast.dairy, hours(0.5)):
        yield cast


def series(cast: Cast, ordinal: int = 0) -> Any:
    """Open the series of the morning."""
    return signed_in(cast.maker).get(f"/near/series/{day_slot(T0, 'PRP1', ordinal)}/")


def test_the_series_names_each_point_with_its_own_check(staged: Cast) -> None:
    block = series(staged).context["capture_data"]
    assert [row["point"] for row in block["series"]] == POINTS
    assert [row["slot"] for row in block["series"]] == [day_slot(T0, "PRP1", n) for n in range(12)]
    assert {row["state"] for row in block["series"]} == {None}
    assert block["slot"] == day_slot(T0, "PRP1", 0)


def test_a_point_that_is_recorded_is_not_asked_again(staged: Cast) -> None:
    a_reading(staged, day_slot(T0, "PRP1", 0), hours(0.4), temperature="3.5")
    a_reading(staged, day_slot(T0, "PRP1", 2), hours(0.4), temperature="6.5")
    block = series(staged).context["capture_data"]
    assert [row["state"] for row in block["series"]][:4] == ["within", None, "outside_limit", None]
    assert block["slot"] == day_slot(T0, "PRP1", 1)


def test_a_series_without_a_point_left_leads_back_to_what_is_due(staged: Cast) -> None:
    for number in range(12):
        a_reading(staged, day_slot(T0, "PRP1", number), hours(0.4), temperature="3.5")
    answer = series(staged)
    assert (answer.status_code, answer["Location"]) == (HTTPStatus.FOUND, "/near/today/")


def test_today_shows_each_series_as_one_line_and_a_single_point_by_its_name(staged: Cast) -> None:
    text = text_of(signed_in(staged.maker).get("/near/today/"))
    before, missed = text.split('id="missed-heading"')
    still = before + missed.split("</section>", 1)[1]
    assert still.count("PRP1 Cold store: 12 points") == 2  # the round of the morning, and that of the evening
    assert f"/near/series/{day_slot(T0, 'PRP1', 0)}/" in text
    for number in range(11):
        a_reading(staged, day_slot(T0, "PRP1", number), hours(0.4), temperature="3.5")
    text = text_of(signed_in(staged.maker).get("/near/today/"))
    assert "PRP1 Cold store: Shelf 12" in text


def test_a_check_of_one_point_leads_to_its_own_page(staged: Cast) -> None:
    slot = day_slot(T0, "PRP3", "extra")
    answer = signed_in(staged.maker).get(f"/near/series/{slot}/")
    assert (answer.status_code, answer["Location"]) == (HTTPStatus.FOUND, f"/near/checks/{slot}/")


def test_the_page_of_one_point_names_it(staged: Cast) -> None:
    text = text_of(signed_in(staged.maker).get(f"/near/checks/{day_slot(T0, 'PRP1', 4)}/"))
    assert "PRP1 Cold store: Shelf 5" in text


# Not made ---------------------------------------------------------------------------------------------

REASON = "Nobody was in the cold store"
TICKED = r'<input type="checkbox" name="every"[^>]* checked'


def explain(cast: Cast, number: int, why: str = REASON, **more: str) -> Any:
    """Say in the evening why a point of the morning was not measured."""
    typed = {"reason": why, "uuid": str(uuid4()), **more}
    with at(cast.dairy, hours(10)):
        return signed_in(cast.maker).post(f"/near/checks/{day_slot(T0, 'PRP1', number)}/explain/", typed)


def explained(cast: Cast) -> list[str]:
    """Give the checks that were explained, in the order of the ledger."""
    rows = CheckExplained.objects.of(cast.dairy).order_by("entry__sequence")
    return list(rows.values_list("slot", flat=True))


def test_today_shows_the_points_that_were_missed_as_one_line_and_counts_each(staged: Cast) -> None:
    with at(staged.dairy, hours(10)):
        text = text_of(signed_in(staged.maker).get("/near/today/"))
    missed = text.split('id="missed-heading">')[1].split("</section>")[0]
    assert missed.startswith("Missed: 24 checks")  # of the evening before, and of the morning
    assert missed.count("<strong>PRP1 Cold store: 12 points</strong>") == 2
    assert f'href="/near/checks/{day_slot(T0, "PRP1", 0)}/explain/?every=1"' in missed


def test_one_reason_stands_for_every_point_that_is_not_recorded(staged: Cast) -> None:
    a_reading(staged, day_slot(T0, "PRP1", 2), hours(0.4), temperature="3.5")
    answer = explain(staged, 4, every="on")
    assert answer.status_code == HTTPStatus.FOUND
    others = [day_slot(T0, "PRP1", number) for number in range(12) if number not in (2, 4)]
    assert explained(staged) == [day_slot(T0, "PRP1", 4), *others]
    assert verify(staged.dairy) == []


def test_a_reason_sent_twice_at_once_is_stored_once_and_nobody_is_refused(
    staged: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    uuid = str(uuid4())
    explain(staged, 4, every="on", uuid=uuid)
    monkeypatch.setattr(explain_views, "_explained", lambda *_about: None)  # the twin had not seen it
    again = explain(staged, 4, every="on", uuid=uuid)
    other = explain(staged, 4, every="on")
    assert (again.status_code, other.status_code) == (HTTPStatus.FOUND, HTTPStatus.CONFLICT)
    assert len(explained(staged)) == 12


def test_without_the_tick_the_reason_stands_for_one_point(staged: Cast) -> None:
    explain(staged, 4)
    assert explained(staged) == [day_slot(T0, "PRP1", 4)]


def test_a_reason_that_says_nothing_stores_none_and_the_tick_stays(staged: Cast) -> None:
    answer = explain(staged, 4, "no", every="on")
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert explained(staged) == []
    assert re.search(TICKED, text_of(answer))


def test_the_tick_is_offered_where_several_points_wait_and_set_where_one_came_for_all(staged: Cast) -> None:
    browser, address = signed_in(staged.maker), f"/near/checks/{day_slot(T0, 'PRP1', 0)}/explain/"
    with at(staged.dairy, hours(10)):
        one, every = browser.get(address), browser.get(f"{address}?every=1")
        single = browser.get(f"/near/checks/{day_slot(T0, 'PRP3')}/explain/")
    assert "Not made: Cold store: Shelf 1<" in text_of(one)
    assert "The same for all 12 points of this time" in text_of(one)
    assert [bool(re.search(TICKED, text_of(page))) for page in (one, every)] == [False, True]
    assert 'name="every"' not in text_of(single)


# Measured again ---------------------------------------------------------------------------------------


def too_warm(cast: Cast, number: int) -> Reading:
    """Record a point of the cold store that is outside its limit, and what was done about it."""
    reading = a_reading(cast, day_slot(T0, "PRP1", number), hours(0.2), temperature="9.5").reading
    make_correction(
        establishment=cast.dairy, by=cast.maker, reading=reading, text="Door closed", done_at=hours(0.3)
    )
    return reading


def test_a_point_measured_again_puts_that_point_right_and_no_other(staged: Cast) -> None:
    first, second = too_warm(staged, 2), too_warm(staged, 4)
    page = signed_in(staged.maker).get(f"/near/readings/{first.pk}/correction/")
    before = text_of(signed_in(staged.maker).get("/near/today/"))

    a_reading(staged, day_slot(T0, "PRP1", "extra-2"), hours(0.45), temperature="3.5")

    assert page.context["again"] == day_slot(T0, "PRP1", "extra-2")
    assert "PRP1 Cold store: Shelf 3" in text_of(page)
    assert all(f"<bdi>{point}</bdi>" in before for point in ("Shelf 3", "Shelf 5"))
    assert [reading.pk for reading in open_readings(staged.dairy)] == [second.pk]
    assert verify(staged.dairy) == []


def test_a_reading_that_names_no_point_puts_none_right(staged: Cast) -> None:
    bad = too_warm(staged, 2)
    a_reading(staged, day_slot(T0, "PRP1", "extra"), hours(0.45), temperature="3.5")
    assert [reading.pk for reading in open_readings(staged.dairy)] == [bad.pk]


def test_the_page_and_the_record_of_a_further_reading_name_its_point(staged: Cast) -> None:
    browser, slot = signed_in(staged.maker), day_slot(T0, "PRP1", "extra-4")
    a_reading(staged, slot, hours(0.45), temperature="3.5")
    assert "PRP1 Cold store: Shelf 5" in text_of(browser.get(f"/near/checks/{slot}/"))
    assert "Shelf 5" in text_of(browser.get(f"/near/days/{T0.date()}/")).split("Readings", 1)[1]


def test_a_point_that_the_plan_does_not_have_is_no_check(staged: Cast) -> None:
    browser = signed_in(staged.maker)
    assert browser.get(f"/near/checks/{day_slot(T0, 'PRP1', 'extra-11')}/").status_code == HTTPStatus.OK
    assert (
        browser.get(f"/near/checks/{day_slot(T0, 'PRP1', 'extra-12')}/").status_code == HTTPStatus.NOT_FOUND
    )
    with pytest.raises(BadInput):
        a_reading(staged, day_slot(T0, "PRP3", "extra-0"), hours(0.4), strength="150")


# What the plan does not take --------------------------------------------------------------------------


def label(phone: Device, *photos: str) -> dict[str, Any]:
    """Make the claim of the sanitiser's strength or of any check with photos."""
    claim = phone.reading(day_slot(T0, "PRP3", "extra"), hours(0.4), strength="150")
    claim["content"]["photos"] = list(photos)
    return claim


def test_a_photo_that_is_only_asked_for_may_be_left_out(staged: Cast, client: Any) -> None:
    phone = a_device(staged.dairy, staged.maker)
    assert send(client, phone, label(phone)).status_code == HTTPStatus.CREATED


def test_a_required_photo_must_be_named_by_the_claim(cast: Cast, client: Any) -> None:
    with at(cast.dairy, T0 - timedelta(days=1)):
        plan_in_force(cast, plan(PRP3={"photo": "required"}))
    with at(cast.dairy, hours(0.5)):
        phone = a_device(cast.dairy, cast.maker)
        refused = send(client, phone, label(phone))
        assert (refused.status_code, told(refused)["part"]) == (HTTPStatus.UNPROCESSABLE_ENTITY, "photos")
        assert send(client, phone, label(phone, "a" * 64)).status_code == HTTPStatus.CREATED
