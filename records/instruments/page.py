"""What the pages of the register show: every instrument with where it stands, one with its history."""

from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from records.instruments.measured import method_words
from records.instruments.models import Instrument, InstrumentCheck
from records.instruments.queries import Register, register_of
from records.instruments.standing import InstrumentState, Standing, states
from records.instruments.told import done_words, state_code, state_word
from records.instruments.words import (
    PRINTED,
    SHOWN,
    by_when,
    drift_scene,
    error_words,
    facts,
    history,
    standing_word,
)
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.shown import People
from safetyplan.integrity import clock
from safetyplan.printing.chart import Scene, to_svg

MARKS = {
    Standing.UNSCHEDULED: "active",
    Standing.IN_ORDER: "within",
    Standing.DUE: "due",
    Standing.OVERDUE: "overdue",
    Standing.FAILED: "outside_limit",
}


@dataclass(frozen=True)
class Line:
    """One instrument as a line: where it stands, its tolerance, by when it is checked, and the links."""

    instrument: Instrument
    mark: str
    word: str
    tolerance: str
    time: str
    last: str
    url: str
    check_url: str


def last_words(check: InstrumentCheck | None, people: People) -> str:
    """Say when an instrument was last checked, and with what result."""
    if check is None:
        return _("never checked")
    when, result = people.when(check.checked_at), state_word(check.passed).lower()
    return _("checked %(when)s: %(result)s") % {"when": when, "result": result}


def line(state: InstrumentState, slug: str, people: People, *, may_check: bool) -> Line:
    """Write an instrument as a line; only who may record gets the link to check it."""
    found = state.instrument
    return Line(
        instrument=found,
        mark=MARKS[state.standing],
        word=standing_word(state.standing),
        tolerance=f"± {found.tolerance_text}" if found.tolerance_text else _("no tolerance"),
        time=by_when(state),
        last=last_words(state.last, people),
        url=reverse("instrument", args=[slug, found.pk]),
        check_url=reverse("instrument_check", args=[slug, found.pk]) if may_check else "",
    )


def register_page(establishment: Establishment, *, may_check: bool) -> dict[str, Any]:
    """Give the register: the instruments in use by code, then those out of use."""
    people, now = People(establishment), clock.now(establishment)
    slug = establishment.slug
    newest = [chain[-1] for chain in register_of(establishment).chains.values()]
    retired = sorted((row for row in newest if row.retired), key=lambda row: row.code)
    found = states(establishment, now)
    return {
        "lines": [line(state, slug, people, may_check=may_check) for state in found],
        "retired": people.each(retired),
        "may_change": may_check,
        "section": "plan",
    }


# One instrument ------------------------------------------------------------------------------------


def check_row(check: InstrumentCheck, slug: str, people: People, *, replaced: bool) -> dict[str, Any]:
    """Give one check as a row of the history."""
    return {
        "check": check,
        "url": reverse("instrument_check_shown", args=[slug, check.pk]),
        "when": people.when(check.checked_at),
        "who": people.name(check.author_id),
        "method": method_words(check.method),
        "found": error_words(check.error_text, check.unit),
        "mark": state_code(check.passed),
        "word": state_word(check.passed),
        "left": error_words(check.left_error_text, check.unit) if check.adjusted else "",
        "left_mark": state_code(check.left_passed),
        "left_word": state_word(check.left_passed),
        "done": done_words(check),
        "replaced": replaced,
    }


def instrument_page(
    establishment: Establishment, register: Register, instrument: Instrument, *, may_change: bool
) -> dict[str, Any]:
    """Give one instrument: where it stands, what the register says, its checks and its changes."""
    people, now, slug = People(establishment), clock.now(establishment), establishment.slug
    found, older = history(establishment, register.keys(instrument.pk))
    replaced = {check.supersedes_id for check in found}
    state = next((s for s in states(establishment, now) if s.instrument.pk == instrument.pk), None)
    scene = drift_scene(instrument, found, people.clock)
    return {
        "instrument": instrument,
        "line": line(state, slug, people, may_check=may_change) if state else None,
        "facts": facts(instrument),
        "checks": [check_row(c, slug, people, replaced=c.pk in replaced) for c in found],
        "older": min(older, PRINTED - SHOWN),
        "picture": _picture(scene, instrument) if scene else None,
        "changes": people.each(reversed(register.chains[register.root(instrument.pk)])),
        "may_change": may_change,
        "section": "plan",
    }


def _picture(scene: Scene, instrument: Instrument) -> SafeString:
    title = _("Errors of %(code)s as found") % {"code": instrument.code}
    return mark_safe(to_svg(scene, title, _("Each mark is one check.")))
