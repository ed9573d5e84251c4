"""verify_records: every row encoded again and compared with the ledger, the chain, the seals, the index.

Findings name the first sequence each fault puts in doubt; an empty list means that all of it holds.
"""

import hashlib
from base64 import b64decode
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from django.core.exceptions import ObjectDoesNotExist
from django.db import connection, transaction
from django.db.models import QuerySet

from safetyplan.establishments.models import Establishment, EstablishmentOpening
from safetyplan.integrity import canonical, index, ledger
from safetyplan.integrity.kinds import Kind, register
from safetyplan.integrity.models import Entry, Recorded, RecordSeal, StoredFile
from safetyplan.integrity.verifier import (
    Anchor,
    Finding,
    Frontier,
    Note,
    key_id,
    leaf_hash,
    parse_note,
    split_note,
)

CHUNK = 2000


# What Django raises for a stored value that is no value of its column.
UNREADABLE = (ValueError, TypeError, AttributeError, ArithmeticError)


@dataclass
class _Chain:
    """What is known after walking the chain."""

    tree: Frontier = field(default_factory=Frontier)
    roots: dict[int, bytes] = field(default_factory=dict)
    frontiers: dict[int, str] = field(default_factory=dict)
    hashes: dict[int, str] = field(default_factory=dict)
    head: str = ledger.GENESIS
    last: int = 0
    counts: "Counter[str]" = field(default_factory=Counter)
    wanted_files: dict[int, str] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)


def verify(establishment: Establishment, anchors: Iterable[Anchor] = ()) -> list[Finding]:
    """Check everything recorded for an establishment; `anchors` are copies kept outside.

    What is recorded while this runs is left for the next time: it neither waits nor makes others wait,
    but for the moment that the list of open items takes.
    """
    listed = sorted(anchors, key=lambda anchor: anchor.size)
    with _any_text():
        seals = _seals(establishment)
        stops = {size for seal in seals for size in _sizes(seal)} | {a.size for a in listed if not a.receipt}
        chain = _walk(establishment, stops, {a.size for a in listed if a.receipt}, rows=True)
        findings = [
            *chain.findings,
            *_check_counts(establishment, chain),
            *_check_opening(establishment),
            *_check_seals(establishment, seals, chain),
            *_check_files(establishment, chain),
            *_check_index(establishment),
            *_check_anchors(listed, chain),
        ]
    return sorted(findings, key=lambda finding: finding.sequence or 0)


def verify_chain(establishment: Establishment) -> list[Finding]:
    """Check the ledger alone: sequence, hashes and columns of its entries, not the rows, seals or files."""
    with _any_text():
        return _walk(establishment, set(), set(), rows=False).findings


@contextmanager
def _any_text() -> Iterator[None]:
    """Let SQLite hand out text that is not UTF-8: it is to be compared, not to stop the comparison."""
    connection.ensure_connection()
    if connection.vendor != "sqlite":
        yield
        return
    raw = connection.connection
    usual, raw.text_factory = raw.text_factory, partial(str, encoding="utf-8", errors="backslashreplace")
    try:
        yield
    finally:
        raw.text_factory = usual


def _walk(establishment: Establishment, stops: set[int], receipts: set[int], *, rows: bool) -> _Chain:
    chain = _Chain()
    for chunk in _chunks(Entry.objects.of(establishment).order_by("sequence"), chain):
        chain.findings += _check_chunk(establishment, chunk, chain, stops, receipts, rows=rows)
    return chain


def _chunks(entries: "QuerySet[Entry]", chain: _Chain) -> Iterator[list[Entry | None]]:
    """Read the entries in order; None stands for one that cannot be read."""
    later, chunk = entries, _read(entries[:CHUNK], entries)
    while chunk:
        yield chunk
        numbers = [e.sequence for e in chunk if e is not None and isinstance(e.sequence, int)]
        if not numbers:
            return
        chain.last = numbers[-1]
        later = entries.filter(sequence__gt=chain.last)
        chunk = _read(later[:CHUNK], later) if len(chunk) == CHUNK else []


def _read(chunk: "QuerySet[Entry]", rows: "QuerySet[Entry]") -> list[Entry | None]:
    try:
        return list(chunk)
    except UNREADABLE:
        return [_one(rows[at : at + 1]) for at in range(min(rows.count(), CHUNK))]


def _one(rows: "QuerySet[Any]") -> Any:
    try:
        return next(iter(rows), None)
    except UNREADABLE:
        return None


def _bytes(value: Any) -> bytes:
    return bytes(value) if isinstance(value, bytes | memoryview) else repr(value).encode()


def _check_chunk(
    establishment: Establishment,
    chunk: list[Entry | None],
    chain: _Chain,
    stops: set[int],
    receipts: set[int],
    *,
    rows: bool,
) -> Iterator[Finding]:
    found = _rows_of([e for e in chunk if e is not None]) if rows else {}
    for entry in chunk:
        at = chain.tree.size + 1
        leaf = leaf_hash(_bytes(entry.body)) if entry is not None else b""
        if entry is None:
            yield Finding(at, "entry", f"entry {at} cannot be read")
        else:
            yield from _check_link(establishment, entry, leaf.hex(), chain)
            if rows:
                yield from _check_row(at, entry, found.get(entry.kind, {}).get(entry.pk))
        chain.head = leaf.hex()
        chain.tree.push(leaf)
        if at in stops:
            chain.roots[at] = chain.tree.root()
            chain.frontiers[at] = canonical.dumps(chain.tree.to_list()).decode()
        if at in receipts:
            chain.hashes[at] = leaf.hex()


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
        some = ids[start : start + 500]
        try:
            rows = list(model._base_manager.filter(pk__in=some))
        except UNREADABLE:
            rows = [row for pk in some if (row := _one(model._base_manager.filter(pk=pk))) is not None]
        found |= {row.pk: row for row in rows}
    return found


def _check_link(establishment: Establishment, entry: Entry, leaf: str, chain: _Chain) -> Iterator[Finding]:
    at = chain.tree.size + 1
    chain.counts[entry.kind] += 1
    if entry.sequence != at:
        yield Finding(at, "sequence", f"entry {entry.sequence} stands where {at} belongs")
    if leaf != entry.hash:
        yield Finding(at, "hash", f"entry {at} does not match its hash")
    if entry.previous_hash != chain.head:
        yield Finding(max(at - 1, 1), "chain", f"entry {at} names another hash for the one before")
    try:
        said = canonical.loads(_bytes(entry.body))
        same = [said[name] for name in ("sequence", "previous", "kind", "version", "uuid", "establishment")]
        record = dict(said["record"])
    except (*UNREADABLE, KeyError):
        yield Finding(at, "entry", f"entry {at} cannot be read")
        return
    columns = [entry.sequence, entry.previous_hash, entry.kind, entry.version, str(entry.pk)]
    if same != [*columns, str(establishment.pk)]:
        yield Finding(at, "entry", f"entry {at} and its columns differ")
    if said["kind"] in ("file_attached", "print_kept"):
        chain.wanted_files[at] = str(record.get("sha256"))


def _check_row(at: int, entry: Entry, row: Recorded | None) -> Iterator[Finding]:
    kind = register.get(entry.kind, entry.version)
    if kind is None:
        yield Finding(at, "kind", f"entry {at} is of an unknown kind {entry.kind}")
    elif row is None:
        yield Finding(at, "row", f"entry {at} has no row to read in {kind.model.__name__}")
    elif not _same(entry, row, kind):
        yield Finding(at, "row", f"the row of entry {at} differs from what was recorded")


def _same(entry: Entry, row: Recorded, kind: Kind) -> bool:
    try:
        body = ledger.body_of(row, kind, sequence=entry.sequence, previous=entry.previous_hash)
        return canonical.dumps(body) == bytes(entry.body) and all(
            getattr(row, column) == compute(row) for column, compute in kind.derived.items()
        )
    except (*UNREADABLE, AssertionError):
        return False


def _check_counts(establishment: Establishment, chain: _Chain) -> Iterator[Finding]:
    counted = _count_rows(establishment, chain.last)
    for model in register.models():
        names = [kind.name for kind in register.all() if kind.model is model]
        expected, found = sum(chain.counts[name] for name in names), counted[model._meta.db_table]
        if found != expected:
            near = _strange(establishment, model, names, chain.last)
            yield Finding(near, "orphan", f"{model.__name__} has {found} rows for {expected} entries")


def _count_rows(establishment: Establishment, last: int) -> dict[str, int]:
    """Count each table's rows in one query, but not those of entries that came after `last`."""
    key = Establishment._meta.pk.get_db_prep_value(establishment.pk, connection)
    tables = [model._meta.db_table for model in register.models()]
    since = f"SELECT id FROM {Entry._meta.db_table} WHERE establishment_id = %s AND sequence > %s"
    one = "SELECT '{0}', COUNT(*) FROM {0} WHERE establishment_id = %s AND entry_id NOT IN ({1})"
    with connection.cursor() as cursor:
        sql = " UNION ALL ".join(one.format(table, since) for table in tables)
        cursor.execute(sql, [key, key, last] * len(tables))
        return dict(cursor.fetchall())


def _strange(establishment: Establishment, model: type[Recorded], names: list[str], last: int) -> int:
    """Name the entry, of another kind or establishment, that a row without a proper one points to."""
    entries = Entry.objects.of(establishment)
    proper = entries.filter(kind__in=names).values("pk")
    rows = model._base_manager.filter(establishment=establishment).exclude(pk__in=proper)
    row = _one(rows)
    found = entries.filter(pk=row.pk).values_list("sequence", flat=True).first() if row else None
    return found if isinstance(found, int) else last


def _opening(establishment: Establishment) -> EstablishmentOpening | None:
    first = Entry.objects.of(establishment).filter(sequence=1).values("pk")
    found: EstablishmentOpening | None = _one(EstablishmentOpening._base_manager.filter(pk__in=first))
    return found


def _check_opening(establishment: Establishment) -> Iterator[Finding]:
    opening = _opening(establishment)
    if opening is None or (opening.slug, opening.demonstration) != (
        establishment.slug,
        establishment.demonstration,
    ):
        yield Finding(1, "establishment", "the establishment differs from its first entry")


def _seals(establishment: Establishment) -> list[RecordSeal]:
    rows = RecordSeal.objects.of(establishment).order_by("size", "id")
    try:
        return list(rows)
    except UNREADABLE:
        return list(rows.defer("sealed_at"))


def _note(text: Any) -> Note | None:
    try:
        return parse_note(text)
    except UNREADABLE:
        return None


def _sizes(seal: RecordSeal) -> set[int]:
    note = _note(seal.note)
    return {seal.size} | ({note.size} if note else set())


def _check_seals(establishment: Establishment, seals: list[RecordSeal], chain: _Chain) -> Iterator[Finding]:
    opening = _opening(establishment)
    key, name = (opening.public_key, opening.key_name) if opening else ("", "")
    good = 0
    for seal in seals:
        at, message = _seal_fault(seal, chain, key, name, good)
        if message:
            yield Finding(at, "seal", f"seal over {seal.size} entries: {message}")
        else:
            good = seal.size
    astray = RecordSeal._base_manager.exclude(establishment=establishment).filter(
        note__startswith=f"{name}\n"
    )
    for text in astray.values_list("note", flat=True) if name else ():
        note = _note(text)
        at = note.size if note else None
        yield Finding(at, "seal", f"the seal over {at} entries is stored under another establishment")


def _is_signed(note: str, key: str, key_name: str) -> bool:
    """Check a note as the stand-alone verifier does, but with the faster library."""
    try:
        raw = b64decode(key)
        text, signatures = split_note(note)
        own = [data[4:] for name, data in signatures if name == key_name and data[:4] == key_id(name, raw)]
        for signature in own:
            Ed25519PublicKey.from_public_bytes(raw).verify(signature, text.encode())
    except (*UNREADABLE, InvalidSignature):
        return False
    return bool(own)


def _seal_fault(
    seal: RecordSeal, chain: _Chain, key: str, key_name: str, good: int
) -> tuple[int | None, str]:
    """Give the first sequence that a seal puts in doubt and why, or '' when it agrees."""
    stated = seal.size if isinstance(seal.size, int) else None
    note = _note(seal.note)
    if note is None:
        return stated, "its note cannot be read"
    if not _is_signed(seal.note, key, key_name):
        return stated, "its signature does not match"
    if note.size > chain.tree.size:
        return chain.tree.size + 1, "entries were cut off"
    if chain.roots.get(note.size) != note.root:
        return min(good + 1, note.size), "what it covers was changed"
    try:
        columns = (seal.size, seal.root, canonical.instant(seal.sealed_at), seal.reason, seal.frontier)
    except UNREADABLE:
        return note.size, "its columns cannot be read"
    said = (note.size, note.root.hex(), note.instant, note.reason, chain.frontiers[note.size])
    return note.size, "" if columns == said else "its columns differ from its note"


def _check_files(establishment: Establishment, chain: _Chain) -> Iterator[Finding]:
    found = set()
    for stored in StoredFile.objects.of(establishment).iterator(chunk_size=20):
        if hashlib.sha256(_bytes(stored.content)).hexdigest() == stored.sha256:
            found.add(stored.sha256)
        else:
            named = [at for at, digest in chain.wanted_files.items() if digest == stored.sha256]
            yield Finding(min(named, default=None), "file", f"stored file {stored.sha256[:12]!s} was changed")
    for at, digest in chain.wanted_files.items():
        if digest not in found:
            yield Finding(at, "file", f"the file that entry {at} names is missing or changed")


def _check_index(establishment: Establishment) -> Iterator[Finding]:
    try:
        with transaction.atomic():
            ledger.lock(establishment)
            wrong = index.stored(establishment) ^ index.rebuilt(establishment)
    except (*UNREADABLE, LookupError, ObjectDoesNotExist) as error:
        yield Finding(None, "index", f"the list of open items cannot be compared: {error}")
        return
    for what, subject, _lot in sorted(wrong, key=str):
        at = Entry.objects.of(establishment).filter(pk=subject).values_list("sequence", flat=True).first()
        yield Finding(at, "index", f"the list of open items is wrong about a {what}")


def _check_anchors(anchors: list[Anchor], chain: _Chain) -> Iterator[Finding]:
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
