"""What every page's template may use: the establishment, the person's printed name and roles."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from safetyplan.establishments.models import Establishment, EstablishmentDetails


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


def page(request: HttpRequest) -> dict[str, Any]:
    """Give the context that get_establishment prepared; a page without establishment has the login name."""
    membership = getattr(request, "membership", None)
    if membership is not None:
        return {
            "establishment": getattr(request, "page", None),
            "person": membership.printed_name,
            "roles": getattr(request, "roles", []),
        }
    user = getattr(request, "user", None)
    return {"person": user.username if user is not None and user.is_authenticated else ""}
