"""The curve of a lot's value that must be reached by an elapsed time, as one scene for page and paper."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.batches.queries import first_times
from records.checks.judging import kept_parts
from records.checks.models import Reading
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.plans.models import PlanApproved
from safetyplan.printing.chart import Scene
from safetyplan.printing.curve import Words, curve_scene


def standing(rows: Sequence[Reading]) -> list[Reading]:
    """Give the readings that were neither corrected nor voided."""
    replaced = {row.supersedes_id for row in rows}
    return [row for row in rows if row.pk not in replaced and not row.voided]


def lot_curve(
    lot: Lot, readings: Sequence[Reading], events: Sequence[LotEvent], version: PlanApproved | None = None
) -> Scene | None:
    """Draw the measured points of a lot against its limits; None when there is nothing to draw.

    events: those that stand. version: the one the lot follows, where it is not the one it began with.
    """
    plan = (version or lot.plan_version).plan()
    limits = [
        c.limit for c in plan.controls if isinstance(c.limit, ReachedBy) and lot.product_code in c.products
    ]
    times = first_times(events)
    if not limits or limits[0].event not in times:
        return None
    start = times[limits[0].event]
    points = sorted(
        ((r.observed_at - start).total_seconds() / 3600, float(part["value"]))
        for r in standing(readings)
        for part in kept_parts(r)
        if part["name"] == limits[0].part and part["entry"] == "number" and r.observed_at >= start
    )
    due = [point for limit in limits for point in limit.due]
    words = Words(
        x_label=_("hours after %(event)s") % {"event": limits[0].event.replace("_", " ")},
        y_label="pH" if limits[0].part == "ph" else limits[0].part,
        trace=_("measured"),
        limit=_("limit"),
        target=_("target"),
        nothing=_("no readings yet"),
    )
    return curve_scene(
        points,
        [(float(p.hours), float(p.limit)) for p in due if p.limit is not None],
        [(float(p.hours), float(p.target)) for p in due if p.target is not None],
        words,
    )
