"""Changes to establishments, people and their devices."""

import re
from base64 import b64decode
from binascii import Error as Base64Error
from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID
from zoneinfo import ZoneInfo, available_timezones

from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, EllipticCurvePublicKey
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from safetyplan.establishments import kinds
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import (
    Credential,
    CredentialRevoked,
    Establishment,
    EstablishmentDetails,
    EstablishmentOpening,
    Membership,
    Person,
    Role,
    Training,
)
from safetyplan.establishments.queries import details_of, membership_of, memberships, roles_of
from safetyplan.integrity import canonical, clock, ledger, notes, seals
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import clean

TEMPERATURE_UNITS = ("degC", "degF")
VOLUME_UNITS = ("L", "gal_us", "gal_imp")
MASS_UNITS = ("kg", "lb")
PAPERS = ("A4", "letter")
RESERVED = ("sign-in", "sign-out", "first-run", "static")


@dataclass(frozen=True)
class Details:
    """What an establishment says of itself."""

    name: str
    address: str
    registration_number: str = ""
    time_zone: str = "UTC"
    temperature_unit: str = "degC"
    volume_unit: str = "L"
    mass_unit: str = "kg"
    paper: str = "A4"
    regulatory_profile: str = ""
    self_review_reason: str = ""


@dataclass(frozen=True)
class MemberSpec:
    """What a membership record says of a person."""

    printed_name: str
    initials: str
    roles: tuple[str, ...]
    inspector_until: date | None = None
    active: bool = True
    reason: str = ""


def check_details(details: Details) -> Details:
    """Refuse details that cannot be right, naming the field."""
    if not details.name.strip():
        raise BadInput(_("Give the establishment's name."), part="name")
    if not details.address.strip():
        raise BadInput(_("Give the establishment's address: every record shows it."), part="address")
    if details.time_zone not in available_timezones():
        raise BadInput(_("Choose a time zone from the list, for example Europe/Dublin."), part="time_zone")
    choices = {
        "temperature_unit": TEMPERATURE_UNITS,
        "volume_unit": VOLUME_UNITS,
        "mass_unit": MASS_UNITS,
        "paper": PAPERS,
    }
    for name, allowed in choices.items():
        if getattr(details, name) not in allowed:
            raise BadInput(_("Choose one of the units or sizes offered."), part=name)
    return replace(
        details,
        name=clean(details.name),
        address=clean(details.address),
        self_review_reason=clean(details.self_review_reason),
    )


def _details_row(details: Details) -> EstablishmentDetails:
    return EstablishmentDetails(**{f: getattr(details, f) for f in Details.__dataclass_fields__})


def open_establishment(
    *,
    slug: str,
    details: Details,
    administrator: Person,
    member: MemberSpec,
    demonstration: bool = False,
) -> Establishment:
    """Open an establishment's ledger: opening, details, and its first member."""
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{1,48}", slug):
        raise BadInput(_("The short name may hold small letters, digits and hyphens."), part="slug")
    if slug in RESERVED:
        raise BadInput(_("This short name is an address of the program itself. Choose another."), part="slug")
    details = check_details(details)
    with transaction.atomic():
        if Establishment.objects.filter(slug=slug).exists():
            raise BadInput(_("This short name is taken."), part="slug")
        establishment = Establishment.objects.create(slug=slug, demonstration=demonstration)
        key = seals.private_key()
        opening = EstablishmentOpening(
            slug=slug,
            demonstration=demonstration,
            key_name=f"{slug}/{establishment.id}",
            public_key=notes.public_key_base64(key),
        )
        ledger.append_many(
            establishment=establishment,
            author=administrator,
            items=[
                (kinds.OPENING, opening, None),
                (kinds.DETAILS, _details_row(details), None),
                (kinds.MEMBERSHIP, _membership_row(establishment, administrator, member, None), None),
            ],
        )
    return establishment


def change_details(*, establishment: Establishment, by: Person, details: Details) -> EstablishmentDetails:
    """Record new details; the old ones stay readable."""
    require_role(establishment, by, Role.ADMINISTRATOR)
    row = _details_row(check_details(details))
    with transaction.atomic():
        ledger.lock(establishment)
        row.supersedes = details_of(establishment)
        ledger.append(kind=kinds.DETAILS, row=row, establishment=establishment, author=by)
    return row


def _membership_row(
    establishment: Establishment, person: Person, member: MemberSpec, supersedes: Membership | None
) -> Membership:
    printed = clean(member.printed_name)
    initials = clean(member.initials)
    if not printed:
        raise BadInput(_("Give the name as it is printed on records."), part="printed_name")
    if not re.fullmatch(r"\w{1,6}", initials):
        raise BadInput(_("Give one to six letters as initials."), part="initials")
    unknown = [role for role in member.roles if role not in Role.values]
    if unknown or not member.roles:
        raise BadInput(_("Choose at least one role."), part="roles")
    if Role.INSPECTOR in member.roles and member.inspector_until is None:
        raise BadInput(_("An inspector's access needs an end date."), part="inspector_until")
    for other in memberships(establishment).exclude(person=person):
        if other.printed_name.casefold() == printed.casefold():
            raise BadInput(_("Another person already has this printed name."), part="printed_name")
        if other.initials.casefold() == initials.casefold():
            raise BadInput(_("Another person already has these initials."), part="initials")
    return Membership(
        person=person,
        printed_name=printed,
        initials=initials,
        roles=canonical.dumps(sorted(set(map(str, member.roles)))).decode(),
        inspector_until=member.inspector_until,
        active=member.active,
        reason=clean(member.reason),
        supersedes=supersedes,
    )


def check_password(username: str, password: str) -> None:
    """Refuse a weak password in words."""
    try:
        validate_password(password, Person(username=username))
    except ValidationError as error:
        raise BadInput(" ".join(error.messages), part="password") from error


def add_person(
    *, establishment: Establishment, by: Person, username: str, password: str, member: MemberSpec
) -> Membership:
    """Give a new person a login and roles."""
    require_role(establishment, by, Role.ADMINISTRATOR)
    if not re.fullmatch(r"[a-z0-9._-]{2,60}", username):
        raise BadInput(
            _("The sign-in name may hold small letters, digits, dot, hyphen and underscore."), part="username"
        )
    check_password(username, password)
    with transaction.atomic():
        ledger.lock(establishment)
        if Person.objects.filter(username=username).exists():
            raise BadInput(_("This sign-in name is taken."), part="username")
        person = Person.objects.create_person(username=username, password=password)
        row = _membership_row(establishment, person, member, None)
        ledger.append(kind=kinds.MEMBERSHIP, row=row, establishment=establishment, author=by)
    return row


def change_membership(
    *, establishment: Establishment, by: Person, person: Person, member: MemberSpec
) -> Membership:
    """Record new roles, or that a person is no longer active; the old name stays on old records."""
    require_role(establishment, by, Role.ADMINISTRATOR)
    with transaction.atomic():
        ledger.lock(establishment)
        present = membership_of(establishment, person)
        if present is None:
            raise Refused(_("This person does not belong to the establishment."))
        row = _membership_row(establishment, person, member, present)
        _keep_an_administrator(establishment, person, row)
        ledger.append(kind=kinds.MEMBERSHIP, row=row, establishment=establishment, author=by)
    return row


def _keep_an_administrator(establishment: Establishment, person: Person, row: Membership) -> None:
    others = memberships(establishment).exclude(person=person).filter(active=True)
    if any(Role.ADMINISTRATOR in roles_of(m) for m in others):
        return
    if not row.active or Role.ADMINISTRATOR not in roles_of(row):
        raise Refused(_("Somebody must stay administrator: give the role to another person first."))


def record_training(
    *,
    establishment: Establishment,
    by: Person,
    person: Person,
    trained_on: date,
    training_type: str,
    provider: str = "",
) -> Training:
    """Record a person's training or experience: date, type, person."""
    require_role(establishment, by, Role.ADMINISTRATOR, Role.QUALIFIED)
    if membership_of(establishment, person) is None:
        raise Refused(_("This person does not belong to the establishment."))
    if not training_type.strip():
        raise BadInput(_("Say what kind of training it was."), part="training_type")
    if trained_on > clock.now(establishment).date():
        raise BadInput(_("The training's date lies in the future."), part="trained_on")
    row = Training(
        person=person,
        trained_on=trained_on,
        training_type=clean(training_type),
        provider=clean(provider),
    )
    ledger.append(kind=kinds.TRAINING, row=row, establishment=establishment, author=by)
    return row


def enrol_device(
    *, establishment: Establishment, person: Person, device: UUID, device_label: str, public_key: str
) -> Credential:
    """Record the key of a person on a device; its claims are signed with it."""
    require_role(establishment, person)
    try:
        EllipticCurvePublicKey.from_encoded_point(SECP256R1(), b64decode(public_key, validate=True))
    except (ValueError, Base64Error) as error:
        raise BadInput(_("The device sent a key that cannot be read."), part="public_key") from error
    row = Credential(
        person=person,
        device=device,
        device_label=clean(device_label)[:100] or _("A device"),
        public_key=public_key,
    )
    ledger.append(kind=kinds.CREDENTIAL, row=row, establishment=establishment, author=person)
    return row


def revoke_credential(
    *, establishment: Establishment, by: Person, credential: Credential, reason: str
) -> CredentialRevoked:
    """Stop taking claims signed with a credential, for example when a device is lost."""
    if credential.person_id != by.pk:
        require_role(establishment, by, Role.ADMINISTRATOR)
    if CredentialRevoked.objects.of(establishment).filter(revoked=credential).exists():
        raise Refused(_("This device was already signed off."))
    row = CredentialRevoked(revoked=credential, reason=clean(reason) or _("signed out"))
    ledger.append(kind=kinds.CREDENTIAL_REVOKED, row=row, establishment=establishment, author=by)
    return row


def zone(name: str) -> ZoneInfo:
    """Give a time zone by its name."""
    return ZoneInfo(name)
