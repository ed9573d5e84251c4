"""A load of milk on a paper sheet, received later: who entered it, who took it in, from which sheet."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from records.checks.models import PaperLine, PaperSheet
from records.receiving.models import MilkLoad
from tests.builders import hours
from tests.records.receiving.stage import Dairy
from tests.records.receiving.test_pages import MILK
from tests.records.things.stage import a_sheet
from tests.web import entries, signed_in, text_of

pytestmark = pytest.mark.django_db
EVENING = 12


@pytest.fixture
def sheet(door: Dairy) -> PaperSheet:
    with door.at(EVENING):
        return a_sheet(door.cast)


def receive(door: Dairy, sheet: PaperSheet, **typed: str) -> Any:
    """Send the receipt of a load of the sheet, as the helper."""
    client = signed_in(door.cast.helper)
    with door.at(EVENING):
        chosen = text_of(client.get(f"/near/receiving/milk/?sheet={sheet.pk}"))
        address = f"/near/receiving/milk/{door.supplier.pk}/?herd={door.herd.pk}&sheet={sheet.pk}"
        assert address.replace("&", "&amp;") in chosen
        assert 'name="sheet_initials"' in text_of(client.get(address))
        told = {"uuid": str(uuid4()), **MILK, "sheet_initials": "mk", **typed}
        answers = [client.post(address, told) for _time in range(2)]
    assert answers[0].status_code == answers[1].status_code
    return answers[0]


def test_a_load_of_a_sheet_is_entered_later_once_with_who_took_it_in(door: Dairy, sheet: PaperSheet) -> None:
    answer = receive(door, sheet)
    assert answer["Location"] == f"/near/paper/{sheet.pk}/"
    load = MilkLoad.objects.of(door.cast.dairy).get()
    assert (load.author, load.received_at) == (door.cast.helper, hours(0))
    assert (load.late, load.late_reason) == (True, "from paper sheet no. 12-1, done by MK")
    line = PaperLine.objects.of(door.cast.dairy).get()
    assert (line.slot, line.measured_by, line.sheet) == (f"load:{load.pk}", door.cast.maker, sheet)
    with door.at(EVENING):
        page = text_of(signed_in(door.cast.helper).get(f"/near/paper/{sheet.pk}/"))
    assert f"/near/receiving/loads/{load.pk}/" in page
    assert f'value="load:{load.pk}:OPRP4:0"' in page  # its checks stand on the sheet, too


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"sheet_initials": ""}, "Whose initials stand on the line?"),
        ({"sheet_initials": "ZZ"}, "Nobody here has these initials."),
        ({"volume": "much"}, "digits"),
        ({"on_time": ""}, ""),
    ],
)
def test_a_load_of_a_sheet_that_cannot_be_read_is_refused_and_stays(
    door: Dairy, sheet: PaperSheet, typed: dict[str, str], words: str
) -> None:
    before = entries(door.cast.dairy)
    answer = receive(door, sheet, **{"tank": "Blue tank", **typed})
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert 'value="Blue tank"' in text_of(answer)
    assert entries(door.cast.dairy) == before


@pytest.mark.parametrize("sheet", ["nothing", "6f1d2c3b-0000-4000-8000-000000000000"])
def test_a_sheet_that_is_not_there_is_not_found(door: Dairy, sheet: str) -> None:
    maker: Client = signed_in(door.cast.maker)
    with door.at(EVENING):
        assert maker.get(f"/near/receiving/milk/?sheet={sheet}").status_code == 404
