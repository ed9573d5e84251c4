"""The page of a day: everything due, done, late, missing, corrected, outside; and its signatures."""

import hashlib
from collections.abc import Collection
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from records.checks.due import SlotState, Status
from records.deviations.page import missing_words, summary
from records.deviations.queries import states
from records.inspection.beside import beside_of
from records.inspection.door import door_lines, door_rows
from records.inspection.history import event_lines, reading_lines
from records.inspection.photo_lines import gallery
from records.inspection.rows import check_rows, event_rows, reading_rows, start_row
from records.inspection.telling import Teller, on_screen
from records.inspection.words import control_words, due_words
from records.receiving.known import known
from records.signoff.further import Told, by_group
from records.signoff.groups import groups, subject
from records.signoff.queries import DaySheet, day_sheet, self_reviewed
from safetyplan.establishments.access import WRITERS
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import details_of
from safetyplan.integrity import canonical, clock

NOTHING = "not_yet_due"


def sheet_of(establishment: Establishment, day: date, teller: Teller) -> DaySheet:
    """Compose the sheet of a day as things stand."""
    return day_sheet(establishment, day, teller.clock, clock.now(establishment))


def fingerprint(sheet: DaySheet) -> str:
    """Name what a reviewer has seen of a day: its records and deviations."""
    seen = [sheet.record_ids(), sorted(str(deviation.pk) for deviation in sheet.deviations)]
    return hashlib.sha256(canonical.dumps(seen)).hexdigest()[:32]


def day_state(sheet: DaySheet) -> tuple[str, str]:
    """Give the state code of a day and, where the usual word does not fit, its word."""
    if sheet.newest is not None:
        return ("needs_signing_again", "") if sheet.needs_signing_again else ("signed", "")
    if not sheet.states and not sheet.records() and sheet.no_production is None:
        return NOTHING, _("Nothing due, nothing recorded")
    return "unsigned", ""


def _readings(establishment: Establishment, teller: Teller, sheet: DaySheet, own: set[str]) -> Any:
    beside = beside_of(establishment, sheet.readings, clock=teller.clock)
    lines = reading_lines(establishment, sheet.readings, own=own, beside=beside)
    return reading_rows(teller, establishment.slug, lines, sheet.door.codes)


def day_context(
    establishment: Establishment, day: date, person: Person, roles: Collection[str]
) -> dict[str, Any]:
    """Give everything the page shows of a day."""
    teller = on_screen(establishment)
    teller.focus = day
    sheet = sheet_of(establishment, day, teller)
    own = self_reviewed(establishment, {day})
    slug, today = establishment.slug, teller.day(sheet.now)
    code, word = day_state(sheet)
    return {
        "day": day,
        "sheet": sheet,
        "state": code,
        "word": word,
        "changes": changes_since(sheet),
        "gaps": gaps(teller, slug, sheet, roles),
        "groups": [
            {"group": group, "checks": check_rows(teller, slug, group.states, roles, own)}
            for group in groups(sheet.states, teller.clock)
        ],
        "further": [
            {"title": title, "rows": [further_row(teller, one) for one in found]}
            for _code, title, found in by_group(sheet.further)
        ],
        "readings": _readings(establishment, teller, sheet, own),
        "door": door_rows(teller, slug, door_lines(teller, sheet.door, known(establishment))),
        "events": [
            *(start_row(teller, lot, own=str(lot.pk) in own) for lot in sheet.lots),
            *event_rows(teller, slug, event_lines(establishment, sheet.events, own=own), roles),
        ],
        "gallery": gallery(teller, [*sheet.readings, *sheet.events]),
        "deviations": _deviations(establishment, sheet),
        "signatures": _signatures(teller, sheet),
        "mine": _mine(establishment, sheet, person),
        "key": teller.key_rows(),
        "seen": fingerprint(sheet),
        "yesterday": day - timedelta(days=1),
        "tomorrow": day + timedelta(days=1) if day < today else None,
        "may_sign": Role.REVIEWER in roles and day <= today and code in ("unsigned", "needs_signing_again"),
        "may_note": bool(set(roles) & set(WRITERS)) and not sheet.lots and sheet.no_production is None,
    }


def further_row(teller: Teller, one: Told) -> dict[str, Any]:
    """Give one record of the day that is neither a check nor an event of a lot."""
    return {
        "at": teller.time(one.at),
        "title": one.title,
        "details": one.details,
        "late": one.late,
        "voided": one.voided,
        "who": teller.initials(one.row.author_id),
    }


def gaps(teller: Teller, slug: str, sheet: DaySheet, roles: Collection[str]) -> list[dict[str, Any]]:
    """List what is missing, kind by kind; a kind without any is listed too, so nothing is left unsaid."""
    missed = [s for s in sheet.states if s.status == Status.MISSING and s.slot.control.is_ccp]
    deviating = [s for s in missed if s.covered]
    listed = (
        (_("Still due"), sheet.still_due(), "due"),
        (_("Neither recorded nor explained"), sheet.unexplained(), "not_shown"),
        (
            _("Critical, not recorded, without a deviation yet"),
            sheet.open_gaps(),
            "not_shown",
        ),
        (_("Not recorded, with a deviation"), deviating, "open"),
    )
    return [
        {
            "title": title,
            "state": state,
            "items": [_gap(teller, slug, s, roles) for s in found],
        }
        for title, found, state in listed
    ]


def _gap(teller: Teller, slug: str, state: SlotState, roles: Collection[str]) -> dict[str, Any]:
    row = check_rows(teller, slug, [state], roles)[0]
    about = f" · {subject(state)}" if subject(state) else ""
    return {**row, "text": f"{due_words(teller, state)} {control_words(state)}{about}"}


def changes_since(sheet: DaySheet) -> list[str]:
    """Say what changed since the newest signature."""
    if sheet.newest is None or not sheet.needs_signing_again:
        return []
    signed: Any = canonical.loads(sheet.newest.expected.encode())
    before = {item["slot"]: item for item in signed}
    now = {item["slot"]: item for item in sheet.expected()}
    controls = {item["slot"]: item["control"] for item in (*before.values(), *now.values())}
    said = []
    for slot in sorted(set(before) | set(now), key=str):
        if before.get(slot) == now.get(slot):
            continue
        if slot not in now:
            said.append(_("%(check)s is no longer due on this day.") % {"check": controls[slot]})
        elif slot not in before:
            said.append(_("%(check)s is now due on this day.") % {"check": controls[slot]})
        else:
            said.append(_("%(check)s stands differently now.") % {"check": controls[slot]})
    covered: Any = canonical.loads(sheet.newest.records.encode())
    new = len(set(sheet.record_ids()) - set(covered))
    if new:
        said.append(_("Records made since the signature: %(count)d.") % {"count": new})
    return said


def _deviations(establishment: Establishment, sheet: DaySheet) -> list[dict[str, Any]]:
    return [
        {
            "pk": state.deviation.pk,
            "number": state.deviation.number,
            "description": state.deviation.description,
            "summary": summary(state),
            "missing": missing_words(state.missing()) if state.is_open else [],
            "lots": [lot.code for lot in state.lots],
        }
        for state in states(establishment, sheet.deviations)
    ]


def _signatures(teller: Teller, sheet: DaySheet) -> list[dict[str, Any]]:
    replaced = {row.supersedes_id for row in sheet.signed}
    return [
        {
            "row": row,
            "at": teller.moment(row.recorded_at),
            "count": _length(row.records),
            "own": _length(row.self_reviewed),
            "replaced": row.pk in replaced,
        }
        for row in sheet.signed
    ]


def _length(text: str) -> int:
    value = canonical.loads(text.encode())
    assert isinstance(value, list)
    return len(value)


def _mine(establishment: Establishment, sheet: DaySheet, person: Person) -> dict[str, Any]:
    """Tell which records are the reader's own and what that means for a signature."""
    details = details_of(establishment)
    return {
        "count": sum(1 for row in sheet.records() if row.author_id == person.pk),
        "all": len(sheet.records()),
        "allowed": details.self_review_allowed,
        "reason": details.self_review_reason,
    }
