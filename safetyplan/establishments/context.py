"""What every page's template may use: the establishment, the person's printed name and roles."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.middleware.csrf import get_token
from django.urls import reverse

from safetyplan.establishments.models import Establishment, EstablishmentDetails, Membership
from safetyplan.establishments.sign_in import method_of, session_mark
from safetyplan.establishments.unsent import waiting


@dataclass(frozen=True)
class Page:
    """An establishment as the templates see it."""

    establishment: Establishment
    details: EstablishmentDetails

    @property
    def name(self) -> str:
        """Give the printed name."""
        return self.details.name

    @property
    def slug(self) -> str:
        """Give the short name used in addresses."""
        return self.establishment.slug

    @property
    def demonstration(self) -> bool:
        """Tell whether everything here is invented."""
        return self.establishment.demonstration

    @property
    def pk(self) -> Any:
        """Give the identity."""
        return self.establishment.pk


def people_block(request: HttpRequest) -> dict[str, str]:
    """Give what static/js/person.js needs: whose session it is, and the addresses to take turns."""
    membership: Membership = request.membership  # type: ignore[attr-defined]
    slug = request.page.slug  # type: ignore[attr-defined]
    addresses = ("enrol", "challenge", "turn", "password_turn")
    return {
        "establishment": str(membership.establishment_id),
        "person": str(membership.person_id),
        "printed": membership.printed_name,
        "initials": membership.initials,
        "session": session_mark(request),
        "by": method_of(request),
        "csrf": get_token(request),
        **{f"{name}_url": reverse(name, args=[slug]) for name in addresses},
    }


def unsent_block(request: HttpRequest) -> dict[str, Any]:
    """Give what this person sent when the session had ended: the form of this page, or those of others."""
    rows = waiting(request) if request.method == "GET" else []
    here = next((row for row in reversed(rows) if row.page == request.get_full_path()), None)
    if here is not None:
        data = {"action": here.action, "fields": here.fields, "files": here.files}
        return {"unsent": here, "unsent_data": data}
    return {"unsent_elsewhere": rows}


def page(request: HttpRequest) -> dict[str, Any]:
    """Give the context that get_establishment prepared; a page without establishment has the login name."""
    membership = getattr(request, "membership", None)
    if membership is not None:
        return {
            **unsent_block(request),
            "establishment": getattr(request, "page", None),
            "person": membership.printed_name,
            "roles": getattr(request, "roles", []),
            "people_block": people_block(request),
        }
    user = getattr(request, "user", None)
    return {"person": user.username if user is not None and user.is_authenticated else ""}
