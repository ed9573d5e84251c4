"""Changes to deviations: open, name lots, hold, act, evaluate, understand, decide on a recall."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.deviations import kinds
from records.deviations.affected import Affected
from records.deviations.models import (
    ActionTaken,
    AffectedLot,
    Cause,
    CauseFound,
    Deviation,
    Evaluation,
    HoldConfirmed,
    RecallDecision,
)
from records.deviations.queries import OPEN_DEVIATION, OPEN_HOLD, DeviationState, state_of
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity import clock, index, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.signatures import sign
from safetyplan.integrity.typed_values import check_observed, clean, mass, reason, volume, whole_number
from safetyplan.plans.document import Control, Plan


def open_deviation(
    *,
    establishment: Establishment,
    by: Person | None,
    cause: Cause,
    plan: Plan | None,
    control: Control | None,
    description: str,
    slot: str = "",
    lot: Lot | None = None,
    lots: Sequence[Lot] = (),
    why_lots: str = "",
    hold_required: bool | None = None,
    held_what: str = "",
    keeps: str | None = None,
    reading_id: UUID | None = None,
    event: LotEvent | None = None,
    limit_words: str = "",
    claim: Claim | None = None,
) -> Deviation:
    """Open a deviation; `by` None is the clock. A lot's critical or operational control requires a hold.

    lots: the lots it concerns when they are several; why_lots: why these. hold_required: not by that rule.
    held_what: what has to be held that is no lot, such as "milk of tank 2"; counted in litres. keeps: what
    heating again does not remove, instead of what the plan says of the control.
    """
    further = list({one.pk: one for one in lots if lot is None or one.pk != lot.pk}.values())
    if lot is None and len(further) == 1 and not held_what:
        lot, further = further[0], []
    holds = _holds(control, cause) if hold_required is None else hold_required
    with transaction.atomic():
        ledger.lock(establishment)
        number = Deviation.objects.of(establishment).count() + 1
        deviation = Deviation(
            number=number,
            cause=cause,
            control=control.code if control else "",
            control_name=control.name if control else "",
            rank=control.rank if control else "",
            slot=slot,
            lot=lot,
            reading_id=reading_id,
            event=event,
            description=description,
            limit_words=limit_words,
            hold_required=holds and bool(lot or further or held_what),
            not_reheatable=(not_reheatable(plan, control) if keeps is None else keeps)[:300],
            held_what=clean(held_what, most=300),
        )
        ledger.append(
            kind=kinds.DEVIATION, row=deviation, establishment=establishment, author=by, claim=claim
        )
        index.add(establishment, OPEN_DEVIATION, deviation.pk, lot.pk if lot else None)
        if deviation.hold_required and (lot or held_what):
            index.add(establishment, OPEN_HOLD, deviation.pk, lot.pk if lot else None)
        for one in further:
            name_lot(establishment, by, deviation, one, why_lots or description, hold_required=holds)
    return deviation


def _holds(control: Control | None, cause: str) -> bool:
    critical = control is None or control.rank in ("ccp", "oprp")
    return critical and cause != Cause.LEFT_ON_HOLD


def name_lot(
    establishment: Establishment,
    by: Person | None,
    deviation: Deviation,
    lot: Lot,
    why: str,
    *,
    hold_required: bool,
    claim: Claim | None = None,
) -> AffectedLot:
    """Name a lot that a deviation concerns, in the caller's transaction; `by` None is the clock."""
    row = AffectedLot(deviation=deviation, lot=lot, hold_required=hold_required, reason=shorten(why, 500))
    ledger.append(kind=kinds.AFFECTED_LOT, row=row, establishment=establishment, author=by, claim=claim)
    index.add(establishment, OPEN_DEVIATION, deviation.pk, lot.pk)
    if hold_required:
        index.add(establishment, OPEN_HOLD, deviation.pk, lot.pk)
    return row


def shorten(text: str, most: int) -> str:
    """Keep the beginning of a text that is too long for its column, marked as such."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def add_affected_lot(
    *,
    establishment: Establishment,
    by: Person,
    deviation: Deviation,
    lot: Lot,
    why: str,
    hold_required: bool | None = None,
    claim: Claim | None = None,
) -> AffectedLot:
    """Name a further lot that an open deviation concerns; it is held like the others, also once it left."""
    require_role(establishment, by, *WRITERS)
    because = reason(why)
    with transaction.atomic():
        ledger.lock(establishment)
        state = open_state(establishment, deviation)
        if state.of(lot) is not None:
            raise BadInput(_("The deviation concerns lot %(code)s already.") % {"code": lot.code}, part="lot")
        rule = deviation.rank in ("", "ccp", "oprp") and deviation.cause != Cause.LEFT_ON_HOLD
        holds = (deviation.hold_required or rule) if hold_required is None else hold_required
        return name_lot(establishment, by, deviation, lot, because, hold_required=holds, claim=claim)


def not_reheatable(plan: Plan | None, control: Control | None) -> str:
    """Name what heating again does not remove ('' when the plan says that it removes every hazard)."""
    if control is None or plan is None:
        return _("a problem the plan did not foresee")
    if isinstance(control.limit, ReachedBy):
        return _("toxin formed in a slow vat")
    hazards = plan.hazards_of(control)
    if not hazards:
        return _("the plan does not say which hazards heat removes")
    return ", ".join(hazard.name for hazard in hazards if not hazard.removed_by_reheating)


def open_unforeseen(
    *,
    establishment: Establishment,
    by: Person,
    plan: Plan,
    lot: Lot | None,
    description: str,
    lots: Sequence[Lot] = (),
    held_what: str = "",
    claim: Claim | None = None,
) -> Deviation:
    """Open a deviation that the plan did not foresee."""
    require_role(establishment, by, *WRITERS)
    return open_deviation(
        establishment=establishment,
        by=by,
        cause=Cause.UNFORESEEN,
        plan=plan,
        control=None,
        lot=lot,
        lots=lots,
        held_what=held_what,
        description=reason(description, part="description", most=2000),
        claim=claim,
    )


def open_state(establishment: Establishment, deviation: Deviation) -> DeviationState:
    """Give the state of an open deviation; a closed one is refused."""
    state = state_of(establishment, deviation)
    if not state.is_open:
        raise Refused(_("This deviation is closed. Open a new one if something else is wrong."))
    return state


def chosen(state: DeviationState, lot: Lot | None) -> Affected:
    """Give what is meant of what a deviation concerns: a lot that it names, or the only thing there is."""
    if lot is not None:
        found = state.of(lot)
        if found is None:
            raise BadInput(_("The deviation does not concern this lot."), part="lot")
        return found
    itself = [one for one in state.affected if one.lot is None] or state.affected
    if len(itself) > 1:
        raise BadInput(_("Choose the lot."), part="lot")
    return itself[0]


def confirm_hold(
    *,
    establishment: Establishment,
    by: Person,
    deviation: Deviation,
    place: str,
    tag: str,
    pieces: str,
    mass_typed: str,
    volume_typed: str = "",
    lot: Lot | None = None,
    held_at: datetime | None = None,
    why: str = "",
    claim: Claim | None = None,
) -> HoldConfirmed:
    """Confirm that a lot stands apart: place, tag, pieces counted; what is no lot is measured in litres.

    lot: which, where the deviation concerns several. A second count gives a reason.
    """
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        one = chosen(open_state(establishment, deviation), lot)
        if one.hold is not None:
            reason(why)
        if one.dispositions:
            raise Refused(_("Part of this hold was disposed of already: the count cannot change now."))
        row = HoldConfirmed(
            deviation=deviation,
            lot=one.lot,
            place=_needed(place, "place", _("Say where the product stands."), 120),
            tag=_needed(tag, "tag", _("Give the number on the tag."), 30),
            pieces=_count(one, pieces),
            mass_text=mass(mass_typed),
            volume_text=volume(volume_typed),
            held_at=held_at or clock.now(establishment),
            supersedes=one.hold,
            reason=clean(why),
        )
        _refuse_empty(one, row)
        check_observed(establishment, row.held_at, None, 24 * 60, why, part="held_at")
        ledger.append(kind=kinds.HOLD, row=row, establishment=establishment, author=by, claim=claim)
        if not one.hold_required:
            index.add(establishment, OPEN_HOLD, deviation.pk, one.lot.pk if one.lot else None)
    return row


def _count(one: Affected, pieces: str) -> int:
    """Read the pieces counted; what is no lot need not come in pieces."""
    return whole_number(pieces if one.lot or pieces.strip() else "0", part="pieces")


def _refuse_empty(one: Affected, row: HoldConfirmed) -> None:
    if one.lot is not None and row.volume_text:
        raise BadInput(_("A lot is counted in pieces and weighed, not measured in litres."), part="volume")
    if row.pieces == 0 and not row.mass_text and not row.volume_text:
        raise BadInput(_("Count the pieces or weigh what is held."), part="pieces")


def _needed(text: str, part: str, message: str, most: int) -> str:
    tidy = clean(text, most=most, part=part)
    if not tidy:
        raise BadInput(message, part=part)
    return tidy


def take_action(
    *,
    establishment: Establishment,
    by: Person,
    deviation: Deviation,
    text: str,
    action_code: str = "",
    done_at: datetime | None = None,
    claim: Claim | None = None,
) -> ActionTaken:
    """Record a corrective action."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        open_state(establishment, deviation)
        row = ActionTaken(
            deviation=deviation,
            action_code=clean(action_code, most=30),
            text=reason(text, part="text", most=1000),
            done_at=done_at or clock.now(establishment),
        )
        check_observed(establishment, row.done_at, None, 7 * 24 * 60, text, part="done_at")
        ledger.append(kind=kinds.ACTION, row=row, establishment=establishment, author=by, claim=claim)
    return row


def evaluate(
    *,
    establishment: Establishment,
    by: Person,
    deviation: Deviation,
    text: str,
    evidence: str,
    claim: Claim | None = None,
) -> Evaluation:
    """Record the evaluation of the affected product by a qualified individual, with the evidence."""
    require_role(establishment, by, Role.QUALIFIED)
    with transaction.atomic():
        ledger.lock(establishment)
        state = open_state(establishment, deviation)
        if state.hold_missing:
            raise Refused(_("Confirm the hold first: evaluate what stands apart and counted."))
        row = Evaluation(
            deviation=deviation,
            text=reason(text, part="text", most=4000),
            evidence=reason(evidence, part="evidence", most=4000),
        )
        ledger.append(kind=kinds.EVALUATION, row=row, establishment=establishment, author=by, claim=claim)
    return row


def find_cause(
    *,
    establishment: Establishment,
    by: Person,
    deviation: Deviation,
    cause: str,
    prevention: str,
    under_control: str,
    reanalysis: bool,
    reanalysis_reason: str = "",
    claim: Claim | None = None,
) -> CauseFound:
    """Record the cause, its prevention, the proof of control, and whether the plan is reanalysed."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        open_state(establishment, deviation)
        row = CauseFound(
            deviation=deviation,
            cause=reason(cause, part="cause", most=2000),
            prevention=reason(prevention, part="prevention", most=2000),
            under_control=reason(under_control, part="under_control", most=2000),
            reanalysis=reanalysis,
            reanalysis_reason=reason(reanalysis_reason, part="reanalysis_reason"),
        )
        ledger.append(kind=kinds.CAUSE_FOUND, row=row, establishment=establishment, author=by, claim=claim)
    return row


def decide_recall(
    *,
    establishment: Establishment,
    proof: SignatureProof,
    deviation: Deviation,
    recall: bool,
    why: str,
    claim: Claim | None = None,
) -> RecallDecision:
    """Sign whether goods that left while on hold are called back."""
    require_role(establishment, proof.person, Role.RESPONSIBLE)
    with transaction.atomic():
        ledger.lock(establishment)
        state = open_state(establishment, deviation)
        if state.recall is not None and not state.recall_missing:
            raise Refused(_("The recall was decided already."))
        row = RecallDecision(deviation=deviation, recall=recall, reason=reason(why, most=2000))
        signer = sign(row, establishment=establishment, proof=proof, meaning=_("Decides on a recall"))
        ledger.append(
            kind=kinds.RECALL_DECISION, row=row, establishment=establishment, author=signer, claim=claim
        )
    return row
