"""Starting a lot from the page: the form filled in beforehand, and what was typed into the service."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any, cast

from django.db import transaction
from django.http import HttpRequest
from django.utils.translation import gettext as _

from records.batches.forms import StartLotForm
from records.batches.models import Lot
from records.batches.posting import claim_of, moment, now_typed
from records.batches.queries import similar_lot
from records.batches.services import start_lot
from records.checks.receipts import fill_lot
from records.receiving.load_page import open_loads
from records.receiving.models import MilkLoad
from records.receiving.posting import sure
from records.receiving.typed import volume_typed
from safetyplan.calculation.rounding import amount, trim
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.calculation.units import convert
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import details_of, zone_of
from safetyplan.integrity import clock
from safetyplan.integrity.form_refusals import Typed, taking_offers
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
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
    loads = [
        (load_field(load), words, UNITS[load.volume_unit].symbol) for load, words in open_loads(establishment)
    ]
    return {"products": [(p.code, f"{p.code} {p.name}") for p in listed], "unit": unit, "loads": loads}


def load_field(load: MilkLoad) -> str:
    """Name the field that asks how much of a load goes into the vat."""
    return f"load_{load.identity.hex}"


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
    """Start the lot that was typed, with the milk of the loads that was typed beside it."""
    unit, by = details_of(establishment).volume_unit, cast(Person, request.user)
    loads = {load_field(load): load for load, _words in open_loads(establishment)}

    def act(said: Typed) -> Lot:
        late = said.get("late_reason", "")
        chosen = {name: load for name, load in loads.items() if said.get(name, "").strip()}
        with transaction.atomic():
            taken = milk_of(chosen, said, unit)
            lot = start_lot(
                establishment=establishment,
                by=by,
                code=said.get("code", ""),
                product=said.get("product", ""),
                vat=said.get("vat", ""),
                milk=said.get("milk", "").strip() or taken,
                started_at=moment(establishment, said, reason=late),
                late_reason=late,
                claim=claim_of(request, establishment, "lot_started", said),
            )
            refuse_more(lot, taken)
            for name, load in chosen.items():
                fill(establishment, by, lot, load, said, name)
        return lot

    units = {"milk": unit, **{name: load.volume_unit for name, load in loads.items()}}
    try:
        return taking_offers(typed, act, fields=FIELDS, units=units)
    except BadInput as refusal:
        # The service takes no confirmation of an unlikely amount, so such an offer would lead nowhere.
        if refusal.part not in loads:
            refusal.offers = [offer for offer in refusal.offers if not offer["confirmed"]]
        raise


def milk_of(chosen: Mapping[str, MilkLoad], said: Typed, unit: str) -> str:
    """Add up what is taken of the loads, in a unit; nothing where no load is named."""
    found = [
        convert(
            Decimal(volume_typed(said[name], unit=load.volume_unit, part=name, sure=sure(said, name))),
            load.volume_unit,
            unit,
        )
        for name, load in chosen.items()
    ]
    return trim(sum(found, Decimal())) if found else ""


def refuse_more(lot: Lot, taken: str) -> None:
    """Refuse to name more milk of loads than went into the vat."""
    if taken and lot.milk_text and Decimal(taken) > Decimal(lot.milk_text):
        told = {"taken": amount(taken, lot.milk_unit), "milk": amount(lot.milk_text, lot.milk_unit)}
        words = _("The loads name %(taken)s, more than the %(milk)s of the lot.")
        raise BadInput(words % told, part="milk")


def fill(establishment: Establishment, by: Person, lot: Lot, load: MilkLoad, said: Typed, name: str) -> None:
    """Put milk of a load into the lot; what is refused is said beside the field of the load."""
    try:
        fill_lot(
            establishment=establishment,
            by=by,
            lot=lot,
            load=load.identity,
            volume=said[name],
            sure=sure(said, name),
        )
    except NotAllowed:
        raise
    except Refused as refusal:
        refusal.part = name
        raise
