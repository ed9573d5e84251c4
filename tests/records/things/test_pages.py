"""The pages of shared things: what was typed stays on a refusal, a form sent twice stores once."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.things.models import Thing, ThingChange, ThingEnded, ThingUse
from records.things.queries import Life
from tests.builders import a_lot, a_reading, at, hours
from tests.cast import Cast
from tests.records.things.stage import a_thing, cast, life_again, put_in
from tests.records.things.test_reach import slot
from tests.web import signed_in, text_of

__all__ = ["cast"]  # the fixture


@pytest.fixture
def maker(cast: Cast) -> Client:
    return signed_in(cast.maker)


def address(cast: Cast, name: str, *args: object) -> str:
    return reverse(name, args=[cast.dairy.slug, *args])


def at_eight(**typed: str) -> dict[str, str]:
    """Type something that happened at eight in the morning."""
    return {"uuid": str(uuid4()), "on_date": "2026-05-14", "on_time": "08:00", **typed}


def brine(cast: Cast) -> Life:
    with at(cast.dairy, hours(0)):
        return a_thing(cast, begun=hours(-1), late_reason="Entered today")


def test_a_brine_is_made_on_its_page_once(cast: Cast, maker: Client) -> None:
    typed = at_eight(
        kind="brine", code="B7", name="Vat-side brine", what_1="Salt", amount_1="40", unit_1="kg"
    )
    with at(cast.dairy, hours(0)):
        for _time in range(2):
            answer = maker.post(address(cast, "thing_new"), typed)
            assert answer.status_code == 302
        page = text_of(maker.get(answer["Location"]))
    assert Thing.objects.of(cast.dairy).count() == 1
    assert "Vat-side brine" in page
    assert "40 kg" in page


def test_a_refused_brine_stays_as_it_was_typed(cast: Cast, maker: Client) -> None:
    typed = at_eight(kind="brine", code="B7", name="My brine", what_1="Salt", amount_1="much", unit_1="kg")
    with at(cast.dairy, hours(0)):
        answer = maker.post(address(cast, "thing_new"), typed)
    assert answer.status_code == 422
    assert all(said in text_of(answer) for said in ("My brine", "much", "B7"))
    assert Thing.objects.of(cast.dairy).count() == 0


def test_what_is_done_to_a_brine_and_its_end_are_recorded(cast: Cast, maker: Client) -> None:
    life = brine(cast)
    with at(cast.dairy, hours(0)):
        done = at_eight(what="salt", amount="2.5", unit="kg", ingredient="S-1")
        assert maker.post(address(cast, "thing_task", life.id, "change"), done).status_code == 302
        refused = maker.post(
            address(cast, "thing_task", life.id, "end"), at_eight(how="dumped", became="Sewer")
        )
        assert refused.status_code == 422
        assert "Sewer" in text_of(refused)
        ended = at_eight(how="dumped", why="Cloudy")
        assert maker.post(address(cast, "thing_task", life.id, "end"), ended).status_code == 302
        page = text_of(maker.get(address(cast, "thing", life.id)))
    assert ThingChange.objects.of(cast.dairy).get().amount_text == "2.5"
    assert life_again(cast, life).end is not None
    assert "2.5 kg" in page
    assert "Cloudy" in page


def test_several_lots_go_into_the_brine_at_once(cast: Cast, maker: Client) -> None:
    life = brine(cast)
    with at(cast.dairy, hours(0)):
        lots = [a_lot(cast, f"L-{n}") for n in (1, 2, 3)]
        chosen = {f"lot_{lot.pk}": "x" for lot in lots[:2]}
        assert maker.post(address(cast, "thing_task", life.id, "use"), at_eight()).status_code == 422
        maker.post(address(cast, "thing_task", life.id, "use"), at_eight(pieces="42", **chosen))
    used = ThingUse.objects.of(cast.dairy).order_by("lot__code")
    assert [(use.lot.code, use.pieces, use.place) for use in used] == [("L-1", 42, None), ("L-2", 42, None)]
    with at(cast.dairy, hours(1)):
        out = at_eight(on_time="09:00")
        maker.post(address(cast, "thing_out", life.id, used[0].pk), out)
        page = text_of(maker.get(address(cast, "thing", life.id)))
    assert "to 2026-05-14 09:00" in page


def test_a_wash_from_old_to_young_is_told_on_its_page(cast: Cast, maker: Client) -> None:
    with at(cast.dairy, hours(0)):
        life = a_thing(cast, "preparation", "W1", hours(-0.5))
        old = a_lot(cast, "L-OLD", started=hours(-0.4))
        young = a_lot(cast, "L-YOUNG", started=hours(-0.2))
        twice = at_eight(**{f"lot_{old.pk}": "1", f"lot_{young.pk}": "1"})
        assert "own place" in text_of(maker.post(address(cast, "thing_task", life.id, "use"), twice))
        placed = at_eight(**{f"lot_{old.pk}": "1", f"lot_{young.pk}": "2"})
        answer = maker.post(address(cast, "thing_task", life.id, "use"), placed, follow=True)
    assert "Not young before old: lot L-OLD was done before the younger lot L-YOUNG." in text_of(answer)
    assert "Deviation 1 concerns these lots." in text_of(answer)


def test_the_page_of_a_brine_draws_its_readings(cast: Cast, maker: Client) -> None:
    life = brine(cast)
    with at(cast.dairy, hours(0)):
        a_reading(cast, slot(life, 0), hours(0), salt="20.4")
        page = text_of(maker.get(address(cast, "thing", life.id)))
        listed = text_of(maker.get(address(cast, "things")))
    assert "<svg" in page
    assert "Measured values in order: 20.4." in page
    assert "B1" in listed
    assert "Due" in listed  # its temperature is still to be measured


def test_an_entry_is_voided_with_a_reason(cast: Cast, maker: Client) -> None:
    life = brine(cast)
    with at(cast.dairy, hours(0)):
        (use,) = put_in(cast, life, a_lot(cast), start=hours(0))
        url = address(cast, "thing_void", life.id, use.pk)
        assert maker.post(url, {"uuid": str(uuid4()), "reason": ""}).status_code == 422
        assert maker.post(url, {"uuid": str(uuid4()), "reason": "Other tank"}).status_code == 302
        page = text_of(maker.get(address(cast, "thing", life.id)))
    assert "No lot used it yet." in page


@pytest.mark.parametrize("name", ["change", "end", "correct", "use"])
def test_the_forms_of_a_thing_of_another_dairy_are_not_found(cast: Cast, name: str) -> None:
    life = brine(cast)
    stranger = signed_in(cast.stranger)
    assert stranger.get(address(cast, "thing_task", life.id, name)).status_code == 404
    other = reverse("thing_task", args=[cast.other_dairy.slug, life.id, name])
    assert signed_in(cast.stranger).get(other).status_code == 404
    assert ThingEnded.objects.of(cast.dairy).count() == 0


def test_the_list_takes_a_constant_number_of_queries(
    cast: Cast, maker: Client, django_assert_num_queries
) -> None:

    brine(cast)
    counts = []
    for more in range(3):
        with at(cast.dairy, hours(0)):
            with CaptureQueriesContext(connection) as asked:
                maker.get(address(cast, "things"))
            counts.append(len(asked))
            a_thing(cast, "room", f"C{more}", hours(-0.4))
    assert len(set(counts)) == 1
