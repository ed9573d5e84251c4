"""The reviewer's page: days to sign, open deviations and their age, corrections and late entries."""

from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q

from records.batches.models import LotEvent
from records.checks.models import Reading
from records.deviations.models import Cause
from records.deviations.page import missing_words, summary
from records.deviations.queries import DeviationState, open_deviations, states
from records.inspection.beside import beside_of
from records.inspection.history import event_lines, reading_lines
from records.inspection.rows import event_rows, reading_rows
from records.inspection.telling import Teller, on_screen
from records.signoff.applying import behind
from records.signoff.day_page import NOTHING, day_state, sheet_of
from records.today.duties import known_of
from safetyplan.establishments.models import Establishment, Role
from safetyplan.integrity import clock
from safetyplan.integrity.models import RecordSeal
from safetyplan.plans.duty_pages import all_lines

DAYS = 14
WEEK = timedelta(days=7)


def week_context(establishment: Establishment, roles: Collection[str]) -> dict[str, Any]:
    """Give what a reviewer looks through once a week."""
    teller = on_screen(establishment)
    now = clock.now(establishment)
    days = _days(establishment, teller, now)
    waiting = [day for day in days if day["state"] in ("unsigned", "needs_signing_again")]
    found = states(establishment, open_deviations(establishment))
    return {
        "days": days,
        "waiting": len(waiting),
        "deviations": [_deviation(state, now) for state in reversed(found)],
        **_changed(establishment, teller, now, roles),
        "since": teller.day(now - WEEK),
        "duties": all_lines(known_of(establishment)),
        "behind": behind(establishment, now),
        "may_apply": Role.RESPONSIBLE in roles,
        "key": teller.key_rows(),
    }


def _days(establishment: Establishment, teller: Teller, now: datetime) -> list[dict[str, Any]]:
    today = teller.day(now)
    rows = []
    for back in range(DAYS):
        day = today - timedelta(days=back)
        sheet = sheet_of(establishment, day, teller)
        state, word = day_state(sheet)
        if state == NOTHING and back:
            continue
        rows.append(
            {
                "day": day,
                "today": back == 0,
                "state": state,
                "word": word,
                "gaps": len(sheet.unexplained()) + len(sheet.open_gaps()),
                "due": len(sheet.still_due()),
                "signed": sheet.newest,
                "lots": sheet.lots,
                "no_production": sheet.no_production,
            }
        )
    return rows


def _deviation(state: DeviationState, now: datetime) -> dict[str, Any]:
    deviation = state.deviation
    return {
        "pk": deviation.pk,
        "number": deviation.number,
        "what": " ".join(filter(None, (deviation.control, str(Cause(deviation.cause).label)))),
        "lots": [one.name for one in state.affected if one.lot or one.what],
        "summary": summary(state),
        "missing": missing_words(state.missing()),
        "days": (now - deviation.recorded_at).days,
    }


def _changed(
    establishment: Establishment, teller: Teller, now: datetime, roles: Collection[str]
) -> dict[str, Any]:
    """Give the corrections, voids and late entries recorded in the last seven days."""
    start, slug = now - WEEK, establishment.slug
    last = RecordSeal.objects.of(establishment).filter(sealed_at__lt=start).order_by("-size").first()
    window = {
        "entry__establishment": establishment,
        "entry__sequence__gt": last.size if last else 0,
        "recorded_at__gte": start,
    }
    changed = Q(supersedes__isnull=False) | Q(late=True)
    readings = _with_originals(
        establishment, Reading, Reading.objects.of(establishment).filter(changed, **window)
    )
    events = _with_originals(
        establishment, LotEvent, LotEvent.objects.of(establishment).filter(changed, **window)
    )
    return {
        "readings": reading_rows(
            teller, slug, reading_lines(establishment, readings, beside=beside_of(establishment, readings))
        ),
        "events": event_rows(teller, slug, event_lines(establishment, events), roles),
    }


def _with_originals(establishment: Establishment, model: Any, rows: Any) -> list[Any]:
    """Add what the corrections correct, so that both values can be compared."""
    found = {row.pk: row for row in rows.select_related("lot")}
    wanted = {row.supersedes_id for row in found.values() if row.supersedes_id} - set(found)
    originals = model.objects.of(establishment).filter(pk__in=wanted).select_related("lot")
    return [*originals, *found.values()]
