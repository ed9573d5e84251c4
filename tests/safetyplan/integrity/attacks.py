"""Ten attacks by somebody with access to the database file, and no guards in the way.

The attacker knows the program: chains are made anew with its own functions, rows are kept in step.
"""

import json
import sqlite3
from base64 import b64encode
from collections.abc import Callable
from dataclasses import dataclass
from uuid import uuid4

from django.conf import settings

from safetyplan.integrity import canonical, notes
from safetyplan.integrity.verifier import Frontier, leaf_hash, parse_note

GENESIS = "0" * 64


class Attacker:
    """Hands on one dairy's ledger in a file."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.db = connection
        found = connection.execute("SELECT id FROM safetyplan_establishment WHERE slug = 'near'").fetchone()
        self.dairy: str = found[0]

    def entry(self, sequence: int) -> tuple[str, bytes]:
        """Give an entry's key and body."""
        found: tuple[str, bytes] = self.db.execute(
            "SELECT id, body FROM safetyplan_entry WHERE establishment_id = ? AND sequence = ?",
            [self.dairy, sequence],
        ).fetchone()
        return found

    def edit(self, sequence: int) -> bytes:
        """Change a reading's value in the row and in the body; give the new body."""
        key, body = self.entry(sequence)
        said = json.loads(body)
        said["record"]["value_text"] = "2.9"
        changed = canonical.dumps(said)
        self.db.execute("UPDATE safetyplan_entry SET body = ? WHERE id = ?", [changed, key])
        scaled = "value_scaled * CAST(29 AS REAL) / (CAST(value_text AS REAL) * 10)"
        self.db.execute(
            f"UPDATE records_reading SET value_scaled = CAST(ROUND({scaled}) AS INTEGER), value_text = '2.9'"
            " WHERE entry_id = ?",
            [key],
        )
        return changed

    def delete(self, sequence: int) -> None:
        """Remove an entry and its row."""
        key, _body = self.entry(sequence)
        self.db.execute("DELETE FROM records_reading WHERE entry_id = ?", [key])
        self.db.execute("DELETE FROM safetyplan_entry WHERE id = ?", [key])

    def insert_after(self, sequence: int) -> None:
        """Put a copy of a reading between two entries."""
        key, body = self.entry(sequence)
        new = uuid4()
        for step in (1_000_000, -999_999):
            self.db.execute(
                "UPDATE safetyplan_entry SET sequence = sequence + ? WHERE establishment_id = ? "
                "AND sequence > ?",
                [step, self.dairy, sequence],
            )
        said = {**json.loads(body), "uuid": str(new)}
        self._copy("safetyplan_entry", "id", key, new.hex, sequence=sequence + 1, body=canonical.dumps(said))
        self._copy("records_reading", "entry_id", key, new.hex)

    def _copy(self, table: str, key: str, old: str, new: str, **changes: object) -> None:
        names = [f'"{row[1]}"' for row in self.db.execute(f"PRAGMA table_info({table})")]
        row = self.db.execute(f"SELECT {', '.join(names)} FROM {table} WHERE {key} = ?", [old]).fetchone()
        changed = {f'"{name}"': value for name, value in {key: new, **changes}.items()}
        values = {**dict(zip(names, row, strict=True)), **changed}
        marks = ", ".join("?" for _name in names)
        self.db.execute(f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})", list(values.values()))

    def chain_anew(self) -> list[bytes]:
        """Number and chain all entries again; give their hashes."""
        rows = self.db.execute(
            "SELECT id, body FROM safetyplan_entry WHERE establishment_id = ? ORDER BY sequence",
            [self.dairy],
        ).fetchall()
        previous, leaves = GENESIS, []
        for sequence, (key, body) in enumerate(rows, start=1):
            said = {**json.loads(body), "sequence": sequence, "previous": previous}
            changed = canonical.dumps(said)
            leaves.append(leaf_hash(changed))
            self.db.execute(
                "UPDATE safetyplan_entry SET sequence = ?, previous_hash = ?, body = ?, hash = ? "
                "WHERE id = ?",
                [sequence, previous, changed, leaves[-1].hex(), key],
            )
            previous = leaves[-1].hex()
        return leaves

    def drop_seals(self, beyond: int = 0) -> None:
        """Remove the seals over more entries than these."""
        self.db.execute(
            "DELETE FROM safetyplan_recordseal WHERE establishment_id = ? AND size > ?",
            [self.dairy, beyond],
        )

    def sign_anew(self, leaves: list[bytes]) -> None:
        """Make every seal again with the server's own key, over what the ledger holds now."""
        key = notes.load_private_key(settings.SEAL_KEY_FILE)
        seals = self.db.execute(
            "SELECT id, size, note FROM safetyplan_recordseal WHERE establishment_id = ?",
            [self.dairy],
        ).fetchall()
        for number, size, note in seals:
            tree = Frontier(leaves[:size])
            old = parse_note(note)
            text = note.split("\n\n")[0].replace(
                b64encode(old.root).decode(), b64encode(tree.root()).decode()
            )
            self.db.execute(
                "UPDATE safetyplan_recordseal SET root = ?, frontier = ?, note = ? WHERE id = ?",
                [
                    tree.root().hex(),
                    canonical.dumps(tree.to_list()).decode(),
                    notes.sign_note(text + "\n", old.origin, key),
                    number,
                ],
            )


def edit_and_leave_hashes(attacker: Attacker) -> None:
    attacker.edit(60)


def edit_and_mend_its_hash(attacker: Attacker) -> None:
    digest = leaf_hash(attacker.edit(60)).hex()
    attacker.db.execute("UPDATE safetyplan_entry SET hash = ? WHERE id = ?", [digest, attacker.entry(60)[0]])


def delete_one(attacker: Attacker) -> None:
    attacker.delete(60)


def delete_one_and_chain_anew(attacker: Attacker) -> None:
    attacker.delete(60)
    attacker.chain_anew()


def insert_back_dated_and_chain_anew(attacker: Attacker) -> None:
    attacker.insert_after(60)
    attacker.chain_anew()


def cut_back_past_a_seal(attacker: Attacker) -> None:
    for sequence in range(71, 101):
        attacker.delete(sequence)
    attacker.drop_seals(beyond=70)


def rewrite_without_the_key(attacker: Attacker) -> None:
    attacker.edit(30)
    attacker.chain_anew()
    attacker.drop_seals()


def rewrite_and_sign_anew(attacker: Attacker) -> None:
    attacker.edit(30)
    attacker.sign_anew(attacker.chain_anew())


def cut_after_the_newest_anchor(attacker: Attacker) -> None:
    for sequence in range(91, 101):
        attacker.delete(sequence)


def rewrite_after_the_newest_anchor(attacker: Attacker) -> None:
    attacker.edit(90)
    attacker.chain_anew()


@dataclass(frozen=True)
class Attack:
    """An attack, the first entry it harms, and whether the seals kept inside and outside show it."""

    carry_out: Callable[[Attacker], None]
    first: int
    seen_inside: bool
    seen_outside: bool

    @property
    def name(self) -> str:
        """Name the attack."""
        return self.carry_out.__name__


# Which layer sees which attack follows from Haber and Stornetta, How to Time-Stamp a Digital Document (1991):
# a chain shows what was not chained again, a signature what was not signed again, and only a copy that the
# keeper cannot reach shows the rest, up to that copy and no further.
ATTACKS = [
    Attack(edit_and_leave_hashes, 60, True, True),
    Attack(edit_and_mend_its_hash, 60, True, True),
    Attack(delete_one, 60, True, True),
    Attack(delete_one_and_chain_anew, 60, True, True),
    Attack(insert_back_dated_and_chain_anew, 61, True, True),
    Attack(cut_back_past_a_seal, 71, False, True),
    Attack(rewrite_without_the_key, 30, False, True),
    Attack(rewrite_and_sign_anew, 30, False, True),
    Attack(cut_after_the_newest_anchor, 91, False, False),
    Attack(rewrite_after_the_newest_anchor, 90, False, False),
]
