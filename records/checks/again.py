"""Later judgements of readings: after a corrected event or receipt, by a later plan, a failed instrument."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, OuterRef, QuerySet

from records.checks.models import (
    Reading,
    Rejudged,
    RejudgedByBirth,
    RejudgedByInstrument,
    RejudgedByPlan,
    RejudgedByReceipt,
)
from records.deviations.models import Closure
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until

Again = Rejudged | RejudgedByPlan | RejudgedByInstrument | RejudgedByReceipt | RejudgedByBirth


def judged_again(
    establishment: Establishment, readings: Iterable[UUID], as_of: int | None = None
) -> dict[Any, list[Again]]:
    """Give every later judgement of some readings, by reading, in the order in which they were made."""
    ids = list(readings)
    events = _of(Rejudged.objects.of(establishment), ids, as_of).select_related("author", "event")
    plans = _of(RejudgedByPlan.objects.of(establishment), ids, as_of)
    plans = plans.select_related("author", "applied__plan_version").defer("applied__plan_version__text")
    failed = with_acquittal(_of(RejudgedByInstrument.objects.of(establishment), ids, as_of), as_of)
    failed = failed.select_related("author", "deviation", "failed__instrument")
    receipts = _of(RejudgedByReceipt.objects.of(establishment), ids, as_of).select_related("author")
    births = _of(RejudgedByBirth.objects.of(establishment), ids, as_of).select_related("author")
    found: dict[Any, list[Again]] = defaultdict(list)
    for row in sorted((*events, *plans, *failed, *receipts, *births), key=lambda row: row.at_sequence):
        found[row.reading_id].append(row)
    return found


def _of(rows: "QuerySet[Any]", ids: list[UUID], as_of: int | None) -> "QuerySet[Any]":
    chosen: QuerySet[Any] = until(rows, as_of).filter(reading__in=ids)
    ordered: QuerySet[Any] = chosen.annotate(at_sequence=F("entry__sequence"))
    return ordered


def with_acquittal(rows: "QuerySet[Any]", as_of: int | None = None) -> "QuerySet[Any]":
    """Note on each judgement by a failed instrument whether it was closed as an error, as `acquitted`."""
    closings = Closure._base_manager.filter(establishment=OuterRef("establishment"))
    closed = closings.filter(deviation=OuterRef("deviation"), recording_error=True)
    noted: QuerySet[Any] = rows.annotate(acquitted=Exists(until(closed, as_of)))
    return noted


def stands(again: Again) -> bool:
    """Tell whether a later judgement counts: not one by a check of an instrument shown to be an error."""
    return not getattr(again, "acquitted", False)


def not_valid(again: Sequence[Again]) -> bool:
    """Tell whether a reading is not valid by a failed check of its instrument that stands."""
    return any(isinstance(row, RejudgedByInstrument) and stands(row) for row in again)


def result_of(reading: Reading, again: Sequence[Again]) -> str:
    """Give the result of a reading apart from its instrument: the newest by an event or a plan version."""
    by_limit = [row for row in again if not isinstance(row, RejudgedByInstrument)]
    return str(by_limit[-1].state) if by_limit else reading.state


def standing(reading: Reading, again: Sequence[Again]) -> Again | None:
    """Give the later judgement that a reading stands by; None where the first one stands.

    While a failed check makes its instrument not valid, no other judgement counts: neither a corrected event
    nor a later plan makes it valid again.
    """
    counted = [row for row in again if stands(row)]
    by_instrument = [row for row in counted if isinstance(row, RejudgedByInstrument)]
    chosen = by_instrument or counted
    return chosen[-1] if chosen else None


def state_of(reading: Reading, again: Sequence[Again]) -> str:
    """Give the result of a reading as it stands now."""
    row = standing(reading, again)
    return str(row.state) if row is not None else reading.state


def sentence_of(reading: Reading, again: Sequence[Again]) -> str:
    """Give what is said of a reading as it stands now."""
    row = standing(reading, again)
    return str(row.sentence_text) if row is not None else reading.sentence_text


def slots_answered(establishment: Establishment, deviations: Iterable[UUID]) -> set[str]:
    """Give the checks whose readings a failed instrument made not valid, by the deviations of that."""
    rows = RejudgedByInstrument.objects.of(establishment).filter(deviation__in=list(deviations))
    return set(rows.values_list("reading__slot", flat=True))
