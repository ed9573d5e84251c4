"""The calibration record of an instrument and the register of instruments on paper."""

from datetime import date
from functools import partial
from uuid import uuid4

import pytest

from records.checks.instrument_checks import correct_check
from records.inspection import instrument_print
from records.inspection.compose import render_issue
from records.inspection.models import PrintIssue
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from records.instruments import page
from records.instruments.checking import CheckContent
from records.instruments.models import Instrument
from records.instruments.services import retire_instrument
from records.instruments.words import history
from safetyplan.integrity.refusals import BadInput
from tests.builders import at, hours
from tests.cast import Cast
from tests.records.instruments.acts import a_meter, a_probe, checked, pairs, shown
from tests.safetyplan.printing.reading import text
from tests.web import signed_in, text_of


def printed(cast: Cast, what: str, subject: str, hour: float = 50) -> PrintIssue:
    with at(cast.dairy, hours(hour)):
        return issue_print(establishment=cast.dairy, by=cast.owner, what=what, subject=subject)


def said(issue: PrintIssue) -> str:
    return " ".join(text(kept_bytes(issue)).split())


@pytest.fixture
def probe(cast: Cast) -> Instrument:
    """Give a probe with a good check, a failed one that was adjusted, and one that was corrected."""
    until = date(2027, 5, 1)
    reference = a_probe(cast, "R1", certificate="No. 12", certificate_until=until)
    probe = a_probe(cast, every="30", method="reference", reference=reference.pk, serial="S-77")
    checked(cast, probe, hours(1), "0.2")
    beside = {"reference": reference.pk, "left": pairs(("63", "63.1")), "done": "adjusted"}
    checked(cast, probe, hours(24), pairs(("63", "63.9")), "reference", **beside)
    wrong = checked(cast, probe, hours(30), "0.3")
    with at(cast.dairy, hours(31)):
        correct_check(
            establishment=cast.dairy,
            by=cast.maker,
            original=wrong,
            content=CheckContent("ice_point", hours(30), shown("0.4")),
            why="Read from the wrong line",
        )
    return probe


def test_a_calibration_record_shows_every_check_as_found_and_as_left(cast: Cast, probe: Instrument) -> None:
    page = said(printed(cast, "instrument", str(probe.pk)))

    for words in (
        "Calibration record T1 Probe T1",
        "± 0.5 °C",
        "S-77",
        "every 30 days: Comparison with a reference",
        "R1 Probe R1",
        "true 63 °C: shown 63.9 °C",
        "Outside the tolerance",
        "true 63 °C: shown 63.1 °C",
        "Within the tolerance",
        "correction: Read from the wrong line",
        "Maker Person",
        "Error as found at each check.",
    ):
        assert words in page
    assert "safe" not in page.lower().replace("food-safety", "")


def test_a_record_has_every_check_and_says_what_is_left_off(
    cast: Cast, probe: Instrument, monkeypatch: pytest.MonkeyPatch
) -> None:
    subject = str(probe.pk)
    monkeypatch.setattr(instrument_print, "SHOWN", 2)
    every = printed(cast, "instrument", subject)
    monkeypatch.setattr(instrument_print, "PRINTED", 3)
    few = said(printed(cast, "instrument", subject))
    every.template_version = 2
    before = " ".join(text(render_issue(every)).split())

    assert ("shown 0.2 °C" in said(every), "older checks" in said(every)) == (True, False)
    assert ("shown 0.2 °C" in few, "1 older checks are not on this print." in few) == (False, True)
    assert ("true 63 °C" in before, "older checks" in before) == (False, False)


def test_the_page_of_an_instrument_says_how_many_older_checks_the_print_has(
    cast: Cast, probe: Instrument, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = f"/near/instruments/{probe.pk}/"
    with at(cast.dairy, hours(50)):
        whole = text_of(signed_in(cast.inspector).get(address))
        monkeypatch.setattr(page, "history", partial(history, most=2))
        newest = text_of(signed_in(cast.inspector).get(address))

    assert "older check" not in whole
    assert "2 older checks are on the printed calibration record." in newest


def test_the_same_issue_gives_the_same_bytes_whatever_came_later(cast: Cast, probe: Instrument) -> None:
    issue = printed(cast, "instrument", str(probe.pk))
    listed = printed(cast, "register", "instruments")
    checked(cast, probe, hours(60), "0.9")
    with at(cast.dairy, hours(61)):
        retire_instrument(establishment=cast.dairy, by=cast.maker, instrument=probe, why="Broken tip")

    assert render_issue(issue) == kept_bytes(issue)
    assert render_issue(listed) == kept_bytes(listed)


def test_the_register_shows_where_each_instrument_stands(cast: Cast, probe: Instrument) -> None:
    a_meter(cast, every="0", criterion="electrode_food")
    broken = a_probe(cast, "T8")
    with at(cast.dairy, hours(2)):
        retire_instrument(establishment=cast.dairy, by=cast.maker, instrument=broken, why="Broken tip")

    page = said(printed(cast, "register", "instruments"))

    for words in ("Register of instruments", "T1 Probe T1", "92 to 102 %", "each day of use", "Broken tip"):
        assert words in page
    assert "to be checked by 2026-06-14" in page


def test_an_instrument_that_is_not_there_is_not_printed(cast: Cast, probe: Instrument) -> None:
    for subject in (str(uuid4()), "", "T1"):
        with pytest.raises(BadInput, match="no such instrument"):
            printed(cast, "instrument", subject)
    assert printed(cast, "instrument", str(probe.pk)).number == 1
