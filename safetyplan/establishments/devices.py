"""Enrolling a device, and taking turns on it.

Enrolled is the public half of the key with which the device signs what a person records. A turn is taken with
the same key: POST <slug>/devices/challenge/ answers {"nonce"}; POST <slug>/devices/turn/ with {"nonce",
"credential", "signature"} signs that person in and answers {"person", "name", "initials", "session", "csrf",
"form_of"}.
POST <slug>/devices/password-turn/ with {"username", "password"} answers the same.
"""

import json
from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse, RawPostDataException
from django.middleware.csrf import get_token
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Credential, Establishment, Membership, Person, Role
from safetyplan.establishments.queries import live_credentials
from safetyplan.establishments.services import enrol_device
from safetyplan.establishments.sign_in import SESSION
from safetyplan.establishments.switching import new_challenge, take_turn, turn_by_password
from safetyplan.establishments.unsent import mark_for
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
        except RawPostDataException:  # a form, where the bytes themselves were expected
            return refusal_json(Refused(_("The device sent something that cannot be read."), status=415))
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


def _uuid(value: dict[str, Any], name: str) -> UUID:
    try:
        return UUID(_text(value, name))
    except ValueError as error:
        raise BadInput(_("The device sent no proper number of its own."), part=name) from error


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
        _uuid(value, "device"),
        _text(value, "device_label"),
        _text(value, "public_key"),
    )
    return JsonResponse({"credential": str(credential.pk)}, status=200)


def _known(slug: str) -> Establishment:
    """Fetch an establishment for a device that proves itself by its own key."""
    found = Establishment.objects.filter(slug=slug).first()
    if found is None:
        raise Http404
    return found


@require_POST
@answers_json
def challenge(request: HttpRequest, slug: str) -> HttpResponse:
    """Give a device a number to sign; whoever's session asks, the key decides who takes the turn."""
    return JsonResponse({"nonce": new_challenge(_known(slug))})


@require_POST
@answers_json
def turn(request: HttpRequest, slug: str) -> HttpResponse:
    """Sign in the person to whom the device's key belongs."""
    establishment, value = _known(slug), _read(request)
    membership = take_turn(
        request,
        establishment=establishment,
        credential=_uuid(value, "credential"),
        nonce=_text(value, "nonce"),
        signature=_text(value, "signature"),
    )
    return _turned(request, membership)


@sensitive_post_parameters()
@require_POST
@answers_json
def password_turn(request: HttpRequest, slug: str) -> HttpResponse:
    """Sign in by name and password without leaving the page; the tries are counted as everywhere."""
    establishment, value = _known(slug), _read(request)
    membership = turn_by_password(
        request,
        establishment=establishment,
        username=_text(value, "username"),
        password=_text(value, "password"),
    )
    return _turned(request, membership)


def _turned(request: HttpRequest, membership: Membership) -> JsonResponse:
    return JsonResponse(
        {
            "person": str(membership.person_id),
            "name": membership.printed_name,
            "initials": membership.initials,
            "session": request.session[SESSION],
            "csrf": get_token(request),
            "form_of": mark_for(membership.person_id),
        }
    )
