"""Enrolling a device: the public half of the key with which it signs what a person records."""

import json
from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Credential, Establishment, Person, Role
from safetyplan.establishments.queries import live_credentials
from safetyplan.establishments.services import enrol_device
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused

LARGEST = 10_000
Answer = Callable[..., HttpResponse]


def refusal_json(refusal: Refused) -> JsonResponse:
    """Give a refusal as a device reads it."""
    error = {"message": str(refusal.message), "part": refusal.part, "offers": refusal.offers}
    return JsonResponse({"error": error}, status=refusal.status)


def answers_json(view: Answer) -> Answer:
    """Let a view that devices call answer its refusals as JSON, also what would be a 404 page."""

    @wraps(view)
    def respond(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except Http404:
            return refusal_json(Refused(_("There is nothing at this address for you."), status=404))
        except Refused as refusal:
            return refusal_json(refusal)

    return respond


def _text(value: dict[str, Any], name: str) -> str:
    found = value.get(name)
    if not isinstance(found, str):
        raise BadInput(_("%(name)s must be text.") % {"name": name}, part=name)
    return found


def _read(request: HttpRequest) -> dict[str, Any]:
    try:
        value = json.loads(request.body[: LARGEST + 1])
    except (ValueError, RecursionError) as error:
        raise BadInput(_("The device sent something that cannot be read.")) from error
    if not isinstance(value, dict):
        raise BadInput(_("The device sent something that cannot be read."))
    return value


def _device(value: dict[str, Any]) -> UUID:
    try:
        return UUID(_text(value, "device"))
    except ValueError as error:
        raise BadInput(_("The device sent no proper number of its own."), part="device") from error


def credential_for(
    establishment: Establishment, person: Person, device: UUID, label: str, public_key: str
) -> Credential:
    """Give the live credential of this person, device and key; a new one when there is none."""
    rows = live_credentials(establishment)
    present = rows.filter(person=person, device=device, public_key=public_key).first()
    return present or enrol_device(
        establishment=establishment, person=person, device=device, device_label=label, public_key=public_key
    )


@require_POST
@answers_json
def enrol(request: HttpRequest, slug: str) -> HttpResponse:
    """Enrol the key of the signed-in person on this device; the same key is enrolled once."""
    if not request.user.is_authenticated:
        raise NotAllowed(_("You are signed out. Sign in, then try again."), status=401)
    establishment = get_establishment(request, slug, Role.MAKER)
    value = _read(request)
    credential = credential_for(
        establishment,
        request.user,
        _device(value),
        _text(value, "device_label"),
        _text(value, "public_key"),
    )
    return JsonResponse({"credential": str(credential.pk)}, status=200)
