"""The checks of a day in the groups in which somebody looks for them. Pure: each check is in exactly one."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import time

from django.utils.translation import gettext as _

from records.checks.due import SlotState
from safetyplan.establishments.localtime import LocalTime

MORNING, EVENING = time(12), time(16)
STORED = ("temperature",)


@dataclass(frozen=True)
class Group:
    """One group of a day's checks."""

    code: str
    title: str
    states: list[SlotState]


def groups(states: Iterable[SlotState], local: LocalTime) -> list[Group]:
    """Group the checks of a day: opening, milk, each lot, cellar, stores, during the day, closing."""
    found: dict[tuple[int, str], Group] = {}
    for state in states:
        rank, code, title = _group(state, local)
        found.setdefault((rank, code), Group(code, title, [])).states.append(state)
    return [found[key] for key in sorted(found)]


def _group(state: SlotState, local: LocalTime) -> tuple[int, str, str]:
    """Give the group of a check; one of a day belongs to a part of it by when it is due."""
    if state.lot is not None:
        told = {"code": state.lot.code, "name": state.lot.product_name}
        return 2, state.lot.code, _("Lot %(code)s, %(name)s") % told
    if state.slot.thing is not None:
        return 3, "things", _("Cellar and vats")
    if state.slot.load is not None:
        return 1, "milk", _("Milk")
    if any(part.quantity in STORED for part in state.slot.control.limit.parts()):
        return 4, "stores", _("Stores")
    due = state.slot.due_at or state.slot.closes_at
    at = local.local(due).time() if due else MORNING
    if at < MORNING:
        return 0, "opening", _("Opening")
    return (6, "closing", _("Closing")) if at >= EVENING else (5, "day", _("During the day"))


def subject(state: SlotState) -> str:
    """Name what a check was made on: its lot, its thing, the point at which it is measured."""
    lot = state.lot.code if state.lot else state.load.code if state.load else ""
    thing = state.thing.code if state.thing else ""
    return " ".join(part for part in (lot, thing, state.slot.point) if part)
