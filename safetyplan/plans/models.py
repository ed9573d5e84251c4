"""The draft of a plan and its approved versions."""

from typing import Any

from django.db import models

from safetyplan.integrity.models import CanonicalTextField, Recorded, ScopedManager, Signed
from safetyplan.plans import document


class PlanDraft(models.Model):
    """The one working document of an establishment's plan. May change; approval freezes a copy."""

    establishment = models.OneToOneField("safetyplan.Establishment", models.PROTECT, related_name="+")
    text = models.TextField()
    revision = models.PositiveIntegerField(default=1)
    reason = models.CharField(max_length=500, blank=True)
    prepared_by = models.ForeignKey("safetyplan.Person", models.PROTECT, related_name="+")
    changed_at = models.DateTimeField()

    objects = ScopedManager["PlanDraft"]()

    def __str__(self) -> str:
        return f"draft, revision {self.revision}"


class PlanApproved(Signed):
    """An approved version: its exact bytes, who prepared or oversaw it, who signed, from when."""

    number = models.PositiveIntegerField()
    text = CanonicalTextField()
    reason = models.CharField(max_length=500)
    prepared_by = models.ForeignKey("safetyplan.Person", models.PROTECT, related_name="+")
    in_force_from = models.DateTimeField()
    warnings_reason = models.CharField(max_length=500)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "number"], name="plan_version_number_once"),
        ]

    def plan(self) -> document.Plan:
        """Read the approved document."""
        return document.read_text(self.text)

    def data(self) -> dict[str, Any]:
        """Give the document as an object."""
        from safetyplan.integrity import canonical

        value = canonical.loads(self.text.encode())
        assert isinstance(value, dict)
        return value


class FigureConfirmed(Recorded):
    """One figure of the plan confirmed by a person on a source, as the figure then stood."""

    what = models.CharField(max_length=120)
    figure = CanonicalTextField()
    words = models.TextField()
    source = models.CharField(max_length=500)


class TargetsConfirmed(Signed):
    """The table of operating targets confirmed with one signature, as it then stood."""

    table = CanonicalTextField()


class FlowConfirmed(Signed):
    """The flow of a product confirmed on site, as it then stood; note: when and with whom it was walked."""

    product = models.CharField(max_length=60)
    flow = CanonicalTextField()
    note = models.CharField(max_length=500)


class EvidenceKept(Recorded):
    """A document kept as evidence of a validation; the plan names it by its SHA-256."""

    name = models.CharField(max_length=200)
    media_type = models.CharField(max_length=60)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)


class ReanalysisTrigger(Recorded):
    """Something new that asks for a reanalysis of the plan: product, equipment, supplier, information."""

    trigger = models.CharField(max_length=40)
    text = models.CharField(max_length=500)
    happened_on = models.DateField()


class DutyDone(Signed):
    """A duty of the plan done: a reanalysis, the status of the year, the attestation, with its outcome."""

    duty = models.CharField(max_length=40)
    outcome = models.CharField(max_length=40)
    text = models.CharField(max_length=1000)
    done_on = models.DateField()
