"""The signed day, the release of a lot, and what left the dairy."""

from django.db import models

from safetyplan.integrity.models import CanonicalTextField, Recorded, Signed


class NoProductionDay(Recorded):
    """A day without production: the stores and ageing lots stay due."""

    day = models.DateField()
    reason = models.CharField(max_length=300)

    class Meta:
        indexes = [models.Index(fields=["establishment", "day"], name="no_production_by_day")]


class NoProductionUndone(Recorded):
    """A day noted as without production is one of work after all; it may be noted anew."""

    noted = models.OneToOneField(NoProductionDay, models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)


class DaySigned(Signed):
    """A day's records reviewed and signed; the expected list is frozen in it."""

    day = models.DateField()
    expected = CanonicalTextField()
    records = CanonicalTextField()
    self_reviewed = CanonicalTextField()
    self_review_reason = models.CharField(max_length=500)
    note = models.CharField(max_length=1000)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["establishment", "day"],
                condition=models.Q(supersedes__isnull=True),
                name="day_signed_begins_once",
            ),
        ]


class LotRelease(Signed):
    """The responsible person lets a quantity of a lot go."""

    lot = models.ForeignKey("records.Lot", models.PROTECT, related_name="+")
    pieces = models.PositiveIntegerField()
    mass_text = models.CharField(max_length=20)
    shown = CanonicalTextField()
    note = models.CharField(max_length=1000)
