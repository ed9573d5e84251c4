"""The lines of a filled sheet on which something happened to a lot: one for each event of the day's lots.

Like the lines of checks: those in order are stored at once, one that is refused stays as it was typed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import groupby
from typing import Any, cast
from uuid import UUID, uuid5

from django.db import IntegrityError
from django.http import HttpRequest
from django.utils.translation import gettext as _

from records.batches.details import dose_name, has_dose
from records.batches.models import Lot
from records.batches.queries import effective_events, version_of
from records.checks.models import PaperSheet
from records.checks.paper import Entered, WrittenEvent, enter_event, moment_of
from records.inspection.plan_words import unit_symbol
from records.inspection.telling import Teller
from records.signoff.queries import lots_of_day
from safetyplan.establishments.localtime import day_bounds
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import canonical
from safetyplan.integrity.form_claims import already_recorded, form_uuid, session_claim
from safetyplan.integrity.form_refusals import Typed, taking_offers
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.document import Event

DAY_AND_TIME = {"on_time": "on_time", "observed_at": "on_time"}


TIMES = 4  # lines for something that may happen several times in a day


@dataclass(frozen=True)
class EventRow:
    """One line: an event of a lot that may stand on the sheet, and what was typed for it.

    again: counts the further lines of an event that repeats.
    """

    lot: Lot
    event: Event
    typed: Typed
    refusal: Refused | None = None
    again: int = 0

    @property
    def key(self) -> str:
        """Name the line in the form."""
        further = f":{self.again}" if self.again else ""
        return f"{self.lot.pk}:{self.event.code}{further}"

    def text(self, name: str, default: str = "") -> str:
        """Give what was typed in a field of the line."""
        return self.typed.get(f"{name}:{self.key}", default)

    def detail(self, name: str) -> str:
        """Give what was typed of a detail."""
        return self.text(f"d_{name}")

    @property
    def fields(self) -> list[tuple[str, str, Any]]:
        """Give the fields of what the plan asks: name, label, detail."""
        found = []
        for detail in self.event.details:
            found.append((detail.name, detail.label, detail))
            if has_dose(detail):
                found.append((dose_name(detail), _("%(name)s, dose") % {"name": detail.label}, detail))
        return found

    @property
    def filled(self) -> bool:
        """Tell whether anything was typed but the day and the initials."""
        details = [self.detail(name) for name, _label, _detail in self.fields]
        return any(text.strip() for text in [self.text("time"), *details])


def rows_of(establishment: Establishment, sheet: PaperSheet, teller: Teller, typed: Typed) -> list[EventRow]:
    """Give an event line for each event that the plans of the day's lots know and that is not recorded."""
    start, end = day_bounds(teller.clock, sheet.day)
    lots = [lot for lot in lots_of_day(establishment, start, end, None) if lot.started_at < end]
    done = {(e.lot_id, e.event) for e in effective_events(establishment, [lot.pk for lot in lots])}
    rows = []
    for lot in sorted(lots, key=lambda one: one.started_at):
        for event in version_of(establishment, lot).plan().product(lot.product_code).events:
            times = range(TIMES if event.repeats else 1)
            lines = [EventRow(lot, event, typed, again=again) for again in times]
            if (lot.pk, event.code) not in done or event.repeats or lines[0].filled:
                rows += lines
    return rows


def enter(
    request: HttpRequest, establishment: Establishment, sheet: PaperSheet, rows: Sequence[EventRow]
) -> tuple[list[Entered], list[EventRow]]:
    """Record the lines that were filled in; give those stored, and the lines that are left.

    A line is stored once; one of an event that repeats may be used again for another time of the day.
    """
    stored, left = list[Entered](), list[EventRow]()
    for _key, lines in groupby(rows, key=lambda row: (row.lot.pk, row.event.code)):
        of_event = list(lines)
        refused = _enter_in_order(request, establishment, sheet, of_event, stored)
        for row in of_event:
            if row.again in refused:
                left.append(replace(row, refusal=refused[row.again]))
            elif not row.filled:
                left.append(row)
            elif row.event.repeats:
                left.append(replace(row, typed={}))
    return stored, left


def _enter_in_order(
    request: HttpRequest,
    establishment: Establishment,
    sheet: PaperSheet,
    rows: Sequence[EventRow],
    stored: list[Entered],
) -> dict[int, Refused]:
    """Record the lines of one event by their time; after one that is refused the later ones wait for it.

    They could not be followed by it: what was recorded once is not recorded again at an earlier time.
    """
    refused = dict[int, Refused]()
    for row in sorted((row for row in rows if row.filled), key=lambda row: _when(establishment, sheet, row)):
        if refused:
            refused[row.again] = Refused(_("Not stored yet: first put the earlier line of the same right."))
            continue
        try:
            stored += _once(request, establishment, sheet, row)
        except Refused as refusal:
            refused[row.again] = refusal
    return refused


def _when(establishment: Establishment, sheet: PaperSheet, row: EventRow) -> datetime:
    """Give the time of a line, to put several in order; one that cannot be read comes first."""
    day, time, picked = row.text("date", sheet.day.isoformat()), row.text("time"), row.text("offer_on_time")
    fold = picked if picked in ("0", "1") else "0"
    try:
        return moment_of(establishment, WrittenEvent(row.event.code, day, time, "", fold=fold))
    except Refused:
        return datetime.min.replace(tzinfo=UTC)


def _once(
    request: HttpRequest, establishment: Establishment, sheet: PaperSheet, row: EventRow
) -> list[Entered]:
    """Record a line unless this form recorded it already; another one that says the same is refused."""
    uuid = uuid5(form_uuid(request), f"{row.key} {row.text('date')} {row.text('time').strip()}")
    if already_recorded(establishment, uuid):
        return []
    try:
        _refuse_alike(establishment, sheet, row)
        return [_enter(request, establishment, sheet, row, uuid)]
    except (IntegrityError, Refused):
        if already_recorded(establishment, uuid):  # its twin was faster
            return []
        raise


def _refuse_alike(establishment: Establishment, sheet: PaperSheet, row: EventRow) -> None:
    """Refuse a line that says what another line of the sheet says, of which there is a record."""
    when = _when(establishment, sheet, row)
    same_time = effective_events(establishment, [row.lot.pk]).filter(event=row.event.code, observed_at=when)
    typed = {f"d_{name}": row.detail(name).strip() for name, _label, _detail in row.fields}
    for event in same_time:
        said = (canonical.loads(event.claim_text.encode()) if event.claim_text else {}).get("content", {})
        of_sheet = said.get("sheet") == sheet.number and said.get("typed", {})
        if of_sheet and typed == {name: of_sheet.get(name, "").strip() for name in typed}:
            raise BadInput(_("Another line says the same: it has its record."), part="on_time")


def _enter(
    request: HttpRequest, establishment: Establishment, sheet: PaperSheet, row: EventRow, uuid: UUID
) -> Entered:
    names = [name for name, _label, _detail in row.fields]

    def act(said: Typed) -> Entered:
        details = [
            {"name": n, "raw": said[n], "unit": "", "confirmed": bool(said.get(f"{n}_sure"))}
            for n in names
            if said[n].strip()
        ]
        written = WrittenEvent(
            event=row.event.code,
            on_date=row.text("date", sheet.day.isoformat()),
            on_time=row.text("time"),
            initials=row.text("who"),
            details=details,
            fold=said.get("on_time_fold", ""),
        )
        return enter_event(
            establishment=establishment,
            by=cast(Person, request.user),
            sheet=sheet,
            lot=row.lot,
            written=written,
            claim=_claim(request, establishment, sheet, row, uuid),
        )

    said = {name: row.detail(name) for name in names}
    offers = {f"{name}_offer": row.text(f"offer_{name}") for name in [*names, "on_time"]}
    units = {name: detail.unit for name, _label, detail in row.fields if detail.unit}
    return taking_offers({**said, **offers}, act, fields=DAY_AND_TIME, units=units)


def _claim(
    request: HttpRequest, establishment: Establishment, sheet: PaperSheet, row: EventRow, uuid: UUID
) -> Claim:
    """Make the claim of one line: what was typed, by whom, from which sheet."""
    names = ["date", "time", "who", *(f"d_{name}" for name, _label, _detail in row.fields)]
    said = {
        "sheet": sheet.number,
        "photo": sheet.sha256,
        "lot": str(row.lot.pk),
        "event": row.event.code,
        "typed": {name: clean(row.text(name), most=500) for name in names},
    }
    return session_claim(request, establishment, "paper_event", uuid, said)


def shown(rows: Sequence[EventRow], sheet: PaperSheet) -> list[dict[str, Any]]:
    """Give what the screen shows of the lines; the further ones of an event stand folded under its first."""
    lines: list[dict[str, Any]] = []
    for row in rows:
        line = _shown(row, sheet)
        if row.again:
            first = lines[-1]
            first["more"].append(line)
            first["open"] = first["open"] or row.filled or row.refusal is not None
        else:
            lines.append({**line, "more": [], "open": False})
    return lines


def _shown(row: EventRow, sheet: PaperSheet) -> dict[str, Any]:
    refusal = row.refusal
    part = DAY_AND_TIME.get(refusal.part, refusal.part) if refusal else ""
    offers = refusal.offers if refusal else []
    return {
        "key": row.key,
        "name": row.event.name,
        "lot": row.lot.code,
        "fields": [
            {
                "name": f"d_{name}",
                "label": label,
                "unit": unit_symbol(detail.unit) if detail.unit and detail.unit != "count" else "",
                "options": detail.options if name == detail.name else (),
                "number": detail.entry == "number" or name != detail.name,
                "typed": row.detail(name),
            }
            for name, label, detail in row.fields
        ],
        "date": row.text("date", sheet.day.isoformat()),
        "time": row.text("time"),
        "who": row.text("who"),
        "message": refusal.message if refusal else "",
        "offers": [
            {"label": offer["label"], "name": f"offer_{part}", "value": at} for at, offer in enumerate(offers)
        ],
    }
