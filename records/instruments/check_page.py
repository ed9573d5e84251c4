"""A check of an instrument on its pages: from what was typed to the service, and back into words."""

from collections.abc import Mapping, Sequence
from typing import Any, cast
from uuid import UUID

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.posting import claim_of, moment, now_typed
from records.checks.instrument_checks import CheckRecorded, correct_check, record_check
from records.checks.models import RejudgedByInstrument
from records.deviations.models import Deviation
from records.instruments.check_forms import AGAIN, FOUND, LEFT, POINTS, CheckForm, keys_of
from records.instruments.checking import NOTHING, CheckContent
from records.instruments.measured import Readings, Round, method_words
from records.instruments.models import Instrument, InstrumentCheck
from records.instruments.queries import in_use, register_of
from records.instruments.told import (
    done_words,
    given_words,
    judged_again,
    line_words,
    lines_of,
    passes_between,
    state_code,
    state_word,
    typed_again,
)
from safetyplan.calculation import instrument_checks as checks
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import zone_of
from safetyplan.establishments.shown import People
from safetyplan.integrity import canonical
from safetyplan.integrity.form_refusals import Typed, taking_offers
from safetyplan.integrity.refusals import BadInput
from safetyplan.words import name_words, render, sentence_case

FIELDS = {"checked_at": "on_time"}
UNITS_OF = {
    "air_pressure": "air_pressure_unit",
    "altitude": "altitude_unit",
    "temperature": "temperature_unit",
}
HOW = {
    checks.ICE: gettext_lazy(
        "Crushed ice of clean water, half melted and stirred, the probe in the middle, read when it stands "
        "still."
    ),
    checks.BOILING: gettext_lazy(
        "Clean water at a full boil, the probe in the water and off the bottom. Mind the steam: it scalds."
    ),
    checks.BUFFER: gettext_lazy(
        "Fresh buffers, the electrode rinsed and at rest, read before it is adjusted."
    ),
    checks.REFERENCE: gettext_lazy(
        "Both in the same place until both stand still; near the values that matter, such as the limit."
    ),
    checks.SCALES: gettext_lazy(
        "Scales level and empty at zero; weights in the middle, near what is weighed."
    ),
}
AROUND = ("air_pressure", "altitude", "temperature", "weights", "certificate")


def method_asked(instrument: Instrument, asked: str) -> str:
    """Give the method asked for, else that of the schedule, else the usual one of what it measures."""
    known = checks.methods_of(instrument.quantity)
    return next((m for m in (asked, instrument.check_method) if m in known), known[0])


def references_for(establishment: Establishment, instrument: Instrument) -> list[Instrument]:
    """Give the instruments that can stand beside one: in use, of the same quantity, another one."""
    own = register_of(establishment).keys(instrument.pk)
    return [i for i in in_use(establishment) if i.quantity == instrument.quantity and i.pk not in own]


def form_for(establishment: Establishment, instrument: Instrument, method: str) -> CheckForm:
    """Make the form of a check, with the present time and the instrument's reference."""
    references = references_for(establishment, instrument)
    initial: dict[str, Any] = {**now_typed(establishment)}
    if instrument.reference_id:
        newest = register_of(establishment).newest(instrument.reference_id)
        initial["reference"] = str(newest.pk)
    return CheckForm(instrument, method, references, initial=initial)


def correction_form(establishment: Establishment, check: InstrumentCheck) -> CheckForm:
    """Make the form that corrects a check, filled in with what was recorded."""
    references = _references(establishment, check.instrument, check)
    initial = recorded(establishment, check)
    return CheckForm(check.instrument, check.method, references, initial=initial, correct=True)


def bound_form(
    establishment: Establishment,
    instrument: Instrument,
    method: str,
    data: Typed,
    original: InstrumentCheck | None,
) -> CheckForm:
    """Make the form that holds what was typed."""
    references = _references(establishment, instrument, original)
    return CheckForm(instrument, method, references, data, correct=original is not None)


def _references(
    establishment: Establishment, instrument: Instrument, original: InstrumentCheck | None
) -> list[Instrument]:
    found = references_for(establishment, instrument)
    first = original.reference if original else None
    return [*found, first] if first is not None and first.pk not in {r.pk for r in found} else found


def recorded(establishment: Establishment, check: InstrumentCheck) -> dict[str, str]:
    """Give what a check says as it would be typed into its form."""
    local = ZoneTime(zone_of(establishment)).local(check.checked_at)
    given = cast(dict[str, str], canonical.loads(check.given.encode()))
    typed = {name: given.get(f"{name}_raw", given.get(name, "")) for name in AROUND}
    units = {key: given[key] for key in UNITS_OF.values() if key in given}
    return {
        **typed,
        **units,
        **_points(FOUND, check.found),
        **_points(LEFT, check.left),
        "reference": str(check.reference_id or ""),
        "done": check.done,
        "note": check.note,
        "late_reason": check.late_reason,
        "on_date": f"{local:%Y-%m-%d}",
        "on_time": f"{local:%H:%M}",
        "on_time_fold": str(local.fold),
    }


def _points(side: str, document: str) -> dict[str, str]:
    readings = typed_again(document)
    typed = {
        f"{side}_{n}_{key}": text for n, point in enumerate(readings.points, 1) for key, text in point.items()
    }
    typed |= {f"{side}_again_{n}": raw for n, raw in enumerate(readings.again, 1)}
    return {**typed, f"{side}_slope": readings.slope, f"{side}_offset": readings.offset}


def content_of(
    establishment: Establishment, instrument: Instrument, method: str, typed: Typed, answered: frozenset[str]
) -> CheckContent:
    """Give what was typed into the form of a check; `answered`: fields whose question was answered."""
    why = typed.get("late_reason", "") or typed.get("reason", "")
    left = _readings(instrument, method, typed, LEFT)
    chosen = typed.get("reference", "")
    given = {name: typed.get(name, "") for name in (*AROUND, *UNITS_OF.values())}
    return CheckContent(
        method=method,
        checked_at=moment(establishment, typed, reason=why),
        found=_readings(instrument, method, typed, FOUND),
        given=given,
        left=left if _any(left) else None,
        reference=_uuid(chosen) if chosen and method == checks.REFERENCE else None,
        done=typed.get("done", "") or NOTHING,
        note=typed.get("note", ""),
        late_reason=typed.get("late_reason", ""),
        confirmed=frozenset(name for name in answered if f"{name}_offer" not in typed),
    )


def _uuid(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise BadInput(_("Choose a reference from the register."), part="reference") from error


def _readings(instrument: Instrument, method: str, typed: Mapping[str, str], side: str) -> Readings:
    keys = keys_of(instrument, method)
    points = [{key: typed.get(f"{side}_{n}_{key}", "") for key in keys} for n in range(1, POINTS[method] + 1)]
    again = [typed.get(f"{side}_again_{n}", "") for n in range(1, AGAIN + 1)]
    return Readings(points, typed.get(f"{side}_slope", ""), typed.get(f"{side}_offset", ""), again)


def _any(readings: Readings) -> bool:
    values = [text for point in readings.points for key, text in point.items() if key != "name"]
    return any(text.strip() for text in (*values, readings.slope, readings.offset, *readings.again))


def send(
    request: HttpRequest,
    establishment: Establishment,
    instrument: Instrument,
    method: str,
    typed: Typed,
    original: InstrumentCheck | None = None,
) -> CheckRecorded:
    """Record the check that was typed, or its correction."""
    answered = frozenset(name.removesuffix("_offer") for name in typed if name.endswith("_offer"))
    units = _units(instrument, method, typed)

    def act(said: Typed) -> CheckRecorded:
        content = content_of(establishment, instrument, method, said, answered)
        kind = "instrument_check"
        about: dict[str, Any] = {
            "establishment": establishment,
            "by": cast(Person, request.user),
            "content": content,
            "claim": claim_of(
                request,
                establishment,
                kind,
                said,
                instrument=instrument.pk,
                method=method,
                supersedes=original.pk if original else "",
            ),
        }
        if original is None:
            return record_check(instrument=instrument, **about)
        return correct_check(original=original, why=said.get("reason", ""), **about)

    return taking_offers(typed, act, fields=FIELDS, units=units)


def _units(instrument: Instrument, method: str, typed: Typed) -> dict[str, str]:
    """Give the unit of each field, into which an offer in another unit is converted."""
    points = {
        f"{side}_{n}_{key}": instrument.unit or ""
        for side in (FOUND, LEFT)
        for n in range(1, POINTS[method] + 1)
        for key in ("shown", "true")
    }
    firsts = {"air_pressure": "hPa", "altitude": "m", "temperature": "degC"}
    return {**points, **{name: typed.get(key) or firsts[name] for name, key in UNITS_OF.items()}}


def form_context(
    establishment: Establishment, instrument: Instrument, form: CheckForm, original: InstrumentCheck | None
) -> dict[str, Any]:
    """Give what the page of a form shows."""
    slug = establishment.slug
    methods = [] if original else checks.methods_of(instrument.quantity)
    address = reverse("instrument_check", args=[slug, instrument.pk])
    tolerance = f"± {instrument.tolerance_text}" if instrument.tolerance_text else ""
    return {
        "instrument": instrument,
        "form": form,
        "original": original,
        "tolerance": tolerance,
        "criterion": sentence_case(name_words(instrument.criterion)) if instrument.criterion else "",
        "passes": passes_between(instrument, form.method),
        "method": form.method,
        "method_name": method_words(form.method),
        "how": HOW.get(form.method, ""),
        "methods": [
            {"name": method_words(m), "url": f"{address}?method={m}", "here": m == form.method}
            for m in methods
        ],
    }


def shown_context(establishment: Establishment, check: InstrumentCheck) -> dict[str, Any]:
    """Give what the page of a recorded check shows."""
    people = People(establishment)
    rows = InstrumentCheck.objects.of(establishment).select_related("instrument", "reference")
    later = rows.filter(supersedes=check).first()
    found, left = judged_again(check)
    return {
        "check": check,
        "instrument": check.instrument,
        "shown": people.shown(check),
        "when": people.when(check.checked_at),
        "method_name": method_words(check.method),
        "done": done_words(check),
        "given": given_words(check),
        "found": _side(check.found, found, check.passed, check.sentence_text),
        "left": _side(check.left, left, check.left_passed, check.left_sentence_text) if left else None,
        "later": later,
        "deviations": _opened(establishment, check),
        "sources": found.outcome.sources,
    }


def _opened(establishment: Establishment, check: InstrumentCheck) -> Sequence[Deviation]:
    """Give the deviations that hold what a failed check reached."""
    fallen = RejudgedByInstrument.objects.of(establishment).filter(failed=check)
    found = Deviation.objects.of(establishment).filter(pk__in=fallen.values("deviation"))
    return list(found.order_by("number"))


def _side(document: str, judged: Round, passed: bool | None, said: str) -> dict[str, Any]:
    return {
        "mark": state_code(passed),
        "word": state_word(passed),
        "said": said,
        "lines": [line_words(line) for line in lines_of(document)],
        "steps": [sentence_case(render(step)) for step in judged.outcome.steps],
    }
