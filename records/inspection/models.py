"""Issues of a print."""

from django.db import models

from safetyplan.integrity.models import CanonicalTextField, Recorded


class PrintIssue(Recorded):
    """One issue of a print: what, as of which entry, sealed by which seal. Rendering it is pure."""

    number = models.PositiveIntegerField()
    what = models.CharField(max_length=20)
    subject = models.CharField(max_length=60)
    as_of = models.PositiveBigIntegerField()
    language = models.CharField(max_length=10)
    paper = models.CharField(max_length=10)
    template_version = models.PositiveSmallIntegerField()
    seal_note = models.TextField()
    offsets = CanonicalTextField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "number"], name="print_issue_number_once"),
        ]


class PrintKept(Recorded):
    """The hash of the bytes of an issue; the bytes themselves are kept beside it."""

    issue = models.OneToOneField(PrintIssue, models.PROTECT, related_name="+")
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
