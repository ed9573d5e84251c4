"""From what the pages of people send to the services: dates read, reasons asked, nothing stored twice."""

from dataclasses import replace
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from safetyplan.establishments.models import (
    Establishment,
    EstablishmentDetails,
    Membership,
    Person,
    Training,
)
from safetyplan.establishments.people_forms import typed_date
from safetyplan.establishments.queries import details_of, roles_of
from safetyplan.establishments.services import (
    Details,
    MemberSpec,
    change_details,
    change_membership,
    record_training,
)
from safetyplan.integrity import ledger
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, reason


def member_spec(typed: dict[str, Any]) -> MemberSpec:
    """Read what was typed of a person."""
    return MemberSpec(
        printed_name=typed["printed_name"],
        initials=typed["initials"],
        roles=tuple(typed["roles"]),
        inspector_until=typed_date(typed["inspector_until"], part="inspector_until"),
    )


def present_spec(member: Membership) -> MemberSpec:
    """Give what the present record says of a person."""
    return MemberSpec(
        printed_name=member.printed_name,
        initials=member.initials,
        roles=tuple(roles_of(member)),
        inspector_until=member.inspector_until,
        active=member.active,
    )


def change(establishment: Establishment, by: Person, member: Membership, typed: dict[str, Any]) -> bool:
    """Record a change of a person with its reason; tell whether there was one."""
    wanted = replace(member_spec(typed), active=typed["active"])
    wanted = replace(wanted, roles=tuple(sorted(wanted.roles)))
    if wanted == present_spec(member):
        return False
    why = reason(typed["reason"], part="reason", most=300)
    change_membership(
        establishment=establishment, by=by, person=member.person, member=replace(wanted, reason=why)
    )
    return True


def train(establishment: Establishment, by: Person, person: Person, typed: dict[str, Any]) -> None:
    """Record a training; the same training sent twice is recorded once."""
    day = typed_date(typed["trained_on"], part="trained_on")
    if day is None:
        raise BadInput(_("Give the date of the training."), part="trained_on")
    kind, provider = clean(typed["training_type"]), clean(typed["provider"])
    with transaction.atomic():
        ledger.lock(establishment)
        same = Training.objects.of(establishment).filter(
            person=person, trained_on=day, training_type=kind, provider=provider
        )
        if kind and same.exists():
            return
        record_training(
            establishment=establishment,
            by=by,
            person=person,
            trained_on=day,
            training_type=kind,
            provider=provider,
        )


def details_spec(row: EstablishmentDetails) -> Details:
    """Give what the present record says of the establishment."""
    return Details(**{name: getattr(row, name) for name in Details.__dataclass_fields__})


def change_details_once(establishment: Establishment, by: Person, typed: dict[str, Any]) -> bool:
    """Record new details; tell whether anything differs from the present ones."""
    wanted = Details(**typed)
    if wanted == details_spec(details_of(establishment)):
        return False
    change_details(establishment=establishment, by=by, details=wanted)
    return True
