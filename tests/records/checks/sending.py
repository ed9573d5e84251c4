"""Sends claims to the address of claims as a device does."""

import json
from typing import Any
from uuid import uuid4

from django.http import HttpResponse
from django.test import Client

from records.batches.models import Lot
from safetyplan.integrity import canonical
from tests.builders import Device, hours, lot_slot

ADDRESS = "/near/claims/"


def send_raw(client: Client, raw: bytes, signature: str, **changes: Any) -> HttpResponse:
    """Send bytes; `changes` replaces a header, or leaves it out when None."""
    headers = {"Idempotency-Key": f'"{uuid4()}"', "X-Claim-Signature": signature}
    headers |= changes.pop("headers", {})
    sent = {name: value for name, value in headers.items() if value is not None}
    address = changes.pop("address", ADDRESS)
    content_type = changes.pop("content_type", "application/json")
    answer: Any = client.post(address, raw, content_type=content_type, headers=sent)
    return answer  # type: ignore[no-any-return]


def send(client: Client, device: Device, claim: dict[str, Any], **changes: Any) -> HttpResponse:
    """Sign a claim and send it with its own number as key."""
    raw = canonical.dumps(claim)
    headers = {"Idempotency-Key": f'"{claim["uuid"]}"', **changes.pop("headers", {})}
    return send_raw(client, raw, device.sign(raw), headers=headers, **changes)


def milk(phone: Device, lot: Lot, value: str = "3.8") -> dict[str, Any]:
    """Make the claim of the milk's temperature at receipt."""
    return phone.reading(lot_slot(lot, "OPRP3"), hours(0.4), temperature=value)


def told(answer: Any) -> dict[str, Any]:
    """Give the refusal an answer tells."""
    error: dict[str, Any] = json.loads(answer.content)["error"]
    return error
