"""The visit: prints, seals, export, the check of the records; and that reading writes nothing."""

import re
import sys
from pathlib import Path
from subprocess import run

import pytest
from django.db import connection
from django.test import Client

from records.inspection import views, visit_page
from records.inspection.models import PrintIssue
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from safetyplan.integrity import verifier
from safetyplan.integrity.models import Entry, RecordSeal
from safetyplan.integrity.seals import newest_seal, seal
from safetyplan.integrity.verifier import Finding
from tests.builders import a_lot, at, hours
from tests.cast import Cast
from tests.records.inspection.browsing import address, as_person, field, words, written
from tests.records.inspection.story import tell

pytestmark = pytest.mark.django_db


def state(cast: Cast) -> tuple[int, int]:
    """Count entries and seals."""
    return Entry.objects.of(cast.dairy).count(), RecordSeal.objects.of(cast.dairy).count()


def test_printing_a_lot_by_its_code_issues_keeps_and_shows_it(working: Cast) -> None:
    client = as_person(working.owner)
    with at(working.dairy, hours(1)):
        a_lot(working, started=hours(1))
        sent = client.post(address("print_issue"), {"what": "lot", "subject": "tf-0514"})
        file = client.get(sent["Location"])
        page = words(client.get(address("visit")))
    assert sent["Location"] == address("print_file", 1)
    assert (file["Content-Type"], file["Content-Disposition"]) == (
        "application/pdf",
        'inline; filename="lot-tf-0514-print-1.pdf"',
    )
    assert file.content == kept_bytes(PrintIssue.objects.of(working.dairy).get())
    assert "Issue 1 (PDF) Lot TF-0514 2026-05-14 09:00 Owner Person" in page


@pytest.mark.parametrize(
    ("what", "subject", "message"),
    [
        ("lot", "TF-9999", "There is no lot with this code."),
        ("day", "tomorrow", "There is no such lot, day or hold to print."),
        ("cheese", "TF-0514", "There is no such lot, day or hold to print."),
    ],
)
def test_what_is_not_there_is_not_printed_and_what_was_typed_stays(
    working: Cast, what: str, subject: str, message: str
) -> None:
    with at(working.dairy, hours(1)):
        response = as_person(working.owner).post(address("print_issue"), {"what": what, "subject": subject})
    assert response.status_code == 422
    assert message in words(response)
    assert subject in [field(response, "subject", form) for form in (0, 1)]
    assert PrintIssue.objects.of(working.dairy).count() == 0


def test_an_inspector_opens_prints_but_issues_none(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        lot = a_lot(working, started=hours(1))
        issue_print(establishment=working.dairy, by=working.owner, what="lot", subject=str(lot.pk))
        inspector, stranger = as_person(working.inspector), as_person(working.stranger)
        typed = {"what": "lot", "subject": str(lot.pk)}
        assert inspector.get(address("print_file", 1)).status_code == 200
        assert inspector.post(address("print_issue"), typed).status_code == 403
        assert stranger.get(address("print_file", 1)).status_code == 404
        assert stranger.post(address("print_issue"), typed).status_code == 404
        assert as_person(working.maker).post(address("print_issue"), typed).status_code == 302
        assert inspector.get(address("print_file", 7)).status_code == 404


def test_the_newest_seal_is_shown_with_its_64_digits_and_a_note_to_keep(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        made = seal(establishment=working.dairy, reason="daily")
    client = as_person(working.inspector)
    with at(working.dairy, hours(4)):
        page = words(client.get(address("visit")))
        note = client.get(address("seal_note", made.pk))
    assert " ".join(made.root[start : start + 8] for start in range(0, 64, 8)) in page
    assert "(3 hours ago, daily)" in page
    assert note.content.decode() == made.note
    assert "attachment" in note["Content-Disposition"]
    assert as_person(working.stranger).get(address("seal_note", made.pk)).status_code == 404


def test_a_seal_older_than_a_day_is_warned_of_and_a_younger_one_not(working: Cast) -> None:
    client = as_person(working.inspector)
    with at(working.dairy, hours(0)):
        seal(establishment=working.dairy, reason="daily")
    with at(working.dairy, hours(24)):
        assert "The newest seal is" not in words(client.get(address("visit")))
    with at(working.dairy, hours(24.1)):
        assert "The newest seal is 24 hours old." in words(client.get(address("visit")))


def test_a_seal_of_another_dairy_is_not_found(working: Cast) -> None:
    with at(working.other_dairy, hours(1)):
        far = seal(establishment=working.other_dairy, reason="daily")
    assert as_person(working.owner).get(address("seal_note", far.pk)).status_code == 404


def test_checking_the_records_shows_that_they_agree_and_writes_nothing(working: Cast) -> None:
    tell(working)
    before = state(working)
    with at(working.dairy, hours(81)):
        page = words(as_person(working.inspector).post(address("visit")))
    assert f"All {before[0]} entries, their records, seals, files and lists agree." in page
    assert "It does not say that what was recorded was true" in page
    assert state(working) == before


def test_a_fault_in_the_records_is_shown_with_its_entry(
    working: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = [Finding(5, "row", "the row of entry 5 differs from what was recorded")]
    monkeypatch.setattr(views, "verify", lambda _establishment: found)
    with at(working.dairy, hours(1)):
        page = words(as_person(working.inspector).post(address("visit")))
    assert "The records do not hold together." in page
    assert "Entry 5: the row of entry 5 differs from what was recorded" in page


def test_the_export_is_sealed_and_the_downloaded_verifier_accepts_it(working: Cast, tmp_path: Path) -> None:
    tell(working)
    client = as_person(working.owner)
    with at(working.dairy, hours(81)):
        sent = client.post(address("export"))
        content = b"".join(sent.streaming_content)  # type: ignore[arg-type]
        program = client.get(address("verifier"))
    newest = newest_seal(working.dairy)
    assert newest is not None
    assert (newest.reason, newest.size) == ("export", Entry.objects.of(working.dairy).count())
    (tmp_path / "records.jsonl").write_bytes(content)
    (tmp_path / "note.txt").write_text(newest.note)
    (tmp_path / "verifier.py").write_bytes(program.content)
    command = [sys.executable, "-I", "verifier.py", "records.jsonl", "--seal", "note.txt"]
    done = run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout
    assert f"Proven by copies kept outside: entries 1 to {newest.size}." in done.stdout
    flipped = content.replace(b'"150"', b'"151"')
    assert flipped != content
    (tmp_path / "records.jsonl").write_bytes(flipped)
    assert run(command, cwd=tmp_path, capture_output=True, check=False).returncode == 1


def test_the_options_named_on_the_page_are_those_of_the_verifier(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        page = words(as_person(working.inspector).get(address("visit")))
    named = set(re.findall(r"--[a-z]+", page))
    assert named == {"--seal", "--size", "--root", "--receipts"}
    assert named <= set(re.findall(r"--[a-z]+", verifier.USAGE))


def test_an_inspector_takes_a_copy_without_writing_and_a_stranger_none(working: Cast) -> None:
    before = state(working)
    with at(working.dairy, hours(1)):
        sent = as_person(working.inspector).post(address("export"))
        lines = b"".join(sent.streaming_content).splitlines()  # type: ignore[arg-type]
        assert as_person(working.stranger).post(address("export")).status_code == 404
    assert len(lines) >= before[0] + 1
    assert state(working) == before


def test_prints_follow_page_by_page(working: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(visit_page, "PAGE", 2)
    with at(working.dairy, hours(1)):
        lot = a_lot(working, started=hours(1))
        for _ in range(3):
            issue_print(establishment=working.dairy, by=working.owner, what="lot", subject=str(lot.pk))
        first = visit_page.visit_context(working.dairy, "")
        second = visit_page.visit_context(working.dairy, "2")
    assert [row["number"] for row in first["prints"]] == [3, 2]
    assert first["older_url"] == "?before=2"
    assert [row["number"] for row in second["prints"]] == [1]
    assert second["older_url"] == ""


@pytest.mark.parametrize("who", ["owner", "maker", "inspector"])
def test_opening_any_page_writes_nothing(working: Cast, who: str) -> None:
    story = tell(working)
    with at(working.dairy, hours(81)):
        issue_print(establishment=working.dairy, by=working.owner, what="day", subject="2026-05-14")
        sealed = newest_seal(working.dairy)
        assert sealed is not None
        client = as_person(getattr(working, who))
        pages = [
            address("lots"),
            address("lot_new"),
            address("lot", story.lot.pk),
            address("lot", story.other.pk),
            address("day", "2026-05-14"),
            address("day", "2026-05-16"),
            address("week"),
            address("visit"),
            address("verifier"),
            address("print_file", 1),
            address("seal_note", sealed.pk),
        ]
        found = {page: written(client, page) for page in pages}
    assert found == {page: [] for page in pages}


def test_the_check_for_writing_sees_a_page_that_writes(working: Cast) -> None:
    class Writing(Client):
        def get(self, *args: object, **kwargs: object) -> None:  # type: ignore[override]
            with connection.cursor() as cursor:
                cursor.execute("UPDATE safetyplan_openitem SET what = what")

    assert written(Writing(), "/") == ["UPDATE safetyplan_openitem SET what = what"]


@pytest.mark.parametrize(
    "name",
    [
        "lot_release",
        "lot_dispatch",
        "lot_left_on_hold",
        "day_sign",
        "day_no_production",
        "print_issue",
        "export",
    ],
)
def test_what_writes_is_never_done_by_opening_its_address(working: Cast, name: str) -> None:
    with at(working.dairy, hours(1)):
        lot = a_lot(working, started=hours(1))
        args = {"lot": [lot.pk], "day": ["2026-05-14"]}.get(name.split("_")[0], [])
        before = state(working)
        assert as_person(working.owner).get(address(name, *args)).status_code == 405
    assert state(working) == before


def test_who_is_not_signed_in_is_asked_to(working: Cast) -> None:
    for page in (address("lots"), address("week"), address("visit"), address("day", "2026-05-14")):
        assert Client().get(page)["Location"].startswith("/sign-in/")
