"""Establishments, people, roles, devices."""

import uuid

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.translation import gettext_lazy as _

from safetyplan.integrity.models import CanonicalTextField, Recorded, ScopedManager


class Role(models.TextChoices):
    """What a person may do in one establishment."""

    MAKER = "maker", _("Maker")
    REVIEWER = "reviewer", _("Reviewer")
    QUALIFIED = "qualified", _("Qualified individual")
    RESPONSIBLE = "responsible", _("Responsible person")
    INSPECTOR = "inspector", _("Inspector")
    ADMINISTRATOR = "administrator", _("Administrator")


class Establishment(models.Model):
    """A dairy. Only its identity: name and address are records, so that old prints keep theirs."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    slug = models.SlugField(max_length=50, unique=True)
    demonstration = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.slug


class PersonManager(BaseUserManager["Person"]):
    """Makes people who can sign in."""

    def create_person(self, *, username: str, password: str) -> "Person":
        """Make a person with a password."""
        person = self.model(username=self.model.normalize_username(username))
        person.set_password(password)
        person.save()
        return person


class Person(AbstractBaseUser):
    """A person's own login. The printed name and the roles are records of each establishment."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    username = models.CharField(max_length=60, unique=True)
    is_active = models.BooleanField(default=True)

    objects = PersonManager()

    USERNAME_FIELD = "username"

    def __str__(self) -> str:
        return self.username


class EstablishmentOpening(Recorded):
    """First entry of a ledger: which establishment, which seal key, and whether it is a demonstration."""

    slug = models.CharField(max_length=50)
    demonstration = models.BooleanField()
    key_name = models.CharField(max_length=100)
    public_key = models.CharField(max_length=60)


class EstablishmentDetails(Recorded):
    """Name, address and ways of working; a change is a new record that supersedes the last."""

    name = models.CharField(max_length=120)
    address = models.CharField(max_length=300)
    registration_number = models.CharField(max_length=60)
    time_zone = models.CharField(max_length=60)
    temperature_unit = models.CharField(max_length=20)
    volume_unit = models.CharField(max_length=20)
    mass_unit = models.CharField(max_length=20)
    paper = models.CharField(max_length=10)
    regulatory_profile = models.CharField(max_length=40)
    self_review_reason = models.CharField(max_length=500)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")

    @property
    def self_review_allowed(self) -> bool:
        """Tell whether people may review their own records here: only with a stated reason."""
        return bool(self.self_review_reason)


class Membership(Recorded):
    """A person's printed name, initials and roles in an establishment, from this record on."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="+")
    printed_name = models.CharField(max_length=120)
    initials = models.CharField(max_length=6)
    roles = CanonicalTextField()
    inspector_until = models.DateField(null=True)
    active = models.BooleanField()
    reason = models.CharField(max_length=300)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["establishment", "person"],
                condition=models.Q(supersedes__isnull=True),
                name="membership_begins_once",
            ),
        ]


class Training(Recorded):
    """A training or experience record of a person: date, type, provider."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="+")
    trained_on = models.DateField()
    training_type = models.CharField(max_length=200)
    provider = models.CharField(max_length=200)


class Credential(Recorded):
    """The key of one person on one device; every claim made there is signed with it."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="+")
    device = models.UUIDField()
    device_label = models.CharField(max_length=100)
    public_key = models.CharField(max_length=120)


class CredentialRevoked(Recorded):
    """From this record on, claims signed with the credential are refused."""

    revoked = models.OneToOneField(Credential, models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)


class SignInTry(models.Model):
    """Failed tries to sign in under a name, so that guessing gets slower. Not a record: no entry."""

    username = models.CharField(max_length=60, unique=True)
    failed = models.PositiveIntegerField()
    last_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.username}: {self.failed}"


class Challenge(models.Model):
    """A number given to a device to sign, good once and for a short time. Not a record: no entry."""

    establishment = models.ForeignKey(Establishment, models.CASCADE, related_name="+")
    nonce = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    objects = ScopedManager["Challenge"]()

    def __str__(self) -> str:
        return f"challenge of {self.made_at:%H:%M:%S}"
