"""Receiving milk with all that follows: deviations opened at the door, readings judged again, lots held."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.milk import correct_milk, put_milk
from records.batches.models import Lot
from records.checks.gate import open_for_milk
from records.checks.missed import open_missed_loads
from records.checks.of_load import open_for
from records.checks.rejudging import judge_again_by_receipt
from records.checks.slots import load_slot_id
from records.deviations.models import Cause, Deviation
from records.receiving.answers import DEVIATES
from records.receiving.models import LotMilk, MilkLoad
from records.receiving.noted import POSITIVE
from records.receiving.queries import load_of
from records.receiving.services import LoadContent, correct_load, receive_load
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.plans.queries import in_force


@dataclass(frozen=True)
class Taken:
    """A load as recorded, and the deviations that its receipt opened."""

    load: MilkLoad
    deviations: Sequence[Deviation]


def take_load(
    *, establishment: Establishment, by: Person, content: LoadContent, claim: Claim | None = None
) -> Taken:
    """Receive a load; milk taken in against a warning, or positive for inhibitors, opens a deviation."""
    with transaction.atomic():
        ledger.lock(establishment)
        load = receive_load(establishment=establishment, by=by, content=content, claim=claim)
        return Taken(load, _open_for(establishment, by, load, set()))


def correct_receipt(
    *,
    establishment: Establishment,
    by: Person,
    load: MilkLoad,
    content: LoadContent,
    why: str,
    claim: Claim | None = None,
) -> Taken:
    """Correct a receipt; every reading of the load is judged again, both results stay on record."""
    with transaction.atomic():
        ledger.lock(establishment)
        before = {words for words, _opens in _grounds(load)}
        row = correct_load(
            establishment=establishment, by=by, load=load, content=content, why=why, claim=claim
        )
        opened = judge_again_by_receipt(establishment, by, row)
        opened += open_missed_loads(establishment, [row])
        return Taken(row, [*opened, *_open_for(establishment, by, row, before)])


def _grounds(load: MilkLoad) -> list[tuple[str, bool]]:
    """Give what a receipt says against the load, in words, and whether it was taken in all the same."""
    found = [(f"{said['facts']} {said['words']}.", said["said"] in DEVIATES) for said in load.said()]
    for detail in load.noted():
        if detail["name"] == "inhibitor" and detail["value"] == POSITIVE:
            found.append((_("The inhibitor test is positive."), True))
    return found


def _open_for(establishment: Establishment, by: Person, load: MilkLoad, before: set[str]) -> list[Deviation]:
    version = in_force(establishment, clock.now(establishment))
    return [
        open_for(
            establishment,
            load,
            by=by,
            cause=Cause.UNFORESEEN,
            plan=version.plan() if version else None,
            control=None,
            slot=load_slot_id(load.identity, "", 0),
            description=words,
        )
        for words, deviates in _grounds(load)
        if deviates and words not in before
    ]


def fill_lot(
    *,
    establishment: Establishment,
    by: Person,
    lot: Lot,
    load: UUID,
    volume: str,
    sure: bool = False,
    claim: Claim | None = None,
) -> tuple[LotMilk, list[Deviation]]:
    """Record that milk of a load went into a lot; a bad or missing result of the load holds the lot."""
    with transaction.atomic():
        ledger.lock(establishment)
        row = put_milk(
            establishment=establishment, by=by, lot=lot, load=load, volume=volume, sure=sure, claim=claim
        )
        found = load_of(establishment, load)
        assert found is not None
        return row, open_for_milk(establishment, by, lot, [found])


def correct_fill(
    *,
    establishment: Establishment,
    by: Person,
    original: LotMilk,
    volume: str,
    why: str,
    sure: bool = False,
    claim: Claim | None = None,
) -> tuple[LotMilk, list[Deviation]]:
    """Correct how much of a load went into a lot; what was opened for the lot stays open."""
    with transaction.atomic():
        ledger.lock(establishment)
        row = correct_milk(
            establishment=establishment,
            by=by,
            original=original,
            volume=volume,
            why=why,
            sure=sure,
            claim=claim,
        )
        found = load_of(establishment, original.load_id)
        assert found is not None
        return row, open_for_milk(establishment, by, original.lot, [found])
