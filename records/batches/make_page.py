"""The page of a make at the vat: what happened, what comes next, timers, due checks, curve and forecast."""

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from records.batches.acid import (
    Curve,
    acid_controls,
    advice,
    both_scene,
    forecasts,
    last_good_curve,
    own_curve,
    point_rows,
)
from records.batches.course import Coming, Course, Happened, course
from records.batches.models import Lot, LotEvent
from records.batches.page import due_first
from records.batches.queries import standing_events, version_of
from records.checks.due import SlotState, Status, lot_states
from records.checks.not_now import not_recorded_url
from records.checks.page_data import kit_of
from records.checks.slots import EXTRA, lot_slot_id
from records.inspection.history import event_lines
from records.inspection.rows import Rows, badge, event_rows, short_limit, shown_value, start_row
from records.inspection.telling import Teller, on_screen
from records.inspection.words import control_words, due_words
from records.links.rows import linked_notices
from records.signoff.tables import lot_state
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.establishments.models import Establishment, Role
from safetyplan.integrity import canonical, clock
from safetyplan.plans.document import STARTED, Event, Plan
from safetyplan.printing.chart import to_svg

AHEAD = timedelta(hours=48)
SHOWN = (Status.DUE, Status.OVERDUE, Status.LATER, Status.WAITING, Status.MISSING)


def make_context(
    request: HttpRequest, establishment: Establishment, lot: Lot, roles: Collection[str]
) -> dict[str, Any]:
    """Give everything the page shows of a make."""
    teller, now = on_screen(establishment), clock.now(establishment)
    teller.focus = teller.day(now)
    version = version_of(establishment, lot)
    plan, slug = version.plan(), establishment.slug
    events = _events(establishment, lot)
    standing = standing_events(establishment, events)
    states = sorted(lot_states(establishment, [lot], now)[lot.pk], key=due_first)
    happened = [Happened(event.event, event.observed_at) for event in standing]
    found = course(plan.product(lot.product_code).events, lot.started_at, happened)
    may = Role.MAKER in roles
    return {
        "lot": lot,
        "state": lot_state(establishment, lot),
        "server_now": canonical.instant(now),
        "elapsed": _elapsed(teller, plan, lot, standing),
        "notices": linked_notices(establishment, lot),
        **_course(teller, slug, lot, found),
        "checks": _checks(teller, slug, states, now, may=may),
        "acid": _acid(establishment, teller, plan, lot, states),
        "happened": [
            *reversed(event_rows(teller, slug, event_lines(establishment, events), roles)),
            start_row(teller, lot),
        ],
        "key": teller.key_rows(),
        "may_record": may,
        "make_data": {
            **kit_of(request, establishment).base,
            "lot": str(lot.pk),
            "lot_code": lot.code,
            "plan_version": str(version.pk),
        },
    }


def _events(establishment: Establishment, lot: Lot) -> list[LotEvent]:
    rows = LotEvent.objects.of(establishment).filter(lot=lot).select_related("lot")
    return list(rows.order_by("observed_at", "entry__sequence"))


def _elapsed(teller: Teller, plan: Plan, lot: Lot, standing: Sequence[LotEvent]) -> dict[str, str]:
    """Give from when elapsed time is counted: the event that the pH counts from, else the start."""
    counted = next((limit.event for _control, limit in acid_controls(plan, lot.product_code)), STARTED)
    began = next((event for event in standing if event.event == counted), None)
    at, name = (began.observed_at, began.event_name) if began else (lot.started_at, _("Start of the lot"))
    return {"since": canonical.instant(at), "name": name, "at": teller.time(at)}


# What comes next -----------------------------------------------------------------------------------


def _course(teller: Teller, slug: str, lot: Lot, found: Course) -> dict[str, Any]:
    def given(coming: Coming) -> dict[str, Any]:
        return _coming(teller, slug, lot, coming)

    return {
        "next": given(found.next) if found.next else None,
        "repeating": [given(coming) for coming in found.repeating],
        "earlier": [given(coming) for coming in found.earlier],
        "later": [given(coming) for coming in found.later],
    }


def _coming(teller: Teller, slug: str, lot: Lot, coming: Coming) -> dict[str, Any]:
    event = coming.event
    return {
        "code": event.code,
        "name": event.name,
        "url": reverse("lot_event", args=[slug, lot.pk, event.code]),
        "tap": not asks(event),
        "asked": [detail.label for detail in event.details],
        "count": len(coming.times),
        "last": teller.time(coming.times[-1]) if coming.times else "",
        "usual_at": canonical.instant(coming.usual_at) if coming.usual_at else "",
        "usual": teller.time(coming.usual_at),
    }


def asks(event: Event) -> bool:
    """Tell whether an event cannot be recorded without a detail."""
    return any(detail.required for detail in event.details)


# Checks --------------------------------------------------------------------------------------------


def _checks(
    teller: Teller, slug: str, states: Sequence[SlotState], now: datetime, *, may: bool
) -> list[dict[str, Any]]:
    chosen = [
        s for s in states if s.status in SHOWN and (s.slot.due_at is None or s.slot.due_at <= now + AHEAD)
    ]
    rows = []
    for state in chosen:
        code, word = badge(state)
        rows.append(
            {
                "name": control_words(state),
                "limit": short_limit(state),
                "due": due_words(teller, state),
                "due_at": canonical.instant(state.slot.due_at) if state.slot.due_at else "",
                "state": code,
                "word": word,
                "values": [shown_value(teller, reading) for reading in state.effective],
                "url": (not_recorded_url(slug, state) or _further(slug, state)) if may else "",
            }
        )
    return rows


def _further(slug: str, state: SlotState) -> str:
    """Give where a value of the curve is recorded before its check opens; "" for any other check."""
    if (
        state.status != Status.LATER
        or state.lot is None
        or not isinstance(state.slot.control.limit, ReachedBy)
    ):
        return ""
    return reverse("capture", args=[slug, lot_slot_id(state.lot.pk, state.slot.control.code, EXTRA)])


# The curve -----------------------------------------------------------------------------------------


def _acid(
    establishment: Establishment, teller: Teller, plan: Plan, lot: Lot, states: Sequence[SlotState]
) -> dict[str, Any] | None:
    """Give the curve with that of the last good make, the forecast and what to do next; None without it."""
    controls = acid_controls(plan, lot.product_code)
    curve = own_curve(establishment, lot, controls[0][1].event) if controls else None
    if curve is None:
        return None
    earlier = last_good_curve(establishment, lot, controls[0][1].event)
    told = advice(plan, curve, states)
    rows: Rows = point_rows(curve, earlier)
    return {
        "chart": _chart(plan, curve, earlier),
        "rows": [{**row, "at": teller.time(row["at"])} for row in rows],
        "earlier": earlier.lot.code if earlier else "",
        "forecasts": forecasts(plan, curve),
        "advice": told,
        "next_at": canonical.instant(told.next_at) if told and told.next_at else "",
        "next": teller.time(told.next_at) if told else "",
    }


def _chart(plan: Plan, curve: Curve, earlier: Curve | None) -> SafeString:
    words = _("The table below holds the same values.")
    if earlier is not None:
        words = _("Beside it the curve of lot %(code)s.") % {"code": earlier.lot.code} + " " + words
    svg = to_svg(both_scene(plan, curve, earlier), _("pH of lot %(code)s") % {"code": curve.lot.code}, words)
    return mark_safe(svg)
