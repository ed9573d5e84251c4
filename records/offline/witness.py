"""A device as a witness: the proof between the seal it kept and a newer one, and its alarm.

Which of two seals of one ledger is the true one no program can tell; that they disagree it can.
"""

import json
import logging
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.devices import answers_json
from safetyplan.integrity.consistency import proof_between
from safetyplan.integrity.refusals import BadInput, NotAllowed

LARGEST = 20_000
log = logging.getLogger("safetyplan.security")


def _signed_in(request: HttpRequest) -> None:
    if not request.user.is_authenticated:
        raise NotAllowed(_("You are signed out. Sign in, then try again."), status=401)


def _size(request: HttpRequest, name: str) -> int:
    text = request.GET.get(name, "")
    if not (text.isascii() and text.isdigit() and len(text) <= 15):
        raise BadInput(_("A proof is asked for with two sizes of the ledger."), part=name)
    return int(text)


@require_safe
@answers_json
def between(request: HttpRequest, slug: str) -> HttpResponse:
    """Prove that the ledger of one size is the beginning of that of a larger one."""
    _signed_in(request)
    establishment = get_establishment(request, slug)
    first, second = _size(request, "first"), _size(request, "second")
    proof = proof_between(establishment, first, second)
    return JsonResponse({"first": first, "second": second, "proof": [value.hex() for value in proof]})


def _told(request: HttpRequest) -> dict[str, Any]:
    try:
        value = json.loads(request.body[: LARGEST + 1])
    except (ValueError, RecursionError) as error:
        raise BadInput(_("The device sent something that cannot be read.")) from error
    if not isinstance(value, dict):
        raise BadInput(_("The device sent something that cannot be read."))
    return value


@require_POST
@answers_json
def alarm(request: HttpRequest, slug: str) -> HttpResponse:
    """Write into the security log that a device saw two record seals that disagree, or a person's answer."""
    _signed_in(request)
    establishment = get_establishment(request, slug)
    told = _told(request)
    words = [json.dumps(str(told.get(name, ""))[:1000]) for name in ("what", "kept", "offered")]
    log.warning("seal alarm: %s %s kept=%s offered=%s by=%s", establishment.slug, *words, request.user.pk)
    return JsonResponse({"noted": True})
