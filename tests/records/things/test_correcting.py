"""What was done to a shared thing, and the times of its lots, are corrected on their pages."""

from datetime import datetime

import pytest
from django.test import Client

from records.things.models import ThingChange, ThingUse
from records.things.queries import Life
from records.things.services import ChangeContent, change_thing
from tests.builders import T0, a_lot, at, hours
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve
from tests.records.things.plan import with_things
from tests.records.things.stage import a_thing, put_in
from tests.records.things.test_pages import address, at_eight
from tests.web import signed_in, text_of


@pytest.fixture
def brine(db: None) -> tuple[Cast, Life, Client]:
    """Give a brine of the early morning, and the maker's browser."""
    cast = make_cast()
    approve(cast, with_things(), T0.replace(day=10))
    with at(cast.dairy, hours(0)):
        return cast, a_thing(cast, begun=hours(-1), late_reason="Entered today"), signed_in(cast.maker)


def salted(cast: Cast, life: Life, start: datetime, end: datetime | None) -> ThingUse:
    with at(cast.dairy, hours(0)):
        lot = a_lot(cast, started=hours(0))
    (use,) = put_in(cast, life, lot, start=start, end=end, late_reason="Entered after the break")
    return use


def test_the_times_of_a_lot_in_a_brine_are_corrected(brine: tuple[Cast, Life, Client]) -> None:
    cast, life, maker = brine
    with at(cast.dairy, hours(2)):
        use = salted(cast, life, hours(0), hours(1))
        url = address(cast, "thing_correct", life.id, use.pk)
        shown = text_of(maker.get(url))
        typed = at_eight(until_date="2026-05-14", until_time="09:30", reason="Wrong line of the book")
        assert maker.post(url, typed).status_code == 302
        page = text_of(maker.get(address(cast, "thing", life.id)))
    assert 'value="09:00"' in shown
    newest = ThingUse.objects.of(cast.dairy).get(supersedes=use)
    assert (newest.from_at, newest.until_at) == (hours(0), hours(1.5))
    assert "Wrong line of the book" in page


def test_a_lot_taken_out_by_mistake_is_in_the_brine_again(brine: tuple[Cast, Life, Client]) -> None:
    cast, life, maker = brine
    with at(cast.dairy, hours(2)):
        use = salted(cast, life, hours(0), hours(1))
        typed = at_eight(until_date="", until_time="", reason="It is still in the brine")
        maker.post(address(cast, "thing_correct", life.id, use.pk), typed)
    assert ThingUse.objects.of(cast.dairy).get(supersedes=use).until_at is None


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"until_date": "2026-05-14", "until_time": "07:30"}, "The end is before the beginning."),
        ({"until_date": "2026-05-14", "until_time": "9"}, 'value="9"'),
        ({"until_date": "2026-05-14", "until_time": "09:30", "reason": ""}, "Give a reason"),
    ],
)
def test_times_that_cannot_be_are_refused_and_stay(
    brine: tuple[Cast, Life, Client], typed: dict[str, str], said: str
) -> None:
    cast, life, maker = brine
    with at(cast.dairy, hours(2)):
        use = salted(cast, life, hours(0), hours(1))
        answer = maker.post(
            address(cast, "thing_correct", life.id, use.pk), at_eight(**{"reason": "Misread", **typed})
        )
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert ThingUse.objects.of(cast.dairy).count() == 1


def test_what_was_done_to_a_brine_is_corrected_once(brine: tuple[Cast, Life, Client]) -> None:
    cast, life, maker = brine
    with at(cast.dairy, hours(0)):
        content = ChangeContent("salt", hours(0), "2", "kg", "S-1", "On top")
        done = change_thing(establishment=cast.dairy, by=cast.maker, life=life, content=content)
        url = address(cast, "thing_correct", life.id, done.pk)
        typed = at_eight(what="salt", amount="2.5", unit="kg", ingredient="S-1", reason="Weighed again")
        shown = text_of(maker.get(url))
        assert maker.post(url, typed).status_code == 302
        again = maker.post(url, {**typed, "uuid": at_eight()["uuid"]})
        page = text_of(maker.get(address(cast, "thing", life.id)))
    assert 'value="2"' in shown
    assert [row.amount_text for row in ThingChange.objects.of(cast.dairy).order_by("entry__sequence")] == [
        "2",
        "2.5",
    ]
    assert again.status_code == 409
    assert "It was corrected meanwhile and says now: salt added; 2.5 kg; S-1" in text_of(again)
    assert 'value="2.5"' in text_of(again)  # what was typed is still there
    assert "Weighed again" in page
