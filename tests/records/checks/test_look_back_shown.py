"""A look-back on the pages: recomputed values beside each reading, as evidence and no more."""

import pytest
from django.urls import reverse

from records.inspection.services import issue_print
from records.instruments.models import Instrument
from tests.builders import at
from tests.cast import Cast
from tests.records.checks.malga import CODES, august, begin, gathered, in_ice, judged, week
from tests.web import signed_in, text_of


@pytest.fixture
def probe(cast: Cast) -> Instrument:
    """Put the plan in force and register the probe."""
    return begin(cast)


def test_the_pages_and_the_print_show_what_was_read_and_what_it_would_have_been(
    cast: Cast, probe: Instrument
) -> None:
    lots = week(cast, probe)
    in_ice(cast, probe, august(9, 6), "1.8")
    in_ice(cast, probe, august(6, 6), "0.1", entered=august(9, 12))
    browser, slug = signed_in(cast.inspector), cast.dairy.slug
    with at(cast.dairy, august(9, 13)):
        page = text_of(browser.get(reverse("deviation", args=[slug, gathered(cast).pk])))
        day = text_of(browser.get(reverse("day", args=[slug, "2026-08-04"])))
        reading = text_of(browser.get(reverse("reading", args=[slug, judged(cast)[0].reading.pk])))
        lot = text_of(browser.get(reverse("lot", args=[slug, lots[5].pk])))
        issue_print(establishment=cast.dairy, by=cast.owner, what="lot", subject=str(lots[5].pk))

    for code in CODES:
        assert code in page
    assert page.count("84.2 °C") >= 6
    assert "They acquit nothing" in page
    assert "P2</strong> 2026-08-06 07:00" in page
    assert "Instrument not valid" in day
    assert f"Deviation {gathered(cast).number}" in day
    assert "Recomputed by the error as found, as evidence only: 84.2 °C." in reading
    assert "Instrument not valid" in lot
