"""The photos of records: those that are here, and those that a claim names and that have not arrived."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from records.photos.models import PhotoTaken
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until
from safetyplan.integrity.models import Recorded, StoredFile


@dataclass(frozen=True)
class Photo:
    """A photo of a record; `bound` when the signed claim of the record names it."""

    row: PhotoTaken
    bound: bool


@dataclass(frozen=True)
class Photos:
    """The photos of one record, and how many its claim names that have not arrived."""

    shown: Sequence[Photo]
    awaited: int

    def __bool__(self) -> bool:
        return bool(self.shown or self.awaited)


def named_by(record: Recorded) -> list[str]:
    """Give the hashes of the photos that a record's own claim names."""
    claim = record.claim
    content = claim.get("content") if claim else None
    named = content.get("photos", []) if isinstance(content, dict) else []
    return [text for text in named if isinstance(text, str)] if isinstance(named, list) else []


def photos_of(
    establishment: Establishment, records: Iterable[Recorded], as_of: int | None = None
) -> dict[Any, Photos]:
    """Give the photos of some records by record, in one query; records without any are left out."""
    listed = list(records)
    rows = until(PhotoTaken.objects.of(establishment), as_of).filter(about__in=[r.pk for r in listed])
    by_record: dict[Any, list[PhotoTaken]] = defaultdict(list)
    for row in rows.select_related("author").order_by("entry__sequence"):
        by_record[row.about].append(row)
    found = {}
    for record in listed:
        named = named_by(record)
        here = by_record.get(record.pk, [])
        photos = Photos(
            [Photo(row, row.sent_sha256 in named) for row in here],
            len(set(named) - {row.sent_sha256 for row in here}),
        )
        if photos:
            found[record.pk] = photos
    return found


def contents_of(establishment: Establishment, hashes: Iterable[str]) -> dict[str, bytes]:
    """Give kept files by their SHA-256, in one query."""
    rows = StoredFile.objects.of(establishment).filter(sha256__in=list(hashes))
    return {row.sha256: bytes(row.content) for row in rows}
