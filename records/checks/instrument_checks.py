"""A check of an instrument with everything that hangs on it, in one transaction."""

from dataclasses import dataclass

from django.db import transaction

from records.checks.look_back import look_back
from records.deviations.models import Deviation
from records.instruments import checking
from records.instruments.checking import CheckContent
from records.instruments.models import Instrument, InstrumentCheck
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import ledger
from safetyplan.integrity.ledger import Claim


@dataclass(frozen=True)
class CheckRecorded:
    """A check of an instrument that was recorded, and the deviations that its failure opened."""

    check: InstrumentCheck
    opened: tuple[Deviation, ...] = ()


def record_check(
    *,
    establishment: Establishment,
    by: Person,
    instrument: Instrument,
    content: CheckContent,
    claim: Claim | None = None,
) -> CheckRecorded:
    """Record a check of an instrument."""
    with transaction.atomic():
        ledger.lock(establishment)
        check = checking.record_instrument_check(
            establishment=establishment, by=by, instrument=instrument, content=content, claim=claim
        )
        opened = look_back(establishment=establishment, by=by, check=check)
    return CheckRecorded(check, tuple(opened))


def correct_check(
    *,
    establishment: Establishment,
    by: Person,
    original: InstrumentCheck,
    content: CheckContent,
    why: str,
    claim: Claim | None = None,
) -> CheckRecorded:
    """Record a corrected check of an instrument."""
    with transaction.atomic():
        ledger.lock(establishment)
        check = checking.correct_instrument_check(
            establishment=establishment, by=by, original=original, content=content, why=why, claim=claim
        )
        opened = look_back(establishment=establishment, by=by, check=check)
    return CheckRecorded(check, tuple(opened))
