"""Walks an establishment's ledger: sequence, hashes, columns, and each entry's row encoded again.

Nothing that is stored may stop the walk: what cannot be read is a finding like any other.
"""

from collections import Counter, namedtuple
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache, partial
from typing import Any

from django.db import connection
from django.db.models import QuerySet

from safetyplan.establishments.models import Establishment
from safetyplan.integrity import canonical, ledger
from safetyplan.integrity.kinds import register
from safetyplan.integrity.models import Entry, Recorded
from safetyplan.integrity.verifier import Finding, Frontier, leaf_hash

CHUNK = 2000
NAMES_FILES = ("file_attached", "print_kept", "evidence_kept")


# What Django raises for a stored value that is no value of its column.
UNREADABLE = (ValueError, TypeError, AttributeError, ArithmeticError)


@dataclass
class Chain:
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


@contextmanager
def any_text() -> Iterator[None]:
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


def walk(establishment: Establishment, stops: set[int], receipts: set[int], *, rows: bool) -> Chain:
    """Read every entry in order; keep the tree's root at `stops` and the entries' hashes at `receipts`."""
    chain = Chain()
    for chunk in _chunks(Entry.objects.of(establishment).order_by("sequence"), chain):
        chain.findings += _check_chunk(establishment, chunk, chain, stops, receipts, rows=rows)
    return chain


def _chunks(entries: "QuerySet[Entry]", chain: Chain) -> Iterator[list[Entry | None]]:
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
        return [one(rows[at : at + 1]) for at in range(min(rows.count(), CHUNK))]


def one(rows: "QuerySet[Any]") -> Any:
    """Give the first row, or None when there is none that can be read."""
    try:
        return next(iter(rows), None)
    except UNREADABLE:
        return None


def as_bytes(value: Any) -> bytes:
    """Give a stored value as bytes, also where none were expected."""
    return bytes(value) if isinstance(value, bytes | memoryview) else repr(value).encode()


def _check_chunk(
    establishment: Establishment,
    chunk: list[Entry | None],
    chain: Chain,
    stops: set[int],
    receipts: set[int],
    *,
    rows: bool,
) -> Iterator[Finding]:
    found = _rows_of([e for e in chunk if e is not None]) if rows else {}
    for entry in chunk:
        at = chain.tree.size + 1
        leaf = leaf_hash(as_bytes(entry.body)) if entry is not None else b""
        if entry is None:
            yield Finding(at, "entry", f"entry {at} cannot be read")
        else:
            row = found.get(entry.kind, {}).get(entry.pk)
            yield from _check_link(at, entry, leaf.hex(), chain)
            if row is not None and _agrees(establishment, entry, row):
                if entry.kind in NAMES_FILES:
                    chain.wanted_files[at] = str(getattr(row, "sha256", None))
            else:
                yield from _check_body(establishment, at, entry, chain)
                yield from _check_row(at, entry, row) if rows else ()
        chain.head = leaf.hex()
        chain.tree.push(leaf)
        if at in stops:
            chain.roots[at] = chain.tree.root()
            chain.frontiers[at] = canonical.dumps(chain.tree.to_list()).decode()
        if at in receipts:
            chain.hashes[at] = leaf.hex()


def _rows_of(chunk: list[Entry]) -> dict[str, dict[Any, Any]]:
    wanted: dict[type[Recorded], list[Any]] = {}
    for entry in chunk:
        kind = register.get(entry.kind, entry.version)
        if kind is not None:
            wanted.setdefault(kind.model, []).append(entry.pk)
    by_model = {model: _in_bulk(model, ids) for model, ids in wanted.items()}
    return {kind.name: by_model[kind.model] for kind in register.all() if kind.model in by_model}


@lru_cache
def _columns(model: type[Recorded]) -> tuple[list[str], Any]:
    """Give the columns of a table and a light row of them: making a model of each row takes longer."""
    names = [f.attname for f in model._meta.concrete_fields]
    light = namedtuple(model.__name__, names)  # type: ignore[misc]
    return names, type(model.__name__, (light,), {"pk": property(lambda row: row.entry_id), "__slots__": ()})


def _in_bulk(model: type[Recorded], ids: list[Any]) -> dict[Any, Any]:
    found: dict[Any, Any] = {}
    names, light = _columns(model)
    for start in range(0, len(ids), 500):
        some = ids[start : start + 500]
        try:
            values = model._base_manager.filter(pk__in=some).values_list(*names)
            rows: list[Any] = [light._make(row) for row in values]
        except UNREADABLE:
            rows = [row for pk in some if (row := one(model._base_manager.filter(pk=pk))) is not None]
        found |= {row.pk: row for row in rows}
    return found


def _check_link(at: int, entry: Entry, leaf: str, chain: Chain) -> Iterator[Finding]:
    chain.counts[entry.kind] += 1
    if entry.sequence != at:
        yield Finding(at, "sequence", f"entry {entry.sequence} stands where {at} belongs")
    if leaf != entry.hash:
        yield Finding(at, "hash", f"entry {at} does not match its hash")
    if entry.previous_hash != chain.head:
        yield Finding(max(at - 1, 1), "chain", f"entry {at} names another hash for the one before")


def _agrees(establishment: Establishment, entry: Entry, row: Recorded) -> bool:
    """Encode a row again: the same bytes say that body, columns of the entry and row all agree."""
    kind = register.get(entry.kind, entry.version)
    if kind is None or row.establishment_id != establishment.pk:
        return False
    try:
        body = ledger.body_of(row, kind, sequence=entry.sequence, previous=entry.previous_hash)
        return (
            body == bytes(entry.body)
            and all(getattr(row, column) == compute(row) for column, compute in kind.derived.items())
            and all(getattr(row, column) is None for column in kind.later)
        )
    except (*UNREADABLE, AssertionError):
        return False


def _check_body(establishment: Establishment, at: int, entry: Entry, chain: Chain) -> Iterator[Finding]:
    try:
        said = canonical.loads(as_bytes(entry.body))
        same = [said[name] for name in ("sequence", "previous", "kind", "version", "uuid", "establishment")]
        record = dict(said["record"])
    except (*UNREADABLE, KeyError):
        yield Finding(at, "entry", f"entry {at} cannot be read")
        return
    columns = [entry.sequence, entry.previous_hash, entry.kind, entry.version, str(entry.pk)]
    if same != [*columns, str(establishment.pk)]:
        yield Finding(at, "entry", f"entry {at} and its columns differ")
    if said["kind"] in NAMES_FILES:
        chain.wanted_files[at] = str(record.get("sha256"))


def _check_row(at: int, entry: Entry, row: Recorded | None) -> Iterator[Finding]:
    kind = register.get(entry.kind, entry.version)
    if kind is None:
        yield Finding(at, "kind", f"entry {at} is of an unknown kind {entry.kind}")
    elif row is None:
        yield Finding(at, "row", f"entry {at} has no row to read in {kind.model.__name__}")
    else:
        yield Finding(at, "row", f"the row of entry {at} differs from what was recorded")
