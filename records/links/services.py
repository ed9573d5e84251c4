"""Changes to links between lots: what went over, a correction of it, a withdrawal."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.queries import Quantity, version_of
from records.deviations.models import Cause, Deviation, Disposition
from records.deviations.queries import DeviationState
from records.deviations.services import open_deviation
from records.links.kinds import LOT_LINK
from records.links.models import LinkKind, LotLink
from records.links.queries import BY_VOLUME, deviations_of, lots_after, mass_left, rework_left, volume_left
from safetyplan.calculation.rounding import amount, trim
from safetyplan.calculation.units import convert
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import details_of, replaced
from safetyplan.integrity import canonical, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, number, reason, whole_number


@dataclass(frozen=True)
class LinkContent:
    """What a person says of a link; quantity and pieces as typed.

    disposition: the decision on held product that allows its rework. known: the person was shown that a
    deviation is open on either lot, and goes on.
    """

    kind: str
    quantity: str
    linked_at: datetime
    pieces: str = ""
    disposition: Disposition | None = None
    known: bool = False
    note: str = ""
    late_reason: str = ""


def link_lots(
    *,
    establishment: Establishment,
    by: Person,
    from_lot: Lot,
    to_lot: Lot,
    content: LinkContent,
    claim: Claim | None = None,
) -> tuple[LotLink, Deviation | None]:
    """Record that something of one lot went into another.

    Never in a circle, never more than there is; of held product only the rework that its disposition allows.
    What went over from a lot on hold all the same opens a deviation of the lot that received it.
    """
    require_role(establishment, by, Role.MAKER, Role.RESPONSIBLE)
    with transaction.atomic():
        ledger.lock(establishment)
        row = _row(establishment, from_lot, to_lot, content, None)
        ledger.append(kind=LOT_LINK, row=row, establishment=establishment, author=by, claim=claim)
        opened = _passed_on(establishment, by, row)
    return row, opened


def correct_link(
    *,
    establishment: Establishment,
    by: Person,
    original: LotLink,
    content: LinkContent,
    why: str,
    claim: Claim | None = None,
) -> LotLink:
    """Record a corrected link between the same lots; the first one stays readable."""
    require_role(establishment, by, Role.MAKER, Role.RESPONSIBLE)
    with transaction.atomic():
        ledger.lock(establishment)
        _refuse_replaced(original)
        row = _row(establishment, original.from_lot, original.to_lot, content, original)
        row.supersedes, row.reason = original, reason(why)
        ledger.append(kind=LOT_LINK, row=row, establishment=establishment, author=by, claim=claim)
    return row


def withdraw_link(
    *, establishment: Establishment, by: Person, original: LotLink, why: str, claim: Claim | None = None
) -> LotLink:
    """Record that nothing went over after all. A deviation that the link opened stays open."""
    require_role(establishment, by, Role.MAKER, Role.RESPONSIBLE)
    with transaction.atomic():
        ledger.lock(establishment)
        _refuse_replaced(original)
        kept = ("from_lot", "to_lot", "kind", "quantity_text", "quantity_unit", "pieces", "linked_at")
        same = {name: getattr(original, name) for name in (*kept, "disposition", "known", "note")}
        row = LotLink(**same, late=False, withdrawn=True, supersedes=original, reason=reason(why))
        ledger.append(kind=LOT_LINK, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _refuse_replaced(original: LotLink) -> None:
    if original.withdrawn:
        raise Refused(_("This link was withdrawn. Record it anew."))
    if replaced(original):
        raise Refused(_("This link was already corrected. Correct the newest entry."))


def _row(
    establishment: Establishment, from_lot: Lot, to_lot: Lot, content: LinkContent, original: LotLink | None
) -> LotLink:
    if content.kind not in LinkKind.values:
        raise BadInput(_("Choose what went over."), part="kind")
    _refuse_circle(establishment, from_lot, to_lot)
    if content.linked_at < max(from_lot.started_at, to_lot.started_at):
        raise BadInput(_("This is before both lots were started."), part="linked_at")
    quantity, unit = _quantity(establishment, content)
    tolerance = version_of(establishment, to_lot).plan().late_after_minutes
    row = LotLink(
        from_lot=from_lot,
        to_lot=to_lot,
        kind=content.kind,
        quantity_text=trim(quantity),
        quantity_unit=unit,
        pieces=_pieces(content),
        linked_at=content.linked_at,
        disposition=content.disposition,
        known=canonical.dumps(_known(establishment, from_lot, to_lot, content)).decode(),
        note=clean(content.note, part="note"),
        late=check_observed(
            establishment, content.linked_at, None, tolerance, content.late_reason, part="linked_at"
        ),
        late_reason=clean(content.late_reason, part="late_reason"),
        withdrawn=False,
    )
    _refuse_held(establishment, row)
    _refuse_more(establishment, row, original)
    return row


def _refuse_circle(establishment: Establishment, from_lot: Lot, to_lot: Lot) -> None:
    if from_lot.pk == to_lot.pk:
        raise BadInput(_("A lot cannot go into itself."), part="other")
    if from_lot.pk in lots_after(establishment, [to_lot.pk]):
        words = _("Lot %(other)s went into lot %(lot)s already: it cannot come out of it too.")
        raise BadInput(words % {"other": to_lot.code, "lot": from_lot.code}, part="other")


def _quantity(establishment: Establishment, content: LinkContent) -> tuple[Decimal, str]:
    volume = content.kind in BY_VOLUME
    unit = details_of(establishment).volume_unit if volume else "kg"
    name = "volume" if volume else "mass"
    typed = number(content.quantity, quantity=name, unit=unit, part="quantity", confirmed=True)
    if typed.value <= 0 or typed.censored:
        raise BadInput(_("Say how much went over."), part="quantity")
    return typed.value, typed.unit


def _pieces(content: LinkContent) -> int | None:
    if content.kind in BY_VOLUME and content.pieces.strip():
        raise BadInput(_("Milk and whey have no pieces."), part="pieces")
    return whole_number(content.pieces, part="pieces") if content.pieces.strip() else None


def open_states(establishment: Establishment, *lots: Lot) -> list[DeviationState]:
    """Give the open deviations of some lots."""
    return [s for s in deviations_of(establishment, [lot.pk for lot in lots]) if s.is_open]


def holding(establishment: Establishment, lot: Lot) -> list[Deviation]:
    """Give the open deviations by which a lot has to be held."""
    found = [(state.deviation, state.of(lot)) for state in open_states(establishment, lot)]
    return [deviation for deviation, one in found if one is not None and one.hold_required]


def _known(establishment: Establishment, from_lot: Lot, to_lot: Lot, content: LinkContent) -> list[int]:
    """Give the numbers of the open deviations that the person was asked about."""
    found = [state.deviation for state in open_states(establishment, from_lot, to_lot)]
    if found and not content.known:
        told = "; ".join(f"{deviation.number}: {deviation.description}" for deviation in found)
        words = _("A deviation is open on one of these lots (%(told)s). Say that you know of it.")
        raise BadInput(words % {"told": told}, part="known")
    return [deviation.number for deviation in found]


def _refuse_held(establishment: Establishment, row: LotLink) -> None:
    """Refuse what rule 6 forbids: held product goes into another lot only as its disposition says."""
    held = holding(establishment, row.from_lot)
    if row.disposition is not None and (
        row.kind != LinkKind.REWORK or row.disposition.lot_id != row.from_lot_id
    ):
        raise BadInput(_("This decision does not allow it."), part="disposition")
    if held and row.kind not in BY_VOLUME and row.disposition is None:
        words = _(
            "Lot %(code)s is on hold by deviation %(number)d: only what a disposition gives to rework goes."
        )
        raise Refused(words % {"code": row.from_lot.code, "number": held[0].number}, part="disposition")


def _refuse_more(establishment: Establishment, row: LotLink, original: LotLink | None) -> None:
    quantity = Decimal(row.quantity_text)
    if row.kind in BY_VOLUME:
        litres = volume_left(establishment, row.from_lot, original)
        if litres is None:
            words = _("The milk of lot %(code)s is not recorded, so nobody can tell how much of it there is.")
            raise Refused(words % {"code": row.from_lot.code}, part="quantity")
        if convert(quantity, row.quantity_unit, "L") > litres:
            raise _too_much(amount(trim(max(litres, Decimal(0))), "L"), "quantity")
        return
    if row.disposition is not None:
        left: Quantity | None = rework_left(establishment, row.disposition, original)
    else:
        left = mass_left(establishment, row.from_lot, original)
    if left is None:
        words = _("The pieces and weight of lot %(code)s are not recorded yet.")
        raise Refused(words % {"code": row.from_lot.code}, part="quantity")
    if quantity > left.mass:
        raise _too_much(amount(trim(max(left.mass, Decimal(0))), "kg"), "quantity")
    if (row.pieces or 0) > left.pieces:
        raise _too_much(str(max(left.pieces, 0)), "pieces")


def _too_much(left: str, part: str) -> BadInput:
    return BadInput(_("There is no more than %(left)s of it.") % {"left": left}, part=part)


def _passed_on(establishment: Establishment, by: Person, row: LotLink) -> Deviation | None:
    """Open a deviation of the lot that received milk or whey of a lot on hold."""
    held = holding(establishment, row.from_lot)
    if not held or row.kind not in BY_VOLUME:
        return None
    words = _(
        "%(kind)s of lot %(code)s went into this lot while that one is on hold by deviation %(number)d."
    )
    told = {"kind": row.get_kind_display(), "code": row.from_lot.code, "number": held[0].number}
    return open_deviation(
        establishment=establishment,
        by=by,
        cause=Cause.UNFORESEEN,
        plan=version_of(establishment, row.to_lot).plan(),
        control=None,
        lot=row.to_lot,
        description=words % told,
    )
