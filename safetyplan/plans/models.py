"""The draft of a plan and its approved versions."""

from typing import Any

from django.db import models

from safetyplan.integrity.models import CanonicalTextField, ScopedManager, Signed
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
