"""Additions: which lot of a culture went into which lot, with its dose; and both ways to ask for it."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from records.batches.additions import additions_of, additions_with, additions_with_code
from records.batches.models import Lot, LotAddition, LotEvent
from records.batches.services import EventContent, record_event
from records.checks.services import correct_event
from records.checks.voiding import void_event
from records.receiving.models import IngredientLot
from records.things.services import Birth, RecipeLine, make_thing
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.verification import verify
from tests.builders import T0, a_lot, at, hours, plan_in_force
from tests.cast import Cast
from tests.records.batches.brewing import a_culture, with_cultures
from tests.web import signed_in, text_of


@pytest.fixture
def brewing(cast: Cast) -> Iterator[Cast]:
    """Open the dairy with cultures in the freezer, and stop the clock two hours into its day."""
    with at(cast.dairy, T0.replace(day=13)):
        plan_in_force(cast, with_cultures())
        a_culture(cast)
        a_culture(cast, "K82", use_by=date(2026, 5, 13))
        a_culture(cast, "R12", kind="rennet")
    with at(cast.dairy, hours(2)):
        yield cast


def content(code: str, dose: str = "12.5", *, confirmed: bool = False, **more: Any) -> EventContent:
    """Give what a person says of the starter."""
    details = (
        {"name": "culture", "raw": code, "unit": "", "confirmed": confirmed},
        {"name": "culture.dose", "raw": dose, "unit": "g", "confirmed": False},
    )
    return EventContent("starter_added", hours(2), details, **more)


def starter(cast: Cast, lot: Lot, said: EventContent) -> LotEvent:
    """Record the starter of a lot."""
    return record_event(establishment=cast.dairy, by=cast.maker, lot=lot, content=said)


def a_vat(cast: Cast, code: str = "TF-1") -> Lot:
    """Start a lot."""
    return a_lot(cast, code, started=hours(1.9))


def told(rows: list[LotAddition]) -> list[tuple[str, str, str, str]]:
    """Give lot, code and dose of additions."""
    return [(row.lot.code, row.code, row.dose_text, row.dose_unit) for row in rows]


def test_it_can_be_told_what_is_in_a_lot_and_which_lots_got_a_culture(brewing: Cast) -> None:
    first, second, third = (a_vat(brewing, code) for code in ("TF-1", "TF-2", "TF-3"))
    starter(brewing, first, content(" k81 "))
    starter(brewing, second, content("K81", "11"))
    starter(brewing, third, content("K82", confirmed=True))

    assert told(additions_of(brewing.dairy, [first.pk])) == [("TF-1", "K81", "12.5", "g")]
    both = [("TF-1", "K81", "12.5", "g"), ("TF-2", "K81", "11", "g")]
    assert told(additions_with_code(brewing.dairy, "k81")) == both
    identity = additions_of(brewing.dairy, [first.pk])[0].ingredient_id
    assert told(additions_with(brewing.dairy, identity)) == both
    assert verify(brewing.dairy) == []


@pytest.mark.parametrize(
    ("code", "why"),
    [
        ("K82", "its last day of use was 2026-05-13"),
        ("K99", "not in the list"),
        ("R12", "not in the list"),
    ],
)
def test_what_should_not_go_into_the_vat_is_refused_with_an_offer_and_kept_when_it_did(
    brewing: Cast, code: str, why: str
) -> None:
    lot = a_vat(brewing)
    with pytest.raises(BadInput, match=why) as refused:
        starter(brewing, lot, content(code))
    assert refused.value.part == "culture"
    [offer] = refused.value.offers
    assert (offer["raw"], offer["confirmed"]) == (code, True)
    assert not LotEvent.objects.of(brewing.dairy).exists()

    starter(brewing, lot, content(code, confirmed=True))

    [row] = additions_of(brewing.dairy, [lot.pk])
    assert why in row.unfit
    assert (row.ingredient_id is None) == (code != "K82")


def test_what_may_go_in_says_nothing_against_itself(brewing: Cast) -> None:
    lot = a_vat(brewing)
    starter(brewing, lot, content("K81"))

    assert additions_of(brewing.dairy, [lot.pk])[0].unfit == ""


def test_a_corrected_event_replaces_what_was_added_and_the_first_stays_on_record(brewing: Cast) -> None:
    lot = a_vat(brewing)
    event = starter(brewing, lot, content("K82", confirmed=True))
    right = content("K81", reason="Read from the wrong bag", late_reason="Read from the wrong bag")

    correct_event(establishment=brewing.dairy, by=brewing.maker, original=event, content=right)

    assert told(additions_of(brewing.dairy, [lot.pk])) == [("TF-1", "K81", "12.5", "g")]
    assert additions_with_code(brewing.dairy, "K82") == []
    assert LotAddition.objects.of(brewing.dairy).count() == 2


def test_a_void_event_put_nothing_in(brewing: Cast) -> None:
    lot = a_vat(brewing)
    event = starter(brewing, lot, content("K81"))

    void_event(establishment=brewing.dairy, by=brewing.maker, original=event, why="The other vat")

    assert additions_of(brewing.dairy, [lot.pk]) == []


def test_the_page_of_an_ingredient_lot_shows_the_lots_and_things_it_went_into(brewing: Cast) -> None:
    starter(brewing, a_vat(brewing), content("K81"))
    recipe = (RecipeLine("Culture", "2", "g", "k81 "),)
    birth = Birth("preparation", "W1", "The wash", hours(2), recipe)
    make_thing(establishment=brewing.dairy, by=brewing.maker, birth=birth)
    found = {row.code: row for row in IngredientLot.objects.of(brewing.dairy)}

    used, other = (
        text_of(signed_in(brewing.maker).get(reverse("ingredient", args=["near", found[code].identity])))
        for code in ("K81", "R12")
    )

    assert all(words in used for words in ("TF-1", "12.5 g", "W1 The wash"))
    assert "No use is recorded." in other
    assert "The wash" not in other
