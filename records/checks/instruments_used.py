"""The instruments of readings: whether each was overdue for its check when it was used."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext as _

from records.checks.models import Reading
from records.instruments.models import Instrument
from records.instruments.queries import register_of
from records.instruments.standing import calendar
from safetyplan.establishments.localtime import LocalTime
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.document import Control

BLOCK = "block"


def overdue_readings(
    establishment: Establishment,
    readings: Iterable[Reading],
    as_of: int | None = None,
    clock: LocalTime | None = None,
) -> set[UUID]:
    """Give the keys of the readings taken with an instrument that was overdue, or known to be off, then.

    Derived from the register and the checks as recorded up to `as_of`; nothing is stored with a reading. The
    number of queries does not grow with readings, instruments or checks.
    """
    using = [(r.pk, r.instrument_id, r.observed_at) for r in readings if r.instrument_id is not None]
    if not using:
        return set()
    times = [at for _pk, _key, at in using]
    known = calendar(establishment, min(times), max(times), as_of, clock)
    return {pk for pk, key, at in using if key is not None and known.overdue_at(key, at)}


def instrument_named(establishment: Establishment, key: UUID | None, at: datetime) -> Instrument | None:
    """Give the instrument a reading names; it must have been in use when the reading was taken.

    A device may name a row that was changed since: it is the same instrument.
    """
    if key is None:
        return None
    register = register_of(establishment)
    if key not in register.rows or register.at(key, at).retired:
        raise BadInput(_("This instrument is not in use."), part="instrument")
    return register.rows[key] if not register.rows[key].retired else register.at(key, at)


def refuse_overdue(
    establishment: Establishment, control: Control, instrument: Instrument | None, at: datetime
) -> None:
    """Refuse a reading with an overdue instrument where the plan says that it blocks."""
    if instrument is None or control.overdue_instrument != BLOCK:
        return
    if not calendar(establishment, at, at).overdue_at(instrument.pk, at):
        return
    raise BadInput(
        _(
            "%(code)s was overdue for its check at this time, and the plan takes no reading of %(control)s "
            "with an overdue instrument. Check %(code)s now and measure again, or measure with another "
            "instrument."
        )
        % {"code": instrument.code, "control": f"{control.code} {control.name}"},
        part="instrument",
    )
