"""Instruments that readings name, and their checks."""

from decimal import Decimal

from django.db import models

from safetyplan.calculation.instruments import AsFound
from safetyplan.integrity.models import CanonicalTextField, Recorded

EACH_DAY_OF_USE = 0


class Instrument(Recorded):
    """A measuring instrument: what it measures, how far it may be off, and when it has to be checked.

    A change is a new row that supersedes; all rows of one chain are the same instrument. The nullable columns
    came with version 2 of the kind: rows of version 1 have none of them. `unit` is the one the instrument
    shows; range and resolution are in it. `check_every_days`: None no schedule, 0 each day of use.
    """

    code = models.CharField(max_length=30)
    name = models.CharField(max_length=120)
    quantity = models.CharField(max_length=20)
    tolerance_text = models.CharField(max_length=20)
    retired = models.BooleanField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    unit = models.CharField(max_length=20, null=True)  # noqa: DJ001 - came with version 2
    maker = models.CharField(max_length=120, null=True)  # noqa: DJ001
    serial = models.CharField(max_length=60, null=True)  # noqa: DJ001
    place = models.CharField(max_length=120, null=True)  # noqa: DJ001
    range_low = models.CharField(max_length=20, null=True)  # noqa: DJ001
    range_high = models.CharField(max_length=20, null=True)  # noqa: DJ001
    resolution = models.CharField(max_length=20, null=True)  # noqa: DJ001
    tolerance_value = models.CharField(max_length=20, null=True)  # noqa: DJ001
    tolerance_unit = models.CharField(max_length=20, null=True)  # noqa: DJ001
    criterion = models.CharField(max_length=30, null=True)  # noqa: DJ001
    check_method = models.CharField(max_length=20, null=True)  # noqa: DJ001
    check_every_days = models.PositiveSmallIntegerField(null=True)
    reference = models.ForeignKey("self", models.PROTECT, null=True, related_name="+")
    certificate = models.CharField(max_length=120, null=True)  # noqa: DJ001
    certificate_until = models.DateField(null=True)
    reason = models.CharField(max_length=500, null=True)  # noqa: DJ001


class InstrumentCheck(Recorded):
    """One check of an instrument: as found first, then, where it was adjusted, as left.

    `given`, `found` and `left` are canonical lists and objects of texts: what was read, as typed and as
    canonical decimals, and what it was judged by. `passed` and `left_passed` are None where nothing was
    decided (or not adjusted). `error_text` is the largest error, shown minus true, in `unit`; the line is
    true = intercept + slope x shown; each is "" where it cannot be computed.
    """

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="+")
    method = models.CharField(max_length=20)
    checked_at = models.DateTimeField()
    reference = models.ForeignKey(Instrument, models.PROTECT, null=True, related_name="+")
    given = CanonicalTextField()
    found = CanonicalTextField()
    unit = models.CharField(max_length=20)
    error_text = models.CharField(max_length=40)
    intercept_text = models.CharField(max_length=40)
    slope_text = models.CharField(max_length=40)
    tolerance_text = models.CharField(max_length=20)
    tolerance_unit = models.CharField(max_length=20)
    passed = models.BooleanField(null=True)
    sentence = CanonicalTextField()
    sentence_text = models.TextField()
    adjusted = models.BooleanField()
    left = CanonicalTextField()
    left_error_text = models.CharField(max_length=40)
    left_passed = models.BooleanField(null=True)
    left_sentence = CanonicalTextField()
    left_sentence_text = models.TextField()
    done = models.CharField(max_length=20)
    note = models.CharField(max_length=1000)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)

    class Meta:
        indexes = [
            models.Index(fields=["instrument", "checked_at"], name="instrument_check_by_time"),
        ]

    @property
    def line(self) -> AsFound | None:
        """Give the error as found as a straight line, in `unit`; None where it is not known."""
        if not self.slope_text:
            return None
        return AsFound(Decimal(self.intercept_text), Decimal(self.slope_text))

    @property
    def good_after(self) -> bool | None:
        """Tell whether the instrument was good when the check was over; None where it decided nothing.

        One that was adjusted is good only when it was found good after that.
        """
        return self.left_passed is True if self.adjusted else self.passed
