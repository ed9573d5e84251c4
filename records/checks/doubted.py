"""The lots of a shared thing whose reading a failed instrument took: they are named as after a miss.

A reading that is not valid shows nothing. Every lot that used the thing between the readings within the
limit around it belongs to the deviation of the failed check, also one whose use is recorded later.
"""

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.checks import reach
from records.checks.again import with_acquittal
from records.checks.models import Reading, RejudgedByInstrument
from records.checks.slots import parse_slot
from records.deviations.models import Deviation
from records.deviations.queries import open_deviations, state_of
from records.deviations.services import name_lot
from records.things.models import ThingUse
from records.things.queries import Life, life_of
from safetyplan.calculation.judgement import State
from safetyplan.establishments.models import Establishment, Person


def lots_of_things(establishment: Establishment, readings: Iterable[Reading]) -> dict[UUID, Lot]:
    """Give the lots that used the things of readings that are not valid, in the time these leave open."""
    groups: dict[tuple[UUID, str], list[Reading]] = {}
    for reading in readings:
        thing = parse_slot(reading.slot).thing
        if thing is not None:
            groups.setdefault((thing, reading.control), []).append(reading)
    found: dict[UUID, Lot] = {}
    for (thing, control), rows in groups.items():
        life = life_of(establishment, thing)
        assert life is not None
        times = [row.observed_at for row in rows]
        doubted = {row.pk for row in rows}
        for run in _runs(establishment, life, control, min(times), max(times), doubted):
            found |= {lot.pk: lot for lot in reach.lots_of(establishment, life, run)}
    return found


def reach_of_use(establishment: Establishment, by: Person, life: Life, use: ThingUse) -> list[Deviation]:
    """Name the lot of a use in everything its time falls into; give the deviations that changed."""
    found = reach.reach_of_use(establishment, by, life, use)
    start, end = reach.time_of(establishment, life, use)
    for (control, home), keys in _not_valid(establishment, life).items():
        if not _runs(establishment, life, control, start, end, keys):
            continue
        if state_of(establishment, home).of(use.lot) is None:
            why = _("It used %(thing)s, which was checked with an instrument that failed its check.")
            name_lot(establishment, by, home, use.lot, why % {"thing": life.title}, hold_required=True)
            found.append(home)
    return found


def reach_of_event(establishment: Establishment, by: Person, event: LotEvent) -> list[Deviation]:
    """Name a lot where an event tells that it used a shared thing, at once or by its correction."""
    found: dict[Any, Deviation] = {}
    for life, use in reach.uses_told(establishment, event):
        found |= {one.pk: one for one in reach_of_use(establishment, by, life, use)}
    return list(found.values())


def _runs(
    establishment: Establishment,
    life: Life,
    control: str,
    start: datetime,
    end: datetime,
    doubted: Collection[Any],
) -> Sequence[Any]:
    runs = reach.runs_about(establishment, life, control, start, end, doubted)
    return [run for run in runs if any(seen.reading.pk in doubted for seen in run.bad)]


def _not_valid(establishment: Establishment, life: Life) -> dict[tuple[str, Deviation], set[UUID]]:
    """Give the readings of a thing that are not valid, by check and by the open deviation they are in."""
    rows = RejudgedByInstrument.objects.of(establishment).filter(
        state=State.INSTRUMENT_NOT_VALID,
        deviation__in=open_deviations(establishment),
        reading__slot__startswith=f"thing:{life.id}:",
        reading__rank__in=reach.HOLDING,
    )
    found: dict[tuple[str, Deviation], set[UUID]] = {}
    for row in with_acquittal(rows).filter(acquitted=False).select_related("reading", "deviation"):
        assert row.deviation is not None
        found.setdefault((row.reading.control, row.deviation), set()).add(row.reading_id)
    return found
