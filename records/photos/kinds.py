"""The record kind of photos."""

from records.photos.models import PhotoTaken
from safetyplan.integrity.kinds import declare

PHOTO_TAKEN = declare(
    PhotoTaken,
    "photo_taken",
    "about",
    "name",
    "taken_at",
    "sent_sha256",
    "sha256",
    "small_sha256",
    "width",
    "height",
)
