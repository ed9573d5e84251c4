"""Photos taken as evidence of a check, of an event of a lot, or of any other record."""

from django.db import models

from safetyplan.integrity.models import Recorded, ScopedManager


class PhotoTaken(Recorded):
    """A photo and the record it belongs to, by the number of that record's entry.

    sent_sha256 is the hash of the file as the device sent it, which the record's own claim names; sha256 and
    small_sha256 are those of the two sizes that were written anew and are kept.
    """

    about = models.UUIDField()
    name = models.CharField(max_length=200)
    taken_at = models.DateTimeField()
    sent_sha256 = models.CharField(max_length=64)
    sha256 = models.CharField(max_length=64)
    small_sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "about", "sent_sha256"], name="photo_once"),
        ]
        indexes = [models.Index(fields=["establishment", "about"], name="photo_by_record")]


class PhotoReceived(models.Model):
    """A photo that a device sent before the claim that names it. Not a record: no entry."""

    establishment = models.ForeignKey("safetyplan.Establishment", models.PROTECT, related_name="+")
    sent_sha256 = models.CharField(max_length=64)
    sha256 = models.CharField(max_length=64)
    small_sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()

    objects = ScopedManager["PhotoReceived"]()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "sent_sha256"], name="photo_received_once"),
        ]

    def __str__(self) -> str:
        return self.sent_sha256


class PhotoAwaited(models.Model):
    """A photo that a claim names and that has not arrived. Not a record: no entry."""

    establishment = models.ForeignKey("safetyplan.Establishment", models.PROTECT, related_name="+")
    sent_sha256 = models.CharField(max_length=64)
    about = models.UUIDField()
    author = models.ForeignKey("safetyplan.Person", models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()

    objects = ScopedManager["PhotoAwaited"]()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["establishment", "sent_sha256", "about"], name="photo_awaited_once"
            ),
        ]

    def __str__(self) -> str:
        return self.sent_sha256
