"""The page of today: what is missed, due, on hold, open and unsigned."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from records.batches.scanning import scan_block
from records.checks.due import SlotState, Status
from records.checks.page_data import limit_text, target_text
from records.checks.rounds import may_be_seen, open_at
from records.checks.series import series_key
from records.instruments.page import MARKS as INSTRUMENT_MARKS
from records.instruments.standing import InstrumentState
from records.instruments.words import by_when, standing_word
from records.today import queries
from records.today.duties import known_of
from safetyplan.establishments.access import WRITERS, get_establishment
from safetyplan.establishments.localtime import LocalTime, ZoneTime, shown_time
from safetyplan.establishments.models import Role
from safetyplan.establishments.pages import render_page
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.form_claims import new_uuid
from safetyplan.plans.duty_pages import near_lines

MARKS = {Status.MISSING: "not_shown", Status.OVERDUE: "overdue", Status.DUE: "due"}


@dataclass(frozen=True)
class Line:
    """One check as a line of the page: where it leads, how it stands, its limit and its times."""

    name: str
    lot: str
    load: str
    thing: str
    mark: str
    word: str
    limit: str
    time: str
    url: str
    explain_url: str


def _word(status: Status) -> str:
    if status == Status.MISSING:
        return _("Missed")
    return _("Later") if status == Status.LATER else ""


def _time(state: SlotState, local: LocalTime, today: date) -> str:
    """Say when a check is due and until when it counts."""
    due, closes = state.slot.due_at, state.slot.closes_at
    until = shown_time(local, closes, relative_to=today)
    if due is None or due == closes:
        return _("at the latest %(until)s") % {"until": until}
    return _("due %(due)s, until %(until)s") % {
        "due": shown_time(local, due, relative_to=today),
        "until": until,
    }


def _name(state: SlotState, points: int) -> str:
    name = f"{state.slot.control.code} {state.slot.control.name}"
    if points > 1:
        return _("%(name)s: %(n)d points") % {"name": name, "n": points}
    return f"{name}: {state.slot.point}" if state.slot.point else name


def line(
    state: SlotState, slug: str, local: LocalTime, today: date, roles: Iterable[str], points: int = 1
) -> Line:
    """Write a check as a line, or several points of one as one; only who may record gets the links."""
    slot, control = state.slot, state.slot.control
    missed = state.status == Status.MISSING and not control.is_ccp
    return Line(
        name=_name(state, points),
        lot=state.lot.code if state.lot else "",
        load=state.load.code if state.load else "",
        thing=state.thing.title if state.thing else "",
        mark=MARKS.get(state.status, "not_yet_due"),
        word=_word(state.status),
        limit=limit_text(control.limit, slot.ordinal) or target_text(control.limit, slot.ordinal),
        time=_time(state, local, today),
        url=reverse("series" if points > 1 else "capture", args=[slug, slot.id])
        if Role.MAKER in roles
        else "",
        explain_url=_explain_url(slug, slot.id, points) if missed and set(WRITERS) & set(roles) else "",
    )


def _explain_url(slug: str, slot: str, points: int) -> str:
    """Give where one says why a check was not made; for a series the page begins with all of its points."""
    address = reverse("check_explain", args=[slug, slot])
    return f"{address}?every=1" if points > 1 else address


def instrument_line(state: InstrumentState, slug: str, roles: Iterable[str]) -> Line:
    """Write an instrument that has to be checked as a line; only who may record gets the link."""
    found = state.instrument
    return Line(
        name=f"{found.code} {found.name}",
        lot="",
        load="",
        thing="",
        mark=INSTRUMENT_MARKS[state.standing],
        word=standing_word(state.standing),
        limit=_("tolerance ± %(tolerance)s") % {"tolerance": found.tolerance_text or "–"},
        time=by_when(state),
        url=reverse("instrument_check", args=[slug, found.pk]) if set(WRITERS) & set(roles) else "",
        explain_url="",
    )


def rounds(states: Iterable[SlotState]) -> list[tuple[SlotState, int]]:
    """Put the points of a series together: its first check, and how many of it are in the list."""
    counted: dict[object, tuple[SlotState, int]] = {}
    for state in states:
        key = series_key(state) or state.slot.id
        first, so_far = counted.get(key, (state, 0))
        counted[key] = first, so_far + 1
    return list(counted.values())


def _offered(request: HttpRequest, slug: str) -> dict[str, Any]:
    """Give what the page offers to the person, by role."""
    roles: list[str] = request.roles  # type: ignore[attr-defined]
    return {
        "section": "today",
        "may_record": Role.MAKER in roles,
        "may_sign": Role.REVIEWER in roles,
        "scan": scan_block(request, slug),
        "no_make_uuid": new_uuid(),
    }


@require_GET
@login_required
def today(request: HttpRequest, slug: str) -> HttpResponse:
    """Show what is to be done; an inspector sees the same without the links to record."""
    establishment = get_establishment(request, slug)
    local, roles = ZoneTime(zone_of(establishment)), request.roles  # type: ignore[attr-defined]
    found = queries.today(establishment, local, clock.now(establishment))

    def lines(states: Iterable[SlotState]) -> list[Line]:
        return [line(state, slug, local, found.day, roles, points) for state, points in rounds(states)]

    context = {
        "today": found,
        "checks_now": lines(found.checks_now),
        "checks_missed": lines(found.checks_missed),
        "checks_later": lines(found.checks_later),
        "instruments": [instrument_line(state, slug, roles) for state in found.instruments],
        "rounds": sum(1 for state in found.checks_now if may_be_seen(state) and open_at(state, found.now)),
        "duties": near_lines(known_of(establishment)),
        **_offered(request, slug),
    }
    return render_page(request, establishment, "records/today/today.html", context)
