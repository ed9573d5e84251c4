"""Ten attacks on a real database file: which of them verification sees, with and without outside copies."""

import os
import random
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from pytest_django import DjangoDbBlocker

from safetyplan.establishments.models import Establishment
from safetyplan.integrity import canonical, verifier
from safetyplan.integrity.export import export_lines
from safetyplan.integrity.models import Entry, RecordSeal
from safetyplan.integrity.seals import seal
from safetyplan.integrity.verification import verify, verify_chain
from safetyplan.integrity.verifier import Anchor, Finding, parse_note, verify_export
from tests.safetyplan.integrity.attacks import ATTACKS, Attack, Attacker
from tests.safetyplan.integrity.files import SEALED_AT, SIZE, on_file, unguarded

FLIPS = 2000
EXPORT_FLIPS = 2000 if os.environ.get("SOAK") == "1" else 200
each_attack = pytest.mark.parametrize("attack", ATTACKS, ids=[attack.name for attack in ATTACKS])


@dataclass(frozen=True)
class Copies:
    """What somebody outside has kept of the ledger before the attack."""

    notes: list[str]
    receipts: list[Anchor]

    @property
    def paper(self) -> list[Anchor]:
        """Give the printed seals."""
        read = [(parse_note(note), note) for note in self.notes]
        return [Anchor(f"print of {note.size}", note.size, note.root, text) for note, text in read]


@pytest.fixture
def unlocked(django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Let the test use database files."""
    with django_db_blocker.unblock():
        yield


@pytest.fixture
def copies(ledger_file: Path, unlocked: None) -> Copies:
    """Keep each seal on paper and a device's receipts of the last readings."""
    with on_file(ledger_file):
        dairy = near()
        notes = list(RecordSeal.objects.of(dairy).filter(size__in=SEALED_AT).values_list("note", flat=True))
        newest = Entry.objects.of(dairy).filter(sequence__gt=SIZE - 5)
        receipts = [Anchor(f"receipt {e.pk}", e.sequence, bytes.fromhex(e.hash), "", True) for e in newest]
    return Copies(notes, receipts)


@pytest.fixture
def harmed(ledger_file: Path, tmp_path: Path, attack: Attack) -> Path:
    """Carry an attack out on a copy of the file."""
    path = Path(shutil.copy(ledger_file, tmp_path / "harmed.sqlite3"))
    connection = unguarded(path)
    attack.carry_out(Attacker(connection))
    connection.close()
    return path


def near() -> Establishment:
    return Establishment.objects.get(slug="near")


def first_named(findings: list[Finding]) -> int | None:
    return min((f.sequence for f in findings if f.sequence is not None), default=None)


def proven_before(attack: Attack) -> int:
    """The newest seal that the attack leaves good; what follows it is in doubt."""
    return max((size for size in SEALED_AT if size < attack.first), default=0)


def test_the_unharmed_file_verifies_with_every_copy(ledger_file: Path, copies: Copies) -> None:
    with on_file(ledger_file):
        assert Entry.objects.of(near()).order_by("-sequence").values_list("sequence", flat=True)[0] == SIZE
        assert verify(near(), [*copies.paper, *copies.receipts]) == []
        assert verify_export(list(export_lines(near())), [*copies.paper, *copies.receipts]) == []


@each_attack
def test_the_seals_kept_inside_show_what_the_table_says(unlocked: None, harmed: Path, attack: Attack) -> None:
    with on_file(harmed):
        found = verify(near())
        assert (found != []) == attack.seen_inside
        assert verify_export(list(export_lines(near()))) == [] or attack.seen_inside


@each_attack
def test_the_seals_on_paper_show_what_the_table_says(copies: Copies, harmed: Path, attack: Attack) -> None:
    with on_file(harmed):
        found = verify(near(), copies.paper)
        exported = verify_export(list(export_lines(near())), copies.paper)
    assert (found != [], exported != []) == (attack.seen_outside, attack.seen_outside)


@each_attack
def test_a_newer_receipt_shows_every_attack_and_names_where_the_doubt_begins(
    copies: Copies, harmed: Path, attack: Attack
) -> None:
    anchors = [*copies.paper, *copies.receipts]
    with on_file(harmed):
        named = first_named(verify(near(), anchors))
        exported = first_named(verify_export(list(export_lines(near())), anchors))
    for first in (named, exported):
        assert first is not None
        assert proven_before(attack) < first <= attack.first


@each_attack
def test_the_stand_alone_program_reads_the_export_and_a_printed_seal(
    copies: Copies, harmed: Path, attack: Attack, tmp_path: Path
) -> None:
    seal = tmp_path / "seal.txt"
    seal.write_text(copies.notes[-1], "utf-8")
    with on_file(harmed):
        (tmp_path / "export.txt").write_bytes(b"".join(export_lines(near())))
    command = [sys.executable, "-I", verifier.__file__, tmp_path / "export.txt", "--seal", seal]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == (1 if attack.seen_outside else 0)
    assert done.stdout.startswith("NOT OK: first bad sequence" if attack.seen_outside else "OK:")


def loosened(path: Path) -> None:
    """Take the constraints off the ledger's table, as damage to a disk knows none."""
    connection = unguarded(path)
    connection.executescript(
        "CREATE TABLE loose AS SELECT * FROM safetyplan_entry;"
        "DROP TABLE safetyplan_entry; ALTER TABLE loose RENAME TO safetyplan_entry;"
    )
    connection.close()


def flipped(value: Any, chance: random.Random) -> Any:
    """Flip one bit of a stored value: a number's 64 bits, or a bit of the bytes of a text."""
    if isinstance(value, int):
        changed = value ^ 1 << chance.randrange(64)
        return changed - 2**64 if changed >= 2**63 else changed
    raw = bytearray(value.encode() if isinstance(value, str) else value)
    raw[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
    return bytes(raw)


def test_two_thousand_flipped_bits_of_the_ledger_are_all_found(
    ledger_file: Path, tmp_path: Path, unlocked: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(canonical, "loads", lru_cache(1000)(canonical.loads))
    path = Path(shutil.copy(ledger_file, tmp_path / "loose.sqlite3"))
    loosened(path)
    chance = random.Random(20260514)
    missed = []
    with on_file(path) as connection, connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous = OFF")
        dairy = near()
        assert verify_chain(dairy) == []
        cursor.execute(
            "SELECT id, body, previous_hash, hash, sequence FROM safetyplan_entry "
            "WHERE establishment_id = %s",
            [dairy.pk.hex],
        )
        rows = cursor.fetchall()
        for _number in range(FLIPS):
            row, column = chance.choice(rows), chance.randrange(1, 5)
            name = ("id", "body", "previous_hash", "hash", "sequence")[column]
            value = flipped(row[column], chance)
            text = name in ("previous_hash", "hash")
            mark = "CAST(%s AS TEXT)" if text else "%s"
            change = f"UPDATE safetyplan_entry SET {name} = {mark} WHERE id = %s"
            cursor.execute(change, [value, row[0]])
            if not verify_chain(dairy):
                missed.append((row[4], name))
            cursor.execute(change.replace(mark, "%s"), [row[column], row[0]])
        assert verify_chain(dairy) == []
    assert missed == []


def test_flipped_bits_of_the_exported_entries_are_all_found(
    ledger_file: Path, tmp_path: Path, unlocked: None
) -> None:
    path = Path(shutil.copy(ledger_file, tmp_path / "copy.sqlite3"))
    with on_file(path):
        seal(establishment=near(), reason="export")
        lines = list(export_lines(near()))
    chance = random.Random(20260514)
    assert verify_export(lines) == []
    missed = []
    for _number in range(EXPORT_FLIPS):
        at = chance.randrange(1, SIZE + 1)
        harmed = [*lines[:at], flipped(lines[at][:-1], chance) + b"\n", *lines[at + 1 :]]
        if not verify_export(harmed):
            missed.append(at)
    assert missed == []


def test_an_attacker_who_does_nothing_is_not_accused(
    ledger_file: Path, tmp_path: Path, copies: Copies
) -> None:
    path = Path(shutil.copy(ledger_file, tmp_path / "copy.sqlite3"))
    connection: sqlite3.Connection = unguarded(path)
    attacker = Attacker(connection)
    attacker.sign_anew(attacker.chain_anew())
    connection.close()
    with on_file(path):
        assert verify(near(), [*copies.paper, *copies.receipts]) == []
