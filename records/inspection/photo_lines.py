"""The photos of a lot or of a day, each with the record it belongs to, for the page and for paper."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.batches.models import LotEvent
from records.checks.models import Reading
from records.inspection.telling import Teller, joined
from records.photos.models import PhotoTaken
from records.photos.queries import contents_of, photos_of
from safetyplan.printing.document import Block, Heading, Photo, Photos, Text


@dataclass(frozen=True)
class PhotoLine:
    """A photo, and in words what it shows, when it was taken and by whom."""

    row: PhotoTaken
    words: str


@dataclass(frozen=True)
class Gallery:
    """The photos of some records, and how many that their claims name have not arrived."""

    lines: Sequence[PhotoLine]
    awaited: int

    def __bool__(self) -> bool:
        return bool(self.lines or self.awaited)

    @property
    def awaited_words(self) -> str:
        """Say how many photos are named in a record and have not arrived; empty when none is."""
        if not self.awaited:
            return ""
        return ngettext(
            "%(n)d photo that a record names has not arrived from the device.",
            "%(n)d photos that records name have not arrived from the device.",
            self.awaited,
        ) % {"n": self.awaited}


def gallery(teller: Teller, records: Sequence[Reading | LotEvent], as_of: int | None = None) -> Gallery:
    """Give the photos of readings and events, in the order of the records, in one query."""
    found = photos_of(teller.establishment, records, as_of)
    lines = []
    for record in records:
        photos = found.get(record.pk)
        for photo in photos.shown if photos else ():
            added = "" if photo.bound else _("added after the record was signed")
            who = f"{teller.time(photo.row.taken_at)}, {teller.initials(photo.row.author_id)}"
            lines.append(PhotoLine(photo.row, joined([_subject(record), who, added])))
    return Gallery(lines, sum(photos.awaited for photos in found.values()))


def _subject(record: Reading | LotEvent) -> str:
    name = record.event_name if isinstance(record, LotEvent) else f"{record.control} {record.control_name}"
    return f"{record.lot.code}: {name}" if record.lot is not None else name


def photo_blocks(teller: Teller, records: Sequence[Reading | LotEvent], as_of: int) -> list[Block]:
    """Give the photos of readings and events for paper, small; nothing where there are none."""
    found = gallery(teller, records, as_of)
    if not found:
        return []
    blocks: list[Block] = [Heading(_("Photos"), 1)]
    if found.awaited_words:
        blocks.append(Text(found.awaited_words, "strong"))
    contents = contents_of(teller.establishment, [line.row.small_sha256 for line in found.lines])
    shown = [
        Photo(contents[line.row.small_sha256], line.row.width, line.row.height, line.words)
        for line in found.lines
    ]
    return [*blocks, Photos(tuple(shown))] if shown else blocks
