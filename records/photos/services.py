"""Keeping photos, and joining a photo and the record whose claim names it, whichever comes first."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.photos.kinds import PHOTO_TAKEN
from records.photos.models import PhotoAwaited, PhotoReceived, PhotoTaken
from safetyplan.calculation.times import AHEAD
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.files import keep_file, shown_name
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.pictures import Picture
from safetyplan.integrity.refusals import Refused

MOST_OF_ONE = 12


def take_photo(
    *,
    establishment: Establishment,
    by: Person,
    about: UUID,
    picture: Picture,
    name: str,
    taken_at: datetime,
    claim: Claim | None = None,
) -> PhotoTaken:
    """Keep a photo and record to what it belongs: the number of any record's entry.

    A picture is read with `pictures.read_picture` before: that takes time, and the ledger waits for nobody.
    """
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        present = PhotoTaken.objects.of(establishment).filter(about=about)
        if present.filter(sent_sha256=picture.sent_sha256).exists():
            raise Refused(_("This photo is kept already."), part="photo")
        if present.count() >= MOST_OF_ONE:
            raise Refused(_("At most %(most)d photos for one record.") % {"most": MOST_OF_ONE}, part="photo")
        return _record(establishment, by, about, _keep(establishment, picture), name, taken_at, claim)


def _keep(establishment: Establishment, picture: Picture) -> PhotoReceived:
    """Keep both sizes of a picture; give them as they are noted, not stored yet."""
    return PhotoReceived(
        establishment=establishment,
        sent_sha256=picture.sent_sha256,
        sha256=keep_file(establishment, picture.content),
        small_sha256=keep_file(establishment, picture.small),
        width=picture.width,
        height=picture.height,
    )


def _record(
    establishment: Establishment,
    by: Person,
    about: UUID,
    kept: PhotoReceived,
    name: str,
    taken_at: datetime,
    claim: Claim | None = None,
) -> PhotoTaken:
    now = clock.now(establishment)
    row = PhotoTaken(
        about=about,
        name=shown_name(name),
        taken_at=now if taken_at > now + AHEAD else taken_at,
        sent_sha256=kept.sent_sha256,
        sha256=kept.sha256,
        small_sha256=kept.small_sha256,
        width=kept.width,
        height=kept.height,
    )
    ledger.append(kind=PHOTO_TAKEN, row=row, establishment=establishment, author=by, claim=claim)
    return row


def receive_photo(*, establishment: Establishment, by: Person, picture: Picture) -> bool:
    """Keep a photo as a device sent it; tell whether it was new. Where a record awaits it, it is recorded."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        if PhotoReceived.objects.of(establishment).filter(sent_sha256=picture.sent_sha256).exists():
            return False
        kept = _keep(establishment, picture)
        kept.save(force_insert=True)
        awaited = PhotoAwaited.objects.of(establishment).filter(sent_sha256=picture.sent_sha256)
        for row in awaited.select_related("author").order_by("pk"):
            _record(establishment, row.author, row.about, kept, _("photo"), row.taken_at)
        awaited.delete()
    return True


def join_photos(
    *, establishment: Establishment, by: Person, about: UUID, named: Sequence[str], taken_at: datetime
) -> None:
    """Record the photos that a record's claim names; those that have not arrived are awaited."""
    rows = PhotoReceived.objects.of(establishment).filter(sent_sha256__in=named)
    here = {row.sent_sha256: row for row in rows}
    for number, sha256 in enumerate(named, start=1):
        kept = here.get(sha256)
        if kept is not None:
            _record(establishment, by, about, kept, _("photo %(n)d") % {"n": number}, taken_at)
        else:
            awaited = PhotoAwaited(sent_sha256=sha256, about=about, author=by, taken_at=taken_at)
            awaited.establishment = establishment
            awaited.save(force_insert=True)
