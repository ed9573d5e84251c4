"""Claims of plain forms: the page's hidden UUID makes a second submit of the same form store once."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID, uuid4

from django.http import HttpRequest
from django.utils.translation import gettext as _

from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import details_of
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import Entry
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean

FORM_FIELD = "uuid"


def new_uuid() -> str:
    """Make the hidden UUID of a form."""
    return str(uuid4())


def form_uuid(request: HttpRequest) -> UUID:
    """Read the hidden UUID of a submitted form."""
    try:
        return UUID(request.POST.get(FORM_FIELD, ""))
    except ValueError as error:
        raise BadInput(_("This form is not complete. Load the page again.")) from error


def form_claim(
    request: HttpRequest, establishment: Establishment, kind: str, content: Mapping[str, Any]
) -> Claim:
    """Make the claim of a submitted form: what was typed, when, by whom, in a session."""
    said = {key: clean(str(value), most=20_000) for key, value in content.items()}
    return session_claim(request, establishment, kind, form_uuid(request), said)


def session_claim(
    request: HttpRequest, establishment: Establishment, kind: str, uuid: UUID, content: Mapping[str, Any]
) -> Claim:
    """Make the claim of something typed in a session, of a content that is clean already."""
    made = {
        "v": 1,
        "uuid": str(uuid),
        "kind": kind,
        "establishment": str(establishment.pk),
        "person": str(request.user.pk),
        "device": None,
        "credential": None,
        "captured_at": canonical.instant(clock.now(establishment)),
        "zone": details_of(establishment).time_zone,
        "content": content,
    }
    return Claim(canonical.dumps(made).decode())


def already_recorded(establishment: Establishment, uuid: UUID) -> bool:
    """Tell whether the form with this UUID was recorded already."""
    return Entry.objects.of(establishment).filter(pk=uuid).exists()
