"""Deviations: opened, held, acted on, evaluated, disposed of, understood, closed."""

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity import canonical
from safetyplan.integrity.models import CanonicalTextField, Recorded, Signed


class Cause(models.TextChoices):
    """What opened a deviation."""

    OUTSIDE_LIMIT = "outside_limit", _("outside the limit")
    NOT_MADE = "not_made", _("check not made in its window")
    NOT_SHOWN = "not_shown", _("control not shown")
    CORRECTED = "corrected", _("a correction moved a reading outside the limit")
    EVENT_CORRECTED = "event_corrected", _("a corrected event moved a reading outside the limit")
    LEFT_ON_HOLD = "left_on_hold", _("left while on hold")
    INSTRUMENT = "instrument", _("an instrument failed its check")
    UNFORESEEN = "unforeseen", _("not foreseen by the plan")


class Outcome(models.TextChoices):
    """What becomes of a quantity on hold."""

    RELEASE = "release", _("release")
    REWORK = "rework", _("rework")
    DIVERT = "divert", _("divert")
    DESTROY = "destroy", _("destroy")
    USED_FOR_TEST = "used_for_test", _("used for test")
    RETURNED = "returned", _("returned")


class Deviation(Recorded):
    """A limit missed, or control not shown. Open until a reviewer closes it.

    `lot` is the one lot it was opened for; several lots are `AffectedLot`s. `held_what` says what is held
    when that is no lot: a load of milk, a brine tank.
    """

    number = models.PositiveIntegerField()
    cause = models.CharField(max_length=30)
    control = models.CharField(max_length=20)
    control_name = models.CharField(max_length=120)
    rank = models.CharField(max_length=10)
    slot = models.CharField(max_length=120)
    lot = models.ForeignKey("records.Lot", models.PROTECT, null=True, related_name="+")
    reading = models.ForeignKey("records.Reading", models.PROTECT, null=True, related_name="+")
    event = models.ForeignKey("records.LotEvent", models.PROTECT, null=True, related_name="+")
    description = models.TextField()
    limit_words = models.TextField()
    hold_required = models.BooleanField()
    not_reheatable = models.CharField(max_length=300)
    held_what = models.CharField(max_length=300, null=True)  # noqa: DJ001 - unknown to the first version

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "number"], name="deviation_number_once"),
        ]
        indexes = [models.Index(fields=["establishment", "slot"], name="deviation_by_slot")]


class AffectedLot(Recorded):
    """One of several lots that a deviation concerns, and why; named at its opening or found later."""

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="+")
    lot = models.ForeignKey("records.Lot", models.PROTECT, related_name="+")
    hold_required = models.BooleanField()
    reason = models.CharField(max_length=500)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["deviation", "lot"], name="affected_lot_once"),
        ]


class HoldConfirmed(Recorded):
    """The product stands apart: where, under which tag, how much. Not the same as a hold required.

    Without `lot` it is the deviation's own lot, or what it holds that is no lot, measured in litres.
    """

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="+")
    place = models.CharField(max_length=120)
    tag = models.CharField(max_length=30)
    pieces = models.PositiveIntegerField()
    mass_text = models.CharField(max_length=20)
    held_at = models.DateTimeField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)
    lot = models.ForeignKey("records.Lot", models.PROTECT, null=True, related_name="+")
    volume_text = models.CharField(max_length=20, null=True)  # noqa: DJ001 - unknown to the first version


class ActionTaken(Recorded):
    """A corrective action, from the plan's list or in one's own words."""

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="+")
    action_code = models.CharField(max_length=30)
    text = models.CharField(max_length=1000)
    done_at = models.DateTimeField()


class Evaluation(Recorded):
    """A competent person's judgement of the affected product, with the evidence."""

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="+")
    text = models.TextField()
    evidence = models.TextField()


class Disposition(Signed):
    """What becomes of the product on hold, by pieces and mass; signed by the responsible person."""

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="+")
    lot = models.ForeignKey("records.Lot", models.PROTECT, null=True, related_name="+")
    lines = CanonicalTextField()
    pieces = models.PositiveIntegerField()
    mass_text = models.CharField(max_length=20)
    note = models.CharField(max_length=1000)
    volume_text = models.CharField(max_length=20, null=True)  # noqa: DJ001 - unknown to the first version


class CauseFound(Recorded):
    """Why it happened, what keeps it from happening again, and whether the plan is reanalysed."""

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="+")
    cause = models.TextField()
    prevention = models.TextField()
    under_control = models.TextField()
    reanalysis = models.BooleanField()
    reanalysis_reason = models.CharField(max_length=500)


class RecallDecision(Signed):
    """Whether goods that left while on hold are called back; again when more lots turn out to have left."""

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="+")
    recall = models.BooleanField()
    reason = models.TextField()


class Closure(Signed):
    """A reviewer closes a deviation: completed, or shown to be a recording error."""

    deviation = models.OneToOneField(Deviation, models.PROTECT, related_name="+")
    recording_error = models.BooleanField()
    reason = models.TextField()
    self_reviewed = models.BooleanField()


class FileAttached(Recorded):
    """A document attached as evidence; the bytes are kept under their SHA-256."""

    deviation = models.ForeignKey(Deviation, models.PROTECT, null=True, related_name="+")
    lot = models.ForeignKey("records.Lot", models.PROTECT, null=True, related_name="+")
    name = models.CharField(max_length=200)
    media_type = models.CharField(max_length=100)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)


class CalculationAttached(Recorded):
    """A calculation attached as evidence: what was typed, and result and working in codes and in words."""

    deviation = models.ForeignKey(Deviation, models.PROTECT, related_name="+")
    calculator = models.CharField(max_length=60)
    task = models.CharField(max_length=60)
    title = models.CharField(max_length=200)
    inputs = CanonicalTextField()
    worked = CanonicalTextField()
    shown = CanonicalTextField()
    note = models.CharField(max_length=1000)

    def words(self) -> dict[str, Any]:
        """Give the text that was shown, by section: inputs, result, steps, validity, cautions, sources."""
        found: dict[str, Any] = canonical.loads(self.shown.encode())
        return found
