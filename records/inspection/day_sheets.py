"""Blank sheets for a whole day: everything that will be due, to be filled in by hand and entered later.

One sheet for each group of checks, each with a number of its own: the number of the print and that of the
sheet. Lots stand with the times that their events have set; a lot, load or wash that is not begun yet has
lines without times.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime

from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.batches.queries import lots
from records.checks.due import SlotState, Status, day_states, lot_states, thing_states
from records.inspection.frame import Frame
from records.inspection.plan_words import control_name, unit_symbol
from records.inspection.rows import short_limit
from records.inspection.words import control_words
from records.signoff.groups import groups, subject
from records.signoff.queries import lots_of_day
from safetyplan.calculation.limits.shape import Part
from safetyplan.establishments.localtime import day_bounds
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.parts import Control, Plan, Product
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
    PageBreak,
    Row,
    SignatureBox,
    Text,
)
from safetyplan.words import name_words, render, sentence_case

ROW_HEIGHT = 11.0
"""Millimetres: room for handwriting with a wet hand."""
LOADS = 3
Lines = list[Row]


def sheet_number(issue: int, sheet: int) -> str:
    """Write the number of a sheet: that of its print, and which sheet of it."""
    return f"{issue}-{sheet}"


def document(frame: Frame, day: date) -> Document:
    """Compose the blank sheets of a day."""
    _start, end = day_bounds(frame.clock, day)
    frame.focus = day  # times of the day itself need no date
    version = in_force(frame.establishment, end, frame.as_of)
    blocks: list[Block] = []
    for number, (title, grid) in enumerate(_sheets(frame, day, version), start=1):
        if blocks:
            blocks.append(PageBreak())
        blocks += _sheet(frame, sheet_number(frame.issue.number, number), day, title, grid)
    if not blocks:
        blocks.append(Text(_("Nothing will be due on this day: there is no plan yet, or no check of it.")))
    blocks.append(KeepTogether((frame.caution(),)))
    head = frame.head(_("Blank sheets for %(day)s") % {"day": day.isoformat()}, version)
    return Document(head, frame.foot(), tuple(blocks), frame.paper, frame.language)


def due_on(frame: Frame, day: date) -> list[SlotState]:
    """Give what will be due on a day, as if it were one of production."""
    start, end = day_bounds(frame.clock, day)
    now, place = frame.issue.recorded_at, frame.establishment
    found = day_states(place, day, frame.clock, now, frame.as_of, production=True)
    found += thing_states(place, day, frame.clock, now, frame.as_of, production=True)
    chosen = {lot.pk: lot for lot in [*lots_of_day(place, start, end, frame.as_of), *_open(frame)]}
    for of_lot in lot_states(place, list(chosen.values()), now, frame.as_of).values():
        found += [s for s in of_lot if _falls_on(s, start, end)]
    open_ones = [s for s in found if s.status not in (Status.RECORDED, Status.EXPLAINED, Status.BY_EXCEPTION)]
    return sorted(open_ones, key=lambda s: (s.slot.due_at or s.slot.closes_at or end, s.slot.id))


def _open(frame: Frame) -> list[Lot]:
    """Give the newest lots: their checks may wait for an event that comes on the day."""
    return list(lots(frame.establishment, frame.as_of)[:20])


def _falls_on(state: SlotState, start: datetime, end: datetime) -> bool:
    at = state.slot.due_at
    if at is None:
        return state.slot.closes_at is not None and state.slot.closes_at >= start
    return start <= at < end


def _sheets(frame: Frame, day: date, version: PlanApproved | None) -> Iterator[tuple[str, Lines]]:
    for group in groups(due_on(frame, day), frame.clock):
        yield group.title, [_line(frame, state) for state in group.states]
    if version is None:
        return
    plan = version.plan()
    loads = [control for control in plan.controls if control.of_load]
    if loads:
        yield _("Milk received"), [_blank(control, _("load")) for _n in range(LOADS) for control in loads]
    for product in plan.products:
        lines = [*_events(product), *_of_product(plan, product)]
        yield _("A new lot: %(code)s %(name)s") % {"code": product.code, "name": product.name}, lines


def _of_product(plan: Plan, product: Product) -> list[Row]:
    fitting = [c for c in plan.controls if c.of_lot and product.code in c.products]
    return [_blank(control, _("lot")) for control in fitting]


def _events(product: Product) -> list[Row]:
    """Give a line for each event of a lot, with what is to be written of it."""
    return [
        _row("", event.name, "", "\n".join(f"{detail.label}:" for detail in event.details))
        for event in product.events
    ]


def _line(frame: Frame, state: SlotState) -> Row:
    due = frame.time(state.slot.due_at) if state.slot.due_at else ""
    if not due:
        due = _("after %(event)s") % {"event": name_words(state.slot.waits_for)}
    about = subject(state)
    name = control_words(state) + (f"\n{about}" if about else "")
    return _row(due, name, short_limit(state), _values(state.slot.control))


def _blank(control: Control, what: str) -> Row:
    words = _("%(what)s:") % {"what": what}
    return _row("", f"{control_name(control)}\n{words}", "", _values(control))


def _row(due: str, name: str, limit: str, values: str) -> Row:
    return Row(
        (Cell(due), Cell(name, strong=True), Cell(limit), Cell(values), *(Cell("") for _n in range(3)))
    )


def _values(control: Control) -> str:
    """Say what to write: each part with its unit; a check by exception may be ticked as seen."""
    lines = [_part(part) for part in control.limit.parts()]
    if control.by_exception and not control.is_ccp:
        lines.insert(0, _("☐ seen, in order"))
    return "\n".join(lines)


def _part(part: Part) -> str:
    unit = unit_symbol(part.unit) if part.unit else ""
    if part.entry == "choice":
        unit = " / ".join(name_words(option) for option in part.options)
    name = sentence_case(render(part.label))
    return f"{name} ({unit}):" if unit and unit.casefold() != name.casefold() else f"{name}:"


def _sheet(frame: Frame, number: str, day: date, title: str, rows: Sequence[Row]) -> list[Block]:
    numbered = tuple(Row((Cell(str(n)), *row.cells)) for n, row in enumerate(rows, start=1))
    columns = (
        Column(_("No."), share=5),
        Column(_("Due"), share=12),
        Column(_("Check"), share=24),
        Column(_("Limit"), share=22),
        Column(_("Value"), share=26),
        Column(_("Time"), share=10),
        Column(_("Initials"), share=9),
        Column(_("Action taken, note"), share=20),
    )
    return [
        Heading(title, 1),
        Facts(((_("Sheet number"), number), (_("Day"), day.isoformat()))),
        Grid(columns, numbered, row_height=ROW_HEIGHT, ruled=True),
        SignatureBox(_("Entered later into the records, by")),
    ]
