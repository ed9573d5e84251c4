"""Ingredient and packaging lots: received, found by code, used in time, ended."""

from datetime import date
from typing import Any

import pytest

from records.receiving.ingredient_services import (
    IngredientContent,
    correct_ingredient,
    end_ingredient,
    receive_ingredient,
    require_fit,
)
from records.receiving.models import IngredientLot
from records.receiving.queries import find_by_code, ingredient_of, usable, uses
from safetyplan.integrity.refusals import BadInput, Refused
from tests.builders import hours
from tests.records.receiving.stage import Dairy

pytestmark = pytest.mark.django_db


def content(code: str = "K 1", kind: str = "culture", **changes: Any) -> IngredientContent:
    """Say what is said of a lot."""
    said: dict[str, Any] = {"name": "Mesophilic", "received_at": hours(0), "use_by": date(2026, 6, 1)}
    return IngredientContent(**{"kind": kind, "code": code, **said, **changes})


def receive(door: Dairy, code: str = "K 1", kind: str = "culture", **changes: Any) -> IngredientLot:
    """Receive a lot."""
    return receive_ingredient(content=content(code, kind, **changes), **door.about)


def test_a_code_like_another_of_its_kind_is_asked_about(door: Dairy) -> None:
    with door.at(0.1):
        receive(door, "K 10")
        with pytest.raises(BadInput, match="similar") as caught:
            receive(door, "k 1o")
        receive(door, "K 1O", "rennet")
        receive(door, "K 10", same_code=True)

    assert caught.value.part == "same_code"
    assert [row.kind for row in find_by_code(door.cast.dairy, "k 1O")].count("culture") == 2


def test_the_one_to_use_first_comes_first_and_the_old_ones_are_left_out(door: Dairy) -> None:
    with door.at(0.1):
        late, soon = receive(door, "K 1", use_by=date(2026, 7, 1)), receive(door, "K 2")
        without, past = receive(door, "K 3", use_by=None), receive(door, "K 4", use_by=date(2026, 5, 13))
        gone, other = receive(door, "K 5"), receive(door, "S 1", "salt")
        end_ingredient(ingredient=gone, how="used_up", ended_at=hours(0.1), **door.about)
        found = usable(door.cast.dairy, "culture", hours(0.1))

    assert [row.code for row in found] == ["K 2", "K 1", "K 3"]
    assert {past.pk, gone.pk, other.pk}.isdisjoint({row.pk for row in found})
    assert {late.pk, soon.pk, without.pk} == {row.pk for row in found}


def test_the_last_day_of_use_still_counts_whole(door: Dairy) -> None:
    with door.at(0.1):
        receive(door, use_by=date(2026, 5, 14))

    assert len(usable(door.cast.dairy, "culture", hours(15.9))) == 1
    assert len(usable(door.cast.dairy, "culture", hours(16.1))) == 0  # midnight in Dublin is 23:00 UTC


def test_a_lot_past_its_day_is_used_only_with_a_statement(door: Dairy) -> None:
    with door.at(0.1):
        row = receive(door, use_by=date(2026, 5, 13))
        about = {"establishment": door.cast.dairy, "ingredient": row.pk, "at": hours(0.1)}
        with pytest.raises(BadInput, match="last day of use was 2026-05-13"):
            require_fit(statement="", **about)
        found, said = require_fit(statement="Activity tested this morning", **about)
        fresh = receive(door, "K 2")

    assert (found.pk, said) == (row.pk, "Activity tested this morning")
    _row, nothing = require_fit(
        establishment=door.cast.dairy, ingredient=fresh.pk, at=hours(0.2), statement="x"
    )
    assert nothing == ""


def test_a_discarded_lot_is_used_only_with_a_statement(door: Dairy) -> None:
    with door.at(0.2):
        row = receive(door)
        with pytest.raises(BadInput, match="reason"):
            end_ingredient(ingredient=row, how="discarded", ended_at=hours(0.1), **door.about)
        end_ingredient(ingredient=row, how="discarded", ended_at=hours(0.1), why="Torn bag", **door.about)
        with pytest.raises(Refused, match="already"):
            end_ingredient(ingredient=row, how="used_up", ended_at=hours(0.1), **door.about)
        with pytest.raises(BadInput, match="was discarded: Torn bag"):
            require_fit(establishment=door.cast.dairy, ingredient=row.pk, at=hours(0.2), statement="")


def test_a_load_tested_with_an_old_kit_says_why_and_the_kit_knows_its_loads(door: Dairy) -> None:
    with door.at(0.2):
        kit = receive(door, "T 1", "kit", use_by=date(2026, 5, 13))
        with pytest.raises(BadInput, match="last day of use") as caught:
            door.take(kit=kit.pk, received_at=hours(0.1))
        load = door.load(kit=kit.pk, received_at=hours(0.1), kit_statement="The new ones come tomorrow")

    assert caught.value.part == "kit_statement"
    assert uses(door.cast.dairy, kit.pk) == [load]


def test_a_corrected_lot_keeps_its_identity_and_its_file(door: Dairy) -> None:
    with door.at(0.2):
        first = receive(door)
        again = correct_ingredient(
            original=first, content=content(storage="freezer"), why="Storage forgotten", **door.about
        )
        with pytest.raises(Refused, match="already changed"):
            correct_ingredient(original=first, content=content(), why="Once more", **door.about)

    found = ingredient_of(door.cast.dairy, first.pk)
    assert (found.pk, found.identity, found.storage) == (again.pk, first.pk, "freezer")


@pytest.mark.parametrize(
    ("changes", "part"),
    [
        ({"kind": "dragon"}, "kind"),
        ({"name": " "}, "name"),
        ({"quantity": "two"}, "quantity"),
        ({"quantity": "2", "unit": "stone"}, "unit"),
        ({"received_at": hours(1)}, "received_at"),
        ({"supplier": "11111111-1111-4111-8111-111111111111"}, "supplier"),
    ],
)
def test_a_lot_that_cannot_be_is_refused_at_its_field(
    door: Dairy, changes: dict[str, Any], part: str
) -> None:
    with door.at(0.2):
        with pytest.raises(BadInput) as caught:
            receive(door, **changes)
        receive(door)

    assert caught.value.part == part
