"""Signing what becomes of the product on hold, lot by lot and by quantity."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.queries import Quantity
from records.deviations import kinds
from records.deviations.affected import Affected
from records.deviations.models import Deviation, Disposition, Outcome
from records.deviations.services import chosen, open_state
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Role
from safetyplan.integrity import canonical, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.signatures import sign
from safetyplan.integrity.typed_values import clean, mass, volume, whole_number

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
    volume: str = ""


def dispose(
    *,
    establishment: Establishment,
    proof: SignatureProof,
    deviation: Deviation,
    lines: Sequence[Line],
    lot: Lot | None = None,
    note: str = "",
    claim: Claim | None = None,
) -> Disposition:
    """Sign what becomes of the product on hold; pieces, kilograms and litres may not exceed what is held.

    lot: which, where the deviation concerns several: each is disposed of by itself.
    """
    require_role(establishment, proof.person, Role.RESPONSIBLE)
    with transaction.atomic():
        ledger.lock(establishment)
        state = open_state(establishment, deviation)
        one = chosen(state, lot)
        if one.hold is None:
            raise Refused(_("Nothing is confirmed on hold: confirm the hold first."))
        if not state.evaluated(one):
            raise Refused(_("The product was not evaluated yet: a qualified individual does that first."))
        if not lines:
            raise BadInput(_("Say what becomes of the product on hold."), part="lines")
        read = [_line(deviation, line, number) for number, line in enumerate(lines, start=1)]
        whole = Quantity(
            sum(int(line["pieces"]) for line in read),
            sum((Decimal(line["mass"]) for line in read), Decimal(0)),
            sum((Decimal(line.get("volume", "0")) for line in read), Decimal(0)),
        )
        _refuse_excess(one, whole)
        row = Disposition(
            deviation=deviation,
            lot=one.lot,
            lines=canonical.dumps(read).decode(),
            pieces=whole.pieces,
            mass_text=trim(whole.mass),
            volume_text=trim(whole.volume) if whole.volume else "",
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
    weight, litres = mass(line.mass, part=part) or "0", volume(line.volume, part=part) or "0"
    if pieces == 0 and Decimal(weight) == 0 and Decimal(litres) == 0:
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
    measured = {"volume": litres} if Decimal(litres) else {}
    return {
        **measured,
        "outcome": line.outcome,
        "pieces": pieces,
        "mass": weight,
        "method": line.method if line.outcome == Outcome.REWORK else "",
        "note": clean(line.note, part=part),
    }


def _refuse_excess(one: Affected, whole: Quantity) -> None:
    left = one.left
    weighed, counted = one.held.mass > 0, one.held.pieces > 0
    if whole.volume > left.volume:
        raise BadInput(
            _("These lines add up to %(sum)s L; on hold are %(left)s L.")
            % {"sum": trim(whole.volume), "left": trim(left.volume)},
            part="lines",
        )
    if whole.pieces > left.pieces or (weighed and whole.mass > left.mass):
        raise BadInput(
            _(
                "These lines add up to %(pieces)d pieces and %(mass)s kg; "
                "on hold are %(left)d pieces and %(kg)s kg."
            )
            % {
                "pieces": whole.pieces,
                "mass": trim(whole.mass),
                "left": left.pieces,
                "kg": trim(left.mass),
            },
            part="lines",
        )
    if weighed and counted and (whole.pieces == left.pieces) != (whole.mass == left.mass):
        raise BadInput(
            _("Pieces and weight do not add up together: left would be %(pieces)d pieces and %(kg)s kg.")
            % {"pieces": left.pieces - whole.pieces, "kg": trim(left.mass - whole.mass)},
            part="lines",
        )
