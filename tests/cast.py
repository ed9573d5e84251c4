"""The cast: people of an invented dairy, and a stranger from another one.

owner      responsible person, qualified individual, reviewer, administrator
maker      records
helper     a second maker
reviewer   verifies and signs off
inspector  reads only
stranger   owner of another dairy
"""

from dataclasses import dataclass
from datetime import date

from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.services import (
    Details,
    MemberSpec,
    add_person,
    change_details,
    open_establishment,
)
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.signatures import prove

PASSWORD = "curd-and-whey-9"  # every member of the cast


@dataclass(frozen=True)
class Cast:
    """A dairy and its people."""

    dairy: Establishment
    owner: Person
    maker: Person
    helper: Person
    reviewer: Person
    inspector: Person
    other_dairy: Establishment
    stranger: Person

    def proof(self, person: Person) -> SignatureProof:
        """Give the password again."""
        return prove(establishment=self.dairy, person=person, password=PASSWORD)


def _person(dairy: Establishment, owner: Person, name: str, initials: str, *roles: str) -> Person:
    end = date(2100, 1, 1) if Role.INSPECTOR in roles else None
    member = MemberSpec(f"{name.title()} Person", initials, roles, inspector_until=end)
    username = f"{name}-{dairy.slug}"
    return add_person(
        establishment=dairy, by=owner, username=username, password=PASSWORD, member=member
    ).person


OWNER_ROLES = (Role.RESPONSIBLE, Role.QUALIFIED, Role.REVIEWER, Role.ADMINISTRATOR)


def open_dairy(slug: str, owner_name: str, *, demonstration: bool = True) -> tuple[Establishment, Person]:
    """Open a dairy with its owner."""
    owner = Person.objects.create_person(username=f"{owner_name}-{slug}", password=PASSWORD)
    details = Details(
        name=f"{slug.title()} Test Dairy",
        address="1 Test Lane, Testford",
        time_zone="Europe/Dublin",
        registration_number="TD 1",
    )
    dairy = open_establishment(
        slug=slug,
        details=details,
        administrator=owner,
        member=MemberSpec(f"{owner_name.title()} Person", "OW", OWNER_ROLES),
        demonstration=demonstration,
    )
    return dairy, owner


def make_cast(slug: str = "near", *, demonstration: bool = True) -> Cast:
    """Open the dairy and the other one, and give everybody a login."""
    dairy, owner = open_dairy(slug, "owner", demonstration=demonstration)
    other, stranger = open_dairy(f"{slug}-far", "stranger", demonstration=demonstration)
    return Cast(
        dairy=dairy,
        owner=owner,
        maker=_person(dairy, owner, "maker", "MK", Role.MAKER),
        helper=_person(dairy, owner, "helper", "HP", Role.MAKER),
        reviewer=_person(dairy, owner, "reviewer", "RV", Role.REVIEWER),
        inspector=_person(dairy, owner, "inspector", "IN", Role.INSPECTOR),
        other_dairy=other,
        stranger=stranger,
    )


def allow_self_review(cast: Cast, reason: str = "Only one person works on Sundays") -> None:
    """Let people of the dairy review their own records, with a reason."""
    change_details(
        establishment=cast.dairy,
        by=cast.owner,
        details=Details(
            name="Near Test Dairy",
            address="1 Test Lane, Testford",
            time_zone="Europe/Dublin",
            registration_number="TD 1",
            self_review_reason=reason,
        ),
    )
