"""What stands on paper, and that an issue always gives the same bytes."""

import json
import re
import subprocess
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from records.checks.tick import tick
from records.deviations.models import Deviation
from records.inspection import day_print, services
from records.inspection.compose import render_issue
from records.inspection.frame import Frame
from records.inspection.models import PrintIssue
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from records.signoff.services import sign_day
from safetyplan.establishments import queries
from safetyplan.establishments.models import Role
from safetyplan.establishments.services import MemberSpec, change_membership
from safetyplan.integrity.refusals import Refused
from safetyplan.integrity.verifier import parse_note
from safetyplan.printing.document import Grid
from tests.builders import PLAN_FILE, T0, a_lot, a_reading, at, day_slot, hours, lot_slot, plan_in_force
from tests.cast import Cast, allow_self_review
from tests.records.inspection.story import (
    DAY,
    LATE,
    NOT_MADE,
    TWICE,
    TYPO,
    WATCH_SLOW,
    Story,
    day_of_the_lot,
    moved_event,
    tell,
)
from tests.safetyplan.printing.reading import pages, text, tool

pytestmark = pytest.mark.django_db


def printed(cast: Cast, what: str, subject: str, moment: datetime) -> PrintIssue:
    with at(cast.dairy, moment):
        return issue_print(establishment=cast.dairy, by=cast.owner, what=what, subject=subject)


def with_pdftotext(pdf: bytes, folder: Path) -> str:
    """Read a PDF with a program of others (poppler)."""
    path = folder / "print.pdf"
    path.write_bytes(pdf)
    done = subprocess.run([tool("pdftotext"), path, "-"], capture_output=True, check=True)
    return " ".join(done.stdout.decode().split())


@pytest.fixture
def story(working: Cast) -> Story:
    return tell(working)


def test_a_lots_record_holds_all_an_inspector_asks_for(story: Story, tmp_path: Path) -> None:
    issue = printed(story.cast, "lot", str(story.lot.pk), hours(81))
    page = with_pdftotext(kept_bytes(issue), tmp_path)
    root = parse_note(issue.seal_note).root.hex()
    for said in (
        "Near Test Dairy",
        "1 Test Lane, Testford",
        "Lot record TF-0514",
        "Tarrow Fresh",
        "pH 4.71",
        "64.2 °C",
        "MK",
        "Maker Person",
        "pH at most 4.60 within 24 h of starter added",
        "Decides the disposition of held product",
        "Releases the lot",
        "Owner Person",
        "Reviewed and closed",
        "Reviewed the day's records",
        "Reviewer Person",
        "page 1 of",
        " ".join(root[start : start + 8] for start in range(0, 64, 8)),
    ):
        assert said in page, said


def test_a_lots_record_shows_first_and_later_values_and_every_reason(story: Story) -> None:
    page = text(kept_bytes(printed(story.cast, "lot", str(story.lot.pk), hours(81))))
    words = " ".join(page.split())
    for said in (LATE, TWICE, "2026-05-14 10:00", "2026-05-14 09:50"):
        assert said in words or re.sub(" ", "", said) in words.replace(" ", ""), said
    assert "3.9 °C" in page
    assert WATCH_SLOW.replace(" ", "") in page.replace(" ", "")
    assert "judged again" in page


def test_a_days_record_shows_the_corrected_reading_and_the_explanation(story: Story) -> None:
    page = text(kept_bytes(printed(story.cast, "day", DAY.isoformat(), hours(81)))).replace(" ", "")
    for said in ("8.5 °C", "3.5 °C", TYPO, NOT_MADE, "NEEDS SIGNING AGAIN", "late entry", "corrected"):
        assert said.replace(" ", "") in page, said


def test_a_lots_record_says_which_days_are_not_signed(story: Story) -> None:
    page = text(kept_bytes(printed(story.cast, "lot", str(story.lot.pk), hours(81))))
    assert "2026-05-14: covers 6 of the 7 records of this lot made on this day." in page
    assert "NEEDS SIGNING AGAIN: the record changed after the signature." in page
    assert "2026-05-15: NOT SIGNED." in page


def test_a_hold_tag_names_lot_place_and_pieces(story: Story) -> None:
    page = text(kept_bytes(printed(story.cast, "tag", str(story.deviation.pk), hours(81))))
    for said in ("ON HOLD", "TF-0514", "Cold store, top shelf", "280", "H-1"):
        assert said in page


def test_a_hold_that_is_not_confirmed_prints_a_tag_to_fill_in(working: Cast) -> None:
    other = tell(working).other
    opened = Deviation.objects.of(working.dairy).filter(lot=other).first()
    assert opened is not None
    page = text(kept_bytes(printed(working, "tag", str(opened.pk), hours(81))))
    assert "TL-0515" in page


def test_an_old_issue_reprints_byte_for_byte_after_plan_zone_and_event_changed(
    working: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    lot, starter = day_of_the_lot(working)
    with at(working.dairy, hours(17)):
        sign_day(establishment=working.dairy, proof=working.proof(working.reviewer), day=DAY)
    old_day = printed(working, "day", DAY.isoformat(), hours(17))
    old_lot = printed(working, "lot", str(lot.pk), hours(17))
    before = kept_bytes(old_day), kept_bytes(old_lot)
    with at(working.dairy, hours(18)):
        new_plan(working)
        moved_event(working, starter, -10)
    move_the_zone(monkeypatch)
    assert (render_issue(old_day), render_issue(old_lot)) == before
    fresh = text(kept_bytes(printed(working, "day", DAY.isoformat(), hours(19))))
    assert "NEEDS SIGNING AGAIN" in fresh
    assert "NEEDS SIGNING AGAIN" not in text(before[0])


def new_plan(cast: Cast) -> None:
    """Approve a second version in which the cold store's limit is another."""
    document = json.loads(PLAN_FILE.read_text())
    cold = next(control for control in document["controls"] if control["code"] == "PRP1")
    cold["limit"]["at_most"] = "4.5"
    plan_in_force(cast, document)


def move_the_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the time zone data say something else from now on, as after an update of it."""

    def elsewhere(_establishment: object) -> ZoneInfo:
        return ZoneInfo("Europe/Helsinki")

    for module in (queries, services):
        monkeypatch.setattr(module, "zone_of", elsewhere)


def test_the_zone_of_the_test_above_really_moves_a_fresh_print(
    working: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    lot, _starter = day_of_the_lot(working)
    assert "2026-05-14 08:24" in flat(kept_bytes(printed(working, "lot", str(lot.pk), hours(17))))
    move_the_zone(monkeypatch)
    assert "2026-05-14 10:24" in flat(kept_bytes(printed(working, "lot", str(lot.pk), hours(17.1))))


def flat(pdf: bytes) -> str:
    return " ".join(text(pdf).split())


def half_a_day_each(cast: Cast) -> None:
    """Two makers each record half a day; the second one is a reviewer too."""
    spec = MemberSpec("Helper Person", "HP", (Role.MAKER, Role.REVIEWER), reason="covers Sundays")
    change_membership(establishment=cast.dairy, by=cast.owner, person=cast.helper, member=spec)
    with at(cast.dairy, hours(0.5)):
        lot = a_lot(cast)
        a_reading(cast, lot_slot(lot, "OPRP3"), hours(0.4), temperature="3.8")
        a_reading(cast, day_slot(T0, "PRP1"), hours(0.2), temperature="3.5")
        a_reading(cast, day_slot(T0, "PRP3"), hours(0.1), by=cast.helper, strength="150")
        a_reading(cast, day_slot(T0, "PRP1", "extra"), hours(0.3), by=cast.helper, temperature="3.6")
    with at(cast.dairy, hours(10)):
        a_reading(cast, day_slot(T0, "PRP1", 1), hours(9.9), by=cast.helper, temperature="3.6")
    with at(cast.dairy, hours(16)):
        tick(cast.dairy)


def test_exactly_the_signers_own_half_prints_self_reviewed(working: Cast) -> None:
    half_a_day_each(working)
    with at(working.dairy, hours(16)):
        allow_self_review(working, "Two people only")
        sign_day(establishment=working.dairy, proof=working.proof(working.helper), day=DAY)
    issue = printed(working, "day", DAY.isoformat(), hours(17))
    marked = {
        (row.cells[3].text, row.cells[5].text, "self-reviewed" in row.cells[6].text)
        for block in day_print.document(Frame.of(issue), DAY).blocks
        if isinstance(block, Grid) and len(block.columns) == 7
        for row in block.rows
    }
    assert marked == {
        ("3.8 °C", "MK", False),
        ("3.5 °C", "MK", False),
        ("150 ppm", "HP", True),
        ("3.6 °C", "HP", True),
    }
    page = text(kept_bytes(issue))
    # Three rows, the head of each page, and the signature's box and sentence.
    assert page.count("self-reviewed") == 3 + len(pages(kept_bytes(issue))) + 2
    assert "3 of them self-reviewed. Reason: Two people only" in page


def test_without_permission_the_same_signature_is_refused(working: Cast) -> None:
    half_a_day_each(working)
    with at(working.dairy, hours(16)), pytest.raises(Refused, match="3 records of this day are your own"):
        sign_day(establishment=working.dairy, proof=working.proof(working.helper), day=DAY)


def test_a_day_signed_by_somebody_else_prints_no_self_review(working: Cast) -> None:
    half_a_day_each(working)
    with at(working.dairy, hours(16)):
        allow_self_review(working, "Two people only")
        sign_day(establishment=working.dairy, proof=working.proof(working.reviewer), day=DAY)
    assert "self-reviewed" not in text(kept_bytes(printed(working, "day", DAY.isoformat(), hours(17))))


def test_a_correction_that_moves_an_event_to_another_day_strikes_it_on_the_first(working: Cast) -> None:
    _lot, starter = day_of_the_lot(working)
    with at(working.dairy, hours(18)):
        moved_event(working, starter, 15 * 60)
    issue = printed(working, "day", DAY.isoformat(), hours(19))
    rows = [
        row
        for block in day_print.document(Frame.of(issue), DAY).blocks
        if isinstance(block, Grid) and len(block.columns) == 6
        for row in block.rows
        if "Starter added" in row.cells[2].text
    ]
    assert [row.state for row in rows] == ["corrected"]
