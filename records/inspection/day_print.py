"""The record of a day on paper."""

from dataclasses import replace
from datetime import date

from django.utils.translation import gettext as _

from records.checks.due import SlotState
from records.deviations.queries import states
from records.inspection.deviation_print import deviation_blocks
from records.inspection.door import door_lines
from records.inspection.frame import Frame
from records.inspection.history import event_lines, reading_lines
from records.inspection.limits import judged_by, limit_grid
from records.inspection.photo_lines import photo_blocks
from records.inspection.signoff_print import day_blocks
from records.inspection.tables import door_grid, event_grid, reading_grid, slot_grid
from records.inspection.telling import joined
from records.receiving.known import known
from records.signoff.further import Told, by_group
from records.signoff.groups import Group, groups
from records.signoff.queries import DaySheet, day_sheet, self_reviewed
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


def document(frame: Frame, day: date) -> Document:
    """Compose the whole record of a day."""
    sheet = day_sheet(frame.establishment, day, frame.clock, frame.issue.recorded_at, frame.as_of)
    version = in_force(frame.establishment, sheet.end, frame.as_of)
    own = self_reviewed(frame.establishment, {day}, frame.as_of)
    blocks: list[Block] = [
        *_first(sheet),
        *_checks(frame, sheet, own),
        *photo_blocks(replace(frame, focus=day), [*sheet.readings, *sheet.events], frame.as_of),
        *_deviations(frame, sheet),
        *day_blocks(frame, sheet),
        KeepTogether((Heading(_("Who is who"), 2), frame.key(), frame.caution())),
    ]
    title = _("Day record %(day)s") % {"day": day.isoformat()}
    head = frame.head(title, version, self_reviewed=bool(own))
    return Document(head, frame.foot(), tuple(blocks), frame.paper, frame.language)


def _first(sheet: DaySheet) -> list[Block]:
    signed = _("signed")
    if sheet.newest is None:
        signed = _("NOT SIGNED")
    elif sheet.needs_signing_again:
        signed = _("NEEDS SIGNING AGAIN")
    started = ", ".join(lot.code for lot in sheet.lots) or _("none")
    if sheet.no_production is not None:
        started = _("no production: %(why)s") % {"why": sheet.no_production.reason or "–"}
    gaps = sheet.unexplained() + sheet.open_gaps()
    return [
        Facts(
            (
                (_("Day"), sheet.day.isoformat()),
                (_("Signature"), signed),
                (_("Lots started"), started),
                (_("Readings"), str(sum(1 for row in sheet.readings if not row.voided))),
                (_("Not recorded, not explained"), _listed(gaps)),
                (_("Still due when printed"), _listed(sheet.still_due())),
            )
        )
    ]


def _listed(states: list[SlotState]) -> str:
    return ", ".join(f"{s.slot.control.code} {s.slot.control.name}" for s in states) or _("none")


def _checks(frame: Frame, sheet: DaySheet, own: set[str]) -> list[Block]:
    place, near = frame.establishment, replace(frame, focus=sheet.day)
    readings = reading_lines(place, sheet.readings, frame.as_of, own, beside=frame.beside(sheet.readings))
    events = event_lines(place, sheet.events, frame.as_of, own)
    return [
        Heading(_("Limits"), 1),
        limit_grid(judged_by(sheet.states, sheet.readings)),
        Heading(_("Checks of the day"), 1),
        *(block for group in groups(sheet.states, frame.clock) for block in _group(near, group, own)),
        Heading(_("Readings"), 1),
        reading_grid(near, readings, sheet.door.codes),
        Heading(_("Events"), 1),
        event_grid(near, sheet.lots, events, own),
        Heading(_("Received and put right"), 1),
        door_grid(near, door_lines(near, sheet.door, known(place, frame.as_of))),
        *(block for _code, title, rows in by_group(sheet.further) for block in _further(near, title, rows)),
    ]


def _group(frame: Frame, group: Group, own: set[str]) -> list[Block]:
    return [Heading(group.title, 2), slot_grid(frame, group.states, own)]


def _further(frame: Frame, title: str, rows: list[Told]) -> list[Block]:
    """Give the records of a day that are neither checks nor events of a lot."""
    columns = (
        Column(_("Time"), share=12),
        Column(_("What"), share=20),
        Column(_("Details"), share=60),
        Column(_("By"), share=7),
    )
    cells = tuple(
        Row(
            (
                Cell(frame.time(one.at)),
                Cell(one.title, strong=not one.voided),
                Cell(joined(one.details), struck=one.voided),
                Cell(frame.initials(one.row.author_id)),
            ),
            "late" if one.late else "",
        )
        for one in rows
    )
    return [Heading(title, 1), Grid(columns, cells)]


def _deviations(frame: Frame, sheet: DaySheet) -> list[Block]:
    blocks: list[Block] = [Heading(_("Deviations"), 1)]
    found = states(frame.establishment, sheet.deviations, frame.as_of)
    for state in found:
        blocks += deviation_blocks(frame, state)
    if not found:
        blocks.append(Text(_("None.")))
    return blocks
