"""What the pages of people and of the establishment show."""

from collections import defaultdict
from typing import Any

from safetyplan.establishments.models import Credential, Establishment, Membership, Person, Role, Training
from safetyplan.establishments.queries import is_current, live_credentials, memberships, roles_of
from safetyplan.establishments.shown import People
from safetyplan.integrity import clock


def _role_words(member: Membership) -> list[str]:
    return [str(Role(role).label) for role in roles_of(member)]


def people_page(establishment: Establishment) -> list[dict[str, Any]]:
    """List the people with roles and newest training, in a constant number of queries."""
    today = clock.now(establishment).date()
    trainings: dict[Any, list[Training]] = defaultdict(list)
    for training in Training.objects.of(establishment).order_by("-trained_on"):
        trainings[training.person_id].append(training)
    devices: dict[Any, int] = defaultdict(int)
    for credential in live_credentials(establishment):
        devices[credential.person_id] += 1
    rows = memberships(establishment).select_related("person").order_by("-active", "printed_name")
    return [
        {
            "member": member,
            "roles": _role_words(member),
            "current": is_current(member, today),
            "training": next(iter(trainings[member.person_id]), None),
            "devices": devices[member.person_id],
        }
        for member in rows
    ]


def person_page(establishment: Establishment, member: Membership) -> dict[str, Any]:
    """Give everything the page of one person shows."""
    people = People(establishment)
    of_person = {"person": member.person_id}
    history = Membership.objects.of(establishment).filter(**of_person).order_by("entry__sequence")
    trainings = Training.objects.of(establishment).filter(**of_person).order_by("-trained_on")
    devices: list[Credential] = list(live_credentials(establishment).filter(**of_person))
    return {
        "section": "plan",
        "member": member,
        "current": is_current(member, clock.now(establishment).date()),
        "roles_shown": _role_words(member),
        "history": [(shown, _role_words(shown.row)) for shown in people.each(history)],
        "trainings": people.each(trainings),
        "devices": people.each(devices),
    }


def may(roles: list[str], *wanted: str) -> bool:
    """Tell whether one of the roles is held."""
    return bool(set(roles) & set(wanted))


def same_person(member: Membership, person: Person) -> bool:
    """Tell whether a membership is the person's own."""
    return bool(member.person_id == person.pk)


def change_initial(member: Membership) -> dict[str, Any]:
    """Give what the form of a change begins with: the present record."""
    until = member.inspector_until.isoformat() if member.inspector_until else ""
    return {
        "printed_name": member.printed_name,
        "initials": member.initials,
        "roles": roles_of(member),
        "inspector_until": until,
        "active": member.active,
    }
