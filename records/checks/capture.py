"""The capture protocol: a claim from a device becomes a record once, and the server answers with a receipt.

A claim is canonical JSON made and signed on the device with the key of person and device. It arrives
byte for byte, is stored inside the entry, and the receipt echoes its UUID and SHA-256.
"""

import hashlib
import logging
from base64 import b64encode
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent, LotEventVoided
from records.batches.services import EventContent
from records.checks import photo_claims
from records.checks.device_clock import DeviceClock, note_clock, read_clock
from records.checks.event_claims import take_event_void
from records.checks.events import record_lot_event
from records.checks.models import Reading, RoundConfirmed
from records.checks.round_claims import take_round, take_round_void
from records.checks.services import (
    ReadingContent,
    correct_event,
    correct_reading,
    record_reading,
    void_reading,
)
from records.deviations.models import Deviation
from records.photos.services import join_photos
from safetyplan.establishments.device_keys import signature_holds
from safetyplan.establishments.models import Credential, Establishment, Person
from safetyplan.establishments.queries import live_credentials
from safetyplan.integrity import canonical, clock, ledger, notes, seals
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import Entry, RefusedClaim
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused

LARGEST = 1_000_000
MOST_REFUSED = 2000
log = logging.getLogger("safetyplan.capture")
KINDS = ("reading", "lot_event", "reading_void", "lot_event_void", "round", "round_void")
FIELDS = {
    "v",
    "uuid",
    "kind",
    "establishment",
    "person",
    "device",
    "credential",
    "captured_at",
    "zone",
    "offset_minutes",
    "content",
}
PART_FIELDS: Mapping[str, type] = {"name": str, "raw": str, "unit": str, "confirmed": bool}


@dataclass(frozen=True)
class Accepted:
    """What became of a claim."""

    entry: Entry
    record: "Record"
    deviation: Deviation | None
    duplicate: bool
    receipt: dict[str, Any]
    signature: str


def read_claim(raw: bytes) -> dict[str, Any]:
    """Read a claim's bytes; refuse what is not exactly a canonical claim."""
    if len(raw) > LARGEST:
        raise Refused(_("This is too large for a record."), status=413)
    try:
        value = canonical.loads(raw)
    except canonical.CanonicalError as error:
        raise BadInput(
            _("The device sent a record that cannot be read: %(why)s.") % {"why": error}
        ) from error
    if not isinstance(value, dict) or set(value) != FIELDS or value["v"] != 1:
        strange = sorted(set(value) ^ FIELDS)[:1] if isinstance(value, dict) else []
        raise BadInput(
            _("The device sent a record of another form (%(field)s).") % {"field": ", ".join(strange) or "v"}
        )
    if value["kind"] not in KINDS or not isinstance(value["content"], dict):
        raise BadInput(_("The device sent a record of an unknown kind."))
    for name in ("uuid", "establishment", "person", "device", "credential"):
        _uuid(value[name], name)
    return value


def _uuid(value: Any, name: str) -> UUID:
    try:
        found = UUID(value)
    except (ValueError, TypeError, AttributeError) as error:
        raise BadInput(_("The device sent a record without a proper %(name)s.") % {"name": name}) from error
    if str(found) != value:
        raise BadInput(_("The device sent a record without a proper %(name)s.") % {"name": name})
    return found


def _optional_uuid(value: Any, name: str) -> UUID | None:
    return None if value is None else _uuid(value, name)


def _instant(value: Any, name: str) -> datetime:
    try:
        return canonical.read_instant(value)
    except (ValueError, TypeError) as error:
        raise BadInput(_("The device sent a time that cannot be read."), part=name) from error


def _text(content: Mapping[str, Any], name: str) -> str:
    value = content.get(name, "")
    if not isinstance(value, str):
        raise BadInput(_("%(name)s must be text.") % {"name": name}, part=name)
    return value


def check_signature(
    establishment: Establishment, claim: dict[str, Any], raw: bytes, signature: str
) -> Person:
    """Check that the claim was signed by the credential it names; give its author."""
    credential: Credential | None = (
        live_credentials(establishment).filter(pk=claim["credential"]).select_related("person").first()
    )
    if credential is None:
        # Not 401: the device answers this by enrolling again with the person's session, then signs anew.
        raise Refused(
            _("This device is not signed in for this person any more. Save again to sign it in."),
            part="credential",
        )
    if str(credential.person_id) != claim["person"] or str(credential.device) != claim["device"]:
        raise NotAllowed(_("This record names another person than the device's key."))
    if claim["establishment"] != str(establishment.pk):
        raise NotAllowed(_("This record belongs to another establishment."), status=404)
    if not signature_holds(credential.public_key, raw, signature):
        raise NotAllowed(_("The record's signature does not match the device."), status=401)
    return credential.person


def receipt_of(entry: Entry, claim_hash: str) -> dict[str, Any]:
    """Compose the receipt of an entry; the same claim always gets the same receipt."""
    return {
        "v": 1,
        "uuid": str(entry.pk),
        "claim_hash": claim_hash,
        "sequence": entry.sequence,
        "hash": entry.hash,
        "recorded_at": entry.document()["recorded_at"],
    }


def keep_refused(establishment: Establishment, claim_uuid: str, raw: bytes, why: str) -> RefusedClaim | None:
    """Keep the raw bytes of a claim that was not taken; a flood of them is not kept, only logged."""
    if RefusedClaim.objects.of(establishment).count() >= MOST_REFUSED:
        log.error(
            "a refused claim of %s was not kept: there are %d already", establishment.slug, MOST_REFUSED
        )
        return None
    rows = RefusedClaim.objects.of(establishment).filter(claim_uuid=claim_uuid[:64], reason=why)
    before = next((row for row in rows if bytes(row.raw) == raw[:LARGEST]), None) if claim_uuid else None
    if before is not None:
        return before  # a device sends what was refused again when a person asks for it
    kept = RefusedClaim(
        establishment=establishment,
        received_at=clock.now(establishment),
        claim_uuid=claim_uuid[:64],
        raw=raw[:LARGEST],
        reason=why,
    )
    kept.save()
    return kept


def accept_claim(
    *,
    establishment: Establishment,
    raw: bytes,
    signature: str,
    key: str = "",
    sent_at: str = "",
    offset: str = "",
) -> Accepted:
    """Take a claim: store it once, judge it, answer with a signed receipt.

    A claim that cannot be taken is kept raw with the reason, so that nothing typed is lost. `sent_at` and
    `offset` are what the request says of the device's clock.
    """
    claim_uuid = ""
    of_device = read_clock(clock.now(establishment), sent_at, offset)
    try:
        claim = read_claim(raw)
        claim_uuid = claim["uuid"]
        if key and key.strip('"') != claim_uuid:
            raise Refused(_("The request's key is not the record's."), status=400)
        author = check_signature(establishment, claim, raw, signature)
        return _store(establishment, author, claim, raw, signature, of_device)
    except Refused as refusal:
        keep_refused(establishment, claim_uuid, raw, str(refusal))
        raise


def _store(
    establishment: Establishment,
    author: Person,
    claim: dict[str, Any],
    raw: bytes,
    signature: str,
    of_device: DeviceClock,
) -> Accepted:
    claim_hash = hashlib.sha256(raw).hexdigest()
    with transaction.atomic():
        ledger.lock(establishment)
        present = Entry._base_manager.filter(pk=claim["uuid"]).first()
        if present is not None:
            return _again(establishment, present, raw, claim_hash)
        made = Claim(raw.decode(), UUID(claim["credential"]), signature)
        named = photo_claims.named_in(claim["content"])
        record, deviation = TAKEN[claim["kind"]](establishment, author, claim, made, of_device)
        said = _instant(claim["captured_at"], "captured_at")
        taken_at = min(said, record.recorded_at)
        join_photos(establishment=establishment, by=author, about=record.pk, named=named, taken_at=taken_at)
        note_clock(establishment=establishment, about=record.entry, clock=of_device, said=said)
        return _accepted(record.entry, record, deviation, claim_hash, duplicate=False)


def _accepted(
    entry: Entry, record: Any, deviation: Deviation | None, claim_hash: str, *, duplicate: bool
) -> Accepted:
    receipt = receipt_of(entry, claim_hash)
    signature = b64encode(notes.sign_bytes(canonical.dumps(receipt), seals.private_key())).decode()
    return Accepted(entry, record, deviation, duplicate, receipt, signature)


def _again(establishment: Establishment, entry: Entry, raw: bytes, claim_hash: str) -> Accepted:
    """Answer a claim that is stored already; another text under the same UUID is refused."""
    stored = entry.document()
    if entry.establishment_id != establishment.pk or canonical.dumps(stored["claim"]) != raw:
        raise BadInput(_("Another record has this number already. Nothing was stored twice."))
    record = STORED[stored["kind"]].objects.of(establishment).get(pk=entry.pk)
    opened = Deviation.objects.of(establishment).filter(Q(reading=entry.pk) | Q(event=entry.pk))
    deviation = opened.order_by("number").first()
    return _accepted(entry, record, deviation, claim_hash, duplicate=True)


def _parts(content: Mapping[str, Any], name: str) -> list[dict[str, Any]]:
    value = content.get(name, [])
    if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
        raise BadInput(_("%(name)s must be a list.") % {"name": name}, part=name)
    for item in value:
        for key, given in item.items():
            if not isinstance(given, PART_FIELDS.get(key, ())):
                raise BadInput(_("%(name)s holds %(key)s of a wrong kind.") % {"name": name, "key": key})
    return value


def _reading(
    establishment: Establishment, author: Person, claim: dict[str, Any], made: Claim, of_device: DeviceClock
) -> tuple[Reading, Deviation | None]:
    given = claim["content"]
    captured, observed = _times(claim, of_device)
    content = ReadingContent(
        slot=_text(given, "slot"),
        observed_at=observed,
        parts=_parts(given, "parts"),
        late_reason=_text(given, "late_reason"),
        instrument=_optional_uuid(given.get("instrument"), "instrument"),
        captured_at=captured,
        device_state=_text(given, "device_state"),
        photos=photo_claims.named_in(given),
        plan_version=_optional_uuid(given.get("plan_version"), "plan_version"),
    )
    superseded = _optional_uuid(given.get("supersedes"), "supersedes")
    if superseded is None:
        done = record_reading(establishment=establishment, by=author, content=content, claim=made)
        return done.reading, done.deviation
    original = (
        Reading.objects.of(establishment).select_related("lot", "plan_version").filter(pk=superseded).first()
    )
    if original is None:
        raise BadInput(_("The reading to correct is not known."), part="supersedes")
    done = correct_reading(
        establishment=establishment,
        by=author,
        original=original,
        content=content,
        why=_text(given, "reason"),
        claim=made,
    )
    return done.reading, done.deviation


def _times(claim: dict[str, Any], of_device: DeviceClock) -> tuple[datetime, datetime]:
    """Give when a record was made and when it was observed, by what is known of the device's clock."""
    said = _instant(claim["captured_at"], "captured_at")
    observed = _instant(claim["content"].get("observed_at"), "observed_at")
    return of_device.captured(said, observed), of_device.observed(said, observed)


def _event(
    establishment: Establishment, author: Person, claim: dict[str, Any], made: Claim, of_device: DeviceClock
) -> tuple[LotEvent, Deviation | None]:
    given = claim["content"]
    captured, observed = _times(claim, of_device)
    content = EventContent(
        event=_text(given, "event"),
        observed_at=observed,
        details=tuple(_parts(given, "details")),
        late_reason=_text(given, "late_reason"),
        reason=_text(given, "reason"),
        captured_at=captured,
    )
    superseded = _optional_uuid(given.get("supersedes"), "supersedes")
    if superseded is not None:
        original = (
            LotEvent.objects.of(establishment)
            .select_related("lot__plan_version")
            .filter(pk=superseded)
            .first()
        )
        if original is None:
            raise BadInput(_("The event to correct is not known."), part="supersedes")
        event, opened = correct_event(
            establishment=establishment, by=author, original=original, content=content, claim=made
        )
        return event, next(iter(opened), None)
    lot_id = _uuid(given.get("lot"), "lot")
    lot = Lot.objects.of(establishment).select_related("plan_version").filter(pk=lot_id).first()
    if lot is None:
        raise BadInput(_("This lot is not known."), part="lot")
    event, opened = record_lot_event(
        establishment=establishment, by=author, lot=lot, content=content, claim=made
    )
    return event, next(iter(opened), None)


def _void(
    establishment: Establishment, author: Person, claim: dict[str, Any], made: Claim, of_device: DeviceClock
) -> tuple[Reading, Deviation | None]:
    """Void a reading: the check counts as not made, and a deviation it opened stays."""
    given = claim["content"]
    pk = _uuid(given.get("reading"), "reading")
    original = Reading.objects.of(establishment).select_related("lot", "plan_version").filter(pk=pk).first()
    if original is None:
        raise BadInput(_("The reading to void is not known."), part="reading")
    done = void_reading(
        establishment=establishment, by=author, original=original, why=_text(given, "reason"), claim=made
    )
    return done.reading, done.deviation


def _event_void(
    establishment: Establishment, author: Person, claim: dict[str, Any], made: Claim, of_device: DeviceClock
) -> tuple[LotEventVoided, Deviation | None]:
    event = _uuid(claim["content"].get("event"), "event")
    return take_event_void(establishment, author, claim["content"], event, made)


def _round(
    establishment: Establishment, author: Person, claim: dict[str, Any], made: Claim, of_device: DeviceClock
) -> tuple[RoundConfirmed, None]:
    return take_round(establishment, author, claim["content"], *_times(claim, of_device), made), None


def _round_void(
    establishment: Establishment, author: Person, claim: dict[str, Any], made: Claim, of_device: DeviceClock
) -> tuple[RoundConfirmed, None]:
    named = _uuid(claim["content"].get("round"), "round")
    return take_round_void(establishment, author, claim["content"], named, made), None


Record = Reading | LotEvent | LotEventVoided | RoundConfirmed
STORED: Mapping[str, type[Record]] = {
    "reading": Reading,
    "lot_event": LotEvent,
    "lot_event_voided": LotEventVoided,
    "round_confirmed": RoundConfirmed,
}
Taken = tuple[Record, Deviation | None]
TAKEN: Mapping[str, Callable[[Establishment, Person, dict[str, Any], Claim, DeviceClock], Taken]] = {
    "reading": _reading,
    "lot_event": _event,
    "reading_void": _void,
    "lot_event_void": _event_void,
    "round": _round,
    "round_void": _round_void,
}
