"""Changes to the register of instruments."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from records.instruments.kinds import INSTRUMENT
from records.instruments.models import Instrument
from records.instruments.queries import Register, register_of
from safetyplan.calculation import instrument_checks as checks
from safetyplan.calculation.instruments_tables import ACCEPTANCES
from safetyplan.calculation.rounding import difference
from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import details_of
from safetyplan.integrity import ledger
from safetyplan.integrity.kinds import HEADER
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import clean, number, reason, whole_number

MOST_DAYS = 3660


@dataclass(frozen=True)
class About:
    """What a register says of an instrument besides its code and name, as typed.

    unit: the one it shows, "" the first of its quantity. tolerance: a number, in `unit` unless one is typed.
    every: "" no schedule, "0" each day of use, or days. method: how it is checked by schedule.
    """

    unit: str = ""
    maker: str = ""
    serial: str = ""
    place: str = ""
    range_low: str = ""
    range_high: str = ""
    resolution: str = ""
    criterion: str = ""
    method: str = ""
    every: str = ""
    reference: UUID | None = None
    certificate: str = ""
    certificate_until: date | None = None


def register_instrument(
    *,
    establishment: Establishment,
    by: Person,
    code: str,
    name: str,
    quantity: str,
    tolerance: str = "",
    about: About | None = None,
    retired: bool = False,
    supersedes: Instrument | None = None,
    why: str = "",
    claim: Claim | None = None,
) -> Instrument:
    """Register an instrument, or record a change to it."""
    require_role(establishment, by, *WRITERS)
    tidy = clean(code, most=30, part="code")
    if not tidy or not clean(name, most=120, part="name"):
        raise BadInput(_("Give the instrument a code and a name."), part="code")
    if quantity not in QUANTITIES:
        raise BadInput(_("Choose what the instrument measures."), part="quantity")
    with transaction.atomic():
        ledger.lock(establishment)
        register = register_of(establishment)
        _refuse_twin(register, tidy, supersedes)
        row = Instrument(
            code=tidy,
            name=clean(name, most=120),
            quantity=quantity,
            retired=retired,
            supersedes=supersedes,
            reason=clean(why, part="reason"),
            **_described(establishment, register, quantity, tolerance, about or About(), supersedes),
        )
        ledger.append(kind=INSTRUMENT, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _refuse_twin(register: Register, code: str, supersedes: Instrument | None) -> None:
    """Refuse a code that another instrument has, and a change to a row that was changed already."""
    newest = [chain[-1] for chain in register.chains.values()]
    if supersedes is not None and supersedes.pk not in {row.pk for row in newest}:
        raise Refused(_("This instrument was changed meanwhile. Look at it as it is now, then change it."))
    if any(row.code == code for row in newest if supersedes is None or row.pk != supersedes.pk):
        raise BadInput(_("Another instrument has this code."), part="code")


def _described(
    establishment: Establishment,
    register: Register,
    quantity: str,
    tolerance: str,
    about: About,
    supersedes: Instrument | None,
) -> dict[str, Any]:
    unit = about.unit or _usual_unit(establishment, quantity)
    if unit not in QUANTITIES[quantity].units:
        raise BadInput(_("Choose a unit of what the instrument measures."), part="unit")
    if about.method and about.method not in checks.methods_of(quantity):
        raise BadInput(_("Choose a method for what the instrument measures."), part="method")
    if about.criterion and (quantity != "ph" or about.criterion not in ACCEPTANCES):
        raise BadInput(_("Only the electrode of a pH meter has such a criterion."), part="criterion")
    value, in_unit = _tolerance(tolerance, quantity, unit)
    return {
        "unit": unit,
        "tolerance_text": difference(value, in_unit) if value else "",
        "tolerance_value": value,
        "tolerance_unit": in_unit,
        "maker": clean(about.maker, most=120, part="maker"),
        "serial": clean(about.serial, most=60, part="serial"),
        "place": clean(about.place, most=120, part="place"),
        **_spans(quantity, unit, about),
        "criterion": about.criterion,
        "check_method": about.method,
        "check_every_days": _every(about.every),
        "reference": reference_of(register, about.reference, quantity, supersedes),
        "certificate": clean(about.certificate, most=120, part="certificate"),
        "certificate_until": about.certificate_until,
    }


def _usual_unit(establishment: Establishment, quantity: str) -> str:
    details = details_of(establishment)
    usual = {
        "temperature": details.temperature_unit,
        "volume": details.volume_unit,
        "mass": details.mass_unit,
    }
    return usual.get(quantity) or QUANTITIES[quantity].units[0]


def _tolerance(raw: str, quantity: str, unit: str) -> tuple[str, str]:
    """Read a tolerance in the unit typed with it, else that of the instrument: never converted."""
    if not raw.strip():
        return "", ""
    plain = raw.strip().removeprefix("±").strip()
    others = [other for other in QUANTITIES[quantity].units if other != unit]
    first: BadInput | None = None
    for each in (unit, *others):
        try:
            found = number(plain, quantity=quantity, unit=each, part="tolerance", confirmed=True)
        except BadInput as refusal:
            first = first or refusal
            continue
        if found.value <= 0:
            raise BadInput(_("The tolerance must be above zero."), part="tolerance")
        return found.text, each
    assert first is not None
    raise BadInput(str(first.message), part="tolerance")


def _spans(quantity: str, unit: str, about: About) -> dict[str, str]:
    found = {}
    for name in ("range_low", "range_high", "resolution"):
        raw = getattr(about, name)
        typed = number(raw, quantity=quantity, unit=unit, part=name, confirmed=True) if raw.strip() else None
        found[name] = typed.text if typed else ""
    low, high = found["range_low"], found["range_high"]
    if low and high and Decimal(low) >= Decimal(high):
        raise BadInput(_("The range must end above where it begins."), part="range_high")
    if found["resolution"] and Decimal(found["resolution"]) <= 0:
        raise BadInput(_("The smallest step must be above zero."), part="resolution")
    return found


def _every(raw: str) -> int | None:
    if not raw.strip():
        return None
    days = whole_number(raw, part="every")
    if days > MOST_DAYS:
        raise BadInput(_("At most %(most)d days.") % {"most": MOST_DAYS}, part="every")
    return days


def reference_of(
    register: Register,
    key: UUID | None,
    quantity: str,
    instrument: Instrument | None,
    at: datetime | None = None,
) -> Instrument | None:
    """Give the reference of an instrument, as it stood at an instant (None: now), or refuse it."""
    if key is None:
        return None
    if key not in register.rows:
        raise BadInput(_("Choose a reference from the register."), part="reference")
    found = register.newest(key) if at is None else register.at(key, at)
    if found.retired or found.quantity != quantity:
        raise BadInput(_("The reference must measure the same and be in use."), part="reference")
    if instrument is not None and register.root(found.pk) == register.root(instrument.pk):
        raise BadInput(_("An instrument cannot be its own reference."), part="reference")
    return found


_COPIED = tuple(
    f.name
    for f in Instrument._meta.concrete_fields
    if f.name not in (*HEADER, "retired", "supersedes", "reason")
)


def again(
    establishment: Establishment, by: Person, found: Instrument, why: str, *, retired: bool
) -> Instrument:
    """Record an instrument once more as it is, in use or out of use."""
    row = Instrument(
        retired=retired,
        supersedes=found,
        reason=why,
        **{name: getattr(found, name) for name in _COPIED},
    )
    ledger.append(kind=INSTRUMENT, row=row, establishment=establishment, author=by)
    return row


def retire_instrument(
    *, establishment: Establishment, by: Person, instrument: Instrument, why: str
) -> Instrument:
    """Take an instrument out of use; its old readings keep it. One that is out of use already stays so."""
    return _turn(establishment, by, instrument, why, retired=True)


def reactivate_instrument(
    *, establishment: Establishment, by: Person, instrument: Instrument, why: str
) -> Instrument:
    """Take an instrument into use again. One that is in use already stays so."""
    return _turn(establishment, by, instrument, why, retired=False)


def _turn(
    establishment: Establishment, by: Person, instrument: Instrument, why: str, *, retired: bool
) -> Instrument:
    require_role(establishment, by, *WRITERS)
    told = reason(why)
    with transaction.atomic():
        ledger.lock(establishment)
        newest = register_of(establishment).newest(instrument.pk)
        if newest.retired == retired:
            return newest
        return again(establishment, by, newest, told, retired=retired)
