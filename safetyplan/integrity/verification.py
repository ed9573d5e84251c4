"""verify_records: every row encoded again and compared with the ledger, the chain, the seals, the index.

Findings name the first sequence each fault puts in doubt; an empty list means that all of it holds.
"""

import hashlib
from base64 import b64decode
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from safetyplan.establishments.models import Establishment, EstablishmentOpening
from safetyplan.integrity import canonical, index, ledger
from safetyplan.integrity.kinds import Kind, register
from safetyplan.integrity.models import Entry, Recorded, RecordSeal, StoredFile
from safetyplan.integrity.verifier import Anchor, Finding, Frontier, leaf_hash, parse_note, verify_note

CHUNK = 2000


@dataclass
class _Chain:
    """What is known after walking the chain."""

    tree: Frontier
    roots: dict[int, bytes]
    frontiers: dict[int, str]
    hashes: dict[int, str]
    head: str
    counts: "Counter[str]"
    wanted_files: dict[int, str]


def verify(establishment: Establishment, anchors: Iterable[Anchor] = ()) -> list[Finding]:
    """Check everything recorded for an establishment; `anchors` are copies kept outside."""
    findings: list[Finding] = []
    seals = list(RecordSeal.objects.of(establishment).order_by("size", "id"))
    listed = sorted(anchors, key=lambda anchor: anchor.size)
    stops = {seal.size for seal in seals} | {a.size for a in listed if not a.receipt}
    receipts = {a.size for a in listed if a.receipt}
    chain = _Chain(Frontier(), {}, {}, {}, ledger.GENESIS, Counter(), {})
    for chunk in _chunks(Entry.objects.of(establishment).order_by("sequence")):
        findings += _check_chunk(establishment, chunk, chain, stops, receipts)
    findings += _check_counts(establishment, chain)
    findings += _check_opening(establishment)
    findings += _check_seals(establishment, seals, chain)
    findings += _check_files(establishment, chain)
    findings += _check_index(establishment)
    findings += _check_anchors(establishment, listed, chain, seals)
    return sorted(findings, key=lambda finding: finding.sequence or 0)


def _chunks(rows: "QuerySet[Any]") -> Iterator[list[Any]]:
    last = None
    while True:
        later = rows if last is None else rows.filter(sequence__gt=last)
        chunk = list(later[:CHUNK])
        if not chunk:
            return
        yield chunk
        last = chunk[-1].sequence


def _check_chunk(
    establishment: Establishment, chunk: list[Entry], chain: _Chain, stops: set[int], receipts: set[int]
) -> Iterator[Finding]:
    rows = _rows_of(chunk)
    for entry in chunk:
        yield from _check_link(establishment, entry, chain)
        yield from _check_row(entry, rows.get(entry.kind, {}).get(entry.pk))
        chain.tree.push(leaf_hash(bytes(entry.body)))
        if entry.sequence in stops:
            chain.roots[entry.sequence] = chain.tree.root()
            chain.frontiers[entry.sequence] = canonical.dumps(chain.tree.to_list()).decode()
        if entry.sequence in receipts:
            chain.hashes[entry.sequence] = leaf_hash(bytes(entry.body)).hex()


def _rows_of(chunk: list[Entry]) -> dict[str, dict[Any, Recorded]]:
    wanted: dict[type[Recorded], list[Any]] = {}
    for entry in chunk:
        kind = register.get(entry.kind, entry.version)
        if kind is not None:
            wanted.setdefault(kind.model, []).append(entry.pk)
    by_model = {model: _in_bulk(model, ids) for model, ids in wanted.items()}
    return {kind.name: by_model[kind.model] for kind in register.all() if kind.model in by_model}


def _in_bulk(model: type[Recorded], ids: list[Any]) -> dict[Any, Recorded]:
    found: dict[Any, Recorded] = {}
    for start in range(0, len(ids), 500):
        rows = model._base_manager.filter(pk__in=ids[start : start + 500])
        found |= {row.pk: row for row in rows}
    return found


def _check_link(establishment: Establishment, entry: Entry, chain: _Chain) -> Iterator[Finding]:
    at = chain.tree.size + 1
    body = bytes(entry.body)
    chain.counts[entry.kind] += 1
    if entry.sequence != at:
        yield Finding(at, "sequence", f"entry {entry.sequence} stands where {at} belongs")
    if leaf_hash(body).hex() != entry.hash:
        yield Finding(entry.sequence, "hash", f"entry {entry.sequence} does not match its hash")
    if entry.previous_hash != chain.head:
        yield Finding(
            max(at - 1, 1), "chain", f"entry {entry.sequence} names another hash for the one before"
        )
    chain.head = leaf_hash(body).hex()
    try:
        said = canonical.loads(body)
        same = (
            said["sequence"],
            said["previous"],
            said["kind"],
            said["version"],
            said["uuid"],
            said["establishment"],
        )
    except (canonical.CanonicalError, KeyError, TypeError):
        yield Finding(entry.sequence, "entry", f"entry {entry.sequence} cannot be read")
        return
    columns = (
        entry.sequence,
        entry.previous_hash,
        entry.kind,
        entry.version,
        str(entry.pk),
        str(establishment.pk),
    )
    if same != columns:
        yield Finding(entry.sequence, "entry", f"entry {entry.sequence} and its columns differ")
    if said["kind"] in ("file_attached", "print_kept"):
        chain.wanted_files[entry.sequence] = str(said["record"].get("sha256"))


def _check_row(entry: Entry, row: Recorded | None) -> Iterator[Finding]:
    kind = register.get(entry.kind, entry.version)
    if kind is None:
        yield Finding(entry.sequence, "kind", f"entry {entry.sequence} is of an unknown kind {entry.kind}")
    elif row is None:
        yield Finding(entry.sequence, "row", f"entry {entry.sequence} has no row in {kind.model.__name__}")
    elif not _same(entry, row, kind):
        yield Finding(
            entry.sequence, "row", f"the row of entry {entry.sequence} differs from what was recorded"
        )


def _same(entry: Entry, row: Recorded, kind: Kind) -> bool:
    try:
        body = ledger.body_of(row, kind, sequence=entry.sequence, previous=entry.previous_hash)
        return canonical.dumps(body) == bytes(entry.body) and all(
            getattr(row, column) == compute(row) for column, compute in kind.derived.items()
        )
    except (canonical.CanonicalError, ValueError, ArithmeticError):
        return False


def _check_counts(establishment: Establishment, chain: _Chain) -> Iterator[Finding]:
    for model in register.models():
        names = [kind.name for kind in register.all() if kind.model is model]
        entries = sum(chain.counts[name] for name in names)
        rows = model._base_manager.filter(establishment=establishment).count()
        if rows == entries:
            continue
        known = Entry.objects.of(establishment).filter(kind__in=names).values("pk")
        strange = model._base_manager.filter(establishment=establishment).exclude(pk__in=known).first()
        near = _near(establishment, strange) if strange is not None else None
        yield Finding(near, "orphan", f"{model.__name__} has {rows} rows for {entries} entries")


def _near(establishment: Establishment, row: Recorded) -> int:
    """Name the last sequence recorded before a row that has no entry."""
    elsewhere = Entry._base_manager.filter(pk=row.pk).first()
    return elsewhere.sequence if elsewhere else ledger.head(establishment)[0]


def _check_opening(establishment: Establishment) -> Iterator[Finding]:
    opening = EstablishmentOpening._base_manager.filter(establishment=establishment).first()
    if opening is None or (opening.slug, opening.demonstration) != (
        establishment.slug,
        establishment.demonstration,
    ):
        yield Finding(1, "establishment", "the establishment differs from its first entry")


def _check_seals(establishment: Establishment, seals: list[RecordSeal], chain: _Chain) -> Iterator[Finding]:
    opening = EstablishmentOpening._base_manager.filter(establishment=establishment).first()
    key = b64decode(opening.public_key) if opening else b""
    good = 0
    for seal in seals:
        message = _seal_fault(seal, chain, key, opening.key_name if opening else "")
        if message:
            yield Finding(min(good + 1, seal.size), "seal", f"seal over {seal.size} entries: {message}")
        else:
            good = seal.size


def _seal_fault(seal: RecordSeal, chain: _Chain, key: bytes, key_name: str) -> str:
    try:
        note = parse_note(seal.note)
        signed = verify_note(seal.note, key, key_name)
    except ValueError:
        return "its note cannot be read"
    if not signed:
        return "its signature does not match"
    columns = (seal.size, seal.root, canonical.instant(seal.sealed_at), seal.reason, seal.frontier)
    said = (note.size, note.root.hex(), note.instant, note.reason, chain.frontiers.get(note.size, ""))
    if note.size > chain.tree.size:
        return "entries were cut off"
    if chain.roots.get(note.size) != note.root:
        return "what it covers was changed"
    return "" if columns == said else "its columns differ from its note"


def _check_files(establishment: Establishment, chain: _Chain) -> Iterator[Finding]:
    found = set()
    for stored in StoredFile.objects.of(establishment).iterator(chunk_size=20):
        if hashlib.sha256(bytes(stored.content)).hexdigest() == stored.sha256:
            found.add(stored.sha256)
        else:
            named = [at for at, digest in chain.wanted_files.items() if digest == stored.sha256]
            yield Finding(min(named, default=None), "file", f"stored file {stored.sha256[:12]} was changed")
    for at, digest in chain.wanted_files.items():
        if digest not in found:
            yield Finding(at, "file", f"the file that entry {at} names is missing or changed")


def _check_index(establishment: Establishment) -> Iterator[Finding]:
    wrong = index.stored(establishment) ^ index.rebuilt(establishment)
    for what, subject, _lot in sorted(wrong, key=str):
        entry = Entry.objects.of(establishment).filter(pk=subject).first()
        at = entry.sequence if entry else None
        yield Finding(at, "index", f"the list of open items is wrong about a {what}")


def _check_anchors(
    establishment: Establishment, anchors: list[Anchor], chain: _Chain, seals: list[RecordSeal]
) -> Iterator[Finding]:
    good = 0
    for anchor in anchors:
        if anchor.size > chain.tree.size:
            first = chain.tree.size + 1
            yield Finding(
                first, "cut_back", f"{anchor.label} covers {anchor.size} entries: {first} is missing"
            )
            continue
        present: object = chain.roots.get(anchor.size)
        expected: object = anchor.expected
        if anchor.receipt:
            present, expected = chain.hashes.get(anchor.size), anchor.expected.hex()
        if present == expected:
            good = anchor.size
        else:
            span = f"entries {good + 1} to {anchor.size}"
            yield Finding(good + 1, "anchor", f"{span} are not those of {anchor.label}")
