"""The export: a text file of canonical lines that the stand-alone verifier reads.

Line 1 header; then each entry's exact bytes; then {"seal": note} by size; then {"base64", "file"} for
each stored file.
"""

from base64 import b64encode
from collections.abc import Iterator

from safetyplan.establishments.models import Establishment
from safetyplan.integrity import canonical, ledger, seals
from safetyplan.integrity.models import Entry, RecordSeal, StoredFile


def export_lines(establishment: Establishment) -> Iterator[bytes]:
    """Give the lines of an export as things stand, newline included."""
    size, _hash = ledger.head(establishment)
    opening = seals.opening_of(establishment)
    header = {
        "export": "records",
        "v": 1,
        "establishment": str(establishment.pk),
        "slug": establishment.slug,
        "size": size,
        "public_key": opening.public_key,
        "key_name": opening.key_name,
    }
    yield canonical.dumps(header) + b"\n"
    entries = Entry.objects.of(establishment).filter(sequence__lte=size).order_by("sequence")
    for body in entries.values_list("body", flat=True).iterator(chunk_size=1000):
        yield bytes(body) + b"\n"
    for note in RecordSeal.objects.of(establishment).filter(size__lte=size).order_by("size", "id"):
        yield canonical.dumps({"seal": note.note}) + b"\n"
    for stored in StoredFile.objects.of(establishment).order_by("id").iterator(chunk_size=10):
        content = b64encode(bytes(stored.content)).decode()
        yield canonical.dumps({"file": stored.sha256, "base64": content}) + b"\n"
