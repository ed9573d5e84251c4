"""A blank sheet for one check of the plan: limits printed, room to write by hand, entered later.

For a day without power, or beside a vat where no phone goes. What is written on it is the record until
somebody enters it; the sheet is then kept with the name of who entered it.
"""

from dataclasses import replace

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.inspection.frame import Frame
from records.inspection.plan_words import (
    actions_words,
    control_name,
    lines,
    step_words,
    unit_symbol,
)
from safetyplan.calculation.limits.shape import Part, events_of
from safetyplan.plans.described import ControlWords, control_words, event_words
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.parts import STARTED, Control, Plan
from safetyplan.printing.document import (
    Block,
    Cell,
    Column,
    Document,
    Grid,
    Heading,
    KeepTogether,
    Row,
    Sideways,
    SignatureBox,
)
from safetyplan.printing.render import page_count
from safetyplan.words import name_words, render, sentence_case

ROW_HEIGHT = 9.0
"""Millimetres: room for handwriting with a wet hand."""
UPRIGHT_PARTS = 3
MOST_PARTS = 10
LEAST_ROWS, MOST_ROWS = 6, 40
EACH_HEADS = {
    "brine": gettext_lazy("Brine"),
    "preparation": gettext_lazy("Preparation"),
    "room": gettext_lazy("Room"),
    "vat": gettext_lazy("Vat"),
}


def document(frame: Frame, version: PlanApproved, code: str) -> Document:
    """Compose the blank sheet of a control, with as many rows as its last page holds.

    Where it is measured at several points, each has its row, once or several times over.
    """
    plan = version.plan()
    control = plan.control(code)
    assert control is not None
    step = len(control.points) or 1
    least = -(-LEAST_ROWS // step) * step
    made = _sheet(frame, version, control, least)
    pages = page_count(made)
    for rows in range(least + step, MOST_ROWS + 1, step):
        fuller = _sheet(frame, version, control, rows)
        if page_count(fuller) > pages:
            break
        made = fuller
    return made


def _sheet(frame: Frame, version: PlanApproved, control: Control, rows: int) -> Document:
    plan = version.plan()
    head = frame.head(_("Monitoring: %(name)s") % {"name": control_name(control)}, version)
    head = replace(head, form_number=f"{plan.form_number} / {control.code}")
    parts = _values(plan, control)
    chunks = [parts[start : start + MOST_PARTS] for start in range(0, len(parts), MOST_PARTS)]
    grids = [
        block
        for number, chunk in enumerate(chunks)
        for block in _table(control, chunk, rows, first=number == 0, last=number == len(chunks) - 1)
    ]
    blocks: list[Block] = [*_told(plan, control), *grids, *_signed(frame)]
    inner: tuple[Block, ...] = tuple(blocks)
    if len(parts) > UPRIGHT_PARTS:
        inner = (Sideways(inner),)
    return Document(head, frame.foot(), inner, frame.paper, frame.language)


def _values(plan: Plan, control: Control) -> list[Column]:
    """The columns to write values in: events the limit counts from, then each part with its unit."""
    counted = [event for event in events_of(control.limit) if event != STARTED]
    events = [Column(event_words(plan, control, event), _("date and time"), share=13) for event in counted]
    parts = [_part_column(part) for part in control.limit.parts()]
    return [*events, *(parts or [Column(control.what, share=14)])]


def _part_column(part: Part) -> Column:
    how = {
        "number": unit_symbol(part.unit) if part.unit else "",
        "time": _("time"),
        "date": _("date"),
        "moment": _("date and time"),
        "choice": " / ".join(name_words(option) for option in part.options),
    }.get(part.entry, "")
    words = sentence_case(render(part.label))
    return Column(words, "" if how == words else how, share=13.5 if part.entry == "number" else 10)


def _table(control: Control, values: list[Column], rows: int, *, first: bool, last: bool) -> list[Block]:
    columns = [Column(_("No."), share=6)]
    if first:
        columns += [Column(_("Date"), share=11), Column(_("Time"), share=9)]
        columns += _subject(control)
    columns += values
    if last:
        columns += [
            Column(_("Instrument"), share=11.5),
            Column(_("Initials"), share=9),
            *([Column(_("Photo"), _("taken"), share=8)] if control.photo else []),
            Column(_("Result against the limit"), _("within / outside"), share=12),
            Column(_("Action taken"), share=17),
        ]
    at = next((n for n, column in enumerate(columns) if column.title == _("Point")), 0)
    cells = [_row(control, number, len(columns), at) for number in range(rows)]
    grid = Grid(tuple(columns), tuple(cells), row_height=ROW_HEIGHT)
    return [grid] if first else [Heading(_("The same checks, continued"), 2), grid]


def _subject(control: Control) -> list[Column]:
    """What a line is about: a lot, a load of milk, a shared thing, a point."""
    if control.of_lot:
        return [Column(_("Lot"), share=12)]
    if control.of_load:
        return [Column(_("Load of milk"), _("number, from whom"), share=14)]
    thing = [Column(str(EACH_HEADS[control.when.each]), share=12)] if control.of_thing else []
    return [*thing, *([Column(_("Point"), share=15)] if control.points else [])]


def _row(control: Control, number: int, width: int, at: int) -> Row:
    """One line to write on: its number, and the point printed in its column where there are points."""
    texts = [""] * width
    if at:
        texts[at] = control.points[number % len(control.points)]
    texts[0] = str(number + 1)
    return Row(tuple(Cell(text) for text in texts))


def _told(plan: Plan, control: Control) -> list[Block]:
    """What stands above the table: the limit, how it is checked, what to do when it is missed."""
    words = control_words(plan, control)
    step = step_words(plan, control.products, control.step) if control.step else ""
    where = ", ".join(control.products) or (_("every load") if control.of_load else _("whole site"))
    columns = (
        Column(words.rank, share=18),
        Column(_("Limits and targets"), share=34),
        Column(_("What and how"), share=26),
        Column(_("When and who"), share=26),
        Column(_("When the limit is missed"), share=34),
    )
    cells = (
        Cell(lines(control_name(control), step, where), strong=True),
        Cell(lines(*words.limits, *words.targets, *words.tolerances), strong=True),
        Cell(lines(control.what, control.how, control.instrument)),
        Cell(lines(*words.when, control.who, *_recorded(words))),
        Cell(actions_words(control)),
    )
    return [Grid(columns, (Row(cells),), ruled=True, size=7.5)]


def _recorded(words: ControlWords) -> list[str]:
    """How it is recorded, as far as a person with a pen needs it; the points stand in the lines."""
    return words.recorded[1:] if words.control.points else words.recorded


def _signed(frame: Frame) -> list[Block]:
    """Whose initials, who reviewed, who entered it later: all to be written by hand."""
    names = (_("Initials"), _("Printed name"))
    columns = tuple(Column(name, share=8 if name == names[0] else 25) for name in names * 2)
    key = Grid(columns, (Row(tuple(Cell("") for _column in columns)),) * 2, row_height=ROW_HEIGHT)
    return [
        key,
        SignatureBox(_("Reviewed by: every value stands against its limit, every miss has its action")),
        SignatureBox(_("Entered later into the records, by")),
        KeepTogether((frame.caution(),)),
    ]
