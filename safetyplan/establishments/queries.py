"""Reads about establishments and people."""

from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, QuerySet

from safetyplan.establishments.models import (
    Credential,
    CredentialRevoked,
    Establishment,
    EstablishmentDetails,
    Membership,
    Person,
    Role,
)
from safetyplan.integrity import canonical


def until(rows: "QuerySet[Any]", as_of: int | None) -> "QuerySet[Any]":
    """Keep the rows recorded up to a ledger sequence (None: all)."""
    return rows if as_of is None else rows.filter(entry__sequence__lte=as_of)


def latest(rows: "QuerySet[Any]", as_of: int | None = None) -> "QuerySet[Any]":
    """Keep the rows that no later row supersedes, as things stood at a ledger sequence."""
    model = rows.model
    later = until(model._base_manager.filter(supersedes=OuterRef("pk")), as_of)
    return until(rows, as_of).filter(~Exists(later))


def replaced(row: Any) -> bool:
    """Tell whether a later record of the same kind supersedes a record."""
    later = type(row)._base_manager.filter(establishment=row.establishment_id, supersedes=row)
    return bool(later.exists())


def details_of(establishment: Establishment, as_of: int | None = None) -> EstablishmentDetails:
    """Give the name, address and settings of an establishment."""
    rows = latest(EstablishmentDetails.objects.of(establishment), as_of)
    found: EstablishmentDetails = rows.get()
    return found


def zone_of(establishment: Establishment) -> ZoneInfo:
    """Give the establishment's time zone."""
    return ZoneInfo(details_of(establishment).time_zone)


def memberships(establishment: Establishment, as_of: int | None = None) -> "QuerySet[Membership]":
    """Give the present membership of each person, those deactivated included."""
    return latest(Membership.objects.of(establishment), as_of).order_by("printed_name")


def membership_of(establishment: Establishment, person: Person) -> Membership | None:
    """Give a person's present membership, or None for a stranger."""
    return memberships(establishment).filter(person=person).first()


def roles_of(membership: Membership) -> list[str]:
    """Give the roles of a membership."""
    value = canonical.loads(membership.roles.encode())
    assert isinstance(value, list)
    return [str(role) for role in value]


def is_current(membership: Membership | None, today: date) -> bool:
    """Tell whether a membership gives access: active, and for a mere inspector not past the end date."""
    if membership is None or not membership.active or not membership.person.is_active:
        return False
    only_inspects = roles_of(membership) == [Role.INSPECTOR]
    end = membership.inspector_until
    return not (only_inspects and end is not None and today > end)


def establishments_of(person: Person) -> list[Establishment]:
    """Give the establishments a person belongs to."""
    rows = latest(Membership._base_manager.filter(person=person)).filter(active=True)
    return [row.establishment for row in rows.select_related("establishment")]


def names(establishment: Establishment, as_of: int | None = None) -> dict[Any, Membership]:
    """Give each person's membership by person id, for names and initials on pages and paper."""
    return {row.person_id: row for row in memberships(establishment, as_of)}


def live_credentials(establishment: Establishment) -> "QuerySet[Credential]":
    """Give the credentials that are not revoked."""
    gone = CredentialRevoked._base_manager.filter(revoked=OuterRef("pk"))
    rows: QuerySet[Credential] = Credential.objects.of(establishment).filter(~Exists(gone))
    return rows
