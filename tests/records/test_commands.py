"""The commands, on the demonstration told through the services: prints, checks, exports, clear refusals."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from pypdf import PdfReader

from records.batches.models import Lot
from records.demonstration import tarrowby
from records.deviations.models import Deviation
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.models import RecordSeal
from tests.cast import make_cast

NOW = datetime(2026, 5, 23, 15, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def dairy(django_db_setup: None, django_db_blocker: pytest.FixtureRequest) -> Iterator[Establishment]:
    """Tell the demonstration once for this module, and take it back afterwards."""
    from django.db import transaction

    with django_db_blocker.unblock(), transaction.atomic():  # type: ignore[attr-defined]
        yield tarrowby.tell(now=NOW)
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def _undo_each(dairy: Establishment, db: None) -> Iterator[None]:
    """Take back what one test records."""
    from django.db import transaction

    point = transaction.savepoint()
    yield
    transaction.savepoint_rollback(point)


def run(*words: str) -> str:
    """Run a command and give what it says."""
    out = StringIO()
    call_command(*words, stdout=out, stderr=out)
    return out.getvalue()


def text_of(path: Path) -> str:
    """Read the text of a PDF as a person would copy it."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed")
    done = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True, check=True)
    return done.stdout


def squeezed(text: str) -> str:
    """Leave out all blanks, since lines wrap."""
    return re.sub(r"\s+", "", text)


def test_the_held_lot_prints_with_everything_an_inspector_asks_for(
    dairy: Establishment, tmp_path: Path
) -> None:
    out = tmp_path / "lot.pdf"

    run("print_records", "--lot", "TF-0514", "--out", str(out))

    text = squeezed(text_of(out))
    seal = RecordSeal.objects.of(dairy).order_by("-size", "-id")[0]
    for wanted in (
        "Tarrowby Goat Dairy",
        "Tarrow Fresh",
        "TF-0514",
        "pH 4.71",
        "pH 5.12",
        "pH 4.88",
        "pH 4.58",
        "64.3 °C",
        "63.4 °C",
        "read wrong probe",
        "written on my hand in the morning",
        "MO",
        "JV",
        "pH at most 4.60",
        "2026-05-15 18:00",
        "262",
        "31.4",
        "Decides the disposition of held product",
        "Reviewed and closed",
        "Releases the lot",
        "Reviewed the day's records",
        "Josse Vanlerberg",
        "page 1 of",
        "INVENTED DEMONSTRATION",
        "does not replace the judgement of a qualified person",
        seal.root,
    ):
        assert squeezed(wanted) in text, wanted


def test_a_day_prints_by_its_date(dairy: Establishment, tmp_path: Path) -> None:
    out = tmp_path / "day.pdf"

    said = run("print_records", "--day", "2026-05-15", "--out", str(out))

    assert "written to" in said
    assert len(PdfReader(out).pages) >= 1


def test_the_demonstration_verifies(dairy: Establishment) -> None:
    assert run("verify_records").startswith("OK:")


def test_a_printed_seal_verifies_with_blanks_and_capitals(dairy: Establishment) -> None:
    seal = RecordSeal.objects.of(dairy).order_by("size", "id")[3]
    digits = " ".join(re.findall("." * 8, seal.root.upper()))

    assert run("verify_records", "--root", digits, "--size", str(seal.size)).startswith("OK:")


def test_a_seal_of_another_history_is_found_out(
    dairy: Establishment, capsys: pytest.CaptureFixture[str]
) -> None:
    seal = RecordSeal.objects.of(dairy).order_by("size", "id")[3]
    other = ("0" if seal.root[0] != "0" else "1") + seal.root[1:]

    with pytest.raises(SystemExit) as stopped:
        run("verify_records", "--root", other, "--size", str(seal.size))

    assert stopped.value.code == 1


def test_an_export_verifies_by_command_and_on_its_own(dairy: Establishment, tmp_path: Path) -> None:
    out, note = tmp_path / "export.jsonl", tmp_path / "seal.txt"
    run("export_records", "--out", str(out))
    note.write_text(RecordSeal.objects.of(dairy).order_by("-size", "-id")[0].note)

    assert run("verify_records", "--export", str(out), "--seal", str(note)).startswith("OK:")
    verifier = Path("safetyplan/integrity/verifier.py").resolve()
    alone = subprocess.run(
        ["python3", "-I", str(verifier), str(out), "--seal", str(note)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert alone.returncode == 0, alone.stdout + alone.stderr


def test_a_changed_export_names_the_first_bad_sequence(
    dairy: Establishment, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "export.jsonl"
    run("export_records", "--out", str(out))
    lines = out.read_text().splitlines(keepends=True)
    changed = [
        line.replace("4.71", "4.51") if '"control":"CCP2"' in line and "4.71" in line else line
        for line in lines
    ]
    out.write_text("".join(changed))
    said = StringIO()

    with pytest.raises(SystemExit) as stopped:
        call_command("verify_records", "--export", str(out), stdout=said, stderr=said)

    assert stopped.value.code == 1
    lot = Lot.objects.of(dairy).get(code="TF-0514")
    deviation = Deviation.objects.of(dairy).get(lot=lot)
    assert deviation.reading is not None
    assert f"first bad sequence {deviation.reading.entry.sequence}" in said.getvalue()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["print_records", "--lot", "TF-9999", "--out", "x.pdf"], "There is no lot"),
        (["print_records", "--lot", "TF-O514", "--out", "x.pdf"], "Did you mean TF-0514"),
        (["print_records", "--day", "14 May", "--out", "x.pdf"], "is not a day"),
        (["print_records", "--lot", "TF-0514", "--out", "/no/such/folder/x.pdf"], "does not exist"),
        (["print_records", "--lot", "TF-0514", "--out", "x.pdf", "--by", "orla"], "Nobody named may print"),
        (["print_records", "--lot", "TF-0514", "--out", "x.pdf", "--by", "zoe"], "not a person"),
        (["print_records", "--out", "x.pdf"], "one of the arguments"),
        (["verify_records", "--root", "ab"], "belong together"),
        (["verify_records", "--seal", "no-such-file"], "no record seal"),
        (["verify_records", "--export", "no-such-file"], "cannot be read"),
        (["verify_records", "--establishment", "elsewhere"], "no establishment called"),
        (["export_records", "--out", "/no/such/folder/x"], "cannot be written"),
        (["benchmark", "--records", "3"], "at least 1000"),
        (["demo", "--today", "yesterday"], "is not a day"),
    ],
)
def test_a_bad_argument_is_refused_with_one_clear_line(
    dairy: Establishment, words: list[str], message: str
) -> None:
    with pytest.raises(CommandError) as refused:
        run(*words)

    assert message in str(refused.value)
    assert "\n" not in str(refused.value)


def test_with_several_establishments_one_must_be_named(dairy: Establishment, tmp_path: Path) -> None:
    make_cast("another")

    with pytest.raises(CommandError, match="name one with --establishment"):
        run("print_records", "--lot", "TF-0514", "--out", str(tmp_path / "x.pdf"))
    run("print_records", "--lot", "TF-0514", "--out", str(tmp_path / "x.pdf"), "--establishment", "tarrowby")
