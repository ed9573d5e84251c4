"""The verifier as a program: alone, its words, its exit codes."""

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

from safetyplan.integrity import verifier

from .stores import outside_seal, sealed_store

PROGRAM = Path(verifier.__file__)


def run(*words: str | Path) -> tuple[int, str, str]:
    done = subprocess.run(
        [sys.executable, "-I", str(PROGRAM), *map(str, words)], capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout, done.stderr


def run_here(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    code = verifier.main([str(word) for word in words])
    shown = capsys.readouterr()
    return code, shown.out, shown.err


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An export with a printed seal and a device's receipts beside it."""
    store = sealed_store()
    (tmp_path / "export.txt").write_bytes(b"".join(store.export()))
    (tmp_path / "seal.txt").write_text(store.seals[1], encoding="utf-8")
    hashes = {at: store.rows[at - 1].stored_hash.hex() for at in (90, 95)}
    rows = [json.dumps({"uuid": f"u{at}", "sequence": at, "hash": digits}) for at, digits in hashes.items()]
    (tmp_path / "receipts.txt").write_text("\n".join(rows) + "\n", encoding="utf-8")
    store.change(60, record={"value": "9.99"})
    (tmp_path / "changed.txt").write_bytes(b"".join(store.export()))
    return tmp_path


def test_the_program_has_at_most_300_lines_of_the_usual_width() -> None:
    lines = PROGRAM.read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 300
    assert max(map(len, lines)) <= 110


def test_the_program_imports_only_the_standard_library() -> None:
    tree = ast.parse(PROGRAM.read_text(encoding="utf-8"))
    imported = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    imported |= {node.module or "." for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert "hashlib" in imported
    assert {name.split(".")[0] for name in imported} <= sys.stdlib_module_names


def test_the_program_runs_alone_and_says_ok_and_what_is_not_proven(folder: Path) -> None:
    code, out, err = run(folder / "export.txt", "--seal", folder / "seal.txt")
    assert (code, err) == (0, "")
    assert out.startswith("OK: 100 entries of 'alp' and 2 seals agree.\n")
    assert "Proven by copies kept outside: entries 1 to 80.\n" in out
    assert "NOT proven: entries 81 to 100 (not covered); that none after 100 were cut off;" in out


def test_the_program_runs_alone_and_names_the_first_bad_sequence(folder: Path) -> None:
    code, out, err = run(folder / "changed.txt")
    assert (code, err) == (1, "")
    assert out.startswith("NOT OK: first bad sequence 60\n")


def test_without_copies_from_outside_nothing_is_called_proven(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run_here(capsys, folder / "export.txt")
    assert code == 0
    assert "Proven by copies kept outside: none.\nNOT proven: entries 1 to 100" in out


def test_receipts_prove_up_to_the_newest_of_them(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run_here(capsys, folder / "export.txt", "--receipts", folder / "receipts.txt")
    assert code == 0
    assert "entries 1 to 95.\n" in out


def test_a_root_is_read_however_it_was_typed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    digits = outside_seal(sealed_store()).expected.hex()
    groups = [digits[at : at + 8].upper() for at in range(0, 64, 8)]
    for typed in ([digits], groups, ["\n".join(groups)], [" ".join(groups) + "\n"]):
        code, out, _ = run_here(capsys, folder / "export.txt", "--root", *typed, "--size", "80")
        assert code == 0
        assert "entries 1 to 80.\n" in out


def test_a_root_with_one_wrong_digit_is_not_ok(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    digits = outside_seal(sealed_store()).expected.hex()
    wrong = ("1" if digits[0] == "0" else "0") + digits[1:]
    code, out, _ = run_here(capsys, folder / "export.txt", "--root", wrong, "--size", "80")
    assert code == 1
    assert "entries 1 to 80 are not those of the printed root" in out


def test_a_scanned_seal_may_have_other_line_ends_and_blanks_around_it(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (folder / "seal.txt").read_text(encoding="utf-8")
    scanned = folder / "scanned.txt"
    scanned.write_bytes(b"\xef\xbb\xbf\r\n" + text.strip().replace("\n", "\r\n").encode())
    code, out, _ = run_here(capsys, folder / "export.txt", "--seal", scanned)
    assert code == 0
    assert "entries 1 to 80.\n" in out


def test_a_demonstration_is_called_invented(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store = sealed_store()
    store.seals.clear()
    store.seal(100, more="invented demonstration\n")
    (tmp_path / "export.txt").write_bytes(b"".join(store.export()))
    code, out, _ = run_here(capsys, tmp_path / "export.txt")
    assert code == 0
    assert "an invented demonstration" in out


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "usage: "),
        (["export.txt", "more.txt"], "usage: "),
        (["export.txt", "--seal"], "usage: "),
        (["export.txt", "--other", "1"], "usage: "),
        (["--help"], "usage: "),
        (["export.txt", "--root", "0" * 64], "usage: "),
        (["export.txt", "--size", "80"], "usage: "),
        (["export.txt", "--root", "0" * 64, "--size", "80", "81"], "usage: "),
        (["export.txt", "--root", "0" * 63, "--size", "80"], "is not 64 hexadecimal digits"),
        (["export.txt", "--root", "0" * 64, "--size", "eighty"], "invalid literal"),
        (["export.txt", "--root", "0" * 64, "--size", "0"], "numbered from 1"),
        (["absent.txt"], "No such file"),
        (["export.txt", "--seal", "absent.txt"], "absent.txt"),
        (["export.txt", "--seal", "receipts.txt"], "receipts.txt: not a signed note"),
        (["export.txt", "--receipts", "seal.txt"], "seal.txt: "),
        (["export.txt", "--receipts", "export.txt"], "export.txt: 'uuid'"),
    ],
)
def test_a_mistake_in_the_command_is_one_line_and_exit_2(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    message: str,
) -> None:
    monkeypatch.chdir(folder)
    code, out, err = run_here(capsys, *words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.startswith("verifier: ")
    assert message in err
