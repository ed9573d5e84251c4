"""The ledger: the only place that writes entries.

Body of an entry (canonical JSON, RFC 8785):
    v, establishment, sequence, previous, kind, version, uuid, author, recorded_at, claim,
    credential, claim_signature, record
Hash of an entry: SHA-256(0x00 || body), the RFC 6962 leaf hash: one hash serves chain and tree.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import connection, transaction

from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.kinds import Kind, json_text
from safetyplan.integrity.models import Entry, Recorded
from safetyplan.integrity.verifier import leaf_hash

BODY_VERSION = 1
GENESIS = "0" * 64
CLOCK = "clock"


@dataclass(frozen=True)
class Claim:
    """What a device claims, byte for byte, with the credential that signed it (None: a page of ours)."""

    text: str
    credential: UUID | None = None
    signature: str | None = None

    @property
    def uuid(self) -> UUID:
        """Give the claim's UUID, which becomes the entry's."""
        return UUID(self.document()["uuid"])

    def document(self) -> dict[str, Any]:
        """Give the claim as an object."""
        value = canonical.loads(self.text.encode())
        assert isinstance(value, dict)
        return value


def lock(establishment: Establishment) -> None:
    """Wait for the establishment's turn to write. SQLite's IMMEDIATE transaction has it already."""
    if connection.vendor != "sqlite":
        Establishment.objects.select_for_update(no_key=True).get(pk=establishment.pk)


def head(establishment: Establishment) -> tuple[int, str]:
    """Give the newest sequence and hash of an establishment (0 and zeros when there is none)."""
    newest = Entry.objects.of(establishment).order_by("-sequence").values_list("sequence", "hash").first()
    return newest or (0, GENESIS)


def body_of(row: Recorded, kind: Kind, *, sequence: int, previous: str) -> bytes:
    """Compose the entry body of a row: canonical JSON, its names in order.

    Composed of stored text, so it is canonical only if that text is: `append_many` checks it once, when it
    is written; verification compares it with the bytes stored then.
    """
    author = json_text(row.author_id) if row.author_id else f'"{CLOCK}"'
    return (
        f'{{"author":{author},"claim":{row.claim_text or "null"},'
        f'"claim_signature":{json_text(row.claim_signature)},"credential":{json_text(row.credential_id)},'
        f'"establishment":{json_text(row.establishment_id)},"kind":{json_text(kind.name)},'
        f'"previous":{json_text(previous)},"record":{kind.encode(row)},'
        f'"recorded_at":{json_text(row.recorded_at)},"sequence":{json_text(sequence)},'
        f'"uuid":{json_text(row.pk)},"v":{BODY_VERSION},"version":{kind.version}}}'
    ).encode("utf-8", errors="surrogatepass")


def append(
    *,
    kind: Kind,
    row: Recorded,
    establishment: Establishment,
    author: Person | None,
    claim: Claim | None = None,
    at: datetime | None = None,
) -> Entry:
    """Append one record: its entry and its row, in the caller's transaction."""
    return append_many(establishment=establishment, author=author, items=[(kind, row, claim)], at=at)[0]


def append_many(
    *,
    establishment: Establishment,
    author: Person | None,
    items: Sequence[tuple[Kind, Recorded, Claim | None]],
    at: datetime | None = None,
) -> list[Entry]:
    """Append several records in order; all or none."""
    with transaction.atomic():
        lock(establishment)
        sequence, previous = head(establishment)
        entries = []
        for kind, row, claim in items:
            sequence += 1
            _fill_header(row, establishment, author, claim, at or clock.now(establishment))
            body = body_of(row, kind, sequence=sequence, previous=previous)
            canonical.loads(body)  # raises what cannot be recorded
            entry = Entry(
                id=row.pk,
                establishment=establishment,
                sequence=sequence,
                kind=kind.name,
                version=kind.version,
                body=body,
                previous_hash=previous,
                hash=leaf_hash(body).hex(),
            )
            entry.save(force_insert=True)
            row.entry = entry
            row.save(force_insert=True)
            previous = entry.hash
            entries.append(entry)
    return entries


def _fill_header(
    row: Recorded, establishment: Establishment, author: Person | None, claim: Claim | None, at: datetime
) -> None:
    row.entry_id = claim.uuid if claim else (row.entry_id or uuid4())
    row.establishment = establishment
    row.author = author
    row.recorded_at = at
    row.claim_text = claim.text if claim else None
    row.credential_id = claim.credential if claim else None
    row.claim_signature = claim.signature if claim else None
    for model_field in row._meta.concrete_fields:
        value = getattr(row, model_field.attname)
        if isinstance(value, datetime):
            setattr(row, model_field.attname, clock.whole_milliseconds(value))
