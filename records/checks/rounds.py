"""A round: prerequisite checks seen and found in order, confirmed at once where the plan says by exception.

What is not in order is recorded as a value of its own check. A critical control point is never part of a
round: it shows control by its actual value only.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from records.checks import judging
from records.checks.due import SlotState, Status, day_states, thing_states
from records.checks.kinds import ROUND_CONFIRMED
from records.checks.models import RoundConfirmed
from records.checks.slots import parse_slot
from safetyplan.establishments.access import require_role
from safetyplan.establishments.localtime import LocalTime, ZoneTime
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import replaced, zone_of
from safetyplan.integrity import canonical, clock, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.typed_values import check_observed, clean, reason

OPEN = (Status.DUE, Status.OVERDUE, Status.MISSING)


@dataclass(frozen=True)
class RoundContent:
    """What a person says of a round: which checks were seen, and when."""

    slots: Sequence[str]
    observed_at: datetime
    late_reason: str = ""
    captured_at: datetime | None = None


def states_of_day(
    establishment: Establishment, day: date, clock_: LocalTime, now: datetime
) -> list[SlotState]:
    """Give the checks of a day and of its shared things."""
    return [*day_states(establishment, day, clock_, now), *thing_states(establishment, day, clock_, now)]


def may_be_seen(state: SlotState) -> bool:
    """Tell whether a check may be part of a round: by exception, and no critical control point."""
    control = state.slot.control
    return control.by_exception and not control.is_ccp


def open_at(state: SlotState, at: datetime) -> bool:
    """Tell whether an instant lies in the window of a check."""
    opens, closes = state.slot.opens_at, state.slot.closes_at
    return opens is not None and closes is not None and opens <= at <= closes


def waiting(establishment: Establishment, day: date, clock_: LocalTime, now: datetime) -> list[SlotState]:
    """Give the checks that a round could confirm now, in the order in which they are due."""
    found = states_of_day(establishment, day, clock_, now)
    fitting = [s for s in found if may_be_seen(s) and s.status in OPEN and open_at(s, now)]
    return sorted(fitting, key=lambda s: (s.slot.due_at or now, s.slot.control.code, s.slot.ordinal))


def confirm_round(
    *, establishment: Establishment, by: Person, content: RoundContent, claim: Claim | None = None
) -> RoundConfirmed:
    """Record that checks were seen and found in order; all were open at the time they were seen."""
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        found = _find(establishment, content)
        tolerance = min(state.plan_version.plan().late_after_minutes for state in found)
        late = check_observed(
            establishment, content.observed_at, content.captured_at, tolerance, content.late_reason
        )
        row = RoundConfirmed(
            day=_day(content.slots),
            checks=canonical.dumps([_named(state) for state in found]).decode(),
            observed_at=content.observed_at,
            late=late,
            late_reason=clean(content.late_reason, part="late_reason"),
            voided=False,
        )
        ledger.append(kind=ROUND_CONFIRMED, row=row, establishment=establishment, author=by, claim=claim)
    return row


def _named(state: SlotState) -> dict[str, str]:
    control = state.slot.control
    return {
        "slot": state.slot.id,
        "control": control.code,
        "control_name": control.name,
        "point": state.slot.point,
        "limit_words": judging.words(control),
    }


def _find(establishment: Establishment, content: RoundContent) -> list[SlotState]:
    """Find the checks that were named, or refuse the round, saying which one cannot be part of it."""
    if not content.slots:
        raise BadInput(_("Nothing was confirmed: no check is open."), part="slots")
    day = _day(content.slots)
    local, now = ZoneTime(zone_of(establishment)), clock.now(establishment)
    by_slot = {state.slot.id: state for state in states_of_day(establishment, day, local, now)}
    found = []
    for slot in dict.fromkeys(content.slots):
        state = by_slot.get(slot)
        if state is None:
            raise BadInput(_("The plan does not know this check."), part="slots")
        _refuse_unfit(state, content.observed_at)
        found.append(state)
    return found


def _day(slots: Sequence[str]) -> date:
    try:
        days = {parse_slot(slot).day for slot in slots}
    except ValueError as error:
        raise BadInput(_("This check is not known."), part="slots") from error
    day = days.pop()
    if days or day is None:
        raise BadInput(_("A round belongs to one day, and to no lot."), part="slots")
    return day


def _refuse_unfit(state: SlotState, at: datetime) -> None:
    control = state.slot.control
    name = f"{control.code} {control.name}"
    if control.is_ccp:
        raise Refused(
            _("%(check)s is a critical control point: record its actual value.") % {"check": name},
            part="slots",
        )
    if not control.by_exception:
        raise Refused(
            _("The plan asks for each value of %(check)s: record it.") % {"check": name}, part="slots"
        )
    if state.status not in (*OPEN, Status.LATER):
        raise Refused(
            _("%(check)s was answered already. Look at the list again.") % {"check": name}, part="slots"
        )
    if not open_at(state, at):
        raise Refused(
            _("%(check)s was not open at this time: record its value, or say why it was not made.")
            % {"check": name},
            part="slots",
        )


def void_round(
    *,
    establishment: Establishment,
    by: Person,
    original: RoundConfirmed,
    why: str,
    claim: Claim | None = None,
) -> RoundConfirmed:
    """Void a round that should not be there: its checks count as not made."""
    require_role(establishment, by, Role.MAKER)
    with transaction.atomic():
        ledger.lock(establishment)
        if original.voided or replaced(original):
            raise Refused(_("This round was voided already."))
        row = RoundConfirmed(
            day=original.day,
            checks=original.checks,
            observed_at=original.observed_at,
            late=False,
            late_reason="",
            voided=True,
            supersedes=original,
            reason=reason(why),
        )
        ledger.append(kind=ROUND_CONFIRMED, row=row, establishment=establishment, author=by, claim=claim)
    return row
