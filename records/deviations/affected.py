"""What a deviation concerns: each lot, or what is held that is no lot; its hold and what became of it."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.queries import NOTHING, Quantity
from records.deviations.models import AffectedLot, Disposition, HoldConfirmed, Outcome
from safetyplan.calculation.rounding import amount, trim
from safetyplan.integrity import canonical

GONE = (Outcome.REWORK, Outcome.DIVERT, Outcome.DESTROY, Outcome.USED_FOR_TEST, Outcome.RETURNED)


ITSELF = "itself"  # in a form: what is held that is no lot


def lines_of(disposition: Disposition) -> list[dict[str, Any]]:
    """Give the lines of a disposition."""
    value: list[dict[str, Any]] = canonical.loads(disposition.lines.encode())
    return value


def disposed_of(dispositions: Iterable[Disposition], outcomes: Iterable[str]) -> Quantity:
    """Add up the pieces, kilograms and litres of some outcomes."""
    wanted = {str(outcome) for outcome in outcomes}
    lines = [line for d in dispositions for line in lines_of(d) if line["outcome"] in wanted]
    return total(
        Quantity(int(line["pieces"]), Decimal(line["mass"]), Decimal(line.get("volume", "0")))
        for line in lines
    )


def total(quantities: Iterable[Quantity]) -> Quantity:
    """Add up quantities."""
    found = list(quantities)
    return Quantity(
        sum(q.pieces for q in found),
        sum((q.mass for q in found), Decimal(0)),
        sum((q.volume for q in found), Decimal(0)),
    )


def quantity(found: Quantity, *, litres: bool = False) -> str:
    """Write pieces, kilograms and litres; what was not weighed shows no weight, only litres no pieces.

    litres: it is measured in litres, also where nothing is left of it.
    """
    weighed = ((found.mass, "kg"), (found.volume, "L"))
    measured = [amount(trim(value), unit) for value, unit in weighed if value]
    if (found.volume or litres) and not found.pieces:
        return ", ".join(measured) or amount("0", "L")
    return ", ".join([_("%(pieces)d pieces") % {"pieces": found.pieces}, *measured])


@dataclass(frozen=True)
class Affected:
    """One lot of a deviation, or what it holds that is no lot (`what`), with its hold and its dispositions.

    since: the ledger sequence at which it came under the deviation, 0 from its opening. elsewhere: pieces
    that dispositions of other deviations took away. refused: it is a load of milk that was refused wholly;
    the refusal says what became of it, and nothing of it is here to stand apart.
    """

    lot: Lot | None
    what: str
    hold_required: bool
    since: int = 0
    named: AffectedLot | None = None
    holds: list[HoldConfirmed] = field(default_factory=list)
    dispositions: list[Disposition] = field(default_factory=list)
    sent: int = 0
    made: int | None = None
    elsewhere: int = 0
    refused: bool = False

    @property
    def key(self) -> str:
        """Name it in a form."""
        return str(self.lot.pk) if self.lot else ITSELF

    @property
    def name(self) -> str:
        """Name it for people."""
        return self.lot.code if self.lot else self.what or _("no lot")

    @property
    def in_litres(self) -> bool:
        """Tell whether it is measured in litres."""
        return bool(self.hold and self.hold.volume_text)

    @property
    def hold(self) -> HoldConfirmed | None:
        """Give the hold that stands: the newest count."""
        replaced = {hold.supersedes_id for hold in self.holds}
        present = [hold for hold in self.holds if hold.pk not in replaced]
        return present[-1] if present else None

    @property
    def held(self) -> Quantity:
        """Give how much was confirmed on hold."""
        hold = self.hold
        if hold is None:
            return NOTHING
        return Quantity(hold.pieces, Decimal(hold.mass_text or "0"), Decimal(hold.volume_text or "0"))

    @property
    def disposed(self) -> Quantity:
        """Give how much was disposed of so far."""
        return disposed_of(self.dispositions, tuple(Outcome))

    @property
    def left(self) -> Quantity:
        """Give how much on hold is not disposed of yet; a hold that was not weighed has no weight left."""
        held, disposed = self.held, self.disposed
        return Quantity(
            held.pieces - disposed.pieces,
            held.mass - disposed.mass if held.mass > 0 else Decimal(0),
            held.volume - disposed.volume,
        )

    @property
    def all_left(self) -> bool:
        """Tell whether nothing of the lot is here any more: nothing to set apart, only to call back."""
        return self.made is not None and self.sent + self.elsewhere >= self.made

    @property
    def to_hold(self) -> bool:
        """Tell whether a hold is required and something is left here that can stand apart."""
        return self.hold_required and not self.all_left and not self.refused

    @property
    def unconfirmed(self) -> bool:
        """Tell whether a hold is required that nobody has confirmed."""
        return self.to_hold and self.hold is None

    @property
    def undecided(self) -> bool:
        """Tell whether something is still to be held or to be disposed of."""
        return not self.refused and (self.unconfirmed or self.left != NOTHING)

    @property
    def on_hold(self) -> bool:
        """Tell whether it stands apart, or has to."""
        return self.hold_required and not self.refused and (self.hold is None or self.left != NOTHING)


def affected_by(
    deviation: Any,
    named: Iterable[AffectedLot],
    holds: list[HoldConfirmed],
    dispositions: list[Disposition],
    facts: dict[UUID, dict[str, Any]],
    *,
    refused: bool = False,
) -> list[Affected]:
    """Give what a deviation concerns: its own lot or thing first, then the lots named besides.

    A hold or disposition of the first version names no lot: it is of the deviation's own. refused: its own
    thing is a load of milk that was refused wholly.
    """

    def one(lot: Lot | None, what: str, *, required: bool, row: Any = None) -> Affected:
        key = lot.pk if lot else None
        return Affected(
            lot=lot,
            what=what,
            hold_required=required,
            since=row.at_sequence if row else 0,
            named=row,
            holds=[h for h in holds if (h.lot_id or deviation.lot_id) == key],
            dispositions=[d for d in dispositions if (d.lot_id or deviation.lot_id) == key],
            **(facts.get(key, {}) if key else {}),
        )

    lots = [one(row.lot, "", required=row.hold_required, row=row) for row in named]
    if deviation.lot is not None:
        return [one(deviation.lot, "", required=deviation.hold_required), *lots]
    what = deviation.held_what or ""
    itself = one(None, what, required=deviation.hold_required and (bool(what) or not lots))
    itself = replace(itself, refused=refused)
    return [itself, *lots] if what or not lots or itself.holds else lots
