"""Pages of links: what was typed stays, the refusal stands at its field, a form sent twice stores once."""

from http import HTTPStatus
from typing import Any

import pytest
from django.http import HttpResponse
from django.urls import reverse

from records.batches.models import Lot
from records.links.models import LotLink
from records.links.queries import links
from safetyplan.establishments.models import Person
from safetyplan.integrity.form_claims import new_uuid
from tests.builders import a_link, a_lot, at, hours
from tests.cast import Cast
from tests.web import entries, signed_in, text_of

WRONG = HTTPStatus.UNPROCESSABLE_ENTITY


def two_lots(cast: Cast) -> tuple[Lot, Lot]:
    """Start a lot of cheese and one of its whey."""
    return a_lot(cast, "TF-1"), a_lot(cast, "TF-W")


def typed(other: Lot, **changes: str) -> dict[str, str]:
    """Give the form of a link: whey of the other lot went into this one, at half past eight in Dublin."""
    form = {
        "uuid": new_uuid(),
        "way": "in",
        "other": str(other.pk),
        "kind": "whey",
        "quantity": "180",
        "on_date": "2026-05-14",
        "on_time": "08:30",
    }
    return {**form, **changes}


def post(cast: Cast, lot: Lot, form: dict[str, str], by: Person | None = None) -> HttpResponse:
    """Send the form of a lot's links."""
    address = reverse("lot_links", args=[cast.dairy.slug, lot.pk])
    answer: Any = signed_in(by or cast.maker).post(address, form)
    return answer  # type: ignore[no-any-return]


def test_a_link_is_recorded_once_and_shows_on_both_lots(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = two_lots(working)
        form = typed(cheese)
        before = entries(working.dairy)

        answers = [post(working, ricotta, form), post(working, ricotta, form)]

        assert [answer.status_code for answer in answers] == [HTTPStatus.FOUND] * 2
        assert entries(working.dairy) == before + 1
        [link] = links(working.dairy)
        assert (link.from_lot, link.to_lot, link.quantity_text) == (cheese, ricotta, "180")
        for lot, words in ((cheese, "went into"), (ricotta, "came from")):
            page = text_of(signed_in(working.maker).get(reverse("lot", args=[working.dairy.slug, lot.pk])))
            assert words in page
            assert "180 L" in page


def test_the_other_way_round_something_of_this_lot_goes_into_the_other(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = two_lots(working)

        post(working, cheese, typed(ricotta, way="out"))

    assert [(link.from_lot, link.to_lot) for link in links(working.dairy)] == [(cheese, ricotta)]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"quantity": ""}, ""),
        ({"quantity": "a lot"}, ""),
        ({"quantity": "1,8,0"}, ""),
        ({"quantity": "213"}, "There is no more than 212 L of it."),
        ({"other": ""}, ""),
        ({"other": "no lot"}, "Choose the other lot."),
        ({"other": "00000000-0000-4000-8000-000000000000"}, "Choose the other lot."),
        ({"kind": "butter"}, "Select a valid choice"),
        ({"on_time": "25:00"}, ""),
        ({"on_date": "2026-05-15"}, ""),
        ({"on_date": "14.05.2026"}, ""),
        ({"pieces": "3"}, "Milk and whey have no pieces."),
        ({"note": "x" * 501}, "at most 500 characters"),
        ({"note": "a\x00b"}, ""),
        ({"disposition": "nonsense"}, "Choose a decision of the list."),
    ],
)
def test_a_link_that_cannot_be_taken_is_refused_and_what_was_typed_stays(
    working: Cast, changes: dict[str, str], words: str
) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = two_lots(working)

        answer = post(working, ricotta, {**typed(cheese, note="Still warm"), **changes})

    page = text_of(answer)
    assert answer.status_code == WRONG
    assert words in page
    assert "errorlist" in page
    assert "note" in changes or 'value="Still warm"' in page
    assert not LotLink.objects.of(working.dairy).exists()


def test_a_lot_of_another_dairy_is_not_to_be_linked(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = two_lots(working)
        stranger = signed_in(working.stranger).get(
            reverse("lot_links", args=[working.dairy.slug, ricotta.pk])
        )
        inspector = post(working, ricotta, typed(cheese), working.inspector)

    assert stranger.status_code == HTTPStatus.NOT_FOUND
    assert inspector.status_code == HTTPStatus.FORBIDDEN


def change(cast: Cast, link: LotLink, form: dict[str, str]) -> HttpResponse:
    """Send a form of a link's page."""
    answer: Any = signed_in(cast.maker).post(reverse("link_change", args=[cast.dairy.slug, link.pk]), form)
    return answer  # type: ignore[no-any-return]


def test_a_link_is_put_right_with_a_reason_and_the_first_stays_struck(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = two_lots(working)
        link = a_link(working, cheese, ricotta, hours(0.5), "180")
        right = typed(cheese, quantity="170", reason="Read from the wrong tank")
        refused = change(working, link, {**right, "reason": ""})
        over = change(working, link, {**right, "quantity": "300"})

        done = change(working, link, right)
        page = text_of(
            signed_in(working.maker).get(reverse("lot_links", args=[working.dairy.slug, cheese.pk]))
        )

    assert (refused.status_code, over.status_code, done.status_code) == (WRONG, WRONG, HTTPStatus.FOUND)
    assert "There is no more than 212 L of it." in text_of(over)
    assert "<del>180 L</del>" in page
    assert "170 L" in page
    assert "Read from the wrong tank" in page


def test_a_link_is_withdrawn_with_a_reason(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        cheese, ricotta = two_lots(working)
        link = a_link(working, cheese, ricotta, hours(0.5), "180")
        refused = change(working, link, {"uuid": new_uuid(), "withdraw": "1", "reason": ""})

        done = change(working, link, {"uuid": new_uuid(), "withdraw": "1", "reason": "It went to the pigs"})
        page = text_of(
            signed_in(working.maker).get(reverse("lot_links", args=[working.dairy.slug, cheese.pk]))
        )

    assert (refused.status_code, done.status_code) == (WRONG, HTTPStatus.FOUND)
    assert not links(working.dairy).exists()
    assert "withdrawn" in page
