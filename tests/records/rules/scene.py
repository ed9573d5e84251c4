"""A dairy with one lot, the person who is about to try something, and what the records say afterwards.

Hours count from the start of the lot, 14 May 07:00 UTC. The heat hold is due by hour 4. The starter goes in
at hour 2, so the acid has to be shown between hour 24 and hour 26 (15 May); the clock opens a deviation when
ten more minutes have passed.
"""

from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from records.batches.models import Lot, LotEvent
from records.batches.queries import effective_events
from records.checks.due import SlotState
from records.checks.models import Reading
from records.deviations.affected import lines_of
from records.deviations.models import Deviation
from records.deviations.queries import DeviationState, deviations, state_of, states
from records.signoff.queries import DaySheet, day_sheet
from records.signoff.release import balance
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment, Person, Role
from safetyplan.establishments.queries import zone_of
from safetyplan.establishments.services import MemberSpec, add_person, change_membership
from safetyplan.integrity import clock
from safetyplan.integrity.models import SignatureProof
from tests.builders import T0, at, day_slot, hours, lot_slot
from tests.cast import PASSWORD, Cast

ROLES = (
    Role.MAKER,
    Role.REVIEWER,
    Role.QUALIFIED,
    Role.RESPONSIBLE,
    Role.ADMINISTRATOR,
    Role.INSPECTOR,
)


@dataclass(frozen=True)
class Shown:
    """What the day sheet shows: status and result of the watched check, and the deviations of the day."""

    status: str
    result: str = ""
    deviations: tuple[str, ...] = ()


def member(role: Role, *more: Role) -> MemberSpec:
    """Describe a member of the dairy."""
    end = date(2100, 1, 1) if role == Role.INSPECTOR else None
    initials = f"X{role[:3].upper()}"
    return MemberSpec(f"{role.label} Alone", initials, (role, *more), inspector_until=end)


def alone(cast: Cast, role: Role, *more: Role) -> Person:
    """Give the dairy a person who has this one role, or these."""
    spec = member(role, *more)
    name = f"only-{role}"
    return add_person(
        establishment=cast.dairy, by=cast.owner, username=name, password=PASSWORD, member=spec
    ).person


def describe(state: DeviationState) -> str:
    """Say what opened a deviation, and where it stands: "not_made, open, hold missing"."""
    told = [str(state.deviation.cause), "open" if state.is_open else "closed"]
    gone = state.is_open and state.deviation.hold_required and state.all_left and state.recall is None
    return ", ".join(
        [*told, *(["hold missing"] if state.hold_missing else ["recall missing"] if gone else [])]
    )


@dataclass
class Scene:
    """The records so far. While `acting`, everything is done by the actor, else by the usual people."""

    cast: Cast
    actor: Person
    role: Role
    watched: str
    day: date
    acting: bool = False

    @property
    def dairy(self) -> Establishment:
        """Give the dairy."""
        return self.cast.dairy

    @cached_property
    def lot(self) -> Lot:
        """Give the lot."""
        return Lot.objects.of(self.dairy).select_related("plan_version").get()

    @property
    def now(self) -> float:
        """Give the clock, in hours since the start of the lot."""
        return (clock.now(self.dairy) - T0).total_seconds() / 3600

    def slot(self, control: str = "", ordinal: int | str = 0, day: date | None = None) -> str:
        """Name a check, the watched one by default."""
        code = control or self.watched
        if code in ("PRP1", "PRP3"):
            return day_slot(T0.replace(day=(day or self.day).day), code, ordinal)
        return lot_slot(self.lot, code, ordinal)

    def readings(self, control: str = "") -> list[Reading]:
        """Give every reading of a check, in the order recorded."""
        rows = Reading.objects.of(self.dairy).filter(slot=self.slot(control))
        return list(rows.select_related("lot", "plan_version").order_by("entry__sequence"))

    def event(self, code: str) -> LotEvent:
        """Give the entry of an event that stands."""
        return effective_events(self.dairy, [self.lot.pk]).select_related("lot__plan_version").get(event=code)

    @property
    def deviation(self) -> Deviation:
        """Give the newest deviation."""
        return deviations(self.dairy)[0]

    @property
    def state(self) -> DeviationState:
        """Give the newest deviation with everything recorded about it."""
        return state_of(self.dairy, self.deviation)

    def at(self, hour: float) -> AbstractContextManager[None]:
        """Set the clock."""
        return at(self.dairy, hours(hour))

    def by(self, usual: str) -> Person:
        """Give the person who does the next thing."""
        person: Person = self.actor if self.acting else getattr(self.cast, usual)
        return person

    def proof(self, usual: str) -> SignatureProof:
        """Give the password of the person who signs the next thing."""
        return self.cast.proof(self.by(usual))

    def give_actor(self, *roles: Role) -> None:
        """Give the actor further roles beside the own one."""
        spec = member(self.role, *roles)
        change_membership(establishment=self.dairy, by=self.cast.owner, person=self.actor, member=spec)

    def sheet(self) -> DaySheet:
        """Compose the sheet of the day as it stands now."""
        return day_sheet(self.dairy, self.day, ZoneTime(zone_of(self.dairy)), clock.now(self.dairy))

    def check(self, sheet: DaySheet) -> SlotState:
        """Find the watched check on the sheet."""
        return next(state for state in sheet.states if state.slot.id == self.slot())

    def shown(self, sheet: DaySheet) -> Shown:
        """Give what the sheet shows."""
        check, listed = self.check(sheet), states(self.dairy, sheet.deviations)
        return Shown(str(check.status), str(check.result or ""), tuple(map(describe, listed)))

    def facts(self, sheet: DaySheet) -> set[str]:
        """Say in words what else the records tell of the lot, its newest deviation and the day."""
        found, check = balance(self.dairy, self.lot), self.check(sheet)
        said = {f"released {found.released.pieces}", f"dispatched {found.dispatched.pieces}"}
        said.add("day signed" if sheet.newest else "day not signed")
        said |= {"late"} if any(reading.late for reading in check.effective) else set()
        said |= {"judged twice"} if check.rejudged else set()
        said |= {f"recorded {len(check.readings)}"}
        return said | (self._facts_of_deviation() if deviations(self.dairy).exists() else set())

    def _facts_of_deviation(self) -> set[str]:
        state = self.state
        said = {f"left on hold {state.left.pieces}", f"actions {len(state.actions)}"}
        said.add(f"evaluations {len(state.evaluations)}")
        said |= {f"missing {name}" for name in state.missing()}
        lines: list[dict[str, Any]] = [line for d in state.dispositions for line in lines_of(d)]
        return said | {f"{line['outcome']} {line['pieces']}" for line in lines}
