"""Closing a deviation: by a reviewer who did not record it, when all is done or shown to be an error."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent, LotEventVoided
from records.batches.queries import applied_plans
from records.deviations import kinds
from records.deviations.models import (
    Cause,
    Closure,
    Deviation,
)
from records.deviations.queries import OPEN_DEVIATION, OPEN_HOLD, DeviationState
from records.deviations.services import open_state
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.queries import details_of
from safetyplan.integrity import index, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import Refused
from safetyplan.integrity.signatures import sign
from safetyplan.integrity.typed_values import reason


def doers(state: DeviationState) -> set[UUID]:
    """Give the people whose own records a reviewer would review, corrections of reading and event too."""
    deviation = state.deviation
    holds = [one.hold for one in state.affected]
    named = [one.named for one in state.affected]
    rows: list[Any] = [deviation.reading, deviation.event, *holds, *named, *state.actions]
    found = {row.author_id for row in rows if row is not None and row.author_id is not None}
    return found | _correctors(deviation, state.lots)


def _correctors(deviation: Deviation, lots: Sequence[Lot]) -> set[UUID]:
    """Give who recorded or corrected anything in the deviation's check, or the event that it hangs on."""
    readings: Any = Deviation._meta.get_field("reading").related_model
    found: set[UUID] = set()
    if deviation.slot:
        of_slot = readings._base_manager.filter(establishment=deviation.establishment_id, slot=deviation.slot)
        found = set(of_slot.values_list("author", flat=True))
    found |= _measurers(deviation)
    if lots and deviation.control:
        place = deviation.establishment
        applied = applied_plans(place, [lot.pk for lot in lots])
        followed = {lot.plan_version for lot in lots} | {
            row.plan_version for rows in applied.values() for row in rows
        }
        controls = [version.plan().control(deviation.control) for version in followed]
        names = {name for c in controls if c for name in (c.when.event, getattr(c.limit, "event", ""))}
        events = LotEvent.objects.of(place).filter(lot__in=lots, event__in=names)
        found |= set(events.filter(supersedes__isnull=False).values_list("author", flat=True))
        voided = LotEventVoided.objects.of(deviation.establishment).filter(event__in=events)
        found |= set(voided.values_list("author", flat=True))
    return found


def _measurers(deviation: Deviation) -> set[UUID]:
    """Give who took the readings that a failed instrument made not valid, and who checked it."""
    judged = apps.get_model("records", "RejudgedByInstrument")
    rows = judged._base_manager.filter(establishment=deviation.establishment_id, deviation=deviation)
    pairs = rows.values_list("reading__author", "failed__author").distinct()
    return {author for pair in pairs for author in pair if author is not None}


def close_deviation(
    *,
    establishment: Establishment,
    proof: SignatureProof,
    deviation: Deviation,
    recording_error: bool,
    why: str,
    claim: Claim | None = None,
) -> Closure:
    """Close a deviation as its reviewer: when everything is done, or as a recording error with evidence."""
    require_role(establishment, proof.person, Role.REVIEWER)
    with transaction.atomic():
        ledger.lock(establishment)
        state = open_state(establishment, deviation)
        own = proof.person.pk in doers(state)
        if recording_error:
            _refuse_recording_error(state, own)
        else:
            _refuse_unfinished(establishment, state, own)
        row = Closure(
            deviation=deviation,
            recording_error=recording_error,
            reason=reason(why, most=2000),
            self_reviewed=own,
        )
        signer = sign(row, establishment=establishment, proof=proof, meaning=_("Reviewed and closed"))
        ledger.append(kind=kinds.CLOSURE, row=row, establishment=establishment, author=signer, claim=claim)
        index.close(establishment, OPEN_DEVIATION, deviation.pk)
        index.close(establishment, OPEN_HOLD, deviation.pk)
    return row


def _refuse_recording_error(state: DeviationState, own: bool) -> None:
    if own:
        raise Refused(
            _("A recording error can only be confirmed by somebody other than the person who recorded.")
        )
    if not (state.evaluations or state.files):
        raise Refused(_("A recording error needs evidence: attach it or record an evaluation first."))
    if state.deviation.cause == Cause.NOT_MADE:
        raise Refused(_("A check that was not made is not a recording error."))


def _refuse_unfinished(establishment: Establishment, state: DeviationState, own: bool) -> None:
    words = {
        "hold": _("the hold"),
        "action": _("a corrective action"),
        "evaluation": _("the evaluation"),
        "disposition": _("the disposition of everything on hold"),
        "cause": _("cause and prevention"),
        "recall": _("the recall decision"),
    }
    missing = [words[name] for name in state.missing()]
    if missing:
        raise Refused(_("Not finished: %(missing)s.") % {"missing": ", ".join(missing)})
    if own and not details_of(establishment).self_review_allowed:
        raise Refused(_("You recorded part of this yourself: somebody else has to review it."))
