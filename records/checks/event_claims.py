"""The claim that undoes an event right after a tap: it voids the event, which stays readable."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.batches.models import LotEvent, LotEventVoided
from records.checks.voiding import void_event
from records.deviations.models import Deviation
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput


def take_event_void(
    establishment: Establishment, author: Person, content: Mapping[str, Any], event: UUID, made: Claim
) -> tuple[LotEventVoided, Deviation | None]:
    """Void the event that a claim names; give the first deviation that this opened."""
    events = LotEvent.objects.of(establishment).select_related("lot__plan_version")
    original = events.filter(pk=event).first()
    if original is None:
        raise BadInput(_("The event to void is not known."), part="event")
    why = content.get("reason", "")
    row, opened = void_event(
        establishment=establishment,
        by=author,
        original=original,
        why=why if isinstance(why, str) else "",
        claim=made,
    )
    return row, next(iter(opened), None)
