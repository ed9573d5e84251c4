"""Release, dispatch and "it left anyway" on the lot's page: forms, and what was typed into the services."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any, cast

from django.forms import Form
from django.http import HttpRequest
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from records.batches.models import Lot
from records.batches.posting import claim_of, moment, now_typed
from records.batches.queries import version_of
from records.signoff.forms import DISPATCH_FIELDS, UNITS, DispatchForm, ReleaseForm
from records.signoff.release import Balance, dispatch_lot, record_left_on_hold, release_lot
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity.form_refusals import Typed, taking_offers
from safetyplan.integrity.signatures import prove


def lot_forms(
    establishment: Establishment, lot: Lot, roles: Collection[str], shown: Mapping[str, Any]
) -> dict[str, Form]:
    """Make the forms that make sense now and that the person may use."""
    found: Balance = shown["found"]
    now = now_typed(establishment)
    forms: dict[str, Form] = {}
    left = found.releasable
    releases = version_of(establishment, lot).plan().release_role in roles
    if releases and not shown["hindrances"] and left.pieces > 0:
        amounts = {"pieces": str(left.pieces), "mass": trim(left.mass)}
        forms["release"] = ReleaseForm(initial=amounts, auto_id="release_%s")
    if not {Role.MAKER, Role.RESPONSIBLE} & set(roles):
        return forms
    if found.dispatchable.pieces > 0 and not shown["hindrances"]:
        forms["dispatch"] = DispatchForm(initial=now, auto_id="dispatch_%s")
    forms["left"] = DispatchForm(initial=now, auto_id="left_%s")
    return forms


def release(request: HttpRequest, establishment: Establishment, lot: Lot, typed: Typed) -> object:
    """Sign the release that was typed."""
    person, password = cast(Person, request.user), request.POST.get("password", "")
    proof = prove(establishment=establishment, person=person, password=password)

    def act(said: Typed) -> object:
        return release_lot(
            establishment=establishment,
            proof=proof,
            lot=lot,
            pieces=said.get("pieces", ""),
            mass_typed=said.get("mass", ""),
            note=said.get("note", ""),
            claim=claim_of(request, establishment, "lot_released", said, lot=lot.pk),
        )

    return taking_offers(typed, act, units=UNITS)


def _sending(request: HttpRequest, establishment: Establishment, lot: Lot, said: Typed) -> dict[str, Any]:
    note = said.get("note", "")
    return {
        "establishment": establishment,
        "by": cast(Person, request.user),
        "lot": lot,
        "customer": said.get("customer", ""),
        "pieces": said.get("pieces", ""),
        "mass_typed": said.get("mass", ""),
        "left_at": moment(establishment, said, reason=note),
        "note": note,
        "claim": claim_of(request, establishment, "dispatched", said, lot=lot.pk),
    }


def dispatch(request: HttpRequest, establishment: Establishment, lot: Lot, typed: Typed) -> object:
    """Record the dispatch that was typed."""

    def act(said: Typed) -> object:
        return dispatch_lot(**_sending(request, establishment, lot, said))

    return taking_offers(typed, act, fields=DISPATCH_FIELDS, units=UNITS)


def left_anyway(request: HttpRequest, establishment: Establishment, lot: Lot, typed: Typed) -> object:
    """Record that goods left though they were on hold or not released."""

    def act(said: Typed) -> object:
        return record_left_on_hold(**_sending(request, establishment, lot, said))

    return taking_offers(typed, act, fields=DISPATCH_FIELDS, units=UNITS)


@dataclass(frozen=True)
class Task:
    """One form of the lot's page: its fields, what it does, what is said when it is done."""

    form: type[Form]
    act: Callable[[HttpRequest, Establishment, Lot, Typed], object]
    done: "str | Promise"


TASKS: Mapping[str, Task] = {
    "release": Task(ReleaseForm, release, _("The release is signed.")),
    "dispatch": Task(DispatchForm, dispatch, _("The dispatch is recorded.")),
    "left": Task(
        DispatchForm,
        left_anyway,
        _("It is recorded, and a deviation is open: it needs a recall decision now."),
    ),
}
