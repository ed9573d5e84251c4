"""Rows of the tables on the lot's and the day's page: checks, readings, events."""

from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.checks.due import SlotState, Status
from records.checks.models import Reading
from records.checks.not_now import awaited_name
from records.inspection.door import load_code
from records.inspection.history import (
    EventLine,
    ReadingLine,
    event_notes,
    reading_notes,
)
from records.inspection.limits import split
from records.inspection.tables import slot_notes
from records.inspection.telling import Teller
from records.inspection.words import control_words, due_words, event_details, value_parts
from safetyplan.establishments.access import WRITERS
from safetyplan.establishments.models import Role

Rows = list[dict[str, Any]]
NO_LOADS: Mapping[UUID, str] = MappingProxyType({})
BADGES = {
    Status.WAITING: "not_yet_due",
    Status.LATER: "not_yet_due",
    Status.DUE: "due",
    Status.OVERDUE: "overdue",
    Status.MISSING: "not_shown",
    Status.EXPLAINED: "explained",
    Status.BY_EXCEPTION: "by_exception",
}


def badge(state: SlotState) -> tuple[str, str]:
    """Give the state code of a check and, where the usual word does not fit, its word."""
    if state.status == Status.RECORDED:
        return str(state.result or ""), ""
    words = {Status.WAITING: _("Waits for its event"), Status.MISSING: _("Missing")}
    return BADGES[state.status], words.get(state.status, "")


def check_rows(
    teller: Teller, slug: str, states: Sequence[SlotState], roles: Collection[str], own: Collection[str] = ()
) -> Rows:
    """Give the checks that are or were due, each with where it stands and what can be done about it."""
    rows = []
    for state in states:
        code, word = badge(state)
        rows.append(
            {
                "due": due_words(teller, state),
                "control": control_words(state),
                "ccp": state.slot.control.is_ccp,
                "lot": state.lot,
                "load": state.load,
                "about": state.thing.title if state.thing else "",
                "point": state.slot.point,
                "limit": short_limit(state),
                "state": code,
                "word": word,
                "values": [shown_value(teller, reading) for reading in state.effective],
                "notes": slot_notes(teller, state, own, with_deviations=False),
                "deviations": state.deviations,
                "links": _check_links(slug, state, roles),
            }
        )
    return rows


def shown_value(teller: Teller, reading: Reading) -> str:
    """Give what was read; of a check with several parts, the sentence that sums it up."""
    parts = value_parts(teller, reading)
    return parts[0] if len(parts) == 1 else reading.sentence_text


def short_limit(state: SlotState) -> str:
    """Give the limit itself in words; the target where there is no limit."""
    critical, aside = split(state.slot.control)
    return " ".join(critical or aside[:1])


def _check_links(slug: str, state: SlotState, roles: Collection[str]) -> list[tuple[str, str]]:
    links = []
    maker = Role.MAKER in roles
    if maker and state.status in (Status.DUE, Status.OVERDUE, Status.MISSING):
        links.append((reverse("capture", args=[slug, state.slot.id]), _("Record")))
    if maker and state.status == Status.WAITING and state.lot is not None:
        url = reverse("lot_event", args=[slug, state.lot.pk, state.slot.waits_for])
        links.append((url, _("Record: %(event)s") % {"event": awaited_name(state, state.lot)}))
    explainable = state.status == Status.MISSING and not state.slot.control.is_ccp
    if explainable and set(roles) & set(WRITERS):
        links.append((reverse("check_explain", args=[slug, state.slot.id]), _("Explain why not")))
    return links


def reading_rows(
    teller: Teller, slug: str, lines: Sequence[ReadingLine], codes: Mapping[UUID, str] = NO_LOADS
) -> Rows:
    """Give the readings, each with its history; a corrected or void one is struck.

    codes: the numbers of the loads of milk, by identity.
    """
    return [
        {
            "url": reverse("reading", args=[slug, line.row.pk]),
            "observed": teller.time(line.row.observed_at),
            "recorded": teller.time(line.row.recorded_at),
            "check": f"{line.row.control} {line.row.control_name}",
            "lot": line.row.lot,
            "load": load_code(line.row, codes),
            "place": line.beside.place,
            "values": value_parts(teller, line.row),
            "struck": line.later is not None,
            "mark": _mark(line),
            "state": line.state,
            "sentence": line.sentence,
            "who": teller.initials(line.row.author_id),
            "notes": reading_notes(teller, line),
        }
        for line in lines
    ]


def _mark(line: ReadingLine) -> str:
    if line.later is not None:
        return "void" if line.voided else "corrected"
    return "late" if line.row.late else ""


def event_rows(teller: Teller, slug: str, lines: Sequence[EventLine], roles: Collection[str]) -> Rows:
    """Give the events, each with its history and, for makers, the link to correct it."""
    return [
        {
            "happened": teller.time(line.row.observed_at),
            "recorded": teller.time(line.row.recorded_at),
            "name": line.row.event_name,
            "lot": line.row.lot,
            "details": event_details(line.row.details),
            "struck": line.struck,
            "void": line.void is not None,
            "late": line.row.late,
            "who": teller.initials(line.row.author_id),
            "notes": event_notes(teller, line),
            "correct": reverse("event_correct", args=[slug, line.row.pk])
            if Role.MAKER in roles and not line.struck
            else "",
            "void_url": reverse("event_void", args=[slug, line.row.pk])
            if Role.MAKER in roles and not line.struck
            else "",
        }
        for line in lines
    ]


def start_row(teller: Teller, lot: Lot, *, own: bool = False) -> dict[str, Any]:
    """Give a lot's start as the first of its events."""
    notes = [_("self-reviewed")] if own else []
    if lot.late_reason:
        notes.append(_("late: %(why)s") % {"why": lot.late_reason})
    milk = f"{lot.milk_text} {lot.milk_unit}".strip()
    return {
        "happened": teller.time(lot.started_at),
        "recorded": teller.time(lot.recorded_at),
        "name": _("Lot started"),
        "lot": lot,
        "details": [text for text in (lot.vat, milk) if text],
        "struck": False,
        "late": bool(lot.late_reason),
        "who": teller.initials(lot.author_id),
        "notes": notes,
        "correct": "",
    }
