"""The lots that a reading of a shared thing outside its limit reaches: one deviation names them all.

They are named when the reading is recorded or corrected, and again when a use is recorded later. A reading
once outside the limit counts as outside, corrected or voided, until its deviation is closed as a recording
error: a correction never launders.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _

from records.batches.details import rows_of
from records.batches.models import Dispatch, Lot, LotEvent
from records.batches.queries import OPEN_LOT
from records.checks.again import judged_again
from records.checks.due import GOOD
from records.checks.models import Reading
from records.checks.places import controls_of, point_at
from records.checks.runs import Run, Seen, runs
from records.deviations.models import Cause, Deviation
from records.deviations.queries import deviations, states, with_acquittal
from records.deviations.services import add_affected_lot, open_deviation
from records.things.models import ThingUse
from records.things.queries import Life, life_of, uses_between, uses_of_lot
from safetyplan.calculation.judgement import State
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.models import OpenItem
from safetyplan.plans.parts import EACH
from safetyplan.plans.queries import versions

HOLDING = ("ccp", "oprp")
"""Ranks of the controls whose miss holds product."""
FIRST_STEP = timedelta(days=14)


def readings_between(
    establishment: Establishment, life: Life, control: str, first: date, last: date
) -> list[Reading]:
    """Give the readings of a thing's check whose slots lie from one day to another, corrected ones too."""
    prefix = f"thing:{life.id}:{control}:"
    rows = Reading.objects.of(establishment).filter(
        slot__gte=f"{prefix}{first.isoformat()}", slot__lt=f"{prefix}{(last + timedelta(days=1)).isoformat()}"
    )
    return list(rows.select_related("plan_version", "author").order_by("entry__sequence"))


def seen_of(
    establishment: Establishment, rows: Sequence[Reading], doubted: Collection[Any] = ()
) -> list[Seen]:
    """Give what readings show, each chain of corrections once, by its worst version unless acquitted.

    Those `doubted`, by their keys, show no control whatever they say.
    """
    again = judged_again(establishment, [row.pk for row in rows])
    opened = with_acquittal(deviations(establishment).filter(slot__in={row.slot for row in rows}))
    acquitted: dict[str, bool] = {}
    for deviation in opened:
        acquitted[deviation.slot] = acquitted.get(deviation.slot, True) and deviation.acquitted
    found = []
    for chain in _chains(rows):
        judged = [(row, _state(row, again)) for row in chain if not row.voided]
        outside = [row for row, state in judged if state == State.OUTSIDE_LIMIT]
        newest = chain[-1]
        if outside and not acquitted.get(newest.slot, False):
            found.append(Seen(outside[-1].observed_at, False, newest.slot, outside[-1]))
        elif newest.pk in doubted:
            found.append(Seen(newest.observed_at, False, newest.slot, newest))
        elif not newest.voided and judged[-1][1] in GOOD:
            found.append(Seen(newest.observed_at, True, newest.slot, newest))
    return found


def _state(row: Reading, again: Any) -> State:
    later = again.get(row.pk)
    return State(later[-1].state if later else row.state)


def _chains(rows: Sequence[Reading]) -> list[list[Reading]]:
    after = {row.supersedes_id: row for row in rows if row.supersedes_id}
    chains = [[row] for row in rows if row.supersedes_id is None]
    for chain in chains:
        while chain[-1].pk in after:
            chain.append(after[chain[-1].pk])
    return chains


def runs_about(
    establishment: Establishment,
    life: Life,
    control: str,
    start: datetime,
    end: datetime,
    doubted: Collection[Any] = (),
) -> list[Run]:
    """Give the runs of a thing's check that touch a time; looks as far to both sides as it has to."""
    zone, now = zone_of(establishment), clock.now(establishment)
    oldest, newest = life.begun_at.astimezone(zone).date(), now.astimezone(zone).date()
    step = FIRST_STEP
    while True:
        first = max((start - step).astimezone(zone).date(), oldest) - timedelta(days=1)
        last = min((end + step).astimezone(zone).date(), newest) + timedelta(days=1)
        rows = readings_between(establishment, life, control, first, last)
        sides = _by_point(establishment, rows, seen_of(establishment, rows, doubted))
        begins = first < oldest or all(any(one.good and one.at < start for one in side) for side in sides)
        ends = last > newest or all(any(one.good and one.at > end for one in side) for side in sides)
        if begins and ends:
            return [run for side in sides for run in runs(life.begun_at, side) if run.touches(start, end)]
        step *= 4


def _by_point(
    establishment: Establishment, rows: Sequence[Reading], seen: Sequence[Seen]
) -> list[list[Seen]]:
    """Give what was seen at each point of a thing: control at one point shows nothing of another.

    A bad reading speaks for its point, and for every one that its plan does not have; one that names no point
    for all of them. A good one speaks for its point; for another one only where it took that one's place (no
    plan has both), or came after the last plan that had that one: else its doubt would never end.
    """
    controls = controls_of(establishment, rows)
    points = {row.pk: point_at(row, controls[row.pk]) for row in rows}
    asked = {row.pk: control.points if (control := controls[row.pk]) else () for row in rows}
    beside: dict[str, set[str]] = defaultdict(set)
    last: dict[str, datetime] = {}
    for row in rows:
        for point in asked[row.pk]:
            beside[point] |= {*asked[row.pk]}
            last[point] = max(last.get(point, row.observed_at), row.observed_at)

    def speaks(one: Seen, point: str) -> bool:
        own, others = points[one.reading.pk], asked[one.reading.pk]
        if own == point:
            return True
        if not one.good:
            return not own or point not in others
        return point not in others and (own not in beside[point] or one.at > last[point])

    return [[one for one in seen if speaks(one, point)] for point in sorted(beside)] or [list(seen)]


def lots_of(establishment: Establishment, life: Life, run: Run) -> list[Lot]:
    """Give the lots that used a thing in a run, without those that had wholly left before it began."""
    end = run.until or clock.now(establishment)
    found = {use.lot_id: use.lot for use in uses_between(establishment, life, run.since, end)}
    gone = _left_before(establishment, list(found), run.since)
    return [lot for key, lot in found.items() if key not in gone]


def _left_before(establishment: Establishment, lots: list[Any], at: datetime) -> set[Any]:
    """Name the lots of which nothing is here and that left before an instant: nobody ended their use."""
    here = set(
        OpenItem.objects.of(establishment).filter(what=OPEN_LOT, lot__in=lots).values_list("lot", flat=True)
    )
    last: dict[Any, datetime] = {}
    for lot, left_at in Dispatch.objects.of(establishment).filter(lot__in=lots).values_list("lot", "left_at"):
        last[lot] = max(last.get(lot, left_at), left_at)
    return {lot for lot in lots if lot not in here and lot in last and last[lot] < at}


def name_lots(
    establishment: Establishment,
    by: Person,
    life: Life,
    controls: Iterable[str],
    start: datetime,
    end: datetime | None = None,
) -> list[Deviation]:
    """Let every run that touches a time have a deviation with all its lots; give what changed."""
    found = []
    for control in controls:
        for run in runs_about(establishment, life, control, start, end or start):
            found += open_run(establishment, by, life, run)
    return found


def holding_controls(establishment: Establishment, kind: str) -> list[str]:
    """Give the codes of the checks of a kind of thing whose miss holds product, by any plan version."""
    plans = [version.plan() for version in versions(establishment)]
    found = [c.code for plan in plans for c in plan.controls if c.when.each == kind and c.rank in HOLDING]
    return list(dict.fromkeys(found))


def reach_of_use(establishment: Establishment, by: Person, life: Life, use: ThingUse) -> list[Deviation]:
    """Name the lot of a use in the misses its time falls into; give the deviations that changed."""
    controls = holding_controls(establishment, life.kind)
    return name_lots(establishment, by, life, controls, *time_of(establishment, life, use))


def time_of(establishment: Establishment, life: Life, use: ThingUse) -> tuple[datetime, datetime]:
    """Give the time of a use; one that was not ended goes on."""
    end = use.until_at or life.ended_at or clock.now(establishment)
    return use.from_at, max(use.from_at, end)


def uses_told(establishment: Establishment, event: LotEvent) -> Iterator[tuple[Life, ThingUse]]:
    """Give the uses of a lot where an event tells that it used a shared thing."""
    if not any(row.get("of") in EACH for row in rows_of(event)):
        return
    for use in uses_of_lot(establishment, event.lot_id):
        life = life_of(establishment, use.thing_id)
        assert life is not None
        yield life, use


def open_run(
    establishment: Establishment, by: Person, life: Life, run: Run, cause: Cause | None = None
) -> list[Deviation]:
    """Open the deviation of a run, or name further lots in it; with a cause, another one is opened."""
    lots = lots_of(establishment, life, run)
    opened = with_acquittal(deviations(establishment).filter(slot__in=run.slots)).order_by("number")
    present = [] if cause is not None else [d for d in opened if not d.acquitted]
    if not present:
        return [_open(establishment, by, life, run, lots, cause)]
    told = states(establishment, present)
    missing = [lot for lot in lots if all(state.of(lot) is None for state in told)]
    if not missing:
        return []
    still_open = next((state.deviation for state in told if state.is_open), None)
    if still_open is None:
        return [_open(establishment, by, life, run, missing, cause)]
    for lot in missing:
        add_affected_lot(
            establishment=establishment,
            by=by,
            deviation=still_open,
            lot=lot,
            why=words(establishment, life, run, run.bad[-1].reading),
        )
    return [still_open]


def _open(
    establishment: Establishment,
    by: Person,
    life: Life,
    run: Run,
    lots: Sequence[Lot],
    cause: Cause | None,
) -> Deviation:
    reading: Reading = run.bad[-1].reading
    plan, said = reading.plan_version.plan(), words(establishment, life, run, reading)
    return open_deviation(
        establishment=establishment,
        by=by,
        cause=cause or Cause.OUTSIDE_LIMIT,
        plan=plan,
        control=plan.control(reading.control),
        slot=reading.slot,
        lots=lots,
        why_lots=said,
        reading_id=reading.pk,
        description=said,
        limit_words=reading.limit_words,
    )


def words(establishment: Establishment, life: Life, run: Run, reading: Reading) -> str:
    """Say what was found, and since when nothing is known of the thing."""
    since = run.since.astimezone(zone_of(establishment))
    return _("%(thing)s: %(said)s Every lot that used it since %(since)s is concerned.") % {
        "thing": life.title,
        "said": reading.sentence_text,
        "since": f"{since:%Y-%m-%d %H:%M}",
    }
