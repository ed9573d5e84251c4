"""Readings and checks in words: what was read, the result against the limit, where a check stands."""

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.checks.due import SlotState, Status
from records.checks.judging import kept_parts
from records.checks.models import Reading
from records.inspection.telling import Teller
from safetyplan.calculation.judgement import State
from safetyplan.calculation.rounding import amount
from safetyplan.integrity import canonical
from safetyplan.words import name_words

STATES = {
    State.WITHIN: gettext_lazy("within"),
    State.OUTSIDE_TARGET: gettext_lazy("outside target"),
    State.OUTSIDE_LIMIT: gettext_lazy("OUTSIDE LIMIT"),
    State.NOT_YET_DUE: gettext_lazy("not yet due"),
    State.NOT_SHOWN: gettext_lazy("NOT SHOWN"),
    State.INSTRUMENT_NOT_VALID: gettext_lazy("INSTRUMENT NOT VALID"),
}
STATUSES = {
    Status.WAITING: gettext_lazy("waits for its event"),
    Status.LATER: gettext_lazy("not yet due"),
    Status.DUE: gettext_lazy("due"),
    Status.OVERDUE: gettext_lazy("overdue"),
    Status.MISSING: gettext_lazy("MISSING"),
    Status.RECORDED: gettext_lazy("recorded"),
    Status.EXPLAINED: gettext_lazy("explained"),
    Status.BY_EXCEPTION: gettext_lazy("by exception"),
}
TIME_FORMS = {"time": "%H:%M", "date": "%Y-%m-%d", "moment": "%Y-%m-%d %H:%M"}


def state_word(state: str) -> str:
    """Give the word of a result against the limit."""
    return str(STATES.get(State(state), state)) if state else ""


def status_word(status: Status) -> str:
    """Give the word for where a check stands."""
    return str(STATUSES[status])


def value_parts(teller: Teller, reading: Reading) -> list[str]:
    """Write what was read, each part with its unit; a check of several parts names each."""
    if reading.voided:
        return [_("void")]
    parts = kept_parts(reading)
    if len(parts) == 1:
        return [_part(teller, parts[0])]
    return [_named(teller, name_words(part["name"]), _part(teller, part)) for part in parts]


def _named(teller: Teller, name: str, value: str) -> str:
    """Name a part before its value, once: a pH already says what it is."""
    return value if teller.form >= 2 and value.startswith(f"{name} ") else f"{name} {value}"


def _part(teller: Teller, part: Mapping[str, str]) -> str:
    if part["entry"] == "number":
        return amount(part["value"], part["unit"])
    if part["entry"] in TIME_FORMS:
        return teller.clock.local(canonical.read_instant(part["value"])).strftime(TIME_FORMS[part["entry"]])
    return name_words(part["value"]) if part["entry"] == "choice" else part["value"]


def result_words(reading: Reading) -> str:
    """Write the result against the limit with the sentence that says what was compared with what."""
    if not reading.state:
        return ""
    return f"{state_word(reading.state)}: {reading.sentence_text}"


def event_details(text: str) -> list[str]:
    """Write the details of an event, each with its unit."""
    details = canonical.loads(text.encode())
    assert isinstance(details, list)
    return [f"{d['label']}: {amount(d['value'], d['unit']) if d['unit'] else d['value']}" for d in details]


def due_words(teller: Teller, state: SlotState) -> str:
    """Say when a check is or was due, or which event it waits for."""
    if state.slot.due_at is None:
        return _("after: %(event)s") % {"event": name_words(state.slot.waits_for)}
    return teller.time(state.slot.due_at)


def control_words(state: SlotState) -> str:
    """Name the control of a check."""
    return f"{state.slot.control.code} {state.slot.control.name}"
