"""A filled sheet and its lines as they are typed: what the tests of sheets entered later share."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from records.checks.models import PaperSheet
from tests.builders import T0, at, day_slot, hours
from tests.cast import Cast
from tests.records.things.stage import a_sheet
from tests.web import signed_in

EVENING = hours(12)
FRIDGE = day_slot(T0, "PRP1")


@pytest.fixture
def helper(cast: Cast) -> Client:
    return signed_in(cast.helper)


@pytest.fixture
def sheet(cast: Cast) -> PaperSheet:
    with at(cast.dairy, EVENING):
        return a_sheet(cast)


def url(cast: Cast, sheet: PaperSheet) -> str:
    return reverse("paper_sheet", args=[cast.dairy.slug, sheet.pk])


def line(number: int, slot: str, **typed: str) -> dict[str, str]:
    """Type one line, in order unless told otherwise."""
    told = {"date": "2026-05-14", "time": "06:50", "who": "MK", **typed}
    return {f"slot_{number}": slot, **{f"{name}_{number}": value for name, value in told.items()}}


def send(
    cast: Cast, client: Client, sheet: PaperSheet, *lines: dict[str, str], uuid: str = "", moment=EVENING
):
    typed = {"uuid": uuid or str(uuid4())}
    for one in lines:
        typed |= one
    with at(cast.dairy, moment):
        return client.post(url(cast, sheet), typed)
