"""A lot is started from the page with the loads of milk that go into it."""

from typing import Any

import pytest
from django.http import HttpResponse

from records.batches.models import Lot
from records.receiving.models import LotMilk, MilkLoad
from records.receiving.queries import balance_of
from tests.records.batches.test_lots_page import typed
from tests.records.inspection.browsing import address, as_person, words
from tests.records.receiving.stage import Dairy

pytestmark = pytest.mark.django_db


@pytest.fixture
def loads(door: Dairy) -> tuple[MilkLoad, MilkLoad]:
    """Two loads that came in: one of the evening before, one of the morning."""
    with door.at(0.5):
        return door.take("M-1").load, door.take("M-2").load


def send(door: Dairy, **said: str) -> Any:
    """Start a lot from the page an hour after the milk came in."""
    with door.at(1):
        return as_person(door.cast.maker).post(address("lot_new"), typed(**said))


def field(load: MilkLoad) -> str:
    """Name the field of a load."""
    return f"load_{load.identity.hex}"


def taken(door: Dairy) -> dict[str, str]:
    """Give what went into lots, by the number of the load."""
    rows = LotMilk.objects.of(door.cast.dairy).select_related("load")
    return {row.load.code: row.volume_text for row in rows}


def test_the_form_names_each_load_that_has_milk_left(door: Dairy, loads: tuple[MilkLoad, MilkLoad]) -> None:
    with door.at(1):
        page: HttpResponse = as_person(door.cast.maker).get(address("lot_new"))

    assert [f'name="{field(load)}"' in page.content.decode() for load in loads] == [True, True]
    assert "From load M-1, received" in words(page)


def test_the_milk_of_a_lot_is_the_sum_of_what_is_taken(door: Dairy, loads: tuple[MilkLoad, MilkLoad]) -> None:
    first, second = loads

    answer = send(door, milk="", **{field(first): "100", field(second): "50.5"})

    assert answer.status_code == 302
    assert Lot.objects.of(door.cast.dairy).get().milk_text == "150.5"
    assert taken(door) == {"M-1": "100", "M-2": "50.5"}


def test_more_than_is_left_of_a_load_starts_nothing_and_keeps_what_was_typed(
    door: Dairy, loads: tuple[MilkLoad, MilkLoad]
) -> None:
    left = balance_of(door.cast.dairy, loads[0]).left

    answer = send(door, milk="", **{field(loads[0]): str(left + 1)})

    assert answer.status_code == 422
    assert "Of this load" in words(answer)
    assert f'value="{left + 1}"' in answer.content.decode()
    assert not Lot.objects.of(door.cast.dairy).exists()
    assert taken(door) == {}


def test_loads_of_more_than_went_into_the_vat_are_refused(
    door: Dairy, loads: tuple[MilkLoad, MilkLoad]
) -> None:
    answer = send(door, milk="100", **{field(loads[0]): "120"})

    assert answer.status_code == 422
    assert "more than the 100 L of the lot" in words(answer)
    assert not Lot.objects.of(door.cast.dairy).exists()


def test_milk_of_no_load_is_typed_as_before(door: Dairy, loads: tuple[MilkLoad, MilkLoad]) -> None:
    assert send(door, milk="100").status_code == 302
    assert taken(door) == {}
