"""From what was typed into a calculator to its worked result; every refusal in the person's words."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.worked.log_text import read_log
from safetyplan.calculation.worked.shape import Answers, Ask, Number, Task, Worked
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, number
from safetyplan.words import name_words, render, sentence_case

MOST_NUMBERS = 500
LONGEST_TEXT = 20_000
UNIT = "_unit"


def fields_of(task: Task) -> list[str]:
    """Name every field of a task's form: its inputs, and the unit of each that has a choice."""
    names = []
    for ask in task.asks:
        names.append(ask.name)
        if len(ask.units) > 1:
            names.append(ask.name + UNIT)
    return names


def unit_of(ask: Ask, typed: Mapping[str, str]) -> str:
    """Give the unit chosen for an input; its only or first one when none was chosen."""
    chosen = typed.get(ask.name + UNIT, "")
    if not chosen:
        return ask.units[0] if ask.units else ""
    if chosen not in ask.units:
        raise BadInput(_("Choose one of the units offered."), part=ask.name)
    return chosen


def read_answers(task: Task, typed: Mapping[str, str]) -> Answers:
    """Read every input of a task; the first that cannot be taken is refused at its field."""
    given: dict[str, Any] = {}
    for ask in task.asks:
        raw = typed.get(ask.name, "")
        if not raw.strip():
            if ask.required:
                name = sentence_case(name_words(ask.name))
                raise BadInput(_("%(name)s is missing.") % {"name": name}, part=ask.name)
            continue
        given[ask.name] = _read(ask, raw, typed)
    return Answers(given)


def _read(ask: Ask, raw: str, typed: Mapping[str, str]) -> Any:
    if ask.entry == "choice":
        if raw not in ask.options:
            raise BadInput(_("Choose one of the answers offered."), part=ask.name)
        return raw
    unit = unit_of(ask, typed)
    if ask.entry == "log":
        return read_log(clean(raw, most=LONGEST_TEXT, part=ask.name), ask, unit)
    if ask.entry == "numbers":
        return _numbers(ask, clean(raw, most=LONGEST_TEXT, part=ask.name), unit)
    return _number(ask, raw, unit)


def _number(ask: Ask, raw: str, unit: str) -> Number:
    found = number(raw, quantity=ask.quantity, unit=unit, part=ask.name, confirmed=True)
    return Number(found.value, found.unit, found.censored)


def _numbers(ask: Ask, text: str, unit: str) -> tuple[Number, ...]:
    lines = [(place, line) for place, line in enumerate(text.splitlines(), 1) if line.strip()]
    if len(lines) > MOST_NUMBERS:
        raise BadInput(_("At most %(most)d values, please.") % {"most": MOST_NUMBERS}, part=ask.name)
    found = []
    for place, line in lines:
        try:
            found.append(_number(ask, line, unit))
        except BadInput as refusal:
            words = _("Line %(line)d: %(why)s") % {"line": place, "why": refusal.message}
            raise BadInput(words, part=ask.name) from refusal
    return tuple(found)


def work(task: Task, typed: Mapping[str, str]) -> Worked:
    """Read the inputs and compute; a refusal of the calculation comes in words, at its field."""
    try:
        return task.work(read_answers(task, typed))
    except Refusal as refusal:
        raise BadInput(sentence_case(render(refusal.sentence)), part=refusal.field) from refusal
