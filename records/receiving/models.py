"""What comes in at the door: suppliers and herds, milk, ingredients, packaging, chemicals and test kits."""

from typing import Any
from uuid import UUID

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity import canonical
from safetyplan.integrity.models import CanonicalTextField, Recorded


class Species(models.TextChoices):
    """Whose milk it is."""

    COW = "cow", _("cow")
    GOAT = "goat", _("goat")
    SHEEP = "sheep", _("sheep")
    BUFFALO = "buffalo", _("buffalo")
    MIXED = "mixed", _("several species")


class Approval(models.TextChoices):
    """Whether we buy from a supplier."""

    APPROVED = "approved", _("approved")
    ON_CONDITION = "on_condition", _("approved on condition")
    SUSPENDED = "suspended", _("suspended")


class MilkOutcome(models.TextChoices):
    """What becomes of milk that is refused."""

    RETURNED = "returned", _("returned")
    DIVERTED = "diverted", _("diverted to another use")
    DESTROYED = "destroyed", _("destroyed")


class IngredientKind(models.TextChoices):
    """What kind of thing an ingredient or packaging lot is."""

    CULTURE = "culture", _("culture")
    RENNET = "rennet", _("rennet")
    SALT = "salt", _("salt")
    COATING = "coating", _("coating")
    CLOTH = "cloth", _("cloth")
    LABEL = "label", _("labels")
    PACKAGING = "packaging", _("packaging")
    CHEMICAL = "chemical", _("cleaning chemical")
    KIT = "kit", _("inhibitor test kit")
    OTHER = "other", _("other")


class EndedHow(models.TextChoices):
    """Why nothing of an ingredient lot is left."""

    USED_UP = "used_up", _("used up")
    DISCARDED = "discarded", _("discarded")


class Changing(Recorded):
    """A recorded thing that keeps its identity through corrections: `first` names its first record.

    A correction supersedes the newest record and gives its reason; other records name the first one.
    """

    first = models.ForeignKey("self", models.PROTECT, null=True, related_name="+")
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)

    class Meta:
        abstract = True

    @property
    def identity(self) -> UUID:
        """Give the key by which other records name it: that of its first record."""
        found: UUID = getattr(self, "first_id", None) or self.pk
        return found


class Supplier(Changing):
    """Who milk, ingredients or packaging come from; one's own farm too."""

    name = models.CharField(max_length=120)
    address = models.CharField(max_length=300)
    gives_milk = models.BooleanField()
    closed = models.BooleanField()


class Herd(Changing):
    """A herd or flock whose milk comes in."""

    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="+")
    name = models.CharField(max_length=120)
    species = models.CharField(max_length=20)
    closed = models.BooleanField()


class SupplierApproval(Recorded):
    """The approval of a supplier, or of one of its herds; the newest counts, all are kept."""

    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="+")
    herd = models.ForeignKey(Herd, models.PROTECT, null=True, related_name="+")
    status = models.CharField(max_length=20)
    valid_until = models.DateField(null=True)
    reason = models.CharField(max_length=500)


class Certificate(Recorded):
    """A health certificate of a supplier or herd, with the day on which it expires."""

    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="+")
    herd = models.ForeignKey(Herd, models.PROTECT, null=True, related_name="+")
    name = models.CharField(max_length=200)
    reference = models.CharField(max_length=120)
    valid_until = models.DateField()
    file_name = models.CharField(max_length=200)
    media_type = models.CharField(max_length=100)
    sha256 = models.CharField(max_length=64)
    withdrawn = models.BooleanField()
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)


class TreatedAnimal(Recorded):
    """An animal whose milk stays out after a treatment; `ended_at`: ended early, with the reason."""

    herd = models.ForeignKey(Herd, models.PROTECT, related_name="+")
    animal = models.CharField(max_length=60)
    drug = models.CharField(max_length=120)
    last_dose_at = models.DateTimeField()
    milk_out_until = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)


class IngredientLot(Changing):
    """A lot of an ingredient, of packaging, of a chemical or of test kits, as received."""

    kind = models.CharField(max_length=20)
    name = models.CharField(max_length=120)
    supplier = models.ForeignKey(Supplier, models.PROTECT, null=True, related_name="+")
    code = models.CharField(max_length=30)
    code_skeleton = models.CharField(max_length=30)
    received_at = models.DateTimeField()
    use_by = models.DateField(null=True)
    quantity_text = models.CharField(max_length=20)
    quantity_unit = models.CharField(max_length=20)
    storage = models.CharField(max_length=120)
    allergens = models.CharField(max_length=300)
    certificate = models.CharField(max_length=120)
    file_name = models.CharField(max_length=200)
    media_type = models.CharField(max_length=100)
    sha256 = models.CharField(max_length=64)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)

    class Meta:
        indexes = [
            models.Index(fields=["establishment", "code_skeleton"], name="ingredient_by_code"),
            models.Index(fields=["establishment", "received_at"], name="ingredient_by_time"),
        ]


class IngredientEnded(Recorded):
    """Nothing of an ingredient lot is left: used up, or discarded."""

    ingredient = models.OneToOneField(IngredientLot, models.PROTECT, related_name="+")
    how = models.CharField(max_length=20)
    ended_at = models.DateTimeField()
    reason = models.CharField(max_length=500)


class MilkLoad(Changing):
    """A load of milk as received.

    milkings: the instants of the milkings it holds; `milked_at` is the oldest. details: what was noted that
    the plan does not check. statements: each warning that was on the screen, and what the person said to it.
    voided: the receipt should not be there.
    """

    code = models.CharField(max_length=30)
    code_skeleton = models.CharField(max_length=30)
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="+")
    herd = models.ForeignKey(Herd, models.PROTECT, null=True, related_name="+")
    species = models.CharField(max_length=20)
    milkings = CanonicalTextField()
    milked_at = models.DateTimeField()
    received_at = models.DateTimeField()
    volume_text = models.CharField(max_length=20)
    volume_unit = models.CharField(max_length=20)
    tank = models.CharField(max_length=60)
    kit = models.ForeignKey(IngredientLot, models.PROTECT, null=True, related_name="+")
    details = CanonicalTextField()
    statements = CanonicalTextField()
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    voided = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["establishment", "code_skeleton"],
                condition=Q(supersedes=None),
                name="milk_load_code_once",
            ),
        ]
        indexes = [models.Index(fields=["establishment", "-received_at"], name="milk_load_by_time")]

    def noted(self) -> list[dict[str, Any]]:
        """Give the details that were noted."""
        found: list[dict[str, Any]] = canonical.loads(self.details.encode())
        return found

    def said(self) -> list[dict[str, Any]]:
        """Give the warnings that were on the screen, with what was said to each."""
        found: list[dict[str, Any]] = canonical.loads(self.statements.encode())
        return found


class MilkRefused(Recorded):
    """Milk of a load not taken, or taken out again: how much, why, what became of it, who was told."""

    load = models.ForeignKey(MilkLoad, models.PROTECT, related_name="+")
    volume_text = models.CharField(max_length=20)
    volume_unit = models.CharField(max_length=20)
    outcome = models.CharField(max_length=20)
    refused_at = models.DateTimeField()
    told = models.CharField(max_length=200)
    why = models.CharField(max_length=500)
    late = models.BooleanField()
    late_reason = models.CharField(max_length=500)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)


class AuthorityNotice(Recorded):
    """Informing the authority of refused milk: on what legal basis, by when, and when it was done."""

    load = models.ForeignKey(MilkLoad, models.PROTECT, related_name="+")
    authority = models.CharField(max_length=120)
    legal_basis = models.CharField(max_length=300)
    deadline = models.DateTimeField(null=True)
    informed_at = models.DateTimeField(null=True)
    reference = models.CharField(max_length=120)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)


class LotMilk(Recorded):
    """Milk of a load that went into a lot. A correction to 0 says that none of it did."""

    lot = models.ForeignKey("records.Lot", models.PROTECT, related_name="+")
    load = models.ForeignKey(MilkLoad, models.PROTECT, related_name="+")
    volume_text = models.CharField(max_length=20)
    volume_unit = models.CharField(max_length=20)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500)
