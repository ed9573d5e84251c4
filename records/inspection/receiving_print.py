"""The receiving log of a day or a month on paper."""

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import UUID

from django.utils.translation import gettext as _

from records.checks.due import load_states
from records.inspection.door import door_lines
from records.inspection.frame import Frame
from records.inspection.history import reading_lines
from records.inspection.limits import judged_by, limit_grid
from records.inspection.tables import door_grid, reading_grid
from records.receiving.known import known
from records.receiving.models import MilkLoad
from records.receiving.queries import MilkBalance, balances, loads_between
from records.signoff.door import door_between
from safetyplan.calculation.rounding import amount, trim
from safetyplan.establishments.localtime import LocalTime
from safetyplan.plans.queries import in_force
from safetyplan.printing.document import (
    Block,
    Cell,
    Column,
    Document,
    Facts,
    Grid,
    Heading,
    KeepTogether,
    Row,
    Text,
)

MONTH = re.compile(r"[0-9]{4}-[0-9]{2}")


def period_of(subject: str) -> tuple[date, date]:
    """Give the first day of a period and the day after its last: of "2026-05" or of "2026-05-14".

    Raises ValueError for anything else.
    """
    if not MONTH.fullmatch(subject):
        day = date.fromisoformat(subject)
        return day, day + timedelta(days=1)
    first = date.fromisoformat(f"{subject}-01")
    return first, (first + timedelta(days=32)).replace(day=1)


def document(frame: Frame, subject: str) -> Document:
    """Compose the receiving log of a period."""
    first, after = period_of(subject)
    start, end = _instants(frame.clock, first, after)
    place, as_of = frame.establishment, frame.as_of
    near = replace(frame, focus=first) if after - first == timedelta(days=1) else frame
    door = door_between(place, start, end, as_of)
    about = known(place, as_of)
    loads = loads_between(place, start, end, as_of)
    codes = {**door.codes, **{load.identity: load.code for load in loads}}
    found = load_states(place, loads, frame.issue.recorded_at, as_of)
    states = [state for of_load in found.values() for state in of_load]
    readings = [reading for state in states for reading in state.readings]
    left = balances(place, loads, as_of)
    blocks: list[Block] = [
        Facts(_facts(loads, left, first, after)),
        Heading(_("Received, refused, used"), 1),
        door_grid(near, door_lines(near, door, about)) if door.records() else Text(_("None.")),
        Heading(_("Where the milk is"), 1),
        _balance_grid(loads, left),
        Heading(_("Limits"), 1),
        limit_grid(judged_by(states, readings)),
        Heading(_("Readings"), 1),
        reading_grid(near, reading_lines(place, readings, as_of, beside=frame.beside(readings)), codes),
        KeepTogether((Heading(_("Who is who"), 2), near.key(), frame.caution())),
    ]
    title = _("Receiving log %(period)s") % {"period": subject}
    head = frame.head(title, in_force(place, end, as_of))
    return Document(head, frame.foot(), tuple(blocks), frame.paper, frame.language)


def _instants(clock: LocalTime, first: date, after: date) -> tuple[datetime, datetime]:
    midnight = datetime.min.time()
    return clock.instant(first, midnight), clock.instant(after, midnight)


def _facts(
    loads: list[MilkLoad], left: dict[UUID, MilkBalance], first: date, after: date
) -> tuple[tuple[str, str], ...]:
    refused = [load.code for load in loads if left[load.identity].refused > 0]
    return (
        (_("From"), first.isoformat()),
        (_("To"), (after - timedelta(days=1)).isoformat()),
        (_("Loads of milk"), str(len(loads))),
        (_("Refused, wholly or in part"), ", ".join(refused) or _("none")),
    )


def _balance_grid(loads: list[MilkLoad], left: dict[UUID, MilkBalance]) -> Grid:
    columns = (
        Column(_("Load"), share=20),
        Column(_("Received"), share=20),
        Column(_("Used in lots"), share=20),
        Column(_("Refused"), share=20),
        Column(_("Left"), share=20),
    )
    rows = []
    for load in loads:
        found = left[load.identity]
        values = (found.received, found.used, found.refused, found.left)
        cells = (Cell(load.code, strong=True), *(Cell(amount(trim(v), found.unit)) for v in values))
        rows.append(Row(cells))
    return Grid(columns, tuple(rows))
