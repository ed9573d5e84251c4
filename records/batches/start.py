"""Starting a lot from the page: the form filled in beforehand, and what was typed into the service."""

from datetime import datetime
from typing import Any, cast

from django.http import HttpRequest

from records.batches.forms import StartLotForm
from records.batches.models import Lot
from records.batches.posting import claim_of, moment, now_typed
from records.batches.queries import similar_lot
from records.batches.services import start_lot
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import details_of, zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.form_refusals import Typed, taking_offers
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.document import Product
from safetyplan.plans.queries import in_force

FIELDS = {"started_at": "on_time"}


def products(establishment: Establishment) -> tuple[Product, ...]:
    """Give the products of the plan in force; none while there is no plan."""
    version = in_force(establishment, clock.now(establishment))
    return version.plan().products if version else ()


def form_of(establishment: Establishment, data: Typed) -> StartLotForm:
    """Make the form that holds what was typed."""
    return StartLotForm(data, **_choices(establishment, products(establishment)))


def _choices(establishment: Establishment, listed: tuple[Product, ...]) -> dict[str, Any]:
    unit = UNITS[details_of(establishment).volume_unit].symbol
    return {"products": [(p.code, f"{p.code} {p.name}") for p in listed], "unit": unit}


def empty_form(establishment: Establishment, product: str) -> StartLotForm | None:
    """Make the form for a product, its code filled in from today's date; None while there is no plan."""
    listed = products(establishment)
    if not listed:
        return None
    chosen = next((p for p in listed if p.code == product), listed[0])
    initial = {
        "product": chosen.code,
        "code": free_code(establishment, chosen.code),
        **now_typed(establishment),
    }
    return StartLotForm(initial=initial, **_choices(establishment, listed))


def free_code(establishment: Establishment, product: str) -> str:
    """Suggest a lot code: the product's code with month and day, numbered from the second lot of a day on."""
    local: datetime = ZoneTime(zone_of(establishment)).local(clock.now(establishment))
    first = f"{product}-{local:%m%d}"
    for code in (first, *(f"{first}-{number}" for number in range(2, 10))):
        if similar_lot(establishment, code) is None:
            return code
    return ""


def start(request: HttpRequest, establishment: Establishment, typed: Typed) -> Lot:
    """Start the lot that was typed."""
    unit = details_of(establishment).volume_unit

    def act(said: Typed) -> Lot:
        late = said.get("late_reason", "")
        return start_lot(
            establishment=establishment,
            by=cast(Person, request.user),
            code=said.get("code", ""),
            product=said.get("product", ""),
            vat=said.get("vat", ""),
            milk=said.get("milk", ""),
            started_at=moment(establishment, said, reason=late),
            late_reason=late,
            claim=claim_of(request, establishment, "lot_started", said),
        )

    try:
        return taking_offers(typed, act, fields=FIELDS, units={"milk": unit})
    except BadInput as refusal:
        # The service takes no confirmation of an unlikely amount, so such an offer would lead nowhere.
        refusal.offers = [offer for offer in refusal.offers if not offer["confirmed"]]
        raise
