"""The address to which devices send claims: no session, no form; the claim's own signature says who.

Request: POST, Content-Type application/json, the canonical bytes of the claim as body,
    Idempotency-Key: "<uuid of the claim>"      X-Claim-Signature: base64 of r || s (ECDSA P-256, SHA-256)
    X-Sent-At: the device's clock now           X-Clock-Offset: milliseconds the server's was ahead
Answer, 201 when stored and 200 when it was stored before:
    {"receipt", "signature", "judgement": {"state", "text", "limit", "margin"} or null for an event,
     "deviation_url", "next_url", "duplicate", "server_time"}
Refusal: {"error": {"message", "part", "offers"}} with its status.

A photo goes to <slug>/claims/files/ before the claim that names it: the picture as body, X-Claim-File-SHA256
    of its bytes, X-Claim-Credential: the key, X-Claim-Signature over the bytes. Answer: {"sha256"}.
"""

import logging
from typing import Any
from urllib.parse import urlsplit

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST, require_safe

from records.checks.capture import LARGEST, Accepted, accept_claim, keep_refused
from records.checks.corrections import wanted
from records.checks.models import Reading
from records.checks.page_data import limit_text
from records.checks.photo_claims import accept_file
from records.checks.slots import parse_slot
from safetyplan.calculation.judgement import State
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.establishments.devices import answers_json
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.pictures import LARGEST as LARGEST_PHOTO
from safetyplan.integrity.refusals import Refused

NEEDS_ACTION = (State.OUTSIDE_LIMIT, State.NOT_SHOWN, State.INSTRUMENT_NOT_VALID)
FILE_TYPES = ("application/octet-stream", "image/jpeg", "image/png", "image/webp")
log = logging.getLogger("safetyplan.claims")


def check_request(request: HttpRequest, most: int = LARGEST) -> None:
    """Refuse a request that does not come from a device of ours before its body is read."""
    origin = request.headers.get("Origin")
    if origin is not None and urlsplit(origin).netloc != request.get_host():
        raise Refused(_("Records are taken from pages of this site only."), status=403)
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not length.isdigit() or int(length) > most:
        raise Refused(_("This is too large for a record."), status=413)


def keep_unexpected(establishment: Establishment, raw: bytes, key: str, error: Exception) -> int:
    """Keep the bytes of a claim on which the server failed; give the reference number."""
    kept = keep_refused(establishment, key.strip('"'), raw, f"unexpected: {type(error).__name__}")
    reference = int(kept.pk) if kept else 0
    log.exception("claim kept under reference %s", reference)
    return reference


def judgement_of(record: Any) -> dict[str, str] | None:
    """Give the result against the limit as a device shows it; None for an event, and for a void."""
    if not isinstance(record, Reading) or record.voided:
        return None
    control = record.plan_version.plan().control(record.control)
    assert control is not None
    unit = UNITS.get(record.margin_unit)
    symbol = unit.symbol if unit else record.margin_unit
    return {
        "state": record.state,
        "text": record.sentence_text,
        "limit": limit_text(control.limit, parse_slot(record.slot).ordinal),
        "margin": f"{record.margin_text} {symbol}".strip(),
    }


def next_address(slug: str, accepted: Accepted, deviation_url: str) -> str:
    """Give where the person goes on; empty leaves it to the page that recorded.

    A deviation is never passed by: where the result alone does not stop the person, the next page is its.
    """
    record = accepted.record
    if isinstance(record, Reading) and record.state in NEEDS_ACTION:
        return ""
    if deviation_url:
        return deviation_url
    if isinstance(record, Reading) and record.supersedes_id is not None:
        return reverse("reading", args=[slug, record.pk])
    return ""


def answer(slug: str, accepted: Accepted) -> JsonResponse:
    """Compose the answer to a claim that is stored."""
    deviation = accepted.deviation
    deviation_url = reverse("deviation", args=[slug, deviation.pk]) if deviation else ""
    if not deviation and isinstance(accepted.record, Reading) and wanted(accepted.record):
        deviation_url = reverse("correction", args=[slug, accepted.record.pk])
    body = {
        "receipt": accepted.receipt,
        "signature": accepted.signature,
        "judgement": judgement_of(accepted.record),
        "deviation_url": deviation_url,
        "next_url": next_address(slug, accepted, deviation_url),
        "duplicate": accepted.duplicate,
        "server_time": canonical.instant(clock.now(accepted.entry.establishment)),
    }
    return JsonResponse(body, status=200 if accepted.duplicate else 201)


def _known(slug: str) -> Establishment:
    establishment = Establishment.objects.filter(slug=slug).first()
    if establishment is None:
        raise Http404
    return establishment


@csrf_exempt
@require_POST
@answers_json
def claims(request: HttpRequest, slug: str) -> HttpResponse:
    """Take one claim; whoever's session sends it, the author is who signed it."""
    establishment = _known(slug)
    if request.content_type != "application/json":
        raise Refused(_("A record is sent as application/json."), status=415)
    if not request.headers.get("Idempotency-Key"):
        raise Refused(_("A record is sent with its own number (Idempotency-Key)."), status=400)
    check_request(request)
    raw, key = request.body, request.headers["Idempotency-Key"]
    signature = request.headers.get("X-Claim-Signature", "")
    try:
        accepted = accept_claim(
            establishment=establishment,
            raw=raw,
            signature=signature,
            key=key,
            sent_at=request.headers.get("X-Sent-At", ""),
            offset=request.headers.get("X-Clock-Offset", ""),
        )
        return answer(slug, accepted)
    except Refused:
        raise
    except Exception as error:
        reference = keep_unexpected(establishment, raw, key, error)
        told = _("The server failed to take this record. It is kept under reference %(number)d.")
        raise Refused(told % {"number": reference}, status=500) from error


@require_safe
@answers_json
def line(request: HttpRequest, slug: str) -> HttpResponse:
    """Tell a device that it reaches this server and no other; a portal's page does not say it."""
    if not Establishment.objects.filter(slug=slug).exists():
        raise Http404
    return JsonResponse({"here": "records"})


@csrf_exempt
@require_POST
@answers_json
def claim_files(request: HttpRequest, slug: str) -> HttpResponse:
    """Take one photo; what it is, its bytes say, not the request."""
    establishment = _known(slug)
    if request.content_type not in FILE_TYPES:
        raise Refused(_("A photo is sent as it is (application/octet-stream)."), status=415)
    check_request(request, LARGEST_PHOTO)
    sha256 = request.headers.get("X-Claim-File-SHA256", "")
    new = accept_file(
        establishment=establishment,
        content=request.body,
        sha256=sha256,
        credential=request.headers.get("X-Claim-Credential", ""),
        signature=request.headers.get("X-Claim-Signature", ""),
    )
    return JsonResponse({"sha256": sha256}, status=201 if new else 200)
