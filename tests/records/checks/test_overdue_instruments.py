"""A reading with an instrument overdue for its check: flagged, or refused where the plan says so."""

import json
from typing import Any

import pytest

from records.checks.instruments_used import overdue_readings
from records.checks.models import Reading
from records.checks.services import ReadingContent, correct_reading, record_reading
from records.inspection.compose import render_issue
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from records.instruments.models import Instrument
from records.instruments.services import About, register_instrument, retire_instrument
from safetyplan.integrity.refusals import BadInput
from tests.builders import PLAN_FILE, T0, at, day_slot, hours, plan_in_force
from tests.cast import Cast
from tests.records.instruments.acts import a_probe, checked
from tests.safetyplan.printing.reading import text
from tests.web import signed_in, text_of

PART = {"name": "temperature", "raw": "3.5", "unit": "", "confirmed": False}


def with_plan(cast: Cast, rule: str) -> None:
    """Approve the demonstration's plan with a rule for overdue instruments at its cold store."""
    document: dict[str, Any] = json.loads(PLAN_FILE.read_text())
    control = next(c for c in document["controls"] if c["code"] == "PRP1")
    if rule:
        control["overdue_instrument"] = rule
    with at(cast.dairy, T0.replace(day=13)):
        plan_in_force(cast, document)


def content(instrument: Instrument, hour: float = 0.2, raw: str = "3.5") -> ReadingContent:
    return ReadingContent(
        slot=day_slot(T0, "PRP1"),
        observed_at=hours(hour),
        parts=[{**PART, "raw": raw}],
        instrument=instrument.pk,
    )


def record(cast: Cast, instrument: Instrument, hour: float = 0.2) -> Reading:
    with at(cast.dairy, hours(hour)):
        return record_reading(
            establishment=cast.dairy, by=cast.maker, content=content(instrument, hour)
        ).reading


@pytest.fixture
def late(cast: Cast) -> Instrument:
    """Give a probe whose check is overdue on the day of T0."""
    probe = a_probe(cast, every="7", since=T0.replace(day=1))
    checked(cast, probe, T0.replace(day=1))
    return probe


@pytest.mark.parametrize("rule", ["", "warn"])
def test_a_reading_with_an_overdue_instrument_is_taken_and_flagged(
    cast: Cast, late: Instrument, rule: str
) -> None:
    with_plan(cast, rule)

    reading = record(cast, late)

    assert overdue_readings(cast.dairy, [reading]) == {reading.pk}
    page = signed_in(cast.inspector).get(f"/{cast.dairy.slug}/readings/{reading.pk}/")
    assert "Overdue for its check at this reading" in text_of(page)


@pytest.mark.parametrize("overdue", [True, False])
def test_the_sheet_of_the_day_says_on_page_and_paper_whether_an_instrument_was_overdue(
    cast: Cast, late: Instrument, overdue: bool
) -> None:
    with_plan(cast, "warn")
    record(cast, late if overdue else a_probe(cast, "T2"))
    flagged = "measured with T1, OVERDUE for its check or known to be off"

    with at(cast.dairy, hours(1)):
        page = text_of(signed_in(cast.inspector).get(f"/{cast.dairy.slug}/days/{T0.date()}/"))
        issue = issue_print(establishment=cast.dairy, by=cast.owner, what="day", subject=str(T0.date()))
    paper = " ".join(text(kept_bytes(issue)).split())

    for said in (page, paper):
        assert (flagged in said) is overdue
        assert ("measured with T2" in said) is not overdue


def test_a_sheet_printed_on_the_older_form_is_drawn_again_as_it_was(cast: Cast, late: Instrument) -> None:
    with_plan(cast, "warn")
    record(cast, late)
    with at(cast.dairy, hours(1)):
        issue = issue_print(establishment=cast.dairy, by=cast.owner, what="day", subject=str(T0.date()))

    issue.template_version = 1

    assert "measured with" not in text(render_issue(issue))
    issue.template_version = 2
    assert render_issue(issue) == kept_bytes(issue)


def test_a_reading_with_an_overdue_instrument_is_refused_where_the_plan_blocks(
    cast: Cast, late: Instrument
) -> None:
    with_plan(cast, "block")

    with pytest.raises(BadInput, match="Check T1 now and measure again") as refused:
        record(cast, late)

    assert refused.value.part == "instrument"
    assert not Reading.objects.of(cast.dairy).exists()
    checked(cast, late, hours(0.1))
    assert not overdue_readings(cast.dairy, [record(cast, late)])


def test_a_reading_with_another_instrument_is_taken_where_the_plan_blocks(
    cast: Cast, late: Instrument
) -> None:
    with_plan(cast, "block")

    assert record(cast, a_probe(cast, "T2")).instrument_id is not None


def test_a_correction_keeps_its_instrument_though_its_check_is_overdue_now(cast: Cast) -> None:
    with_plan(cast, "block")
    probe = a_probe(cast, every="0")
    checked(cast, probe, hours(0.1))
    first = record(cast, probe)
    checked(cast, probe, hours(0.15), "0.9", late_reason="Found later")

    with at(cast.dairy, hours(1)):
        done = correct_reading(
            establishment=cast.dairy,
            by=cast.maker,
            original=first,
            content=content(probe, raw="3.6"),
            why="Misread",
        )

    assert overdue_readings(cast.dairy, [done.reading]) == {done.reading.pk}


def test_a_reading_names_an_instrument_as_the_device_knew_it(cast: Cast) -> None:
    """A device without network still names the entry of before a change of the register."""
    with_plan(cast, "")
    probe = a_probe(cast)
    with at(cast.dairy, hours(0.1)):
        register_instrument(
            establishment=cast.dairy,
            by=cast.maker,
            code="T1",
            name="Probe of the cellar",
            quantity="temperature",
            about=About(),
            supersedes=probe,
        )

    assert record(cast, probe).instrument_id == probe.pk


def test_a_reading_after_its_instrument_went_out_of_use_is_refused(cast: Cast) -> None:
    with_plan(cast, "")
    probe = a_probe(cast)
    with at(cast.dairy, hours(0.3)):
        retire_instrument(establishment=cast.dairy, by=cast.maker, instrument=probe, why="Broken tip")

    with pytest.raises(BadInput, match="not in use"):
        record(cast, probe, 0.4)
    assert record(cast, probe, 0.2).instrument_id == probe.pk
