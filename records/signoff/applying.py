"""Apply the plan version in force to open lots, by signature: an old limit must not survive its revision.

A lot keeps the version it began with until this is signed. Then its checks are due by the new version, and
what was read already is judged again by it; both results stay, and a new miss opens a deviation.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.kinds import PLAN_APPLIED
from records.batches.models import Lot, PlanApplied
from records.batches.queries import events_by_lot, made, open_lots, sent_by_lot, versions_of
from records.checks.due import SlotState, lot_states
from records.checks.missed import open_missed
from records.checks.rejudging import Second, judge_again_by, judges_alike, second_judgements
from records.checks.tick import tick
from records.deviations.affected import GONE, disposed_of
from records.deviations.models import Deviation, Disposition
from records.signoff.models import LotRelease
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Role
from safetyplan.integrity import canonical, clock, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.signatures import sign
from safetyplan.integrity.typed_values import reason
from safetyplan.plans.changes import Change, compare_checks
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.queries import in_force

Versions = Mapping[UUID, PlanApproved]


@dataclass(frozen=True)
class Outlook:
    """What applying a plan version to a lot would do, or why it cannot be applied.

    missed: readings that would not hold by it and did until now. not_made: critical checks
    that only it asks for by now and that are past their time.
    """

    lot: Lot
    present: PlanApproved
    refusal: str
    changes: Sequence[Change]
    missed: Sequence[Second]
    not_made: Sequence[SlotState]


@dataclass(frozen=True)
class Applied:
    """A plan version applied to lots, and the deviations that this opened."""

    rows: Sequence[PlanApplied]
    deviations: Sequence[Deviation]


def _gone_by_lot(establishment: Establishment, ids: Sequence[UUID]) -> dict[Any, int]:
    found: dict[Any, list[Disposition]] = defaultdict(list)
    for row in Disposition.objects.of(establishment).filter(lot__in=ids):
        found[row.lot_id].append(row)
    return {lot: disposed_of(dispositions, GONE).pieces for lot, dispositions in found.items()}


def _released_by_lot(establishment: Establishment, ids: Sequence[UUID]) -> dict[Any, int]:
    found: dict[Any, int] = defaultdict(int)
    rows = LotRelease.objects.of(establishment).filter(lot__in=ids)
    for lot, pieces in rows.values_list("lot", "pieces"):
        found[lot] += pieces
    return found


def finished(establishment: Establishment, lots: Sequence[Lot]) -> dict[UUID, str]:
    """Say of which lots nothing is left to be decided, and why: left, disposed of, released.

    Of a lot released in part the rest is still open.
    """
    ids = [lot.pk for lot in lots]
    still_open = {lot.pk for lot in open_lots(establishment)}
    events, sent = events_by_lot(establishment, ids), sent_by_lot(establishment, ids)
    gone, released = _gone_by_lot(establishment, ids), _released_by_lot(establishment, ids)
    found = {}
    for lot in lots:
        yielded = made(events[lot.pk])
        total = yielded.pieces if yielded else None
        away = gone.get(lot.pk, 0)
        if lot.pk not in still_open or (total is not None and total > away and sent[lot.pk] + away >= total):
            found[lot.pk] = _("it has left")
        elif total is not None and away >= total:
            found[lot.pk] = _("it was disposed of: nothing is left")
        elif total is not None and released[lot.pk] + away >= total:
            found[lot.pk] = _("it is released")
    return found


def refusals(
    establishment: Establishment,
    lots: Sequence[Lot],
    version: PlanApproved,
    present: Mapping[Any, PlanApproved],
) -> dict[UUID, str]:
    """Say why a plan version cannot be applied to some of the lots."""
    products = {product.code for product in version.plan().products}
    found = finished(establishment, lots)
    for lot in lots:
        if present[lot.pk].pk == version.pk:
            found[lot.pk] = _("it follows version %(number)d already") % {"number": version.number}
        elif lot.product_code not in products and lot.pk not in found:
            found[lot.pk] = _("version %(number)d does not have its product %(product)s") % {
                "number": version.number,
                "product": lot.product_code,
            }
    return found


def behind(establishment: Establishment, now: datetime) -> list[Lot]:
    """Give the open lots that could follow the version in force and follow an older one."""
    version, lots = in_force(establishment, now), open_lots(establishment)
    if version is None:
        return []
    refused = refusals(establishment, lots, version, versions_of(establishment, lots))
    return [lot for lot in lots if lot.pk not in refused]


def outlooks(
    establishment: Establishment, lots: Sequence[Lot], version: PlanApproved, now: datetime
) -> list[Outlook]:
    """Tell for each lot what applying a version would do; in a number of queries that does not grow."""
    present = versions_of(establishment, lots)
    refused = refusals(establishment, lots, version, present)
    tried = [lot for lot in lots if lot.pk not in refused]
    seconds: dict[UUID, list[Second]] = defaultdict(list)
    for second in second_judgements(establishment, [(lot, version) for lot in tried], kept=True):
        lot = second.place.lot
        if lot and second.newly_missed and not judges_alike(present[lot.pk].plan(), second.place.control):
            seconds[lot.pk].append(second)
    states = lot_states(establishment, tried, now, by={lot.pk: version for lot in tried})
    missed_already = {
        state.slot.id
        for of_lot in lot_states(establishment, tried, now, by=present).values()
        for state in of_lot
        if _would_open(state)
    }
    return [
        Outlook(
            lot=lot,
            present=present[lot.pk],
            refusal=refused.get(lot.pk, ""),
            changes=[]
            if lot.pk in refused
            else compare_checks(present[lot.pk].plan(), version.plan(), lot.product_code),
            missed=seconds[lot.pk],
            not_made=[
                state
                for state in states.get(lot.pk, [])
                if _would_open(state) and state.slot.id not in missed_already
            ],
        )
        for lot in lots
    ]


def _would_open(state: SlotState) -> bool:
    return state.slot.control.is_ccp and state.settled_missing and not state.covered


def apply_plan(
    *,
    establishment: Establishment,
    proof: SignatureProof,
    lots: Sequence[Lot],
    version: PlanApproved,
    why: str,
    claim: Claim | None = None,
) -> Applied:
    """Apply the version in force to open lots with one signature; all of them or none."""
    require_role(establishment, proof.person, Role.RESPONSIBLE)
    tick(establishment)  # in its own transaction: what was missed by the old version stays missed
    with transaction.atomic():
        ledger.lock(establishment)
        present = in_force(establishment, clock.now(establishment))
        if present is None or present.pk != version.pk:
            raise Refused(_("Only the plan version in force can be applied. Look at the page again."))
        because = reason(why)
        if not lots:
            raise BadInput(_("Choose at least one lot."), part="lots")
        before = versions_of(establishment, lots)
        _refuse(establishment, lots, version, before)
        rows: list[PlanApplied] = []
        for lot in lots:
            rows.append(
                _row(
                    establishment,
                    _another(proof) if rows else proof,
                    lot,
                    before[lot.pk],
                    version,
                    because,
                    None if rows else claim,
                )
            )
        opened = []
        for row in rows:
            opened += judge_again_by(establishment, proof.person, row, before[row.lot_id])
        opened += open_missed(establishment, lots)
    return Applied(rows, opened)


def _row(
    establishment: Establishment,
    proof: SignatureProof,
    lot: Lot,
    before: PlanApproved,
    version: PlanApproved,
    because: str,
    claim: Claim | None,
) -> PlanApplied:
    changes = compare_checks(before.plan(), version.plan(), lot.product_code)
    row = PlanApplied(
        lot=lot,
        plan_version=version,
        reason=because,
        changes=canonical.dumps([change.sentence() for change in changes]).decode(),
    )
    meaning = _("Applies plan version %(number)d to the lot") % {"number": version.number}
    signer = sign(row, establishment=establishment, proof=proof, meaning=meaning)
    ledger.append(kind=PLAN_APPLIED, row=row, establishment=establishment, author=signer, claim=claim)
    return row


def _another(proof: SignatureProof) -> SignatureProof:
    """Give the proof for a further lot of the same act: the password was given once, for all of them."""
    return SignatureProof.objects.create(person=proof.person, method=proof.method, made_at=proof.made_at)


def _refuse(
    establishment: Establishment,
    lots: Sequence[Lot],
    version: PlanApproved,
    before: Mapping[Any, PlanApproved],
) -> None:
    found = refusals(establishment, lots, version, before)
    if found:
        told = "; ".join(f"{lot.code}: {found[lot.pk]}" for lot in lots if lot.pk in found)
        raise BadInput(
            _("The version cannot be applied to every lot chosen. %(why)s.") % {"why": told}, part="lots"
        )
