"""Checks confirmed at once as seen and in order, claimed by a device, and taking that back."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.checks.models import RoundConfirmed
from records.checks.rounds import RoundContent, confirm_round, void_round
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput


def take_round(
    establishment: Establishment,
    author: Person,
    given: Mapping[str, Any],
    captured: datetime,
    observed: datetime,
    made: Claim,
) -> RoundConfirmed:
    """Confirm the checks that a claim names."""
    slots, late = given.get("slots", []), given.get("late_reason", "")
    if not isinstance(slots, list) or not all(isinstance(slot, str) for slot in slots):
        raise BadInput(_("%(name)s must be a list.") % {"name": "slots"}, part="slots")
    if not isinstance(late, str):
        raise BadInput(_("%(name)s must be text.") % {"name": "late_reason"}, part="late_reason")
    content = RoundContent(slots=slots, observed_at=observed, late_reason=late, captured_at=captured)
    return confirm_round(establishment=establishment, by=author, content=content, claim=made)


def take_round_void(
    establishment: Establishment, author: Person, given: Mapping[str, Any], named: UUID, made: Claim
) -> RoundConfirmed:
    """Void the round that a claim names: its checks count as not made."""
    original = RoundConfirmed.objects.of(establishment).filter(pk=named).first()
    if original is None:
        raise BadInput(_("The round to void is not known."), part="round")
    why = given.get("reason", "")
    return void_round(
        establishment=establishment,
        by=author,
        original=original,
        why=why if isinstance(why, str) else "",
        claim=made,
    )
