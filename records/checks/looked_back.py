"""Reads about look-backs: the readings of each, what they would have been, and the checks around them."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, OuterRef
from django.utils.translation import gettext_lazy

from records.checks.again import with_acquittal
from records.checks.judging import kept_parts
from records.checks.models import Reading, RejudgedByInstrument
from records.instruments.models import InstrumentCheck
from records.instruments.queries import register_of
from safetyplan.calculation.rounding import amount
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until

Row = Any  # a judgement with what the query notes on it
RANKS = {
    "ccp": gettext_lazy("Critical control points"),
    "oprp": gettext_lazy("Operational prerequisites"),
    "prp": gettext_lazy("Other prerequisites"),
}


def read_words(reading: Reading) -> str:
    """Write the numbers that were read."""
    parts = [part for part in kept_parts(reading) if part["entry"] == "number"]
    return ", ".join(amount(part["value"], part["unit"]) for part in parts)


def by_rank(rows: Iterable[Any]) -> list[tuple[str, list[Any]]]:
    """Put the judgements of a look-back apart: critical control points first, each class with its words."""
    found: dict[str, list[Any]] = {rank: [] for rank in RANKS}
    for row in rows:
        found[row.reading.rank].append(row)
    return [(str(RANKS[rank]), chosen) for rank, chosen in found.items() if chosen]


def recomputed_words(row: RejudgedByInstrument) -> str:
    """Write the recomputed numbers of a reading; '' where nothing could be recomputed."""
    return ", ".join(value["shown"] for value in row.values())


def readings_of(
    establishment: Establishment, deviations: Iterable[UUID], as_of: int | None = None
) -> dict[Any, list[Any]]:
    """Give the judgements by a failed instrument of each of several deviations, in the order of time.

    `replaced` on a row tells that its reading was corrected or voided since.
    """
    of_place = Reading._base_manager.filter(establishment=OuterRef("establishment"))
    later = until(of_place.filter(supersedes=OuterRef("reading")), as_of)
    rows = until(RejudgedByInstrument.objects.of(establishment), as_of).filter(deviation__in=list(deviations))
    rows = with_acquittal(rows, as_of).annotate(at_sequence=F("entry__sequence"), replaced=Exists(later))
    found: dict[Any, list[Any]] = defaultdict(list)
    rows = rows.select_related("reading__lot", "reading__author", "failed__instrument")
    for row in rows.order_by("reading__observed_at", "at_sequence"):
        found[row.deviation_id].append(row)
    return found


def checks_around(
    establishment: Establishment, rows: Sequence[Any], as_of: int | None = None
) -> list[InstrumentCheck]:
    """Give every check of the instruments of a look-back, as they were entered, corrected ones too.

    What was entered after the failure stands among them as evidence: it changes no judgement.
    """
    register = register_of(establishment, as_of)
    keys = {key for row in rows for key in register.keys(row.failed.instrument_id)}
    found = until(InstrumentCheck.objects.of(establishment), as_of).filter(instrument__in=keys)
    first = min((row.reading.observed_at for row in rows), default=None)
    chosen = list(found.select_related("instrument", "author").order_by("checked_at", "entry__sequence"))
    if first is None:
        return chosen
    earlier = [check for check in chosen if check.checked_at < first][-1:]
    return [*earlier, *(check for check in chosen if check.checked_at >= first)]
