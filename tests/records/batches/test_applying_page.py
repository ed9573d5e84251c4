"""The page that applies the plan version in force to open lots."""

import re
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.batches.models import Lot, PlanApplied
from records.batches.queries import version_of
from records.deviations.queries import deviations
from safetyplan.establishments.models import Person
from tests.builders import a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import PASSWORD, Cast
from tests.records.batches.revised import a_souring_lot, revise
from tests.web import entries, signed_in, text_of

pytestmark = pytest.mark.django_db
WHY = "The old acid limit proved too high"


def address(cast: Cast) -> str:
    """Give the address of the page."""
    return reverse("plan_apply", args=[cast.dairy.slug])


def get(cast: Cast, who: Person | None = None) -> HttpResponse:
    """Open the page."""
    with at(cast.dairy, hours(27)):
        return signed_in(who or cast.owner).get(address(cast))


def words(response: HttpResponse) -> str:
    """Give the words of a page in one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", text_of(response)).split())


def post(cast: Cast, *chosen: Any, who: Person | None = None, **typed: str) -> HttpResponse:
    """Send the form."""
    form = {"version": "2", "reason": WHY, "password": PASSWORD, "uuid": str(uuid4()), **typed}
    with at(cast.dairy, hours(27)):
        return signed_in(who or cast.owner).post(
            address(cast), {**form, "lots": [str(getattr(one, "pk", one)) for one in chosen]}
        )


def followed(cast: Cast, lot: Lot) -> int:
    """Give the number of the version a lot follows."""
    return version_of(cast.dairy, lot).number


def test_the_page_tells_what_changes_for_each_lot_and_which_deviations_open(working: Cast) -> None:
    a_souring_lot(working)
    revise(working)

    page = words(get(working))

    assert "Control CCP2 (Acid at 24 hours): the critical limit was “pH at most 4.60" in page
    assert "becomes “pH at most 4.50" in page
    assert "This opens a deviation: CCP2 Acid at 24 hours, read 2026-05-15" in page
    assert "follows version 1" in page


def test_looking_records_nothing(working: Cast) -> None:
    a_souring_lot(working)
    revise(working)
    before = entries(working.dairy)

    get(working)

    assert entries(working.dairy) == before


def test_signed_for_one_lot_the_other_keeps_its_version(working: Cast) -> None:
    chosen, other = (a_souring_lot(working, f"TF-{n}") for n in (1, 2))
    revise(working)

    response = post(working, chosen)

    assert response.status_code == 302
    assert (followed(working, chosen), followed(working, other)) == (2, 1)


def test_signed_for_all_every_open_lot_follows(working: Cast) -> None:
    lots = [a_souring_lot(working, f"TF-{n}") for n in (1, 2, 3)]
    revise(working)

    post(working, "all")

    assert [followed(working, lot) for lot in lots] == [2, 2, 2]
    assert deviations(working.dairy).filter(cause="outside_limit").count() == 3


def test_the_same_form_sent_twice_signs_once(working: Cast) -> None:
    lot = a_souring_lot(working)
    revise(working)
    uuid = str(uuid4())

    assert [post(working, lot, uuid=uuid).status_code for _again in range(2)] == [302, 302]
    assert PlanApplied.objects.of(working.dairy).count() == 1


@pytest.mark.parametrize(
    ("typed", "said", "status"),
    [
        ({"password": "wrong"}, "The password does not match", 422),
        ({"reason": ""}, "Give a reason", 422),
        ({"version": "1"}, "Only the plan version in force", 409),
        ({"version": "x"}, "not complete", 422),
    ],
)
def test_a_refused_form_keeps_what_was_typed_and_ticked(
    working: Cast, typed: dict[str, str], said: str, status: int
) -> None:
    lot = a_souring_lot(working)
    revise(working)

    response = post(working, lot, **typed)

    page = text_of(response)
    assert response.status_code == status
    assert said in page
    assert f'value="{lot.pk}" checked' in page
    assert typed.get("reason", WHY) in page
    assert not PlanApplied.objects.of(working.dairy).exists()


@pytest.mark.parametrize("chosen", [[], ["nonsense"], [str(uuid4())]])
def test_lots_that_are_not_on_the_list_are_refused_at_the_list(working: Cast, chosen: list[str]) -> None:
    a_souring_lot(working)
    revise(working)

    response = post(working, *chosen)

    assert response.status_code == 422
    assert 'id="lots_error"' in text_of(response)


@pytest.mark.parametrize("who", ["maker", "reviewer", "inspector"])
def test_only_the_responsible_person_sees_and_signs_it(working: Cast, who: str) -> None:
    lot = a_souring_lot(working)
    revise(working)
    person = getattr(working, who)

    assert get(working, person).status_code == 403
    assert post(working, lot, who=person).status_code == 403
    assert get(working).status_code == 200


def test_a_stranger_finds_no_page(working: Cast) -> None:
    assert get(working, working.stranger).status_code == 404


def test_the_lot_page_says_which_version_holds_from_when_and_links_to_the_newer_one(working: Cast) -> None:
    lot = a_souring_lot(working)
    revise(working)
    with at(working.dairy, hours(27)):
        client = signed_in(working.owner)
        before = words(client.get(reverse("lot", args=["near", lot.pk])))
        as_maker = text_of(signed_in(working.maker).get(reverse("lot", args=["near", lot.pk])))
    post(working, lot)
    with at(working.dairy, hours(28)):
        after = words(client.get(reverse("lot", args=["near", lot.pk])))

    assert "Version 1 from the start of the lot, 2026-05-14 10:00" in before
    assert "Version 2 is in force. This lot keeps the one it follows" in before
    assert address(working) not in as_maker
    assert f"Version 2 since 2026-05-15 11:00, applied by Owner Person: {WHY}" in after
    assert "Version 2 is in force. This lot keeps" not in after


def test_the_page_needs_the_same_queries_for_one_lot_and_for_many(working: Cast) -> None:
    a_souring_lot(working, "TF-0")
    revise(working, hour=30)
    client = signed_in(working.owner)

    def count() -> int:
        with at(working.dairy, hours(31)), CaptureQueriesContext(connection) as seen:
            client.get(address(working))
        return len(seen)

    one = count()
    for number in range(1, 6):
        with at(working.dairy, hours(2)):
            lot = a_lot(working, f"TF-{number}", started=hours(2))
            an_event(working, lot, "starter_added", hours(2))
        with at(working.dairy, hours(25)):
            a_reading(working, lot_slot(lot, "CCP2"), hours(25), ph="4.55")
    assert count() == one


def test_without_a_plan_the_page_leads_to_the_plan(cast: Cast) -> None:
    assert "There is no approved plan yet" in words(get(cast))
