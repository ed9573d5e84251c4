"""Changes to the checks of instruments: record one, correct one."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.instruments.kinds import INSTRUMENT_CHECK
from records.instruments.measured import Readings, Round, circumstances, read_round
from records.instruments.models import Instrument, InstrumentCheck
from records.instruments.queries import register_of
from records.instruments.services import again, reference_of
from records.instruments.standing import calendar
from safetyplan.calculation import instrument_checks as checks
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import replaced, zone_of
from safetyplan.integrity import canonical, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, reason
from safetyplan.plans.queries import late_after

NOTHING, ADJUSTED, OUT_OF_USE = "nothing", "adjusted", "out_of_use"
DONE = (NOTHING, ADJUSTED, OUT_OF_USE)
# What is tolerated before a plan says it: as the plan's own default.
LATE_AFTER = 30


@dataclass(frozen=True)
class CheckContent:
    """What a person says of a check of an instrument, as typed.

    given: `air_pressure` or `altitude` of a boiling point, `temperature` of buffers, each with `<name>_unit`;
    `weights` or `certificate`, what stood for the truth. left: the readings after adjusting, None where it
    was not adjusted. confirmed: the fields whose unlikely value the person stood by.
    """

    method: str
    checked_at: datetime
    found: Readings
    given: Mapping[str, str] = field(default_factory=dict)
    left: Readings | None = None
    reference: UUID | None = None
    done: str = NOTHING
    note: str = ""
    late_reason: str = ""
    captured_at: datetime | None = None
    confirmed: frozenset[str] = frozenset()


def record_instrument_check(
    *,
    establishment: Establishment,
    by: Person,
    instrument: Instrument,
    content: CheckContent,
    claim: Claim | None = None,
) -> InstrumentCheck:
    """Record a check of an instrument: as found, and as left where it was adjusted.

    What a failed check reaches back to is opened by the checks' service, which calls this one.
    """
    require_role(establishment, by, *WRITERS)
    with transaction.atomic():
        ledger.lock(establishment)
        newest = register_of(establishment).newest(instrument.pk)
        if newest.retired:
            raise Refused(_("%(code)s is out of use: take it into use first.") % {"code": newest.code})
        row = _write(establishment, by, newest, content, claim=claim)
        if content.done == OUT_OF_USE:
            again(establishment, by, newest, row.sentence_text[:500], retired=True)
    return row


def correct_instrument_check(
    *,
    establishment: Establishment,
    by: Person,
    original: InstrumentCheck,
    content: CheckContent,
    why: str,
    claim: Claim | None = None,
) -> InstrumentCheck:
    """Record a corrected check; the first one stays. What a failed check opened stays open."""
    require_role(establishment, by, *WRITERS)
    told = reason(why)
    with transaction.atomic():
        ledger.lock(establishment)
        if replaced(original):
            raise Refused(_("This check was already corrected. Correct the newest entry."))
        if content.method != original.method:
            raise BadInput(_("A correction keeps the method of the check."), part="method")
        return _write(
            establishment, by, original.instrument, content, claim=claim, supersedes=original, why=told
        )


def _write(
    establishment: Establishment,
    by: Person,
    instrument: Instrument,
    content: CheckContent,
    *,
    claim: Claim | None,
    supersedes: InstrumentCheck | None = None,
    why: str = "",
) -> InstrumentCheck:
    reference = _reference_of_check(establishment, instrument, content)
    around = circumstances(instrument, content.method, content.given, content.confirmed)
    if content.method == checks.REFERENCE:
        around = replace(around, reference_in_order=_in_order(establishment, reference, content.checked_at))
    found = read_round(around, content.found, "found", content.confirmed)
    left = read_round(around, content.left, "left", content.confirmed) if content.left else None
    _check_done(content, left)
    line, error = found.outcome.line, found.outcome.error
    row = InstrumentCheck(
        instrument=instrument,
        method=content.method,
        checked_at=content.checked_at,
        reference=reference,
        given=canonical.dumps({**around.document, **_named(content)}).decode(),
        found=found.text,
        unit=around.unit,
        error_text=trim(error) if error is not None else "",
        intercept_text=trim(line.intercept) if line else "",
        slope_text=trim(line.slope) if line else "",
        tolerance_text=instrument.tolerance_value or "",
        tolerance_unit=instrument.tolerance_unit or "",
        passed=found.outcome.passed,
        sentence=found.sentences,
        sentence_text=found.words,
        **_left(left),
        done=content.done,
        note=clean(content.note, most=1000, part="note"),
        late=_is_late(establishment, content, supersedes, why),
        late_reason=clean(content.late_reason, part="late_reason"),
        supersedes=supersedes,
        reason=why,
    )
    ledger.append(kind=INSTRUMENT_CHECK, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _left(left: Round | None) -> dict[str, Any]:
    error = left.outcome.error if left else None
    return {
        "adjusted": left is not None,
        "left": left.text if left else "[]",
        "left_error_text": trim(error) if error is not None else "",
        "left_passed": left.outcome.passed if left else None,
        "left_sentence": left.sentences if left else "[]",
        "left_sentence_text": left.words if left else "",
    }


def _check_done(content: CheckContent, left: Round | None) -> None:
    if content.done not in DONE:
        raise BadInput(_("Choose what was done."), part="done")
    if content.done == ADJUSTED and left is None:
        raise BadInput(_("Give what it shows after adjusting."), part="left_1_shown")
    if content.done == NOTHING and left is not None:
        raise BadInput(_("Readings after adjusting belong to an instrument that was adjusted."), part="done")


def _named(content: CheckContent) -> dict[str, str]:
    """Give what stood for the truth in words: the weights, or the certificate of a reference."""
    named = {
        name: clean(content.given.get(name, ""), most=200, part=name) for name in ("weights", "certificate")
    }
    return {name: text for name, text in named.items() if text}


def _reference_of_check(
    establishment: Establishment, instrument: Instrument, content: CheckContent
) -> Instrument | None:
    if content.method != checks.REFERENCE:
        return None
    if content.reference is None and not content.given.get("certificate", "").strip():
        raise BadInput(_("Choose the reference, or name it with its certificate."), part="reference")
    register = register_of(establishment)
    return reference_of(register, content.reference, instrument.quantity, instrument, content.checked_at)


def _in_order(establishment: Establishment, reference: Instrument | None, at: datetime) -> bool:
    """Tell whether a reference could pass anything then: certificate valid, not overdue, not failed."""
    if reference is None:
        return True
    day = at.astimezone(zone_of(establishment)).date()
    expired = reference.certificate_until is not None and day > reference.certificate_until
    return not expired and not calendar(establishment, at, at).overdue_at(reference.pk, at)


def _is_late(
    establishment: Establishment, content: CheckContent, original: InstrumentCheck | None, why: str
) -> bool:
    """A correction that keeps the time is as late as what it corrects; else the claimed time decides."""
    if original is not None and original.checked_at == content.checked_at:
        return original.late
    tolerance = late_after(establishment, LATE_AFTER)
    return check_observed(
        establishment,
        content.checked_at,
        content.captured_at,
        tolerance,
        content.late_reason or why,
        part="checked_at",
    )
