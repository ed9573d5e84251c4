"""The list of what came in: a month at a time, and what needs looking after."""

from collections.abc import Collection, Mapping
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from records.checks.due import load_states
from records.inspection.telling import on_screen
from records.receiving.known import Known, known
from records.receiving.load_page import load_state
from records.receiving.models import MilkLoad
from records.receiving.queries import balances, loads_between
from records.receiving.reminders import reminders
from records.receiving.tables import LoadTable, age_words, volume_words
from safetyplan.establishments.access import WRITERS
from safetyplan.establishments.localtime import day_bounds
from safetyplan.establishments.models import Establishment, Role
from safetyplan.integrity import clock

PERIOD = timedelta(days=31)
FIRST, LAST = date(2000, 1, 1), date(9000, 1, 1)


def list_context(
    establishment: Establishment, asked: Mapping[str, str], roles: Collection[str]
) -> dict[str, Any]:
    """Give everything the list of loads shows: thirty-one days up to a day (today, unless another)."""
    teller, now = on_screen(establishment), clock.now(establishment)
    today = teller.day(now)
    last = day_asked(asked.get("until", ""), today)
    first = last - PERIOD + timedelta(days=1)
    start, end = day_bounds(teller.clock, first)[0], day_bounds(teller.clock, last)[1]
    loads = list(reversed(loads_between(establishment, start, end)))
    about = known(establishment)
    table = LoadTable(
        load_rows(establishment, about, loads),
        slug=establishment.slug,
        empty_text=_("No load of milk in this period."),
    )
    return {
        "table": table,
        "first": first,
        "last": last,
        "older_url": f"?until={(first - timedelta(days=1)).isoformat()}",
        "newer_url": f"?until={min(last + PERIOD, today).isoformat()}" if last < today else "",
        "period": _("%(first)s to %(last)s") % {"first": first.isoformat(), "last": last.isoformat()},
        "reminders": reminders(establishment, about, now),
        "may_record": Role.MAKER in roles,
        "may_write": bool(set(roles) & set(WRITERS)),
        "may_print": bool(set(roles) & {*WRITERS, Role.ADMINISTRATOR}),
        "month": f"{last:%Y-%m}",
        "section": "today",
    }


def day_asked(text: str, today: date) -> date:
    """Read the day of an address; what is no day of work is today."""
    try:
        found = date.fromisoformat(text)
    except ValueError:
        return today
    return found if FIRST <= found <= LAST else today


def load_rows(establishment: Establishment, about: Known, loads: list[MilkLoad]) -> list[dict[str, Any]]:
    """Give each load with its age, balance and state, in a constant number of queries."""
    teller, now = on_screen(establishment), clock.now(establishment)
    found, states = balances(establishment, loads), load_states(establishment, loads, now)
    rows = []
    for load in loads:
        balance = found[load.identity]
        herd = f", {about.herds[load.herd_id].name}" if load.herd_id else ""
        rows.append(
            {
                "pk": load.identity,
                "code": load.code,
                "source": about.suppliers[load.supplier_id].name + herd,
                "received": teller.time(load.received_at),
                "age": age_words(load),
                "volume": volume_words(load.volume_text, load.volume_unit),
                "left": volume_words(balance.left, balance.unit),
                "state": load_state(load, balance, states.get(load.identity, [])),
            }
        )
    return rows
