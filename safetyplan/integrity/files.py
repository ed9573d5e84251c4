"""Files kept as evidence: told by their content, named without tricks, kept under their SHA-256."""

import hashlib
import unicodedata

from django.utils.translation import gettext as _

from safetyplan.establishments.models import Establishment
from safetyplan.integrity.models import StoredFile
from safetyplan.integrity.pictures import without_camera_data
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


def checked_file(content: bytes) -> str:
    """Tell what a file is, or refuse one that is empty, too large or of another kind."""
    if not content:
        raise BadInput(_("The file is empty."), part="file")
    if len(content) > LARGEST:
        raise BadInput(_("The file is larger than 10 MB."), part="file")
    return media_type(content)


def checked_evidence(content: bytes) -> tuple[str, bytes]:
    """Tell what a file is and give it as it is kept: a picture without what the camera hid in it."""
    kind = checked_file(content)
    if not kind.startswith("image/"):
        return kind, content
    try:
        return kind, without_camera_data(content)
    except BadInput as refusal:
        raise BadInput(refusal.message, part="file") from refusal
