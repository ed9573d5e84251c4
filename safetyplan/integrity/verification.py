"""verify_records: every row encoded again and compared with the ledger, the chain, the seals, the index.

Findings name the first sequence each fault puts in doubt; an empty list means that all of it holds.
"""

import hashlib
from base64 import b64decode
from collections.abc import Iterable, Iterator
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from django.core.exceptions import ObjectDoesNotExist
from django.db import connection, transaction

from safetyplan.establishments.models import Establishment, EstablishmentOpening
from safetyplan.integrity import canonical, index, ledger
from safetyplan.integrity.chain import UNREADABLE, Chain, any_text, as_bytes, one, walk
from safetyplan.integrity.kinds import register
from safetyplan.integrity.models import Entry, Recorded, RecordSeal, StoredFile
from safetyplan.integrity.verifier import Anchor, Finding, Note, key_id, parse_note, split_note


def verify(establishment: Establishment, anchors: Iterable[Anchor] = ()) -> list[Finding]:
    """Check everything recorded for an establishment; `anchors` are copies kept outside.

    What is recorded while this runs is left for the next time: it neither waits nor makes others wait,
    but for the moment that the list of open items takes.
    """
    listed = sorted(anchors, key=lambda anchor: anchor.size)
    with any_text():
        seals = _seals(establishment)
        stops = {size for seal in seals for size in _sizes(seal)} | {a.size for a in listed if not a.receipt}
        chain = walk(establishment, stops, {a.size for a in listed if a.receipt}, rows=True)
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
    with any_text():
        return walk(establishment, set(), set(), rows=False).findings


def _check_counts(establishment: Establishment, chain: Chain) -> Iterator[Finding]:
    counted = _count_rows(establishment, chain.last)
    for model in register.models():
        names = sorted({kind.name for kind in register.all() if kind.model is model})
        expected, found = sum(chain.counts[name] for name in names), counted[model._meta.db_table]
        if found != expected:
            near = _strange(establishment, model, names, chain.last)
            yield Finding(near, "orphan", f"{model.__name__} has {found} rows for {expected} entries")


def _count_rows(establishment: Establishment, last: int) -> dict[str, int]:
    """Count each table's rows in one query, but not those of entries that came after `last`."""
    key = Establishment._meta.pk.get_db_prep_value(establishment.pk, connection)
    tables = [model._meta.db_table for model in register.models()]
    since = f"SELECT id FROM {Entry._meta.db_table} WHERE establishment_id = %s AND sequence > %s"
    each = "SELECT '{0}', COUNT(*) FROM {0} WHERE establishment_id = %s AND entry_id NOT IN ({1})"
    with connection.cursor() as cursor:
        sql = " UNION ALL ".join(each.format(table, since) for table in tables)
        cursor.execute(sql, [key, key, last] * len(tables))
        return dict(cursor.fetchall())


def _strange(establishment: Establishment, model: type[Recorded], names: list[str], last: int) -> int:
    """Name the entry, of another kind or establishment, that a row without a proper one points to."""
    proper = Entry.objects.of(establishment).filter(kind__in=names).values("pk")
    row = one(model._base_manager.filter(establishment=establishment).exclude(pk__in=proper))
    if row is None:
        return last
    found = Entry._base_manager.filter(pk=row.pk).values_list("sequence", flat=True).first()
    return found if isinstance(found, int) else last


def _opening(establishment: Establishment) -> EstablishmentOpening | None:
    first = Entry.objects.of(establishment).filter(sequence=1).values("pk")
    found: EstablishmentOpening | None = one(EstablishmentOpening._base_manager.filter(pk__in=first))
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


def _check_seals(establishment: Establishment, seals: list[RecordSeal], chain: Chain) -> Iterator[Finding]:
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
    except (ValueError, InvalidSignature):
        return False
    return bool(own)


def _seal_fault(seal: RecordSeal, chain: Chain, key: str, key_name: str, good: int) -> tuple[int | None, str]:
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


def _check_files(establishment: Establishment, chain: Chain) -> Iterator[Finding]:
    found = set()
    for stored in StoredFile.objects.of(establishment).iterator(chunk_size=20):
        if hashlib.sha256(as_bytes(stored.content)).hexdigest() == stored.sha256:
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


def _check_anchors(anchors: list[Anchor], chain: Chain) -> Iterator[Finding]:
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
