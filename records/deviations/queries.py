"""Reads about deviations; state is derived from the records, never stored as evidence."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from records.batches.queries import NOTHING, Quantity, events_by_lot, made, sent_by_lot
from records.deviations.models import (
    ActionTaken,
    CalculationAttached,
    CauseFound,
    Closure,
    Deviation,
    Disposition,
    Evaluation,
    FileAttached,
    HoldConfirmed,
    Outcome,
    RecallDecision,
)
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until
from safetyplan.integrity import canonical

OPEN_DEVIATION = "deviation"
OPEN_HOLD = "hold"


@dataclass(frozen=True)
class DeviationState:
    """A deviation with everything recorded about it."""

    deviation: Deviation
    hold: HoldConfirmed | None
    holds: list[HoldConfirmed]
    actions: list[ActionTaken]
    evaluations: list[Evaluation]
    dispositions: list[Disposition]
    causes: list[CauseFound]
    recall: RecallDecision | None
    closure: Closure | None
    files: list[FileAttached]
    calculations: list[CalculationAttached]
    sent: int = 0
    made: int | None = None

    @property
    def all_left(self) -> bool:
        """Tell whether nothing of the lot is here any more: nothing to set apart, only to call back."""
        return self.made is not None and self.sent >= self.made

    @property
    def recall_asked(self) -> bool:
        """Tell whether goods are out of the house, so that a recall has to be decided."""
        return self.deviation.cause == "left_on_hold" or (self.deviation.hold_required and self.sent > 0)

    @property
    def held(self) -> Quantity:
        """Give how much was confirmed on hold."""
        if self.hold is None:
            return NOTHING
        return Quantity(self.hold.pieces, Decimal(self.hold.mass_text or "0"))

    @property
    def disposed(self) -> Quantity:
        """Give how much was disposed of so far."""
        return disposed_of(self.dispositions, tuple(Outcome))

    @property
    def left(self) -> Quantity:
        """Give how much on hold is not disposed of yet; a hold that was not weighed has no weight left."""
        weighed = self.held.mass > 0
        return Quantity(
            self.held.pieces - self.disposed.pieces,
            self.held.mass - self.disposed.mass if weighed else Decimal(0),
        )

    @property
    def is_open(self) -> bool:
        """Tell whether no reviewer has closed it."""
        return self.closure is None

    @property
    def to_hold(self) -> bool:
        """Tell whether a hold is required and something is left here that can stand apart."""
        return self.deviation.hold_required and not self.all_left

    @property
    def hold_missing(self) -> bool:
        """Tell whether a hold is required and nobody has confirmed it."""
        return self.is_open and self.to_hold and self.hold is None

    def missing(self) -> list[str]:
        """List what still has to be recorded before a reviewer can close it as completed."""
        needs = [("action", not self.actions), ("cause", not self.causes)]
        if self.deviation.hold_required or self.hold is not None:
            needs = [
                ("hold", self.to_hold and self.hold is None),
                *needs,
                ("evaluation", not self.evaluations),
                ("disposition", self.left != NOTHING or (self.to_hold and self.hold is None)),
            ]
        if self.recall_asked:
            needs.append(("recall", self.recall is None))
        return [name for name, lacks in needs if lacks]


def lines_of(disposition: Disposition) -> list[dict[str, Any]]:
    """Give the lines of a disposition."""
    value: list[dict[str, Any]] = canonical.loads(disposition.lines.encode())
    return value


def disposed_of(dispositions: Iterable[Disposition], outcomes: Iterable[str]) -> Quantity:
    """Add up the pieces and kilograms of some outcomes."""
    wanted = {str(outcome) for outcome in outcomes}
    lines = [line for d in dispositions for line in lines_of(d) if line["outcome"] in wanted]
    return Quantity(
        sum(int(line["pieces"]) for line in lines), sum((Decimal(line["mass"]) for line in lines), Decimal(0))
    )


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


def _by_deviation(rows: "QuerySet[Any]", ids: list[UUID], as_of: int | None) -> dict[Any, list[Any]]:
    found: dict[Any, list[Any]] = {}
    chosen = until(rows.filter(deviation__in=ids), as_of).order_by("entry__sequence")
    for row in chosen.select_related("author"):
        found.setdefault(row.deviation_id, []).append(row)
    return found


def states(
    establishment: Establishment, chosen: Iterable[Deviation], as_of: int | None = None
) -> list[DeviationState]:
    """Give several deviations with everything recorded about each, in a constant number of queries."""
    listed = list(chosen)
    ids = [deviation.pk for deviation in listed]
    found = {
        model: _by_deviation(model.objects.of(establishment), ids, as_of)
        for model in (
            ActionTaken,
            CalculationAttached,
            Evaluation,
            Disposition,
            CauseFound,
            RecallDecision,
            Closure,
            FileAttached,
            HoldConfirmed,
        )
    }
    lots = {deviation.lot_id for deviation in listed if deviation.lot_id is not None}
    sent = sent_by_lot(establishment, lots, as_of)
    events = events_by_lot(establishment, lots, as_of)
    return [
        replace(
            _state(deviation, found),
            sent=sent.get(deviation.lot_id, 0),
            made=quantity.pieces if (quantity := made(events.get(deviation.lot_id, []))) else None,
        )
        for deviation in listed
    ]


def _state(deviation: Deviation, found: dict[Any, dict[Any, list[Any]]]) -> DeviationState:
    def rows(model: Any) -> list[Any]:
        return found[model].get(deviation.pk, [])

    holds = rows(HoldConfirmed)
    replaced = {hold.supersedes_id for hold in holds}
    present = [hold for hold in holds if hold.pk not in replaced]
    return DeviationState(
        deviation=deviation,
        hold=present[-1] if present else None,
        holds=holds,
        actions=rows(ActionTaken),
        evaluations=rows(Evaluation),
        dispositions=rows(Disposition),
        causes=rows(CauseFound),
        recall=next(iter(rows(RecallDecision)), None),
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


def open_for_control(establishment: Establishment, lot: Any, control: str) -> Deviation | None:
    """Find an open deviation of a lot's control, whatever the slot."""
    return open_deviations(establishment).filter(lot=lot, control=control).first()
