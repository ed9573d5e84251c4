"""The ledger: entries, record seals, stored files, and the base of every recorded row."""

import uuid
from typing import Any, NoReturn, TypeVar

from django.db import models

from safetyplan.integrity import canonical

Row = TypeVar("Row", bound=models.Model)


class ScopedManager(models.Manager[Row]):
    """A manager that hands out rows of one establishment only."""

    def of(self, establishment: Any) -> "models.QuerySet[Row]":
        """Give the rows of one establishment."""
        return self.get_queryset().filter(establishment=establishment)

    def _unscoped(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise TypeError("Name the establishment first: use .of(establishment).")

    all = filter = get = exclude = count = exists = values = values_list = first = last = _unscoped
    order_by = select_related = annotate = aggregate = in_bulk = iterator = _unscoped


class CanonicalTextField(models.TextField):  # type: ignore[type-arg]
    """Text that holds one value as canonical JSON (a list or an object inside a record)."""


class Entry(models.Model):
    """One link of an establishment's ledger; `body` holds the exact bytes that were hashed."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    establishment = models.ForeignKey("safetyplan.Establishment", models.PROTECT, related_name="+")
    sequence = models.PositiveBigIntegerField()
    kind = models.CharField(max_length=40)
    version = models.PositiveSmallIntegerField()
    body = models.BinaryField()
    previous_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    objects = ScopedManager["Entry"]()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "sequence"], name="entry_sequence_once"),
        ]

    def __str__(self) -> str:
        return f"{self.sequence} {self.kind}"

    def document(self) -> dict[str, Any]:
        """Give the body as an object."""
        value = canonical.loads(bytes(self.body))
        assert isinstance(value, dict)
        return value


class Recorded(models.Model):
    """Base of every recorded row: the working copy of one ledger entry."""

    entry = models.OneToOneField(Entry, models.PROTECT, primary_key=True, related_name="+")
    establishment = models.ForeignKey("safetyplan.Establishment", models.PROTECT, related_name="+")
    author = models.ForeignKey("safetyplan.Person", models.PROTECT, null=True, related_name="+")
    recorded_at = models.DateTimeField()
    claim_text = CanonicalTextField(null=True)
    credential = models.ForeignKey("safetyplan.Credential", models.PROTECT, null=True, related_name="+")
    claim_signature = models.CharField(max_length=120, null=True)  # noqa: DJ001

    objects = ScopedManager["Any"]()

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"{type(self).__name__} {self.pk}"

    @property
    def claim(self) -> dict[str, Any] | None:
        """Give the claim as an object, or None when the server made the record."""
        if self.claim_text is None:
            return None
        value = canonical.loads(self.claim_text.encode())
        assert isinstance(value, dict)
        return value


class Signed(Recorded):
    """Base of a recorded row that carries a signature; the signer is the author."""

    signed_name = models.CharField(max_length=120)
    signed_meaning = models.CharField(max_length=200)
    signed_roles = CanonicalTextField()
    signed_method = models.CharField(max_length=40)
    signed_proof = models.UUIDField(unique=True)

    class Meta:
        abstract = True


class RecordSeal(models.Model):
    """A signed note over the size and Merkle root of an establishment's ledger."""

    establishment = models.ForeignKey("safetyplan.Establishment", models.PROTECT, related_name="+")
    size = models.PositiveBigIntegerField()
    root = models.CharField(max_length=64)
    sealed_at = models.DateTimeField()
    reason = models.CharField(max_length=40)
    note = models.TextField()
    frontier = CanonicalTextField()

    objects = ScopedManager["RecordSeal"]()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "size", "reason"], name="record_seal_once"),
        ]

    def __str__(self) -> str:
        return f"seal over {self.size}"


class StoredFile(models.Model):
    """Bytes that a record names by their SHA-256: an attached document or the bytes of a print."""

    id = models.BigAutoField(primary_key=True)
    establishment = models.ForeignKey("safetyplan.Establishment", models.PROTECT, related_name="+")
    sha256 = models.CharField(max_length=64)
    content = models.BinaryField()

    objects = ScopedManager["StoredFile"]()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["establishment", "sha256"], name="stored_file_once"),
        ]

    def __str__(self) -> str:
        return self.sha256


class OpenItem(models.Model):
    """Index of what is still open (a deviation, a hold, a lot). Speed only: never evidence itself."""

    establishment = models.ForeignKey("safetyplan.Establishment", models.PROTECT, related_name="+")
    what = models.CharField(max_length=20)
    subject = models.UUIDField()
    lot = models.UUIDField(null=True)

    objects = ScopedManager["OpenItem"]()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["establishment", "what", "subject"],
                condition=models.Q(lot__isnull=True),
                name="open_item_once",
            ),
            models.UniqueConstraint(
                fields=["establishment", "what", "subject", "lot"], name="open_item_once_per_lot"
            ),
        ]
        indexes = [models.Index(fields=["establishment", "lot"], name="open_item_by_lot")]

    def __str__(self) -> str:
        return f"{self.what} {self.subject}"


class SignatureProof(models.Model):
    """A password given again, good for one signature."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    person = models.ForeignKey("safetyplan.Person", models.CASCADE, related_name="+")
    method = models.CharField(max_length=40)
    made_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return str(self.id)


class RefusedClaim(models.Model):
    """Raw bytes of a claim that could not be taken, kept so that nothing typed is lost."""

    establishment = models.ForeignKey("safetyplan.Establishment", models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    claim_uuid = models.CharField(max_length=64, blank=True)
    raw = models.BinaryField()
    reason = models.TextField()

    objects = ScopedManager["RefusedClaim"]()

    def __str__(self) -> str:
        return f"{self.claim_uuid}: {self.reason}"


class BackedUp(models.Model):
    """A backup that was made and read again, and the sequence up to which it holds a ledger. Not a record."""

    establishment = models.ForeignKey("safetyplan.Establishment", models.PROTECT, related_name="+")
    sequence = models.PositiveBigIntegerField()
    made_at = models.DateTimeField()

    objects = ScopedManager["BackedUp"]()

    def __str__(self) -> str:
        return f"backed up to {self.sequence}"
