"""Sheets filled in by hand and entered later: the sheet with its photo, then each line as a record.

The author of a record is who types it in; the person who measured stands on the line, with the initials as
on the sheet. The time is the one on the sheet. What happened to a lot is entered in the same way. A critical
check entered after its window keeps its deviation: the photo goes to it as evidence, and somebody else
closes it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.batches.services import EventContent
from records.checks.events import record_lot_event
from records.checks.kinds import PAPER_LINE, PAPER_SHEET
from records.checks.models import PaperLine, PaperSheet
from records.checks.receipts import Taken, take_load
from records.checks.rounds import RoundContent, confirm_round
from records.checks.services import ReadingContent, record_reading
from records.deviations.files import attach_file
from records.deviations.models import Deviation, FileAttached
from records.photos.services import take_photo
from records.receiving.models import MilkLoad
from records.receiving.services import LoadContent
from safetyplan.calculation.times import FIRST_YEAR, parse_local
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Membership, Person, Role
from safetyplan.establishments.queries import memberships, until, zone_of
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.files import checked_file, keep_file, shown_name
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import StoredFile
from safetyplan.integrity.pictures import Picture, read_picture
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import clean, in_words

FAR_BACK = timedelta(days=365)
PDF = "application/pdf"
OF_EVENT, OF_LOAD = "event:", "load:"  # what the slot of a line begins with that is no check


@dataclass(frozen=True)
class Written:
    """One line as it stands on the sheet, typed in.

    on_date, on_time: as written, local. seen: ticked as seen and in order, in a row that may be confirmed so.
    """

    slot: str
    on_date: str
    on_time: str
    initials: str
    parts: Sequence[Mapping[str, Any]] = ()
    seen: bool = False
    fold: str = ""


@dataclass(frozen=True)
class WrittenEvent:
    """What happened to a lot as it stands on the sheet, typed in; on_date, on_time as written, local."""

    event: str
    on_date: str
    on_time: str
    initials: str
    details: Sequence[Mapping[str, Any]] = ()
    fold: str = ""


@dataclass(frozen=True)
class Entered:
    """A line that was stored, and the deviation that it opened or belongs to."""

    line: PaperLine
    deviation: Deviation | None


def from_sheet(sheet: PaperSheet) -> str:
    """Say where a record comes from, as the reason of its lateness."""
    return _("from paper sheet no. %(number)s") % {"number": sheet.number}


def keep_sheet(
    *,
    establishment: Establishment,
    by: Person,
    number: str,
    day: date,
    name: str,
    content: bytes,
    note: str = "",
    claim: Claim | None = None,
) -> PaperSheet:
    """Keep the photo or scan of a sheet that was filled in by hand; its lines are entered afterwards."""
    require_role(establishment, by, Role.MAKER)
    tidy = clean(number, most=30, part="number")
    if not tidy:
        raise BadInput(_("Give the number printed on the sheet."), part="number")
    today = clock.now(establishment).astimezone(zone_of(establishment)).date()
    if day > today or day < today - FAR_BACK or day.year < FIRST_YEAR:
        raise BadInput(_("This is not a day whose sheet can be entered now."), part="day")
    shown, picture = _shown(name, content)
    with transaction.atomic():
        ledger.lock(establishment)
        if PaperSheet.objects.of(establishment).filter(number=tidy).exists():
            raise BadInput(_("A sheet with this number was entered already."), part="number")
        row = PaperSheet(
            number=tidy,
            day=day,
            name=shown,
            media_type="image/jpeg" if picture else PDF,
            size=len(picture.content if picture else content),
            sha256=keep_file(establishment, picture.content if picture else content),
            note=clean(note, part="note"),
        )
        ledger.append(kind=PAPER_SHEET, row=row, establishment=establishment, author=by, claim=claim)
        if picture:
            at = clock.now(establishment)
            take_photo(
                establishment=establishment, by=by, about=row.pk, picture=picture, name=shown, taken_at=at
            )
    return row


def _shown(name: str, content: bytes) -> tuple[str, Picture | None]:
    """Give the name of a sheet's file, and its photo written anew; a scan as PDF is kept as it is."""
    if content.startswith(b"%PDF-") and checked_file(content) == PDF:
        return shown_name(name), None
    try:
        picture = read_picture(content)
    except BadInput as refusal:
        raise BadInput(refusal.message, part="file") from refusal
    return f"{shown_name(name).rsplit('.', 1)[0][:190]}.jpg", picture


def who_measured(establishment: Establishment, initials: str) -> Membership:
    """Find the person whose initials stand on a line, also one who no longer works here."""
    tidy = clean(initials, most=6, part="initials").casefold()
    if not tidy:
        raise BadInput(_("Whose initials stand on the line?"), part="initials")
    found = [m for m in memberships(establishment) if m.initials.casefold() == tidy]
    if not found:
        raise BadInput(_("Nobody here has these initials."), part="initials")
    if len(found) > 1:
        raise BadInput(
            _("Several people have these initials: enter this line by the check itself."), part="initials"
        )
    return found[0]


def enter_line(
    *,
    establishment: Establishment,
    by: Person,
    sheet: PaperSheet,
    written: Written,
    claim: Claim | None = None,
) -> Entered:
    """Record one line of a sheet; a refusal names the part of the line."""
    require_role(establishment, by, Role.MAKER)
    measured = who_measured(establishment, written.initials)
    observed = moment_of(establishment, written)
    with transaction.atomic():
        ledger.lock(establishment)
        if PaperLine.objects.of(establishment).filter(sheet=sheet, slot=written.slot).exists():
            raise Refused(_("This line was entered already."), part="row")
        line = _next_line(establishment, sheet, written.initials, written.slot, measured, observed)
        deviation = _record(establishment, by, sheet, written, line, observed, claim)
        ledger.append(kind=PAPER_LINE, row=line, establishment=establishment, author=by)
        if deviation is not None:
            _attach(establishment, by, sheet, deviation)
    return Entered(line, deviation)


def _next_line(
    establishment: Establishment,
    sheet: PaperSheet,
    initials: str,
    slot: str,
    measured: Membership,
    observed: datetime,
) -> PaperLine:
    return PaperLine(
        sheet=sheet,
        row=PaperLine.objects.of(establishment).filter(sheet=sheet).count() + 1,
        slot=slot,
        measured_by=measured.person,
        initials=clean(initials, most=6),
        observed_at=observed,
    )


def enter_event(
    *,
    establishment: Establishment,
    by: Person,
    sheet: PaperSheet,
    lot: Lot,
    written: WrittenEvent,
    claim: Claim | None = None,
) -> Entered:
    """Record something of a lot that stands on a sheet; why it is late names the sheet and the initials."""
    require_role(establishment, by, Role.MAKER)
    measured = who_measured(establishment, written.initials)
    observed = moment_of(establishment, written)
    content = EventContent(
        event=written.event,
        observed_at=observed,
        details=tuple(dict(detail) for detail in written.details),
        late_reason=done_by(establishment, sheet, written.initials),
    )
    with transaction.atomic():
        ledger.lock(establishment)
        about: Any = {"establishment": establishment, "by": by}
        event, opened = record_lot_event(lot=lot, content=content, claim=claim, **about)
        line = _next_line(establishment, sheet, written.initials, f"{OF_EVENT}{event.pk}", measured, observed)
        ledger.append(kind=PAPER_LINE, row=line, establishment=establishment, author=by)
        for deviation in opened:
            _attach(establishment, by, sheet, deviation)
    return Entered(line, opened[0] if opened else None)


def done_by(establishment: Establishment, sheet: PaperSheet, initials: str) -> str:
    """Say from which sheet something comes and who did it, as the reason of its lateness."""
    told = {"sheet": from_sheet(sheet), "initials": who_measured(establishment, initials).initials}
    return _("%(sheet)s, done by %(initials)s") % told


def enter_load(
    *,
    establishment: Establishment,
    by: Person,
    sheet: PaperSheet,
    initials: str,
    content: LoadContent,
    claim: Claim | None = None,
) -> Taken:
    """Receive a load of milk that stands on a sheet."""
    measured = who_measured(establishment, initials)
    with transaction.atomic():
        ledger.lock(establishment)
        taken = take_load(establishment=establishment, by=by, content=content, claim=claim)
        slot = f"{OF_LOAD}{taken.load.pk}"
        line = _next_line(establishment, sheet, initials, slot, measured, content.received_at)
        ledger.append(kind=PAPER_LINE, row=line, establishment=establishment, author=by)
        for deviation in taken.deviations:
            _attach(establishment, by, sheet, deviation)
    return taken


def loads_of_lines(establishment: Establishment, lines: Sequence[PaperLine]) -> dict[Any, MilkLoad]:
    """Give the loads that lines of sheets were entered as, by line."""
    named = {line.slot.removeprefix(OF_LOAD): line.pk for line in lines if line.slot.startswith(OF_LOAD)}
    found = MilkLoad.objects.of(establishment).filter(pk__in=list(named))
    return {named[str(load.pk)]: load for load in found}


def events_of_lines(establishment: Establishment, lines: Sequence[PaperLine]) -> dict[Any, LotEvent]:
    """Give the events that lines of sheets were entered as, by line, in one query."""
    named = {line.slot.removeprefix(OF_EVENT): line.pk for line in lines if line.slot.startswith(OF_EVENT)}
    found = LotEvent.objects.of(establishment).filter(pk__in=list(named)).select_related("lot")
    return {named[str(event.pk)]: event for event in found}


def moment_of(establishment: Establishment, written: Written | WrittenEvent) -> datetime:
    """Read the day and time of a line; a refusal names the field."""
    if not written.on_time.strip():
        raise BadInput(_("Enter the time that stands on the sheet."), part="on_time")
    with in_words("on_time"):
        return parse_local(
            written.on_date,
            written.on_time,
            zone_of(establishment),
            now=clock.now(establishment),
            fold=int(written.fold) if written.fold in ("0", "1") else None,
            confirmed=True,
        )


def _record(
    establishment: Establishment,
    by: Person,
    sheet: PaperSheet,
    written: Written,
    line: PaperLine,
    observed: datetime,
    claim: Claim | None,
) -> Deviation | None:
    """Record what the line says: its value, or that it was seen."""
    why = from_sheet(sheet)
    if written.seen:
        seen = RoundContent([written.slot], observed, late_reason=why)
        line.round = confirm_round(establishment=establishment, by=by, content=seen, claim=claim)
        return None
    content = ReadingContent(written.slot, observed, written.parts, late_reason=why)
    done = record_reading(establishment=establishment, by=by, content=content, claim=claim)
    line.reading = done.reading
    return done.deviation


def _attach(establishment: Establishment, by: Person, sheet: PaperSheet, deviation: Deviation) -> None:
    """Give a deviation the photo of the sheet as evidence, once."""
    if FileAttached.objects.of(establishment).filter(deviation=deviation, sha256=sheet.sha256).exists():
        return
    stored = StoredFile.objects.of(establishment).get(sha256=sheet.sha256)
    attach_file(
        establishment=establishment,
        by=by,
        name=sheet.name,
        content=bytes(stored.content),
        deviation=deviation,
    )


def lines_of_readings(
    establishment: Establishment, readings: Sequence[Any], as_of: int | None = None
) -> dict[Any, PaperLine]:
    """Give the paper line of each reading that came from a sheet, by reading, in one query."""
    rows = until(PaperLine.objects.of(establishment), as_of).filter(reading__in=list(readings))
    return {row.reading_id: row for row in rows.select_related("sheet")}
