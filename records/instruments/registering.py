"""The form of an instrument: made for a new one or a change, and sent to the service."""

from typing import Any, cast
from uuid import UUID

from django.http import HttpRequest
from django.utils.translation import gettext as _

from records.batches.posting import based_on, claim_of, refuse_stale
from records.instruments.forms import InstrumentForm
from records.instruments.models import Instrument
from records.instruments.queries import in_use, register_of
from records.instruments.services import About, register_instrument
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.people_forms import typed_date
from safetyplan.integrity.form_refusals import Typed
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import reason

TEXTS = ("unit", "maker", "serial", "place", "range_low", "range_high", "resolution", "criterion")


def form_for(
    establishment: Establishment, found: Instrument | None = None, data: Typed | None = None
) -> InstrumentForm:
    """Make the form for a new instrument, or for a change of one; with `data` it holds what was typed."""
    own = register_of(establishment).keys(found.pk) if found else []
    references = [row for row in in_use(establishment) if row.pk not in own]
    about: dict[str, Any] = {"references": references, "change": found is not None}
    if data is not None:
        form = InstrumentForm(data, **about)
    else:
        form = InstrumentForm(initial=_as_typed(establishment, found) if found else {}, **about)
    if found is not None:
        based_on(form, found.pk)
    return form


def _as_typed(establishment: Establishment, found: Instrument) -> dict[str, str]:
    """Give an instrument as it would be typed into the form."""
    days, until, reference = found.check_every_days, found.certificate_until, ""
    if found.reference_id:
        reference = str(register_of(establishment).newest(found.reference_id).pk)
    return {
        "code": found.code,
        "name": found.name,
        "quantity": found.quantity,
        "tolerance": found.tolerance_text,
        "method": found.check_method or "",
        "every": "" if days is None else str(days),
        "reference": reference,
        "certificate": found.certificate or "",
        "certificate_until": until.isoformat() if until else "",
        **{name: getattr(found, name) or "" for name in TEXTS},
    }


def send(
    request: HttpRequest, establishment: Establishment, typed: Typed, found: Instrument | None = None
) -> Instrument:
    """Register what was typed, or record the change."""
    if found is not None:
        refuse_stale(typed, found.pk, form_for(establishment, found))
    why = reason(typed.get("reason", "")) if found is not None else ""
    about = About(
        **{name: typed.get(name, "") for name in TEXTS},
        method=typed.get("method", ""),
        every=typed.get("every", ""),
        reference=_uuid(typed.get("reference", "")),
        certificate=typed.get("certificate", ""),
        certificate_until=typed_date(typed.get("certificate_until", ""), part="certificate_until"),
    )
    return register_instrument(
        establishment=establishment,
        by=cast(Person, request.user),
        code=typed.get("code", ""),
        name=typed.get("name", ""),
        quantity=typed.get("quantity", ""),
        tolerance=typed.get("tolerance", ""),
        about=about,
        supersedes=found,
        why=why,
        claim=claim_of(request, establishment, "instrument", typed, supersedes=found.pk if found else ""),
    )


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text) if text else None
    except ValueError as error:
        raise BadInput(_("Choose a reference from the register."), part="reference") from error
