"""Documents attached as evidence: checked, kept under their SHA-256, named by a record."""

import hashlib
import unicodedata

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.deviations.kinds import FILE_ATTACHED
from records.deviations.models import Deviation, FileAttached
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import ledger
from safetyplan.integrity.models import StoredFile
from safetyplan.integrity.refusals import BadInput

LARGEST = 10 * 1024 * 1024
BEGINNINGS = (
    (b"%PDF-", "application/pdf"),
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"\xff\xd8\xff", "image/jpeg"),
)


def media_type(content: bytes) -> str:
    """Tell what a file is by its content: PDF, PNG, JPEG or plain text; else refuse."""
    for beginning, name in BEGINNINGS:
        if content.startswith(beginning):
            return name
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text or text.lstrip()[:1] == "<":
        raise BadInput(_("Attach a PDF, PNG, JPEG or plain text file."), part="file")
    return "text/plain"


def keep_file(establishment: Establishment, content: bytes) -> str:
    """Keep bytes under their SHA-256; the same bytes are kept once."""
    digest = hashlib.sha256(content).hexdigest()
    if not StoredFile.objects.of(establishment).filter(sha256=digest).exists():
        StoredFile(establishment=establishment, sha256=digest, content=content).save(force_insert=True)
    return digest


def shown_name(name: str) -> str:
    """Give a file's name without anything that could mislead or break a page."""
    last = unicodedata.normalize("NFC", name.replace("\\", "/").rsplit("/", 1)[-1])
    kept = "".join(c for c in last if unicodedata.category(c)[0] in "LNPSZ" and c.isprintable())
    return kept.strip()[:200] or _("document")


def attach_file(
    *,
    establishment: Establishment,
    by: Person,
    name: str,
    content: bytes,
    deviation: Deviation | None = None,
    lot: Lot | None = None,
) -> FileAttached:
    """Attach a document to a deviation or a lot."""
    require_role(establishment, by, *WRITERS)
    if not content:
        raise BadInput(_("The file is empty."), part="file")
    if len(content) > LARGEST:
        raise BadInput(_("The file is larger than 10 MB."), part="file")
    kind = media_type(content)
    with transaction.atomic():
        ledger.lock(establishment)
        row = FileAttached(
            deviation=deviation,
            lot=lot or (deviation.lot if deviation else None),
            name=shown_name(name),
            media_type=kind,
            size=len(content),
            sha256=keep_file(establishment, content),
        )
        ledger.append(kind=FILE_ATTACHED, row=row, establishment=establishment, author=by)
    return row
