"""The screens that enter sheets filled in by hand: the sheet with its photo, then its lines.

Lines in order are stored at once; a line that is refused stays as it was typed, with the reason.
"""

from dataclasses import dataclass, field
from datetime import date
from typing import Any, cast
from uuid import UUID, uuid5

from django import forms
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.posting import OnceForm, claim_of
from records.checks.due import SlotState, Status
from records.checks.models import PaperLine, PaperSheet
from records.checks.page_data import limit_text
from records.checks.paper import Entered, Written, enter_line, events_of_lines, keep_sheet, loads_of_lines
from records.inspection.plan_words import unit_symbol
from records.inspection.telling import Teller, on_screen
from records.inspection.words import control_words, due_words
from records.photos.queries import Photo, Photos, photos_of
from records.signoff.groups import groups, subject
from records.signoff.queries import day_sheet
from safetyplan.calculation.limits.shape import Part
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import clock
from safetyplan.integrity.form_claims import already_recorded, form_uuid, session_claim
from safetyplan.integrity.form_refusals import Typed
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import clean
from safetyplan.words import name_words, render

OPEN = (Status.DUE, Status.OVERDUE, Status.MISSING)
MOST = 400


class SheetForm(OnceForm):
    """A sheet that was filled in, with its photo."""

    number = forms.CharField(
        label=gettext_lazy("Sheet number"),
        max_length=60,
        help_text=gettext_lazy("As printed on it, such as 12-3."),
    )
    day = forms.CharField(
        label=gettext_lazy("Day of the sheet"), max_length=20, widget=forms.TextInput(attrs={"type": "date"})
    )
    file = forms.FileField(
        label=gettext_lazy("Photo or scan of the sheet"),
        help_text=gettext_lazy("JPEG, PNG or PDF, up to 10 MB. It stays with every record made from it."),
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=500, required=False)


def keep(request: HttpRequest, establishment: Establishment, typed: Typed) -> PaperSheet:
    """Keep the sheet that was sent."""
    given = request.FILES.get("file")
    if given is None:
        raise BadInput(_("Attach the photo or scan of the sheet."), part="file")
    try:
        day = date.fromisoformat(typed.get("day", "").strip())
    except ValueError as error:
        raise BadInput(_("Choose the day of the sheet."), part="day") from error
    return keep_sheet(
        establishment=establishment,
        by=cast(Person, request.user),
        number=typed.get("number", ""),
        day=day,
        name=str(given.name),
        content=given.read(),
        note=typed.get("note", ""),
        claim=claim_of(request, establishment, "paper_sheet", typed),
    )


@dataclass
class Row:
    """One line of the screen: a check that is open, and what was typed for it."""

    state: SlotState
    number: int
    typed: Typed
    refusal: Refused | None = None

    def text(self, name: str, default: str = "") -> str:
        """Give what was typed in a field of the line."""
        return self.typed.get(f"{name}_{self.number}", default)

    @property
    def fits(self) -> bool:
        """Tell whether the check can still be entered."""
        return self.state.status in OPEN

    @property
    def seen(self) -> bool:
        """Tell whether the line is ticked as seen and in order."""
        return bool(self.text("seen"))

    @property
    def values(self) -> list[dict[str, Any]]:
        """Give the parts that were typed."""
        found = []
        for part in self.state.slot.control.limit.parts():
            raw = self.text(f"v_{part.name}")
            if raw.strip():
                found.append({"name": part.name, "raw": raw, "unit": part.unit, "confirmed": False})
        return found

    @property
    def filled(self) -> bool:
        """Tell whether anything was typed but the initials and the day, which are filled in beforehand."""
        return self.seen or bool(self.values) or bool(self.text("time").strip())


@dataclass
class Posted:
    """What became of the lines of a sheet that were sent."""

    stored: list[Entered] = field(default_factory=list)
    refused: list[Row] = field(default_factory=list)


def rows_of(establishment: Establishment, sheet: PaperSheet, teller: Teller, typed: Typed) -> list[Row]:
    """Give the lines that can be entered: the checks of the sheet's day that nobody has answered."""
    found = day_sheet(establishment, sheet.day, teller.clock, clock.now(establishment))
    sent = {slot for key, slot in typed.items() if key.startswith("slot_")}
    grouped = [s for group in groups(found.states, teller.clock) for s in group.states]
    listed = [s for s in grouped if s.status in OPEN or s.slot.id in sent]
    places = {slot: key.removeprefix("slot_") for key, slot in typed.items() if key.startswith("slot_")}
    rows = [Row(state, at, typed) for at, state in enumerate(listed[:MOST])]
    for row in rows:
        place = places.get(row.state.slot.id, "")
        if typed:  # a line that was not sent must not read what was typed into another
            row.number = int(place) if place.isdigit() else MOST + row.number
    return rows


def enter(request: HttpRequest, establishment: Establishment, sheet: PaperSheet, rows: list[Row]) -> Posted:
    """Record the lines that were filled in; those that are refused stay."""
    posted = Posted()
    base = form_uuid(request)
    for row in rows:
        if not row.filled:
            continue
        uuid = uuid5(base, row.state.slot.id)
        if already_recorded(establishment, uuid):
            continue
        try:
            posted.stored.append(_enter(request, establishment, sheet, row, uuid))
        except Refused as refusal:
            row.refusal = refusal
            posted.refused.append(row)
    return posted


def _enter(
    request: HttpRequest, establishment: Establishment, sheet: PaperSheet, row: Row, uuid: UUID
) -> Entered:
    """Record one line; an offer that was chosen is taken."""
    if not row.fits:
        raise Refused(_("This check has a record by now: compare the sheet with it."), part="value")
    values, fold, taken = row.values, "", set[str]()
    if not row.seen and not values:
        raise BadInput(_("Enter the value that stands on the sheet."), part="value")
    while True:
        written = Written(
            slot=row.state.slot.id,
            on_date=row.text("date", sheet.day.isoformat()),
            on_time=row.text("time"),
            initials=row.text("who"),
            parts=values,
            seen=row.seen and not values,
            fold=fold,
        )
        try:
            return enter_line(
                establishment=establishment,
                by=cast(Person, request.user),
                sheet=sheet,
                written=written,
                claim=_claim(request, establishment, sheet, written, uuid),
            )
        except BadInput as refusal:
            offer = None if refusal.part in taken else _chosen(row, refusal)
            if offer is None:
                raise
            taken.add(refusal.part)
            if offer["fold"] is not None:
                fold = str(offer["fold"])
            changed = {"raw": offer["raw"], "unit": offer["unit"], "confirmed": True}
            values = [{**v, **changed} if v["name"] == refusal.part else v for v in values]


def _chosen(row: Row, refusal: BadInput) -> dict[str, Any] | None:
    picked = row.text(f"offer_{refusal.part}")
    if not (picked.isascii() and picked.isdigit()) or int(picked) >= len(refusal.offers):
        return None
    return refusal.offers[int(picked)]


def _claim(
    request: HttpRequest, establishment: Establishment, sheet: PaperSheet, written: Written, uuid: UUID
) -> Claim:
    """Make the claim of one line: what was typed, by whom, from which sheet."""
    said = {
        "sheet": sheet.number,
        "photo": sheet.sha256,
        "slot": written.slot,
        "date": clean(written.on_date, most=20),
        "time": clean(written.on_time, most=20),
        "initials": clean(written.initials, most=20),
        "seen": "yes" if written.seen else "",
        "parts": [{"name": p["name"], "raw": clean(str(p["raw"]), most=500)} for p in written.parts],
    }
    return session_claim(request, establishment, "paper_line", uuid, said)


def sheet_context(establishment: Establishment, sheet: PaperSheet, rows: list[Row]) -> dict[str, Any]:
    """Give everything the screen of a sheet shows."""
    teller = on_screen(establishment)
    teller.focus = sheet.day
    found = PaperLine.objects.of(establishment).filter(sheet=sheet).order_by("row")
    lines = list(found.select_related("reading", "round"))
    events, loads = events_of_lines(establishment, lines), loads_of_lines(establishment, lines)
    return {
        "sheet": sheet,
        "photos": _photos(establishment, sheet),
        "rows": [_shown(teller, sheet, row) for row in rows],
        "lines": [
            {
                "row": line,
                "event": events.get(line.pk),
                "load": loads.get(line.pk),
                "at": teller.time(line.observed_at),
                "name": teller.name(line.measured_by_id),
            }
            for line in lines
        ],
        "entered_by": teller.name(sheet.author_id),
        "recorded": teller.moment(sheet.recorded_at),
    }


def _photos(establishment: Establishment, sheet: PaperSheet) -> Photos | None:
    """Give the photo of a sheet; it was kept with the sheet, whatever the form that brought it names."""
    found = photos_of(establishment, [sheet]).get(sheet.pk)
    return Photos([Photo(photo.row, True) for photo in found.shown], 0) if found else None


def _shown(teller: Teller, sheet: PaperSheet, row: Row) -> dict[str, Any]:
    state, control = row.state, row.state.slot.control
    refusal = row.refusal
    return {
        "row": row,
        "slot": state.slot.id,
        "name": control_words(state),
        "about": subject(state),
        "limit": limit_text(control.limit, state.slot.ordinal),
        "due": due_words(teller, state),
        "critical_late": control.is_ccp and state.status == Status.MISSING,
        "may_be_seen": control.by_exception and not control.is_ccp,
        "parts": [_part(row, part) for part in control.limit.parts()],
        "date": row.text("date", sheet.day.isoformat()),
        "time": row.text("time"),
        "who": row.text("who"),
        "message": refusal.message if refusal else "",
        "offers": [
            {"label": offer["label"], "name": f"offer_{refusal.part}_{row.number}", "value": at}
            for at, offer in enumerate(refusal.offers)
        ]
        if refusal
        else [],
    }


def _part(row: Row, part: Part) -> dict[str, Any]:
    return {
        "name": f"v_{part.name}_{row.number}",
        "label": render(part.label),
        "unit": unit_symbol(part.unit) if part.unit and part.unit not in ("count", "pH") else "",
        "options": [(option, name_words(option)) for option in part.options],
        "typed": row.text(f"v_{part.name}"),
        "number": part.entry == "number",
    }
