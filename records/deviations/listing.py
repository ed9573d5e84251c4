"""The list of deviations, page by page from the newest number down."""

from typing import Any

from django.utils.text import capfirst
from django.utils.translation import gettext as _

from records.deviations.models import Cause
from records.deviations.page import missing_words, summary
from records.deviations.queries import DeviationState, deviations, open_deviations, states
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.shown import People

PAGE = 25


def _row(state: DeviationState, people: People) -> dict[str, Any]:
    deviation = state.deviation
    cause = str(Cause(deviation.cause).label)
    missing = missing_words(state.missing()) if state.is_open else []
    return {
        "pk": deviation.pk,
        "number": deviation.number,
        "opened": people.when(deviation.recorded_at),
        "lot": ", ".join(one.name for one in state.affected if one.lot or one.what),
        "what": f"{deviation.control_name}: {cause}" if deviation.control_name else capfirst(cause),
        "summary": summary(state),
        "missing": missing or ([_("nothing: ready for review")] if state.is_open else []),
    }


def listing(establishment: Establishment, *, every: bool, before: str) -> dict[str, Any]:
    """Give one page of the deviations, in a constant number of queries."""
    rows = deviations(establishment) if every else open_deviations(establishment)
    number = int(before) if before.isascii() and before.isdigit() and len(before) < 10 else None
    if number is not None:
        rows = rows.filter(number__lt=number)
    chosen = list(rows[: PAGE + 1])
    shown, more = chosen[:PAGE], len(chosen) > PAGE
    people = People(establishment)
    show = "all" if every else "open"
    return {
        "rows": [_row(state, people) for state in states(establishment, shown)],
        "every": every,
        "older_url": f"?show={show}&before={shown[-1].number}" if more else "",
        "newer_url": f"?show={show}" if number is not None else "",
        "empty": _("No deviation was ever opened.") if every else _("No deviation is open."),
    }
