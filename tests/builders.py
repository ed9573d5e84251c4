"""Small builders: a plan in force, a lot, readings by claim, a deviation."""

import json
from base64 import b64encode
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from PIL import Image

from records.batches.models import Lot, LotEvent
from records.batches.services import EventContent, record_event, start_lot
from records.checks.capture import Accepted, accept_claim
from records.checks.services import ReadingContent, Recorded, record_reading
from records.checks.slots import day_slot_id, lot_slot_id
from records.deviations.models import Deviation
from records.deviations.services import open_unforeseen
from records.links.models import LotLink
from records.links.services import LinkContent, link_lots
from records.photos.models import PhotoTaken
from records.photos.services import take_photo
from safetyplan.establishments.models import Credential, Establishment, Person
from safetyplan.establishments.services import enrol_device
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.kinds import Kind
from safetyplan.integrity.ledger import append_many
from safetyplan.integrity.models import Recorded as Record
from safetyplan.integrity.models import Signed
from safetyplan.integrity.pictures import read_picture
from safetyplan.integrity.signatures import sign
from safetyplan.plans.figures import figures, flow_value, targets_value
from safetyplan.plans.kinds import FIGURE_CONFIRMED, FLOW_CONFIRMED, TARGETS_CONFIRMED
from safetyplan.plans.models import FigureConfirmed, FlowConfirmed, PlanApproved, TargetsConfirmed
from safetyplan.plans.queries import around_of, in_force, plan_at_work
from safetyplan.plans.services import approve_plan, save_draft
from tests.cast import Cast

PLAN_FILE = Path(__file__).parent.parent / "fixtures" / "demo" / "tarrowby_plan.json"
T0 = datetime(2026, 5, 14, 7, 0, tzinfo=UTC)
HOLD_PARTS = {
    "hold_start": "09:00",
    "hold_end": "09:32",
    "product": "64.2",
    "air_space_start": "67.5",
    "air_space_end": "67.1",
    "indicating": "64.3",
    "recorder": "64.1",
    "chart_number": "C-118",
    "agitator": "on",
}


def at(dairy: Establishment, moment: datetime) -> AbstractContextManager[None]:
    """Set the clock of the invented dairy."""
    return clock.demonstration_clock(dairy, moment)


def hours(count: float) -> datetime:
    """Give the instant some hours after the beginning of the test's day."""
    return T0 + timedelta(hours=count)


def confirm_all(cast: Cast) -> None:
    """Confirm every figure of the plan at work on a source, sign its targets, walk its flows.

    The records that the services make, appended at once: most tests only need a plan in force.
    """
    plan = plan_at_work(cast.dairy)
    assert plan is not None
    around = around_of(cast.dairy)
    items: list[tuple[Kind, Record, None]] = []
    for figure in figures(plan):
        if not around.has_confirmed(figure):
            words, source = " ".join(figure.words), "The text itself, read that day"
            row = FigureConfirmed(what=figure.what, figure=figure.value, words=words, source=source)
            items.append((FIGURE_CONFIRMED, row, None))
    signed: list[tuple[Kind, Signed]] = []
    if not around.has_targets(plan):
        signed.append((TARGETS_CONFIRMED, TargetsConfirmed(table=targets_value(plan))))
    for product in plan.products:
        if not around.has_flow(product):
            walked = {"product": product.code, "flow": flow_value(product), "note": "Walked that day"}
            signed.append((FLOW_CONFIRMED, FlowConfirmed(**walked)))
    for kind, row in signed:
        sign(row, establishment=cast.dairy, proof=cast.proof(cast.owner), meaning="Confirms")
        items.append((kind, row, None))
    append_many(establishment=cast.dairy, author=cast.owner, items=items)


def plan_in_force(cast: Cast, document: dict[str, Any] | None = None) -> PlanApproved:
    """Approve a plan (the demonstration's, unless another is given)."""
    text = json.dumps(document) if document is not None else PLAN_FILE.read_text()
    draft = save_draft(establishment=cast.dairy, by=cast.owner, text=text, reason="first", revision=None)
    confirm_all(cast)
    return approve_plan(
        establishment=cast.dairy, proof=cast.proof(cast.owner), revision=draft.revision, reason="First plan"
    )


def a_lot(cast: Cast, code: str = "TF-0514", product: str = "TF", started: datetime = T0) -> Lot:
    """Start a lot."""
    return start_lot(
        establishment=cast.dairy,
        by=cast.maker,
        code=code,
        product=product,
        vat="Vat 1",
        milk="212",
        started_at=started,
    )


def an_event(cast: Cast, lot: Lot, event: str, observed: datetime, **details: str) -> LotEvent:
    """Record an event of a lot."""
    given = {"starter_added": {"culture": "MA K81"}, "packed": {"pieces": "280", "mass": "33.6"}}
    typed = {**given.get(event, {}), **details}
    content = EventContent(
        event=event,
        observed_at=observed,
        details=tuple(
            {"name": name, "raw": raw, "unit": "", "confirmed": False} for name, raw in typed.items()
        ),
    )
    return record_event(establishment=cast.dairy, by=cast.maker, lot=lot, content=content)


def a_link(
    cast: Cast, from_lot: Lot, to_lot: Lot, linked: datetime, quantity: str = "100", **changes: Any
) -> LotLink:
    """Record that whey, unless another kind is given, of one lot went into another."""
    content = LinkContent(**{"kind": "whey", "quantity": quantity, "linked_at": linked, **changes})
    link, _deviation = link_lots(
        establishment=cast.dairy, by=cast.maker, from_lot=from_lot, to_lot=to_lot, content=content
    )
    return link


def a_reading(
    cast: Cast,
    slot: str,
    observed: datetime,
    *,
    by: Person | None = None,
    late_reason: str = "",
    **parts: str,
) -> Recorded:
    """Record a reading through the service."""
    content = ReadingContent(
        slot=slot,
        observed_at=observed,
        parts=[{"name": name, "raw": raw, "unit": "", "confirmed": False} for name, raw in parts.items()],
        late_reason=late_reason,
    )
    return record_reading(establishment=cast.dairy, by=by or cast.maker, content=content)


def a_picture(
    colour: str = "red", size: tuple[int, int] = (60, 40), form: str = "JPEG", **more: Any
) -> bytes:
    """Paint a picture of one colour."""
    output = BytesIO()
    Image.new("RGB", size, colour).save(output, form, **more)
    return output.getvalue()


def a_photo(cast: Cast, about: Any, content: bytes | None = None, name: str = "label.jpg") -> PhotoTaken:
    """Take a photo of something recorded."""
    return take_photo(
        establishment=cast.dairy,
        by=cast.maker,
        about=about,
        picture=read_picture(content or a_picture()),
        name=name,
        taken_at=clock.now(cast.dairy),
    )


def an_unforeseen_one(cast: Cast, description: str) -> Deviation:
    """Report a deviation that the plan did not foresee and that concerns no lot."""
    version = in_force(cast.dairy, clock.now(cast.dairy))
    assert version is not None
    return open_unforeseen(
        establishment=cast.dairy, by=cast.maker, plan=version.plan(), lot=None, description=description
    )


def lot_slot(lot: Lot, control: str, ordinal: int | str = 0) -> str:
    """Give a slot of a lot."""
    return lot_slot_id(lot.pk, control, ordinal)


def day_slot(moment: datetime, control: str, ordinal: int | str = 0) -> str:
    """Give a slot of a day."""
    return day_slot_id(moment.date(), control, ordinal)


@dataclass
class Device:
    """A person's device: makes, signs and sends claims as the browser does."""

    dairy: Establishment
    person: Person
    key: ec.EllipticCurvePrivateKey
    credential: Credential

    def claim(self, kind: str, content: dict[str, Any], **changes: Any) -> dict[str, Any]:
        """Make a claim."""
        made = {
            "v": 1,
            "uuid": str(uuid4()),
            "kind": kind,
            "establishment": str(self.dairy.pk),
            "person": str(self.person.pk),
            "device": str(self.credential.device),
            "credential": str(self.credential.pk),
            "captured_at": canonical.instant(clock.now(self.dairy)),
            "zone": "Europe/Dublin",
            "offset_minutes": 60,
            "content": content,
        }
        return {**made, **changes}

    def sign(self, raw: bytes) -> str:
        """Sign bytes as WebCrypto does: r and s, 32 bytes each."""
        r, s = decode_dss_signature(self.key.sign(raw, ec.ECDSA(SHA256())))
        return b64encode(r.to_bytes(32) + s.to_bytes(32)).decode()

    def send(self, claim: dict[str, Any], *, sent_at: str = "", offset: str = "") -> Accepted:
        """Send a claim to the service; `sent_at` and `offset` say what the device says of its clock."""
        raw = canonical.dumps(claim)
        signature = self.sign(raw)
        return accept_claim(
            establishment=self.dairy, raw=raw, signature=signature, sent_at=sent_at, offset=offset
        )

    def reading(self, slot: str, observed: datetime, **parts: str) -> dict[str, Any]:
        """Make the claim of a reading."""
        content = {
            "slot": slot,
            "observed_at": canonical.instant(observed),
            "late_reason": "",
            "instrument": None,
            "parts": [
                {"name": name, "raw": raw, "unit": "", "confirmed": False} for name, raw in parts.items()
            ],
            "supersedes": None,
            "reason": "",
        }
        return self.claim("reading", content)


def a_device(dairy: Establishment, person: Person, device: UUID | None = None) -> Device:
    """Enrol a device for a person."""
    key = ec.generate_private_key(ec.SECP256R1())
    point = key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    credential = enrol_device(
        establishment=dairy,
        person=person,
        device=device or uuid4(),
        device_label="Test phone",
        public_key=b64encode(point).decode(),
    )
    return Device(dairy, person, key, credential)
