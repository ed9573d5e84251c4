"""Release, dispatch and "it left anyway" on the lot's page: forms, and what was typed into the services."""

from collections.abc import Collection, Mapping
from typing import Any, cast

from django.db import transaction
from django.forms import Form
from django.http import HttpRequest

from records.batches.models import Lot
from records.batches.posting import moment, now_typed, refuse_unseen
from records.signoff.forms import DISPATCH_FIELDS, UNITS, DispatchForm, ReleaseForm
from records.signoff.models import Dispatch
from records.signoff.queries import dispatches, releases
from records.signoff.release import Balance, dispatch_lot, record_left_on_hold, release_lot
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.integrity import ledger
from safetyplan.integrity.form_refusals import Typed, taking_offers
from safetyplan.integrity.signatures import prove


def lot_forms(
    establishment: Establishment, lot: Lot, roles: Collection[str], shown: Mapping[str, Any]
) -> dict[str, Form]:
    """Make the forms that make sense now and that the person may use."""
    found: Balance = shown["found"]
    seen, now = {"seen": str(shown["seen"])}, now_typed(establishment)
    forms: dict[str, Form] = {}
    left = found.releasable
    if lot.plan_version.plan().release_role in roles and not shown["hindrances"] and left.pieces > 0:
        amounts = {"pieces": str(left.pieces), "mass": trim(left.mass)}
        forms["release"] = ReleaseForm(initial={**seen, **amounts}, auto_id="release_%s")
    if not {Role.MAKER, Role.RESPONSIBLE} & set(roles):
        return forms
    standing = any(row["open"] for row in shown["deviations"])
    if found.dispatchable.pieces > 0 and not standing:
        forms["dispatch"] = DispatchForm(initial={**seen, **now}, auto_id="dispatch_%s")
    forms["left"] = DispatchForm(initial={**seen, **now}, auto_id="left_%s")
    return forms


def seen_now(establishment: Establishment, lot: Lot) -> int:
    """Count the releases and dispatches of a lot: a page that shows fewer is out of date."""
    return int(releases(establishment, lot).count() + dispatches(establishment, lot).count())


def release(request: HttpRequest, establishment: Establishment, lot: Lot, typed: Typed) -> object:
    """Sign the release that was typed."""
    person, password = cast(Person, request.user), request.POST.get("password", "")

    def act(said: Typed) -> object:
        with transaction.atomic():
            ledger.lock(establishment)
            refuse_unseen(said.get("seen", ""), seen_now(establishment, lot))
            return release_lot(
                establishment=establishment,
                proof=prove(establishment=establishment, person=person, password=password),
                lot=lot,
                pieces=said.get("pieces", ""),
                mass_typed=said.get("mass", ""),
                note=said.get("note", ""),
            )

    return taking_offers(typed, act, units=UNITS)


def _sending(request: HttpRequest, establishment: Establishment, lot: Lot, said: Typed) -> dict[str, Any]:
    refuse_unseen(said.get("seen", ""), seen_now(establishment, lot))
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
    }


def dispatch(request: HttpRequest, establishment: Establishment, lot: Lot, typed: Typed) -> Dispatch:
    """Record the dispatch that was typed."""

    def act(said: Typed) -> Dispatch:
        with transaction.atomic():
            ledger.lock(establishment)
            return dispatch_lot(**_sending(request, establishment, lot, said))

    return taking_offers(typed, act, fields=DISPATCH_FIELDS, units=UNITS)


def left_anyway(request: HttpRequest, establishment: Establishment, lot: Lot, typed: Typed) -> object:
    """Record that goods left though they were on hold or not released; give the deviation."""

    def act(said: Typed) -> object:
        with transaction.atomic():
            ledger.lock(establishment)
            return record_left_on_hold(**_sending(request, establishment, lot, said))[1]

    return taking_offers(typed, act, fields=DISPATCH_FIELDS, units=UNITS)
