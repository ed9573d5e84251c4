"""Links between lots: what of one lot went into another."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity.models import CanonicalTextField, Recorded


class LinkKind(models.TextChoices):
    """What went from one lot into another."""

    WHEY = "whey", _("whey")
    MILK = "milk", _("milk")
    REWORK = "rework", _("rework")
    BLENDED = "blended", _("blended in")


class LotLink(Recorded):
    """What of one lot went into another, how much and when.

    Whey and milk are counted in `quantity`, a volume; rework and what was blended in by mass, and by pieces
    where they were counted. disposition: the decision that allowed the rework of held product. known: the
    numbers of the deviations that were open on either lot and shown to the person, as a list. A correction is
    a new row; one that withdraws the link says that nothing went over.
    """

    from_lot = models.ForeignKey("records.Lot", models.PROTECT, related_name="+")
    to_lot = models.ForeignKey("records.Lot", models.PROTECT, related_name="+")
    kind = models.CharField(max_length=20, choices=LinkKind.choices)
    quantity_text = models.CharField(max_length=20)
    quantity_unit = models.CharField(max_length=20)
    pieces = models.PositiveIntegerField(null=True)
    linked_at = models.DateTimeField()
    disposition = models.ForeignKey("records.Disposition", models.PROTECT, null=True, related_name="+")
    known = CanonicalTextField()
    note = models.CharField(max_length=500)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    withdrawn = models.BooleanField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)

    class Meta:
        indexes = [
            models.Index(fields=["from_lot"], name="lot_link_from"),
            models.Index(fields=["to_lot"], name="lot_link_to"),
        ]
