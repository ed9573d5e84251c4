"""Lots and what happens to them."""

from django.db import models

from safetyplan.integrity.models import CanonicalTextField, Recorded, Signed


class Lot(Recorded):
    """A lot: one vat of milk on its way to cheese, and the plan version it started with.

    A later version may be applied to it (`PlanApplied`): `queries.version_of` gives the one it follows.
    """

    code = models.CharField(max_length=30)
    code_skeleton = models.CharField(max_length=30)
    product_code = models.CharField(max_length=20)
    product_name = models.CharField(max_length=120)
    plan_version = models.ForeignKey("safetyplan.PlanApproved", models.PROTECT, related_name="+")
    vat = models.CharField(max_length=60)
    milk_text = models.CharField(max_length=20)
    milk_unit = models.CharField(max_length=20)
    started_at = models.DateTimeField()
    late_reason = models.CharField(max_length=500)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "code_skeleton"], name="lot_code_once"),
        ]
        indexes = [models.Index(fields=["establishment", "-started_at"], name="lot_by_start")]


class PlanApplied(Signed):
    """A later plan version applied to an open lot: from here on the lot's checks are judged by it.

    changes: what was told to the signer of how the lot's checks differ, one sentence each.
    """

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="+")
    plan_version = models.ForeignKey("safetyplan.PlanApproved", models.PROTECT, related_name="+")
    reason = models.CharField(max_length=500)
    changes = CanonicalTextField()


class LotEvent(Recorded):
    """Something that happened to a lot, with its time: starter added, drained, packed …"""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="+")
    event = models.CharField(max_length=40)
    event_name = models.CharField(max_length=120)
    observed_at = models.DateTimeField()
    details = CanonicalTextField()
    pieces = models.PositiveIntegerField(null=True)
    mass_text = models.CharField(max_length=20)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)

    class Meta:
        indexes = [models.Index(fields=["establishment", "observed_at"], name="lot_event_by_time")]


class LotEventVoided(Recorded):
    """An event that should not be there: it stays readable, and nothing counts from it any more."""

    event = models.OneToOneField(LotEvent, models.PROTECT, related_name="+")
    reason = models.CharField(max_length=500)


class LotAddition(Recorded):
    """A lot of an ingredient that an event put into a lot, with its dose.

    ingredient: the lot as received; None for a code that is not in the list. unfit: why it should not have
    been used, as shown to the person who recorded it all the same.
    """

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="+")
    event = models.ForeignKey(LotEvent, models.PROTECT, related_name="+")
    detail = models.CharField(max_length=60)
    label = models.CharField(max_length=80)
    kind = models.CharField(max_length=20)
    code = models.CharField(max_length=30)
    code_skeleton = models.CharField(max_length=30)
    ingredient = models.ForeignKey("records.IngredientLot", models.PROTECT, null=True, related_name="+")
    ingredient_name = models.CharField(max_length=120)
    dose_text = models.CharField(max_length=20)
    dose_unit = models.CharField(max_length=20)
    unfit = models.CharField(max_length=500)

    class Meta:
        indexes = [models.Index(fields=["establishment", "code_skeleton"], name="lot_addition_by_code")]


class Dispatch(Recorded):
    """What left, to whom, when. `left_on_hold`: it had already gone when the hold came, or went anyway."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="+")
    customer = models.CharField(max_length=200)
    pieces = models.PositiveIntegerField()
    mass_text = models.CharField(max_length=20)
    left_at = models.DateTimeField()
    left_on_hold = models.BooleanField()
    note = models.CharField(max_length=1000)
