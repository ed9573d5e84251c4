"""Pages of the checks: record one, an event of a lot, a correction; one reading; void."""

from datetime import datetime
from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from records.batches.models import Lot, LotEvent
from records.batches.queries import effective_events, version_of, voided_events
from records.batches.services import planned_event
from records.checks import not_now, page_data
from records.checks.corrections import wanted
from records.checks.forms import ReasonForm
from records.checks.gate import hindrances
from records.checks.history import History, history_of, value_text, versions_of
from records.checks.missed import load_of_slot
from records.checks.models import Reading
from records.checks.places import Place, find_place, further_slot, place_of
from records.checks.series import series_data, series_of
from records.checks.services import void_reading
from records.checks.slots import point_name
from safetyplan.establishments.access import get_establishment
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.pages import render_page
from safetyplan.establishments.queries import names, zone_of
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.form_claims import already_recorded, form_claim, form_uuid
from safetyplan.integrity.form_refusals import refuse
from safetyplan.integrity.refusals import BadInput, Refused

EVENT_PARTS = ("lot", "lot__plan_version")


def place_or_404(establishment: Establishment, slot: str) -> Place:
    """Find a check by its address; one the plan does not know is not found."""
    try:
        return find_place(establishment, slot, clock.now(establishment))
    except BadInput as refusal:
        raise Http404 from refusal


def _subject(lot: Lot | None, place: Place | None = None) -> str:
    if place is not None and place.load is not None:
        return _("load %(code)s") % {"code": place.load.code}
    if place is not None and place.thing is not None:
        return place.thing.title
    return f"{lot.code} · {lot.product_name}" if lot is not None else ""


def point_words(place: Place) -> str:
    """Name the point of a check that is measured at several."""
    point = point_name(place.name, place.control)
    return f": {point}" if point else ""


def _who(establishment: Establishment, person: Any) -> str:
    membership = names(establishment).get(person)
    return membership.printed_name if membership else ""


def _capture_page(
    request: HttpRequest, establishment: Establishment, data: page_data.Data, heading: str, **more: Any
) -> HttpResponse:
    context = {"capture_data": data, "heading": heading, "section": "today", **more}
    return render_page(request, establishment, "records/checks/capture.html", context)


@require_GET
@login_required
def capture(request: HttpRequest, slug: str, slot: str) -> HttpResponse:
    """Record a check; a page that says why when there is nothing to record now."""
    establishment = get_establishment(request, slug, Role.MAKER)
    place = place_or_404(establishment, slot)
    hindrance = not_now.not_now(not_now.state_of_slot(establishment, place, slot), place)
    heading = f"{place.control.code} {place.control.name}{point_words(place)}"
    if hindrance is not None:
        context = {
            "not_now": hindrance,
            "heading": heading,
            "lot": place.lot,
            "load": place.load,
            "extra": further_slot(establishment, place.name, point_name(place.name, place.control)),
            "section": "today",
        }
        return render_page(request, establishment, "records/checks/not_now.html", context)
    data = page_data.reading_data(request, establishment, place, slot)
    return _capture_page(request, establishment, data, heading, subject=_subject(place.lot, place))


@require_GET
@login_required
def lot_event(request: HttpRequest, slug: str, pk: UUID, event: str) -> HttpResponse:
    """Record something that happened to a lot; says so when it is recorded already."""
    establishment = get_establishment(request, slug, Role.MAKER)
    lot = get_object_or_404(Lot.objects.of(establishment).select_related("plan_version"), pk=pk)
    planned = version_of(establishment, lot).plan().product(lot.product_code).event(event)
    if planned is None:
        raise Http404
    present = effective_events(establishment, [lot.pk]).filter(event=event)
    if "again" not in request.GET and present and not planned.repeats:
        context = {"heading": planned.name, "lot": lot, "events": present, "event": event, "section": "lots"}
        return render_page(request, establishment, "records/checks/event_recorded.html", context)
    data = page_data.event_data(request, establishment, lot, planned)
    before = [one.words for one in hindrances(establishment, lot, event)]
    return _capture_page(request, establishment, data, planned.name, subject=_subject(lot), before=before)


@require_GET
@login_required
def series(request: HttpRequest, slug: str, slot: str) -> HttpResponse:
    """Go round the points of a check, one after the other; a check of one point has its own page."""
    establishment = get_establishment(request, slug, Role.MAKER)
    place = place_or_404(establishment, slot)
    found = series_of(establishment, place, slot)
    if found is None:
        return redirect("capture", slug, slot)
    if not found.to_do:
        messages.info(request, _("Every point of this check is recorded."))
        return redirect("today", slug)
    data = series_data(request, establishment, place, found)
    subject = place.thing.title if place.thing is not None else ""
    heading = f"{place.control.code} {place.control.name}"
    return _capture_page(request, establishment, data, heading, subject=subject)


def _find_reading(establishment: Establishment, pk: UUID) -> Reading:
    found: Reading = get_object_or_404(Reading.objects.of(establishment), pk=pk)
    return found


def _replaced(request: HttpRequest, slug: str, chain: list[Reading], pk: UUID) -> HttpResponse | None:
    """Lead to the newest version of a reading when there is no correcting this one."""
    newest = chain[-1]
    if newest.voided:
        messages.info(request, _("This reading was voided. Record the check anew."))
    elif newest.pk != pk:
        messages.info(request, _("This reading was already corrected. This is the newest one."))
    else:
        return None
    return redirect("reading", slug, newest.pk)


@require_GET
@login_required
def reading_correct(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record a corrected reading; the first one stays readable."""
    establishment = get_establishment(request, slug, Role.MAKER)
    chain = versions_of(establishment, _find_reading(establishment, pk))
    elsewhere = _replaced(request, slug, chain, pk)
    if elsewhere is not None:
        return elsewhere
    original, place = chain[-1], place_of(establishment, chain[-1])
    data = page_data.reading_data(request, establishment, place, original.slot, original)
    corrected = {
        "old": value_text(original, zone_of(establishment)),
        "who": _who(establishment, original.author_id),
        "when": original.recorded_at,
    }
    heading, subject = f"{place.control.code} {place.control.name}", _subject(place.lot, place)
    return _capture_page(request, establishment, data, heading, subject=subject, corrected=corrected)


def _newer_event(
    request: HttpRequest, establishment: Establishment, original: LotEvent
) -> HttpResponse | None:
    """Lead elsewhere when there is no correcting an event: to the newest entry, or to its lot."""
    later = LotEvent.objects.of(establishment).filter(supersedes=original).first()
    if later is not None:
        messages.info(request, _("This event was already corrected. This is the newest entry."))
        return redirect("event_correct", establishment.slug, later.pk)
    if voided_events(establishment, [original]):
        messages.info(request, _("This event was voided. Record it anew."))
        return redirect("lot", establishment.slug, original.lot_id)
    return None


def _event_text(event: LotEvent, local: datetime) -> str:
    details = [f"{d['label']} {d['raw']}" for d in cast("list[Any]", canonical.loads(event.details.encode()))]
    return "; ".join([local.strftime("%Y-%m-%d %H:%M"), *details])


@require_GET
@login_required
def event_correct(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Record a corrected event; every reading that hangs on it is judged again."""
    establishment = get_establishment(request, slug, Role.MAKER)
    events = LotEvent.objects.of(establishment)
    original: LotEvent = get_object_or_404(events.select_related(*EVENT_PARTS), pk=pk)
    elsewhere = _newer_event(request, establishment, original)
    if elsewhere is not None:
        return elsewhere
    planned = planned_event(establishment, original.lot, original.event, earlier=True)
    data = page_data.event_data(request, establishment, original.lot, planned, original)
    corrected = {
        "old": _event_text(original, timezone.localtime(original.observed_at, zone_of(establishment))),
        "who": _who(establishment, original.author_id),
        "when": original.recorded_at,
    }
    subject = _subject(original.lot)
    return _capture_page(
        request, establishment, data, original.event_name, subject=subject, corrected=corrected
    )


def _reading_context(establishment: Establishment, history: History) -> dict[str, Any]:
    newest = history.newest.reading
    return {
        "load": load_of_slot(establishment, newest.slot),
        "wants_correction": wanted(newest),
        "history": history,
        "newest": history.newest,
        "lot": newest.lot,
        "heading": f"{newest.control} {newest.control_name}",
        "section": "lots" if newest.lot_id else "week",
    }


@require_GET
@login_required
def reading(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Show one reading with its whole history."""
    establishment = get_establishment(request, slug)
    history = history_of(establishment, _find_reading(establishment, pk))
    return render_page(
        request, establishment, "records/checks/reading.html", _reading_context(establishment, history)
    )


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def reading_void(request: HttpRequest, slug: str, pk: UUID) -> HttpResponse:
    """Void a reading that should not be there."""
    establishment = get_establishment(request, slug, Role.MAKER)
    original, form = _find_reading(establishment, pk), ReasonForm(request.POST or None)
    history, status = history_of(establishment, original), 200
    if request.method == "POST":
        try:
            return _void(request, establishment, history.newest.reading, original)
        except Refused as refusal:
            form.is_valid()
            refuse(form, refusal)
            status = refusal.status
    elif (elsewhere := _replaced(request, slug, [v.reading for v in history.versions], pk)) is not None:
        return elsewhere
    context = {**_reading_context(establishment, history), "form": form, "original": original}
    return render_page(request, establishment, "records/checks/void.html", context, status=status)


def _void(
    request: HttpRequest, establishment: Establishment, newest: Reading, original: Reading
) -> HttpResponse:
    """Void once, however often the form is sent."""
    if already_recorded(establishment, form_uuid(request)):
        return redirect("reading", establishment.slug, newest.pk)
    why = request.POST.get("reason", "")
    done = void_reading(
        establishment=establishment,
        by=cast(Person, request.user),
        original=original,
        why=why,
        claim=form_claim(request, establishment, "reading_void", {"reading": original.pk, "reason": why}),
    )
    messages.success(request, _("The reading is void. The check counts as not made."))
    return redirect("reading", establishment.slug, done.reading.pk)
