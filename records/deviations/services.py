"""Changes to deviations: open, hold, act, evaluate, dispose, understand, close."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.deviations import kinds
from records.deviations.models import (
    ActionTaken,
    Cause,
    CauseFound,
    Deviation,
    Disposition,
    Evaluation,
    HoldConfirmed,
    Outcome,
    RecallDecision,
)
from records.deviations.queries import OPEN_DEVIATION, OPEN_HOLD, DeviationState, state_of
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity import canonical, clock, index, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.signatures import sign
from safetyplan.integrity.typed_values import check_observed, clean, mass, reason, whole_number
from safetyplan.plans.document import Control, Plan

HEAT = "heat"
METHODS = (HEAT, "other")


@dataclass(frozen=True)
class Line:
    """One line of a disposition as typed."""

    outcome: str
    pieces: str
    mass: str
    method: str = ""
    note: str = ""


def open_deviation(
    *,
    establishment: Establishment,
    by: Person | None,
    cause: Cause,
    plan: Plan,
    control: Control | None,
    description: str,
    slot: str = "",
    lot: Lot | None = None,
    reading_id: UUID | None = None,
    event: LotEvent | None = None,
    limit_words: str = "",
    claim: Claim | None = None,
) -> Deviation:
    """Open a deviation; `by` None is the clock. A lot's critical or operational control requires a hold."""
    with transaction.atomic():
        ledger.lock(establishment)
        number = Deviation.objects.of(establishment).count() + 1
        critical = control is None or control.rank in ("ccp", "oprp")
        keeps = not_reheatable(plan, control)
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
            hold_required=lot is not None and critical and cause != Cause.LEFT_ON_HOLD,
            not_reheatable=keeps[:300],
        )
        ledger.append(
            kind=kinds.DEVIATION, row=deviation, establishment=establishment, author=by, claim=claim
        )
        lot_id = lot.pk if lot else None
        index.add(establishment, OPEN_DEVIATION, deviation.pk, lot_id)
        if deviation.hold_required:
            index.add(establishment, OPEN_HOLD, deviation.pk, lot_id)
    return deviation


def not_reheatable(plan: Plan, control: Control | None) -> str:
    """Name what heating again does not remove ('' when the plan says that it removes every hazard)."""
    if control is None:
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
        description=reason(description, part="description", most=2000),
        claim=claim,
    )


def open_state(establishment: Establishment, deviation: Deviation) -> DeviationState:
    """Give the state of an open deviation; a closed one is refused."""
    state = state_of(establishment, deviation)
    if not state.is_open:
        raise Refused(_("This deviation is closed. Open a new one if something else is wrong."))
    return state


def confirm_hold(
    *,
    establishment: Establishment,
    by: Person,
    deviation: Deviation,
    place: str,
    tag: str,
    pieces: str,
    mass_typed: str,
    held_at: datetime | None = None,
    why: str = "",
    claim: Claim | None = None,
) -> HoldConfirmed:
    """Confirm that the product stands apart: place, tag, pieces counted. A second count gives a reason."""
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        state = open_state(establishment, deviation)
        if state.hold is not None:
            reason(why)
        if state.dispositions:
            raise Refused(_("Part of this hold was disposed of already: the count cannot change now."))
        row = HoldConfirmed(
            deviation=deviation,
            place=_needed(place, "place", _("Say where the product stands."), 120),
            tag=_needed(tag, "tag", _("Give the number on the tag."), 30),
            pieces=whole_number(pieces, part="pieces"),
            mass_text=mass(mass_typed),
            held_at=held_at or clock.now(establishment),
            supersedes=state.hold,
            reason=clean(why),
        )
        if row.pieces == 0 and not row.mass_text:
            raise BadInput(_("Count the pieces or weigh what is held."), part="pieces")
        check_observed(establishment, row.held_at, None, 24 * 60, why, part="held_at")
        ledger.append(kind=kinds.HOLD, row=row, establishment=establishment, author=by, claim=claim)
        if not deviation.hold_required:
            index.add(establishment, OPEN_HOLD, deviation.pk, deviation.lot_id)
    return row


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


def dispose(
    *,
    establishment: Establishment,
    proof: SignatureProof,
    deviation: Deviation,
    lines: Sequence[Line],
    note: str = "",
    claim: Claim | None = None,
) -> Disposition:
    """Sign what becomes of the product on hold; pieces and kilograms may not exceed what is held."""
    require_role(establishment, proof.person, Role.RESPONSIBLE)
    with transaction.atomic():
        ledger.lock(establishment)
        state = open_state(establishment, deviation)
        if state.hold is None:
            raise Refused(_("Nothing is confirmed on hold: confirm the hold first."))
        if not state.evaluations:
            raise Refused(_("The product was not evaluated yet: a qualified individual does that first."))
        if not lines:
            raise BadInput(_("Say what becomes of the product on hold."), part="lines")
        read = [_line(deviation, line, number) for number, line in enumerate(lines, start=1)]
        pieces = sum(int(line["pieces"]) for line in read)
        weight = sum((Decimal(line["mass"]) for line in read), Decimal(0))
        _refuse_excess(state, pieces, weight)
        row = Disposition(
            deviation=deviation,
            lot_id=deviation.lot_id,
            lines=canonical.dumps(read).decode(),
            pieces=pieces,
            mass_text=trim(weight),
            note=clean(note, most=1000),
        )
        signer = sign(
            row,
            establishment=establishment,
            proof=proof,
            meaning=_("Decides the disposition of held product"),
        )
        ledger.append(
            kind=kinds.DISPOSITION, row=row, establishment=establishment, author=signer, claim=claim
        )
    return row


def _line(deviation: Deviation, line: Line, number: int) -> dict[str, Any]:
    part = f"line{number}"
    if line.outcome not in Outcome.values:
        raise BadInput(_("Choose what becomes of it."), part=part)
    pieces = whole_number(line.pieces or "0", part=part)
    weight = mass(line.mass, part=part) or "0"
    if pieces == 0 and Decimal(weight) == 0:
        raise BadInput(_("Give the pieces and the weight of each line."), part=part)
    if line.outcome == Outcome.REWORK:
        if line.method not in METHODS:
            raise BadInput(_("Say whether the rework heats the product."), part=part)
        if line.method == HEAT and deviation.not_reheatable:
            raise Refused(
                _("Rework by heat is refused: heating does not remove %(what)s.")
                % {"what": deviation.not_reheatable},
                part=part,
            )
    return {
        "outcome": line.outcome,
        "pieces": pieces,
        "mass": weight,
        "method": line.method if line.outcome == Outcome.REWORK else "",
        "note": clean(line.note, part=part),
    }


def _refuse_excess(state: DeviationState, pieces: int, weight: Decimal) -> None:
    left, left_mass = state.left.pieces, state.left.mass
    weighed = state.held.mass > 0
    if pieces > left or (weighed and weight > left_mass):
        raise BadInput(
            _(
                "These lines add up to %(pieces)d pieces and %(mass)s kg; "
                "on hold are %(left)d pieces and %(kg)s kg."
            )
            % {"pieces": pieces, "mass": trim(weight), "left": left, "kg": trim(left_mass)},
            part="lines",
        )
    counted = state.held.pieces > 0
    if weighed and counted and (pieces == left) != (weight == left_mass):
        raise BadInput(
            _("Pieces and weight do not add up together: left would be %(pieces)d pieces and %(kg)s kg.")
            % {"pieces": left - pieces, "kg": trim(left_mass - weight)},
            part="lines",
        )


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
        if state.recall is not None:
            raise Refused(_("The recall was decided already."))
        row = RecallDecision(deviation=deviation, recall=recall, reason=reason(why, most=2000))
        signer = sign(row, establishment=establishment, proof=proof, meaning=_("Decides on a recall"))
        ledger.append(
            kind=kinds.RECALL_DECISION, row=row, establishment=establishment, author=signer, claim=claim
        )
    return row
