"""Changes to lots: start one, record what happens to it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from records.batches.adding import record_additions
from records.batches.details import take
from records.batches.kinds import LOT, LOT_EVENT
from records.batches.models import Lot, LotEvent
from records.batches.queries import OPEN_LOT, effective_events, similar_lot, version_of, versions_followed
from records.batches.using import move_things, use_things
from safetyplan.calculation.codes import parse_code, skeleton
from safetyplan.establishments.access import require_role
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import details_of
from safetyplan.integrity import canonical, clock, index, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, in_words, number
from safetyplan.plans.document import Event
from safetyplan.plans.queries import in_force


@dataclass(frozen=True)
class EventContent:
    """What a person says of an event."""

    event: str
    observed_at: datetime
    details: tuple[dict[str, Any], ...] = ()
    late_reason: str = ""
    reason: str = ""
    captured_at: datetime | None = None


def start_lot(
    *,
    establishment: Establishment,
    by: Person,
    code: str,
    product: str,
    vat: str,
    milk: str,
    started_at: datetime,
    late_reason: str = "",
    claim: Claim | None = None,
) -> Lot:
    """Start a lot under the plan version now in force."""
    require_role(establishment, by, Role.MAKER)
    with in_words("code"):
        lot_code = parse_code(code)
    with transaction.atomic():
        ledger.lock(establishment)
        version = in_force(establishment, clock.now(establishment))
        if version is None:
            raise Refused(_("There is no approved plan yet: a lot needs one to be judged by."))
        chosen = next((p for p in version.plan().products if p.code == product), None)
        if chosen is None:
            raise BadInput(_("Choose a product of the plan."), part="product")
        twin = similar_lot(establishment, lot_code)
        if twin is not None:
            raise BadInput(
                _("This lot code is the same as, or looks like, lot %(code)s.") % {"code": twin.code},
                part="code",
            )
        unit = details_of(establishment).volume_unit
        typed = number(milk, quantity="volume", unit=unit, part="milk") if milk.strip() else None
        check_observed(
            establishment, started_at, None, version.plan().late_after_minutes, late_reason, part="started_at"
        )
        lot = Lot(
            code=lot_code,
            code_skeleton=skeleton(lot_code),
            product_code=chosen.code,
            product_name=chosen.name,
            plan_version=version,
            vat=clean(vat),
            milk_text=typed.text if typed else "",
            milk_unit=unit if typed else "",
            started_at=started_at,
            late_reason=clean(late_reason),
        )
        ledger.append(kind=LOT, row=lot, establishment=establishment, author=by, claim=claim)
        index.add(establishment, OPEN_LOT, lot.pk, lot.pk)
    return lot


def planned_event(establishment: Establishment, lot: Lot, code: str, *, earlier: bool = False) -> Event:
    """Find an event in the plan version the lot follows; with `earlier` also in those it followed before."""
    followed = versions_followed(establishment, lot)
    for version in followed if earlier else followed[:1]:
        event = version.plan().product(lot.product_code).event(code)
        if event is not None:
            return event
    raise BadInput(_("The plan does not know this event."), part="event")


def record_event(
    *,
    establishment: Establishment,
    by: Person,
    lot: Lot,
    content: EventContent,
    supersedes: LotEvent | None = None,
    claim: Claim | None = None,
) -> LotEvent:
    """Record something that happened to a lot. A correction goes through the checks' service."""
    require_role(establishment, by, Role.MAKER)
    planned = planned_event(establishment, lot, content.event, earlier=supersedes is not None)
    tolerance = version_of(establishment, lot).plan().late_after_minutes
    late = check_observed(
        establishment, content.observed_at, content.captured_at, tolerance, content.late_reason
    )
    if content.observed_at < lot.started_at:
        raise BadInput(_("This is before the lot was started."), part="observed_at")
    if supersedes is None:
        _refuse_earlier(establishment, lot, content)
    taken = take(planned, content.details)
    row = LotEvent(
        lot=lot,
        event=planned.code,
        event_name=planned.name,
        observed_at=content.observed_at,
        details=canonical.dumps(list(taken.rows)).decode(),
        pieces=taken.pieces,
        mass_text=taken.mass,
        late=late,
        late_reason=clean(content.late_reason),
        supersedes=supersedes,
        reason=clean(content.reason),
    )
    with transaction.atomic():
        ledger.lock(establishment)
        ledger.append(kind=LOT_EVENT, row=row, establishment=establishment, author=by, claim=claim)
        record_additions(establishment, by, planned, row, taken.rows, content.details)
        if supersedes is None:
            use_things(establishment, by, planned, row, taken.rows)
        else:
            move_things(establishment, by, supersedes, row)
    return row


def _refuse_earlier(establishment: Establishment, lot: Lot, content: EventContent) -> None:
    """Refuse to move an event back by recording it again: the first counts, and checks hang on its time."""
    standing = effective_events(establishment, [lot.pk]).filter(event=content.event)
    if standing.filter(observed_at__gt=content.observed_at).exists():
        raise Refused(
            _("This event was recorded already, at a later time: correct that entry instead."),
            part="observed_at",
        )
