"""Reads about deviations; state is derived from the records, never stored as evidence."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from records.batches.models import Lot
from records.batches.queries import Quantity, events_by_lot, made, sent_by_lot
from records.deviations.affected import GONE, Affected, affected_by, disposed_of, total
from records.deviations.models import (
    ActionTaken,
    AffectedLot,
    CalculationAttached,
    Cause,
    CauseFound,
    Closure,
    Deviation,
    Disposition,
    Evaluation,
    FileAttached,
    HoldConfirmed,
    RecallDecision,
)
from records.receiving.queries import balances, loads_by_identity
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until

OPEN_DEVIATION = "deviation"
OPEN_HOLD = "hold"


@dataclass(frozen=True)
class DeviationState:
    """A deviation with everything recorded about it; what it concerns lot by lot in `affected`."""

    deviation: Deviation
    affected: list[Affected]
    actions: list[ActionTaken]
    evaluations: list[Evaluation]
    dispositions: list[Disposition]
    causes: list[CauseFound]
    recalls: list[RecallDecision]
    closure: Closure | None
    files: list[FileAttached]
    calculations: list[CalculationAttached]

    def of(self, lot: Lot) -> Affected | None:
        """Give what the deviation says of one lot; None when it does not concern it."""
        return next((one for one in self.affected if one.lot is not None and one.lot.pk == lot.pk), None)

    @property
    def lots(self) -> list[Lot]:
        """Give the lots the deviation concerns."""
        return [one.lot for one in self.affected if one.lot is not None]

    @property
    def holds(self) -> list[HoldConfirmed]:
        """Give every hold that was confirmed, lot by lot, those replaced by a later count too."""
        return [hold for one in self.affected for hold in one.holds]

    @property
    def hold(self) -> HoldConfirmed | None:
        """Give the newest hold once everything that has to stand apart does; None until then."""
        if any(one.unconfirmed for one in self.affected):
            return None
        return next((one.hold for one in reversed(self.affected) if one.hold is not None), None)

    @property
    def hold_required(self) -> bool:
        """Tell whether anything that the deviation concerns has to be held."""
        return any(one.hold_required for one in self.affected)

    @property
    def on_hold(self) -> bool:
        """Tell whether anything stands apart, or has to."""
        return any(one.on_hold for one in self.affected)

    @property
    def all_left(self) -> bool:
        """Tell whether nothing of its lots is here any more: nothing to set apart, only to call back."""
        return all(one.all_left for one in self.affected)

    @property
    def recall(self) -> RecallDecision | None:
        """Give the newest decision on a recall."""
        return self.recalls[-1] if self.recalls else None

    @property
    def recall_asked(self) -> bool:
        """Tell whether goods are out of the house, so that a recall has to be decided."""
        return self.deviation.cause == Cause.LEFT_ON_HOLD or bool(self._sent)

    @property
    def recall_missing(self) -> bool:
        """Tell whether a recall has to be decided, for the first time or of lots that joined since."""
        decided: Any = self.recall
        if decided is None:
            return self.recall_asked
        return any(one.since > decided.at_sequence for one in self._sent)

    @property
    def _sent(self) -> list[Affected]:
        return [one for one in self.affected if one.hold_required and one.sent > 0]

    @property
    def held(self) -> Quantity:
        """Give how much was confirmed on hold, of all its lots."""
        return total(one.held for one in self.affected)

    @property
    def disposed(self) -> Quantity:
        """Give how much was disposed of so far, of all its lots."""
        return total(one.disposed for one in self.affected)

    @property
    def left(self) -> Quantity:
        """Give how much on hold is not disposed of yet, of all its lots."""
        return total(one.left for one in self.affected)

    @property
    def is_open(self) -> bool:
        """Tell whether no reviewer has closed it."""
        return self.closure is None

    @property
    def hold_missing(self) -> bool:
        """Tell whether a hold is required somewhere and nobody has confirmed it."""
        return self.is_open and any(one.unconfirmed for one in self.affected)

    def evaluated(self, one: Affected) -> bool:
        """Tell whether the product was evaluated since a lot came under the deviation."""
        rows: list[Any] = self.evaluations
        return any(row.at_sequence > one.since for row in rows)

    def missing(self) -> list[str]:
        """List what still has to be recorded before a reviewer can close it as completed."""
        needs = [("action", not self.actions), ("cause", not self.causes)]
        concerned = [
            one for one in self.affected if not one.refused and (one.hold_required or one.hold is not None)
        ]
        if concerned:
            needs = [
                ("hold", any(one.unconfirmed for one in concerned)),
                *needs,
                ("evaluation", not all(self.evaluated(one) for one in concerned)),
                ("disposition", any(one.undecided for one in concerned)),
            ]
        needs.append(("recall", self.recall_missing))
        return [name for name, lacks in needs if lacks]


def deviations(establishment: Establishment, as_of: int | None = None) -> "QuerySet[Deviation]":
    """Give the deviations, newest first."""
    return until(Deviation.objects.of(establishment), as_of).select_related("lot").order_by("-number")


def open_deviations(establishment: Establishment, as_of: int | None = None) -> "QuerySet[Deviation]":
    """Give the deviations that no reviewer has closed."""
    closed = until(Closure._base_manager.filter(deviation=OuterRef("pk")), as_of)
    return deviations(establishment, as_of).filter(~Exists(closed))


def with_acquittal(rows: "QuerySet[Deviation]", as_of: int | None = None) -> "QuerySet[Any]":
    """Note on each deviation whether it was closed as a recording error, as `acquitted`."""
    closed = Closure._base_manager.filter(deviation=OuterRef("pk"), recording_error=True)
    return rows.annotate(acquitted=Exists(until(closed, as_of)))


def concerning(establishment: Establishment, lot: Lot, as_of: int | None = None) -> "QuerySet[Deviation]":
    """Give the deviations that concern a lot, alone or with others."""
    named = until(AffectedLot.objects.of(establishment), as_of).filter(lot=lot).values("deviation")
    return deviations(establishment, as_of).filter(Q(lot=lot) | Q(pk__in=named))


def lots_concerned(
    establishment: Establishment, chosen: Iterable[Deviation], as_of: int | None = None
) -> dict[Any, list[Lot]]:
    """Give the lots that each of several deviations concerns, in one query."""
    listed = list(chosen)
    found = {d.pk: [d.lot] if d.lot is not None else [] for d in listed}
    rows = until(AffectedLot.objects.of(establishment), as_of).filter(deviation__in=list(found))
    for row in rows.select_related("lot").order_by("entry__sequence"):
        found[row.deviation_id].append(row.lot)
    return found


def _by_deviation(rows: "QuerySet[Any]", ids: list[UUID], as_of: int | None) -> dict[Any, list[Any]]:
    found: dict[Any, list[Any]] = {}
    chosen = until(rows.filter(deviation__in=ids), as_of).annotate(at_sequence=F("entry__sequence"))
    for row in chosen.select_related("author").order_by("entry__sequence"):
        found.setdefault(row.deviation_id, []).append(row)
    return found


def states(
    establishment: Establishment, chosen: Iterable[Deviation], as_of: int | None = None
) -> list[DeviationState]:
    """Give several deviations with everything recorded about each, in a constant number of queries."""
    listed = list(chosen)
    ids = [deviation.pk for deviation in listed]
    found: dict[Any, dict[Any, list[Any]]] = {
        model: _by_deviation(model.objects.of(establishment), ids, as_of)
        for model in (
            ActionTaken,
            CalculationAttached,
            Evaluation,
            CauseFound,
            RecallDecision,
            Closure,
            FileAttached,
            HoldConfirmed,
        )
    }
    disposed = Disposition.objects.of(establishment).select_related("lot")
    found[Disposition] = _by_deviation(disposed, ids, as_of)
    named = AffectedLot.objects.of(establishment).select_related("lot__plan_version")
    found[AffectedLot] = _by_deviation(named, ids, as_of)
    lots = {deviation.lot_id for deviation in listed if deviation.lot_id is not None}
    lots |= {row.lot_id for rows in found[AffectedLot].values() for row in rows}
    facts = _facts(establishment, lots, as_of)
    refused = _refused(establishment, listed, as_of)
    return [_state(deviation, found, facts, refused) for deviation in listed]


def load_concerned(deviation: Deviation) -> UUID | None:
    """Give the load of milk that a deviation is about, by its slot: load:<uuid>:<control>:<ordinal>."""
    kind, _colon, rest = deviation.slot.partition(":")
    return UUID(rest.partition(":")[0]) if kind == "load" else None


def _refused(establishment: Establishment, listed: list[Deviation], as_of: int | None) -> set[UUID]:
    """Give those of some deviations that are about a load of milk of which nothing was taken."""
    about = {d.pk: load for d in listed if d.lot_id is None and (load := load_concerned(d)) is not None}
    if not about:
        return set()
    loads = loads_by_identity(establishment, set(about.values()), as_of)
    found = balances(establishment, loads.values(), as_of)
    gone = {identity for identity, balance in found.items() if balance.wholly_refused}
    return {pk for pk, load in about.items() if load in gone}


@dataclass(frozen=True)
class _Facts:
    sent: dict[Any, int]
    made: dict[Any, int | None]
    disposed: dict[Any, list[Disposition]]

    def of(self, lot: UUID, deviation: UUID) -> dict[str, Any]:
        others = [row for row in self.disposed.get(lot, []) if row.deviation_id != deviation]
        return {
            "sent": self.sent.get(lot, 0),
            "made": self.made.get(lot),
            "elsewhere": disposed_of(others, GONE).pieces,
        }


def _facts(establishment: Establishment, lots: set[UUID], as_of: int | None) -> _Facts:
    events = events_by_lot(establishment, lots, as_of)
    disposed: dict[Any, list[Disposition]] = defaultdict(list)
    for row in until(Disposition.objects.of(establishment), as_of).filter(lot__in=lots):
        disposed[row.lot_id].append(row)
    return _Facts(
        sent=sent_by_lot(establishment, lots, as_of),
        made={lot: found.pieces if (found := made(events.get(lot, []))) else None for lot in lots},
        disposed=disposed,
    )


def _state(
    deviation: Deviation, found: dict[Any, dict[Any, list[Any]]], facts: _Facts, refused: set[UUID]
) -> DeviationState:
    def rows(model: Any) -> list[Any]:
        return found[model].get(deviation.pk, [])

    lots = {deviation.lot_id, *(row.lot_id for row in rows(AffectedLot))} - {None}
    return DeviationState(
        deviation=deviation,
        affected=affected_by(
            deviation,
            rows(AffectedLot),
            rows(HoldConfirmed),
            rows(Disposition),
            {lot: facts.of(lot, deviation.pk) for lot in lots},
            refused=deviation.pk in refused,
        ),
        actions=rows(ActionTaken),
        evaluations=rows(Evaluation),
        dispositions=rows(Disposition),
        causes=rows(CauseFound),
        recalls=rows(RecallDecision),
        closure=next(iter(rows(Closure)), None),
        files=rows(FileAttached),
        calculations=rows(CalculationAttached),
    )


def state_of(establishment: Establishment, deviation: Deviation, as_of: int | None = None) -> DeviationState:
    """Give one deviation with everything recorded about it."""
    return states(establishment, [deviation], as_of)[0]


def open_for_slot(establishment: Establishment, slot: str) -> Deviation | None:
    """Find the open deviation of a slot."""
    return open_deviations(establishment).filter(slot=slot).first()


def open_for_control(establishment: Establishment, lot: Lot, control: str) -> Deviation | None:
    """Find an open deviation of a lot's control, whatever the slot."""
    named = AffectedLot.objects.of(establishment).filter(lot=lot).values("deviation")
    found = open_deviations(establishment).filter(control=control)
    return found.filter(Q(lot=lot) | Q(pk__in=named)).first()
