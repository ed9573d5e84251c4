# fmt: off
"""Check an export of records with Python 3.9 or newer and nothing else.

EXPORT is UTF-8 text, one canonical JSON value (RFC 8785) a line: a header; the entries, in the exact bytes
recorded; {"seal": note} by size; {"base64": content, "file": SHA-256}. An entry's hash is its RFC 6962
leaf hash; the next entry repeats it as "previous". A seal is a signed note (C2SP signed-note, Ed25519) over
the RFC 6962 tree root of entries 1 to size. Give what was kept outside: seals as files, the 64 digits of a
printed root and its size, a device's receipts ({"hash", "sequence", "uuid"} a line). Only these can show what
the keeper rewrote. Exit 0: OK. 1: the first bad sequence. 2: the command or a file was not understood.
"""
from __future__ import annotations

import hashlib
import json
import re
import sys
from base64 import b64decode
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple, NoReturn

FIRST_PREVIOUS = "0" * 64
FIELDS = {"v", "establishment", "sequence", "previous", "kind", "version", "uuid", "author", "recorded_at",
          "claim", "record"}
HASH64 = "([A-Za-z0-9+/]{42}[AEIMQUYcgkosw048]=)"  # base64 of 32 bytes, in its one strict spelling
HEADER = re.compile(r'\{"establishment":"([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})","export":"records",'
                    rf'"key_name":"([^\s+"\\\0-\x1f]+)","public_key":"{HASH64}","size":(0|[1-9]\d{{0,15}}),'
                    r'"slug":"([^"\\\0-\x1f]*)","v":1\}\n?', re.ASCII)
SEAL = re.compile(
    rf"(.+)\n([1-9]\d{{0,15}})\n{HASH64}\n(\d{{4}}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{{3}}Z)\n"
    r"reason ([a-z][a-z0-9_-]*)\n(invented demonstration\n)?", re.ASCII)
USAGE = "verifier.py EXPORT [--seal FILE ...] [--root HEX --size N] [--receipts FILE ...]"
P, L = 2**255 - 19, 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P

class Finding(NamedTuple):
    """Something that does not hold. `sequence`: the first entry it puts in doubt; None: the file itself."""
    sequence: int | None
    code: str
    message: str

class Note(NamedTuple):
    """What a record seal states."""
    origin: str
    size: int
    root: bytes
    instant: str
    reason: str
    demonstration: bool

class Anchor(NamedTuple):
    """A hash to compare: the root over entries 1 to `size` or, for a receipt, the hash of entry `size`."""
    label: str
    size: int
    expected: bytes
    note: str = ""
    receipt: bool = False

def _add(p: Any, q: Any) -> Any:
    a, b, c = (p[1] - p[0]) * (q[1] - q[0]), (p[1] + p[0]) * (q[1] + q[0]), 2 * p[3] * q[3] * D
    e, f, g, h = b - a, 2 * p[2] * q[2] - c, 2 * p[2] * q[2] + c, b + a
    return e * f % P, g * h % P, f * g % P, e * h % P

def _point(data: bytes) -> Any:
    sign, y = divmod(int.from_bytes(data, "little"), 2**255)
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    x = x if (x * x - square) % P == 0 else x * pow(2, (P - 1) // 4, P) % P
    x = x if x % 2 == sign else P - x
    return (x, y, 1, x * y % P) if y < P and x < P and (x * x - square) % P == 0 else None

def ed25519_verify(public_key: bytes, message: bytes, signature: bytes) -> bool:
    """Is this the Ed25519 signature (RFC 8032 5.1.7, [S]B = R + [k]A), all parts in canonical encoding?"""
    key = _point(public_key) if len(public_key) == 32 and len(signature) == 64 else None
    s = int.from_bytes(signature[32:], "little")
    if key is None or s >= L:
        return False
    k = int.from_bytes(hashlib.sha512(signature[:32] + public_key + message).digest(), "little") % L
    base, minus = _point((4 * pow(5, -1, P) % P).to_bytes(32, "little")), (P - key[0], key[1], 1, P - key[3])
    table = [(0, 1, 1, 0), base, minus, _add(base, minus)]
    total = table[0]
    for bit in range(252, -1, -1):
        total = _add(_add(total, total), table[(s >> bit & 1) + 2 * (k >> bit & 1)])
    x, y = (part * pow(total[2], -1, P) % P for part in total[:2])
    return bool(signature[:32] == (y + x % 2 * 2**255).to_bytes(32, "little"))

def leaf_hash(body: bytes) -> bytes:
    """Return SHA-256(0x00 || body) (RFC 6962 2.1): the hash of an entry, for chain and tree alike."""
    return hashlib.sha256(b"\x00" + body).digest()

def node_hash(left: bytes, right: bytes) -> bytes:
    """Return SHA-256(0x01 || left || right) (RFC 6962 2.1)."""
    return hashlib.sha256(b"\x01" + left + right).digest()

class Frontier:
    """The right edge of a growing RFC 6962 tree: a (height, hash) for each full subtree, largest first."""
    def __init__(self, leaves: Iterable[bytes] = ()) -> None:
        self.size, self.edge = 0, list[tuple[int, bytes]]()
        for leaf in leaves:
            self.push(leaf)

    def push(self, leaf: bytes) -> None:
        """Add the hash of the next entry."""
        height = 0
        while self.edge and self.edge[-1][0] == height:
            height, leaf = height + 1, node_hash(self.edge.pop()[1], leaf)
        self.edge.append((height, leaf))
        self.size += 1

    def root(self) -> bytes:
        """Return the tree hash of all entries pushed; SHA-256 of nothing when there are none."""
        root = self.edge[-1][1] if self.edge else hashlib.sha256().digest()
        for _, left in self.edge[-2::-1]:
            root = node_hash(left, root)
        return root

    def to_list(self) -> list[tuple[int, str]]:
        """Return the edge as (height, hex) pairs."""
        return [(height, value.hex()) for height, value in self.edge]

    @classmethod
    def from_list(cls, pairs: Iterable[tuple[int, str]]) -> Frontier:
        """Return the frontier that `to_list` wrote; ValueError when the pairs are not one."""
        frontier = cls()
        frontier.edge = [(height, unhex(digits)) for height, digits in pairs]
        heights = [height for height, _ in frontier.edge]
        frontier.size = sum(1 << height for height in heights)
        return frontier if heights == sorted(set(heights), reverse=True) else _refuse("not a frontier")

def tree_root(leaves: Iterable[bytes]) -> bytes:
    """Return the RFC 6962 tree hash of these leaf hashes."""
    return Frontier(leaves).root()

def _refuse(problem: str) -> NoReturn:
    raise ValueError(problem)

def _canonical(line: bytes) -> Any:
    # Unicode normal form is left out: what it says of a character can depend on the version of Python.
    try:
        value = json.loads(line.decode("utf-8"), parse_float=_refuse, parse_constant=_refuse)
        again = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode("utf-8")
        return value if again == line else None
    except (RecursionError, ValueError):
        return None

def unhex(text: str) -> bytes:
    """Return the 32 bytes of 64 hexadecimal digits, however spaced, broken into lines or capitalised."""
    found = re.fullmatch("[0-9A-Fa-f]{64}", "".join(text.split()))
    return bytes.fromhex(found[0]) if found else _refuse(f"{text[:70]!a} is not 64 hexadecimal digits")

def key_id(name: str, public_key: bytes) -> bytes:
    """Return the C2SP key id: the first 4 bytes of SHA-256(name || 0x0A || 0x01 || public key)."""
    return hashlib.sha256(name.encode("utf-8") + b"\n\x01" + public_key).digest()[:4]

def split_note(note: str) -> tuple[str, list[tuple[str, bytes]]]:
    """Return the text of any signed note and its (key name, key id || signature) pairs, else ValueError."""
    found = re.fullmatch("((?:.*\n)+)\n((?:— [^\\s+]+ [A-Za-z0-9+/]+={0,2}\n)+)", note)
    if not found or re.search("[\0-\x09\x0b-\x1f]", note):
        raise ValueError("not a signed note")
    lines = [line.split(" ") for line in found[2].splitlines()]
    return found[1], [(name, b64decode(data)) for _, name, data in lines]

def parse_note(note: str) -> Note:
    """Return what a record seal states, its signature unchecked; ValueError when the note is none."""
    seal = SEAL.fullmatch(split_note(note)[0]) or _refuse("not a record seal")
    return Note(seal[1], int(seal[2]), b64decode(seal[3]), seal[4], seal[5], bool(seal[6]))

def verify_note(note_text: str, public_key: bytes, key_name: str = "") -> bool:
    """Did this key sign this note, under this name if given? Other keys' lines are ignored, as C2SP asks."""
    text, signatures = split_note(note_text)
    own = [data[4:] for name, data in signatures
           if key_name in ("", name) and data[:4] == key_id(name, public_key)]
    return bool(own) and all(ed25519_verify(public_key, text.encode("utf-8"), signature) for signature in own)

class Check:
    """One reading of an export: its `findings`, and up to which entry outside copies have `proven` it."""
    def __init__(self, lines: Iterable[bytes], anchors: Iterable[Anchor] = ()) -> None:
        self.findings, self.seals, self.files = list[Finding](), list[Anchor](), set[str]()
        self.leaves, self.roots, self.wanted = list[bytes](), list[bytes](), list[tuple[int, Any]]()
        self.tree, self.expected, self.before, self.proven, good = Frontier(), 1, FIRST_PREVIOUS, 0, 0
        head = HEADER.fullmatch(next(rest := iter(lines), b"").decode("utf-8", "replace"))
        if not head:
            return self._find(None, "header", "line 1 is not the header of an export of records")
        self.establishment, self.key_name, self.key, size, self.slug = head.groups()
        self.size = int(size)
        for number, line in enumerate(rest, 2):
            read = self._entry if number < self.size + 2 else self._seal_or_file
            read(number, line[:-1] if line.endswith(b"\n") else line)
        if len(self.leaves) < self.size:
            self._find(self.expected, "size", f"line 1 says {self.size} entries, here are {len(self.leaves)}")
        for seal in self.seals:
            good = self._compare(seal, good, "seal")
        for kept in sorted(anchors, key=lambda anchor: anchor.size):
            self.proven = self._compare(kept, self.proven, "receipt" if kept.receipt else "anchor")
        for at, digest in self.wanted:
            if str(digest) not in self.files:
                self._find(at, "file", f"the file that entry {at} names is missing or changed")
        self.findings.sort(key=lambda finding: finding.sequence or 0)

    def _find(self, sequence: int | None, code: str, message: str) -> None:
        self.findings.append(Finding(sequence, code, message))

    def _entry(self, _: int, line: bytes) -> None:
        body, at, before, leaf = _canonical(line), self.expected, self.before, leaf_hash(line)
        self.expected, self.before = at + 1, leaf.hex()
        self.tree.push(leaf)
        self.leaves.append(leaf)
        self.roots.append(self.tree.root())
        if not (isinstance(body, dict) and set(body) >= FIELDS and isinstance(body["record"], dict)
                and body["establishment"] == self.establishment and type(body["v"]) is int and body["v"] == 1
                and type(body["sequence"]) is int and body["sequence"] > 0):
            return self._find(at, "entry", f"entry {at} is not a canonical entry of this establishment")
        if body["sequence"] != at:
            self.expected = body["sequence"] + 1
            self._find(min(at, body["sequence"]), "sequence", f"entry {at} is not where it belongs")
        elif body["previous"] != before:
            self._find(max(at - 1, 1), "chain", f"entry {at} names another hash for the entry before it")
        if len(self.leaves) == 1 and body["record"].get("public_key") != self.key:
            self._find(1, "key", "the public key in entry 1 is not that of line 1")
        if body["kind"] in ("file_attached", "print_kept", "evidence_kept"):
            self.wanted.append((at, body["record"].get("sha256")))

    def _seal_or_file(self, number: int, line: bytes) -> None:
        try:
            value = dict(_canonical(line))
            if set(value) == {"seal"}:
                note = parse_note(value["seal"])
                if self.seals and note.size < self.seals[-1].size:
                    self._find(note.size, "seal", f"line {number}: the stored seal follows a larger one")
                return self.seals.append(Anchor("the stored seal", note.size, note.root, value["seal"]))
            digest = hashlib.sha256(b64decode(value["base64"], validate=True)).hexdigest()
            self.files.add(digest if digest == value["file"] else _refuse("its content was changed"))
        except (KeyError, TypeError, ValueError) as error:
            self._find(None, "line", f"line {number} is not a seal or a file as stored: {error!a}")

    def _compare(self, anchor: Anchor, good: int, code: str) -> int:
        label, size, expected, note, receipt = anchor
        low = good + 1 if good < size else 1
        signed = bool(note) and verify_note(note, b64decode(self.key), self.key_name)
        if note and not signed:
            self._find(size, code, f"{label} of size {size} is not signed by the key of this export")
        if size > len(self.leaves):
            self._find(self.expected, "cut_back", f"cut back: {label} covers entries 1 to {size}")
        elif (self.leaves if receipt else self.roots)[size - 1] != expected:
            label += ": one key signed two histories (a fork)" if signed and code == "anchor" else ""
            known = [bad for bad, _, _ in self.findings if bad and low <= bad <= size]
            self._find(min(known, default=low), code, f"entries {low} to {size} are not those of {label}")
        return good if any(found.sequence and found.sequence <= size for found in self.findings) else size

def verify_export(lines: Iterable[bytes], anchors: Iterable[Anchor] = ()) -> list[Finding]:
    """Return everything that does not hold in an export, by sequence; an empty list when all of it does."""
    return Check(lines, anchors).findings

def read_anchors(given: dict[str, list[str]]) -> Iterable[Anchor]:
    """Yield the copies kept outside that the command line names; ValueError when one is not understood."""
    for size in given.get("--size", []):
        yield Anchor("the printed root", int(size), unhex("".join(given["--root"])))
    for option, name in [(o, name) for o in ("--seal", "--receipts") for name in given.get(o, [])]:
        try:
            text = Path(name).read_text("utf-8-sig").strip()
            for row in map(json.loads, text.splitlines() if option == "--receipts" else []):
                yield Anchor(f"receipt {row['uuid']!a}", int(row["sequence"]), unhex(row["hash"]), "", True)
            if option == "--seal":
                note = parse_note(text + "\n")
                yield Anchor(f"the seal {name}", note.size, note.root, text + "\n")
        except (AttributeError, KeyError, OSError, TypeError, ValueError) as error:
            raise ValueError(f"{name}: {error}") from None

def report(check: Check) -> str:
    """Return what the program prints: OK and what is not proven, or the first bad sequence and findings."""
    if check.findings:
        first = next((f"sequence {found.sequence}" for found in check.findings if found.sequence), "line")
        return f"NOT OK: first bad {first}\n" + "".join(f"  {bad.message}\n" for bad in check.findings[:50])
    gap = f"entries {check.proven + 1} to {check.size} (not covered); " if check.proven < check.size else ""
    invented = ", an invented demonstration" if any("\ninvented" in seal.note for seal in check.seals) else ""
    return (f"OK: {check.size} entries of {check.slug!a}{invented} and {len(check.seals)} seals agree.\n"
            f"Proven by copies kept outside: {f'entries 1 to {check.proven}' if check.proven else 'none'}.\n"
            f"NOT proven: {gap}that none after {check.size} were cut off; that what was recorded was true.\n")

def main(words: list[str]) -> int:
    """Run the program and return its exit code."""
    given, option = {"": list[str]()}, ""
    for word in words:
        option = word if word[:2] == "--" else option
        given.setdefault(option, []).extend([word] if word != option else [])
    try:
        known = set(given) <= {"", *re.findall("--[a-z]+", USAGE)} and all(given.values())
        if not known or len(given[""]) != 1 or len(given.get("--size", [])) != ("--root" in given):
            raise ValueError(f"usage: {USAGE}")
        anchors = [a if a.size > 0 else _refuse("entries are numbered from 1") for a in read_anchors(given)]
        with open(given[""][0], "rb") as lines:
            check = Check(lines, anchors)
    except (OSError, ValueError) as error:
        sys.stderr.write(f"verifier: {error}\n")
        return 2
    sys.stdout.write(report(check))
    return 1 if check.findings else 0

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
