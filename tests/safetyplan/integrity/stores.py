"""A store of entries as someone with access to the database sees it, for the tests of the verifier."""

import hashlib
from base64 import b64encode
from dataclasses import dataclass, field
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from safetyplan.integrity import canonical, notes
from safetyplan.integrity.verifier import Anchor, leaf_hash, parse_note, tree_root

ESTABLISHMENT = "0b9c2a8e-1111-4222-8333-444455556666"
KEY_NAME = f"alp/{ESTABLISHMENT}"
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
OTHER_KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
FILE = b"a printed day sheet"
FILE_HASH = hashlib.sha256(FILE).hexdigest()


def seal_text(size: int = 80, root: bytes = bytes(32), more: str = "") -> str:
    lines = [KEY_NAME, str(size), b64encode(root).decode(), "2026-05-14T18:00:00.000Z", "reason sign_off"]
    return "\n".join(lines) + "\n" + more


@dataclass
class Row:
    """A stored entry: what was recorded, and the hash column beside the body."""

    body: bytes
    stored_hash: bytes


@dataclass
class Store:
    """What someone with access to the database can write to."""

    rows: list[Row] = field(default_factory=list)
    seals: list[str] = field(default_factory=list)

    def add(self, kind: str, record: dict[str, Any]) -> None:
        previous = self.rows[-1].stored_hash.hex() if self.rows else "0" * 64
        body = entry_body(len(self.rows) + 1, previous, kind, record)
        self.rows.append(Row(body, leaf_hash(body)))

    def seal(self, size: int, key: Ed25519PrivateKey = KEY, more: str = "") -> str:
        root = tree_root(row.stored_hash for row in self.rows[:size])
        self.seals.append(notes.sign_note(seal_text(size, root, more), KEY_NAME, key))
        return self.seals[-1]

    def change(self, sequence: int, /, **members: Any) -> None:
        row = self.rows[sequence - 1]
        row.body = canonical.dumps(canonical.loads(row.body) | members)

    def chain_again(self) -> None:
        """Number and link all rows anew, as a rewriter would."""
        values = [canonical.loads(row.body) for row in self.rows]
        self.rows = []
        for value in values:
            self.add(value["kind"], value["record"])

    def export(self, key: Ed25519PrivateKey = KEY, files: tuple[bytes, ...] = (FILE,)) -> list[bytes]:
        header = {
            "export": "records",
            "v": 1,
            "establishment": ESTABLISHMENT,
            "slug": "alp",
            "size": len(self.rows),
            "public_key": notes.public_key_base64(key),
            "key_name": KEY_NAME,
        }
        tail: list[dict[str, Any]] = [{"seal": note} for note in self.seals]
        for data in files:
            tail.append({"file": hashlib.sha256(data).hexdigest(), "base64": b64encode(data).decode()})
        lines = [canonical.dumps(header), *(row.body for row in self.rows), *map(canonical.dumps, tail)]
        return [line + b"\n" for line in lines]


def entry_body(sequence: int, previous: str, kind: str, record: dict[str, Any]) -> bytes:
    return canonical.dumps(
        {
            "v": 1,
            "establishment": ESTABLISHMENT,
            "sequence": sequence,
            "previous": previous,
            "kind": kind,
            "version": 1,
            "uuid": f"00000000-0000-4000-8000-{sequence:012d}",
            "author": "clock",
            "recorded_at": "2026-05-14T18:00:00.000Z",
            "claim": None,
            "record": record,
        }
    )


def sealed_store(size: int = 100) -> Store:
    """One hundred entries, seals stored at 40 and 80."""
    store = Store()
    store.add("establishment_opened", {"public_key": notes.public_key_base64(KEY)})
    for number in range(2, size + 1):
        if number == 30:
            store.add("print_kept", {"sha256": FILE_HASH})
        else:
            store.add("reading", {"note": "Käse", "value": f"{number / 10:.2f}"})
    for at in (40, 80):
        store.seal(at)
    return store


def outside_seal(store: Store, size: int = 80) -> Anchor:
    """The seal of that size as it was printed before anything happened."""
    note = next(note for note in store.seals if parse_note(note).size == size)
    return Anchor("the printed seal", size, parse_note(note).root, note)


def receipt(store: Store, sequence: int) -> Anchor:
    """What a device was given when entry `sequence` was recorded."""
    return Anchor("a receipt", sequence, store.rows[sequence - 1].stored_hash, receipt=True)
