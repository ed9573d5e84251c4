"""Readings: checks recorded and judged, corrected, voided; prerequisites explained."""

from django.db import models

from safetyplan.integrity import canonical
from safetyplan.integrity.models import CanonicalTextField, Recorded


class Reading(Recorded):
    """One check recorded: what was read, what it was judged by, and the result against the limit.

    A correction is a new reading that supersedes the old one; a void supersedes it with nothing.
    """

    slot = models.CharField(max_length=120)
    control = models.CharField(max_length=20)
    control_name = models.CharField(max_length=120)
    rank = models.CharField(max_length=10)
    lot = models.ForeignKey("records.Lot", models.PROTECT, null=True, related_name="+")
    plan_version = models.ForeignKey("safetyplan.PlanApproved", models.PROTECT, related_name="+")
    observed_at = models.DateTimeField()
    parts = CanonicalTextField()
    value_text = models.CharField(max_length=40)
    value_scaled = models.BigIntegerField(null=True)
    unit = models.CharField(max_length=20)
    instrument = models.ForeignKey("records.Instrument", models.PROTECT, null=True, related_name="+")
    limit = CanonicalTextField()
    limit_words = models.TextField()
    state = models.CharField(max_length=30)
    margin_text = models.CharField(max_length=40)
    margin_unit = models.CharField(max_length=20)
    sentence = CanonicalTextField()
    sentence_text = models.TextField()
    device_state = models.CharField(max_length=30)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    voided = models.BooleanField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)

    class Meta:
        indexes = [
            models.Index(fields=["establishment", "slot"], name="reading_by_slot"),
            models.Index(fields=["establishment", "observed_at"], name="reading_by_time"),
            models.Index(fields=["lot", "control"], name="reading_by_lot"),
        ]


class Rejudged(Recorded):
    """A reading judged again because an event it hangs on was corrected; both results stay."""

    reading = models.ForeignKey(Reading, models.PROTECT, related_name="+")
    event = models.ForeignKey("records.LotEvent", models.PROTECT, related_name="+")
    state_before = models.CharField(max_length=30)
    state = models.CharField(max_length=30)
    sentence = CanonicalTextField()
    sentence_text = models.TextField()


class RejudgedByPlan(Recorded):
    """A reading judged again because a later plan version was applied to its lot; both results stay.

    The reading keeps the limit it was first judged by; the limit it is judged by now stands here.
    """

    reading = models.ForeignKey(Reading, models.PROTECT, related_name="+")
    applied = models.ForeignKey("records.PlanApplied", models.PROTECT, related_name="+")
    limit = CanonicalTextField()
    limit_words = models.TextField()
    state_before = models.CharField(max_length=30)
    state = models.CharField(max_length=30)
    margin_text = models.CharField(max_length=40)
    margin_unit = models.CharField(max_length=20)
    sentence = CanonicalTextField()
    sentence_text = models.TextField()


class RejudgedByInstrument(Recorded):
    """A reading judged again as instrument not valid, because a check of its instrument failed.

    recomputed: each number of the reading put right by the error as found, with its unit, and as shown.
    `would_*`: what that would be judged. Both are evidence for the person who evaluates; they acquit nothing.
    """

    reading = models.ForeignKey(Reading, models.PROTECT, related_name="+")
    failed = models.ForeignKey("records.InstrumentCheck", models.PROTECT, related_name="+")
    deviation = models.ForeignKey("records.Deviation", models.PROTECT, null=True, related_name="+")
    state_before = models.CharField(max_length=30)
    state = models.CharField(max_length=30)
    sentence = CanonicalTextField()
    sentence_text = models.TextField()
    recomputed = CanonicalTextField()
    would_state = models.CharField(max_length=30)
    would_sentence = CanonicalTextField()
    would_text = models.TextField()

    def values(self) -> list[dict[str, str]]:
        """Give the recomputed numbers: name, value, unit and how it is shown."""
        found: list[dict[str, str]] = canonical.loads(self.recomputed.encode())
        return found


class CheckExplained(Recorded):
    """Why a prerequisite check was not made. A critical control point cannot be explained away."""

    slot = models.CharField(max_length=120)
    control = models.CharField(max_length=20)
    control_name = models.CharField(max_length=120)
    reason = models.CharField(max_length=500)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "slot"], name="check_explained_once"),
        ]


class RejudgedByReceipt(Recorded):
    """A reading of a load judged again because the receipt of the load was corrected; both results stay."""

    reading = models.ForeignKey(Reading, models.PROTECT, related_name="+")
    receipt = models.ForeignKey("records.MilkLoad", models.PROTECT, related_name="+")
    state_before = models.CharField(max_length=30)
    state = models.CharField(max_length=30)
    sentence = CanonicalTextField()
    sentence_text = models.TextField()


class RejudgedByBirth(Recorded):
    """A reading of a shared thing judged again because the thing's birth was corrected; both results stay."""

    reading = models.ForeignKey(Reading, models.PROTECT, related_name="+")
    birth = models.ForeignKey("records.Thing", models.PROTECT, related_name="+")
    state_before = models.CharField(max_length=30)
    state = models.CharField(max_length=30)
    sentence = CanonicalTextField()
    sentence_text = models.TextField()


class CorrectionMade(Recorded):
    """What was done at once after a prerequisite check outside its limit.

    no_recheck: why it could not be measured again; empty where a further reading shows that it is right.
    """

    reading = models.ForeignKey(Reading, models.PROTECT, related_name="+")
    action_code = models.CharField(max_length=30)
    text = models.CharField(max_length=1000)
    done_at = models.DateTimeField()
    no_recheck = models.CharField(max_length=500)


class ClockNoted(Recorded):
    """That the clock of the device which made a record was off; the record itself and its claim stay.

    skew: the server's clock at receipt minus the device's when it sent. offset: the same as the device knew
    it when the record was made. corrected: whether the record's times are those of the device plus the skew.
    """

    about = models.OneToOneField("safetyplan.Entry", models.PROTECT, related_name="+")
    device_captured_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True)
    received_at = models.DateTimeField()
    skew_seconds = models.BigIntegerField()
    offset_seconds = models.BigIntegerField(null=True)
    corrected = models.BooleanField()


class RoundConfirmed(Recorded):
    """All seen, nothing to note: prerequisite checks made by exception, each named by its slot.

    checks: a list of {"slot", "control", "control_name", "point", "limit_words"}.
    """

    day = models.DateField()
    checks = CanonicalTextField()
    observed_at = models.DateTimeField()
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    voided = models.BooleanField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)

    class Meta:
        indexes = [models.Index(fields=["establishment", "day"], name="round_by_day")]


class PaperSheet(Recorded):
    """A sheet filled in by hand, with its photo; what stands on it is entered later, row by row."""

    number = models.CharField(max_length=30)
    day = models.DateField()
    name = models.CharField(max_length=200)
    media_type = models.CharField(max_length=100)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    note = models.CharField(max_length=500)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "number"], name="paper_sheet_once"),
        ]


class PaperLine(Recorded):
    """One line of a paper sheet and the record made from it: who measured, with the initials on the sheet."""

    sheet = models.ForeignKey(PaperSheet, models.PROTECT, related_name="+")
    row = models.PositiveIntegerField()
    slot = models.CharField(max_length=120)
    reading = models.OneToOneField(Reading, models.PROTECT, null=True, related_name="+")
    round = models.ForeignKey(RoundConfirmed, models.PROTECT, null=True, related_name="+")
    measured_by = models.ForeignKey("safetyplan.Person", models.PROTECT, related_name="+")
    initials = models.CharField(max_length=6)
    observed_at = models.DateTimeField()
