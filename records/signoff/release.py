"""Release is a signature; dispatch is refused without it; what left anyway is recorded as such."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Dispatch, Lot
from records.batches.queries import NOTHING, OPEN_LOT, Quantity, effective_events, made, version_of
from records.checks.again import slots_answered
from records.checks.due import SlotState, lot_states
from records.checks.tick import tick
from records.deviations.affected import GONE, Affected, disposed_of
from records.deviations.models import Cause, Deviation, Outcome
from records.deviations.queries import DeviationState, concerning, states
from records.deviations.services import open_deviation
from records.links.queries import linked_deviations, moved_by_lot
from records.signoff.kinds import DISPATCH, LOT_RELEASE
from records.signoff.models import LotRelease
from records.signoff.queries import dispatches, releases
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity import canonical, clock, index, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.signatures import sign
from safetyplan.integrity.typed_values import check_observed, clean, mass, whole_number

LEAST_WORDS = 3


@dataclass(frozen=True)
class Balance:
    """Where the pieces and kilograms of a lot are."""

    made: Quantity | None
    gone: Quantity
    released: Quantity
    dispatched: Quantity
    moved: Quantity = NOTHING

    @property
    def away(self) -> Quantity:
        """Give what is not there to be released: disposed of otherwise, or gone into another lot."""
        return Quantity(self.gone.pieces + self.moved.pieces, self.gone.mass + self.moved.mass)

    @property
    def here(self) -> Quantity | None:
        """Give what is still here; None while the lot was not counted."""
        if self.made is None:
            return None
        return Quantity(
            self.made.pieces - self.dispatched.pieces - self.away.pieces,
            self.made.mass - self.dispatched.mass - self.away.mass,
        )

    @property
    def releasable(self) -> Quantity:
        """Give what is neither released nor disposed of otherwise."""
        total = self.made or NOTHING
        return Quantity(
            total.pieces - self.away.pieces - self.released.pieces,
            total.mass - self.away.mass - self.released.mass,
        )

    @property
    def dispatchable(self) -> Quantity:
        """Give what is released, was not disposed of otherwise since, and is still here."""
        total = self.made or NOTHING
        pieces = min(self.released.pieces, total.pieces - self.away.pieces)
        weight = min(self.released.mass, total.mass - self.away.mass)
        return Quantity(pieces - self.dispatched.pieces, weight - self.dispatched.mass)


def _sum(rows: Any) -> Quantity:
    return Quantity(
        sum(row.pieces for row in rows), sum((Decimal(row.mass_text or "0") for row in rows), Decimal(0))
    )


def lot_deviations(establishment: Establishment, lot: Lot, as_of: int | None = None) -> list[DeviationState]:
    """Give every deviation of a lot with its state."""
    return states(establishment, concerning(establishment, lot, as_of), as_of)


def _of(found: list[DeviationState], lot: Lot) -> list[Affected]:
    """Give what each deviation says of the lot, and nothing of the others that it concerns."""
    return [one for state in found if (one := state.of(lot)) is not None]


def balance(establishment: Establishment, lot: Lot, as_of: int | None = None) -> Balance:
    """Balance a lot: made, gone by disposition, released, dispatched, gone into other lots."""
    found = lot_deviations(establishment, lot, as_of)
    return Balance(
        made=made(effective_events(establishment, [lot.pk], as_of)),
        gone=disposed_of([d for one in _of(found, lot) for d in one.dispositions], GONE),
        released=_sum(releases(establishment, lot, as_of)),
        dispatched=_sum(dispatches(establishment, lot, as_of)),
        moved=moved_by_lot(establishment, [lot.pk], as_of).get(lot.pk, NOTHING),
    )


def hindrances(establishment: Establishment, lot: Lot, now: datetime) -> list[str]:
    """List what keeps a lot from being released, in words."""
    found = []
    of_lot = lot_deviations(establishment, lot)
    finished = [s.deviation for s in of_lot if s.closure and not s.closure.recording_error]
    by_slot = {deviation.slot for deviation in finished}
    by_slot |= slots_answered(establishment, [deviation.pk for deviation in finished])
    for state in of_lot:
        if state.is_open:
            found.append(_("deviation %(number)d is open") % {"number": state.deviation.number})
        elif _rules_out_release(state, lot):
            found.append(
                _("deviation %(number)d: nothing of what was held may be released")
                % {"number": state.deviation.number}
            )
    for slot in lot_states(establishment, [lot], now)[lot.pk]:
        if slot.slot.control.is_ccp and not slot.shown and slot.slot.id not in by_slot:
            found.append(_("%(control)s is not shown") % {"control": _label(slot)})
    found += _never_held(establishment, lot, of_lot)
    found += [
        _("lot %(code)s, of which something is in this lot, has deviation %(number)d open")
        % {"code": linked.lot_code, "number": linked.state.deviation.number}
        for linked in linked_deviations(establishment, lot)
        if linked.before and linked.held
    ]
    if made(effective_events(establishment, [lot.pk])) is None:
        found.append(_("the pieces and weight of the lot are not recorded"))
    return found


def _rules_out_release(state: DeviationState, lot: Lot) -> bool:
    one = state.of(lot)
    if one is None or not one.hold_required or (state.closure and state.closure.recording_error):
        return False
    return disposed_of(one.dispositions, [Outcome.RELEASE]) == NOTHING and one.held != NOTHING


def _never_held(establishment: Establishment, lot: Lot, of_lot: list[DeviationState]) -> list[str]:
    """Say which hold left part of the lot aside, where the lot was counted by then."""
    held = sum(one.held.pieces for one in _of(of_lot, lot))
    for state in of_lot:
        done = state.closure is not None and not state.closure.recording_error
        one = state.of(lot)
        if not done or one is None or not one.hold_required or one.hold is None:
            continue
        then = balance(establishment, lot, as_of=one.hold.entry.sequence)
        now = made(effective_events(establishment, [lot.pk]))
        if then.made is None or now is None:
            continue
        here = min(then.made.pieces, now.pieces) - then.gone.pieces - then.dispatched.pieces
        if held < here:
            words = _("deviation %(number)d: only %(held)d of %(here)d pieces were held")
            return [words % {"number": state.deviation.number, "held": held, "here": here}]
    return []


def _label(slot: SlotState) -> str:
    return f"{slot.slot.control.code} {slot.slot.control.name}"


def release_lot(
    *,
    establishment: Establishment,
    proof: SignatureProof,
    lot: Lot,
    pieces: str,
    mass_typed: str,
    note: str = "",
    claim: Claim | None = None,
) -> LotRelease:
    """Release a quantity of a lot by signature; refused while anything holds it."""
    require_role(establishment, proof.person, version_of(establishment, lot).plan().release_role)
    tick(establishment)  # in its own transaction: what it opens stays when the release is refused
    with transaction.atomic():
        ledger.lock(establishment)
        now = clock.now(establishment)
        faults = hindrances(establishment, lot, now)
        if faults:
            raise Refused(_("This lot cannot be released: %(faults)s.") % {"faults": "; ".join(faults)})
        count, weight = whole_number(pieces, part="pieces"), mass(mass_typed)
        _ask_of_linked(establishment, lot, note)
        left = balance(establishment, lot).releasable
        _refuse_more(count, weight, left, _("can be released"))
        row = LotRelease(
            lot=lot,
            pieces=count,
            mass_text=weight,
            shown=canonical.dumps(_shown(establishment, lot, now)).decode(),
            note=clean(note, most=1000),
        )
        signer = sign(row, establishment=establishment, proof=proof, meaning=_("Releases the lot"))
        ledger.append(kind=LOT_RELEASE, row=row, establishment=establishment, author=signer, claim=claim)
    return row


def _ask_of_linked(establishment: Establishment, lot: Lot, note: str) -> None:
    """Ask for a word on what is open on linked lots: it is not held against this lot, but not passed by."""
    found = linked_deviations(establishment, lot)
    if found and len(note.strip()) < LEAST_WORDS:
        words = _(
            "Say in the note why deviation %(number)d of the linked lot %(code)s does not hold this one."
        )
        told = {"number": found[0].state.deviation.number, "code": found[0].lot_code}
        raise BadInput(words % told, part="note")


def _refuse_more(count: int, weight: str, left: Quantity, what: str) -> None:
    if count <= 0:
        raise BadInput(_("Give the number of pieces."), part="pieces")
    if count > left.pieces or (weight and Decimal(weight) > left.mass):
        raise BadInput(
            _("At most %(pieces)d pieces and %(kg)s kg %(what)s.")
            % {"pieces": max(left.pieces, 0), "kg": trim(max(left.mass, Decimal(0))), "what": what},
            part="pieces",
        )


def _shown(establishment: Establishment, lot: Lot, now: datetime) -> list[dict[str, Any]]:
    found = lot_states(establishment, [lot], now)[lot.pk]
    return [
        {
            "slot": state.slot.id,
            "control": state.slot.control.code,
            "result": str(state.result or ""),
            "deviations": [d.number for d in state.deviations],
        }
        for state in found
        if state.slot.control.is_ccp
    ]


def dispatch_lot(
    *,
    establishment: Establishment,
    by: Person,
    lot: Lot,
    customer: str,
    pieces: str,
    mass_typed: str,
    left_at: datetime | None = None,
    note: str = "",
    claim: Claim | None = None,
) -> Dispatch:
    """Record what leaves; refused for anything that is not released, or is on hold again."""
    require_role(establishment, by, Role.MAKER, Role.RESPONSIBLE)
    tick(establishment)  # in its own transaction: what it opens stays when the dispatch is refused
    with transaction.atomic():
        ledger.lock(establishment)
        standing = [s for s in lot_deviations(establishment, lot) if s.is_open]
        if standing:
            raise Refused(
                _("Lot %(code)s may not leave: deviation %(number)d is open.")
                % {"code": lot.code, "number": standing[0].deviation.number}
            )
        left = balance(establishment, lot).dispatchable
        if left.pieces <= 0:
            raise Refused(_("Lot %(code)s may not leave: it is not released.") % {"code": lot.code})
        faults = hindrances(establishment, lot, clock.now(establishment))
        if faults:
            told = {"code": lot.code, "faults": "; ".join(faults)}
            raise Refused(_("Lot %(code)s may not leave: %(faults)s.") % told)
        row = _dispatch_row(establishment, lot, customer, pieces, mass_typed, left_at, note)
        _refuse_more(row.pieces, row.mass_text, left, _("may leave"))
        ledger.append(kind=DISPATCH, row=row, establishment=establishment, author=by, claim=claim)
        _close_when_gone(establishment, lot)
    return row


def _dispatch_row(
    establishment: Establishment,
    lot: Lot,
    customer: str,
    pieces: str,
    mass_typed: str,
    left_at: datetime | None,
    note: str,
    *,
    on_hold: bool = False,
) -> Dispatch:
    receiver = clean(customer, most=200, part="customer")
    if not receiver:
        raise BadInput(_("Say to whom it goes."), part="customer")
    at = left_at or clock.now(establishment)
    check_observed(establishment, at, None, 24 * 60, note, part="left_at")
    return Dispatch(
        lot=lot,
        customer=receiver,
        pieces=whole_number(pieces, part="pieces"),
        mass_text=mass(mass_typed),
        left_at=at,
        left_on_hold=on_hold,
        note=clean(note, most=1000),
    )


def record_left_on_hold(
    *,
    establishment: Establishment,
    by: Person,
    lot: Lot,
    customer: str,
    pieces: str,
    mass_typed: str,
    left_at: datetime | None = None,
    note: str = "",
    claim: Claim | None = None,
) -> tuple[Dispatch, Deviation]:
    """Record that goods left while on hold or unreleased; opens a deviation that needs a recall decision."""
    require_role(establishment, by, Role.MAKER, Role.RESPONSIBLE)
    with transaction.atomic():
        ledger.lock(establishment)
        row = _dispatch_row(establishment, lot, customer, pieces, mass_typed, left_at, note, on_hold=True)
        if row.pieces <= 0:
            raise BadInput(_("Give the number of pieces."), part="pieces")
        ledger.append(kind=DISPATCH, row=row, establishment=establishment, author=by, claim=claim)
        deviation = open_deviation(
            establishment=establishment,
            by=by,
            cause=Cause.LEFT_ON_HOLD,
            plan=version_of(establishment, lot).plan(),
            control=None,
            lot=lot,
            description=_("%(pieces)d pieces left while on hold, to %(customer)s.")
            % {"pieces": row.pieces, "customer": row.customer},
        )
    return row, deviation


def _close_when_gone(establishment: Establishment, lot: Lot) -> None:
    if is_gone(balance(establishment, lot)):
        index.close(establishment, OPEN_LOT, lot.pk)


def is_gone(found: Balance) -> bool:
    """Tell whether nothing of a lot is left here."""
    return found.made is not None and found.dispatched.pieces + found.away.pieces >= found.made.pieces
