"""Fetch and authorise: the first line of every view, and the role check of every service.

A stranger gets 404 (the establishment is not theirs to know of); a member without the role gets 403.
"""

from typing import cast

from django.http import Http404, HttpRequest
from django.utils.translation import gettext as _

from safetyplan.establishments.context import Page
from safetyplan.establishments.models import Establishment, Membership, Person, Role
from safetyplan.establishments.queries import details_of, is_current, membership_of, roles_of
from safetyplan.establishments.sign_in import BY_PIN, method_of
from safetyplan.integrity import clock
from safetyplan.integrity.refusals import NotAllowed

EVERYONE = tuple(Role)
WRITERS = (Role.MAKER, Role.REVIEWER, Role.QUALIFIED, Role.RESPONSIBLE)


def membership_for(establishment: Establishment, person: Person) -> Membership | None:
    """Give the membership that lets a person in today, or None."""
    membership = membership_of(establishment, person)
    today = clock.now(establishment).date()
    return membership if is_current(membership, today) else None


def require_role(establishment: Establishment, person: Person, *roles: str) -> Membership:
    """Give the person's membership, or refuse: any of the roles is enough, none named means any member."""
    membership = membership_for(establishment, person)
    if membership is None:
        raise NotAllowed(_("You have no access to this establishment."))
    if roles and not set(roles) & set(roles_of(membership)):
        wanted = ", ".join(str(Role(role).label) for role in roles)
        raise NotAllowed(_("This needs the role: %(roles)s.") % {"roles": wanted})
    return membership


def get_establishment(request: HttpRequest, slug: str, *roles: str) -> Establishment:
    """Fetch the establishment of a page and check the person's role in it.

    Sets `request.membership`, `request.roles` and `request.page` for the templates.
    """
    person = cast(Person, request.user)
    establishment = Establishment.objects.filter(slug=slug).first()
    membership = None
    if establishment is not None and person.is_authenticated:
        membership = membership_for(establishment, person)
    if establishment is None or membership is None:
        raise Http404
    held = roles_of(membership)
    if method_of(request) == BY_PIN:  # whoever holds the device keeps no accounts with it
        held = [role for role in held if role != Role.ADMINISTRATOR]
        if set(roles) == {Role.ADMINISTRATOR}:
            raise NotAllowed(_("This needs your password: sign out, then sign in with it."))
    request.membership = membership  # type: ignore[attr-defined]
    request.roles = held  # type: ignore[attr-defined]
    request.page = Page(establishment, details_of(establishment))  # type: ignore[attr-defined]
    require_role(establishment, person, *roles)
    return establishment
