"""Shared things with a life of their own: brines, washes, rooms, vats; and the lots that used them."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity.models import CanonicalTextField, Recorded


class ThingKind(models.TextChoices):
    """What a shared thing is, as the plan's checks name it."""

    BRINE = "brine", _("Brine")
    PREPARATION = "preparation", _("Wash or smear preparation")
    ROOM = "room", _("Room")
    VAT = "vat", _("Vat")


class Change(models.TextChoices):
    """What was done to a thing in its life."""

    SALT = "salt", _("salt added")
    ACID = "acid", _("acid added")
    CALCIUM = "calcium_chloride", _("calcium chloride added")
    WATER = "water", _("water added")
    CULTURE = "culture", _("culture added")
    SKIMMED = "skimmed", _("skimmed")
    FILTERED = "filtered", _("filtered")
    HEATED = "heated", _("heated")
    CLEANED = "cleaned", _("cleaned")
    EMPTIED = "emptied_in_part", _("emptied in part")
    OTHER = "other", _("something else")


class Ending(models.TextChoices):
    """How the life of a thing ended."""

    DUMPED = "dumped", _("dumped")
    USED_UP = "used_up", _("used up")
    RETIRED = "retired", _("taken out of use")


class Thing(Recorded):
    """A shared thing from its birth: a brine made, a wash mixed, a room or a vat taken into use.

    A correction of the birth is a new row that supersedes the old one; `first` names the first row, whose key
    is the thing's for ever: slots, changes and uses name that one. recipe: what it was made of, a list of
    {"what", "amount", "unit", "ingredient"}; the ingredient names the lot of what was added.
    """

    first = models.ForeignKey("self", models.PROTECT, null=True, related_name="+")
    kind = models.CharField(max_length=20, choices=ThingKind.choices)
    code = models.CharField(max_length=30)
    code_skeleton = models.CharField(max_length=30)
    name = models.CharField(max_length=120)
    begun_at = models.DateTimeField()
    recipe = CanonicalTextField()
    note = models.CharField(max_length=500)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["establishment", "code_skeleton"],
                condition=models.Q(supersedes__isnull=True),
                name="thing_code_once",
            ),
        ]


class ThingChange(Recorded):
    """Something done to a thing in its life: salt added, filtered, heated, emptied in part."""

    thing = models.ForeignKey(Thing, models.PROTECT, related_name="+")
    what = models.CharField(max_length=20, choices=Change.choices)
    amount_text = models.CharField(max_length=20)
    amount_unit = models.CharField(max_length=20)
    ingredient = models.CharField(max_length=60)
    done_at = models.DateTimeField()
    note = models.CharField(max_length=500)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    voided = models.BooleanField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)

    class Meta:
        indexes = [models.Index(fields=["establishment", "done_at"], name="thing_change_by_time")]


class ThingEnded(Recorded):
    """The end of a thing: when, how, why, and what became of it."""

    thing = models.ForeignKey(Thing, models.PROTECT, related_name="+")
    ended_at = models.DateTimeField()
    how = models.CharField(max_length=20, choices=Ending.choices)
    why = models.CharField(max_length=500)
    became = models.CharField(max_length=500)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    voided = models.BooleanField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)


class ThingUse(Recorded):
    """A lot in, on or under a thing, from a time until another; without `until_at` it still is.

    A use for a moment (a washing) has both times alike. go, place: of several lots done in one go, which go
    and the place in its order, from 1. A use that ends later is superseded by a row with the end.
    """

    thing = models.ForeignKey(Thing, models.PROTECT, related_name="+")
    lot = models.ForeignKey("records.Lot", models.PROTECT, related_name="+")
    event = models.ForeignKey("records.LotEvent", models.PROTECT, null=True, related_name="+")
    from_at = models.DateTimeField()
    until_at = models.DateTimeField(null=True)
    pieces = models.PositiveIntegerField(null=True)
    go = models.UUIDField(null=True)
    place = models.PositiveSmallIntegerField(null=True)
    note = models.CharField(max_length=500)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    voided = models.BooleanField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)

    class Meta:
        indexes = [
            models.Index(fields=["thing", "from_at"], name="thing_use_by_thing"),
            models.Index(fields=["establishment", "from_at"], name="thing_use_by_time"),
        ]
