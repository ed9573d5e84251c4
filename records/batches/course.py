"""The course of a make: what happened, what comes next, and the instants that its timers run to. Pure.

Everything is derived from the plan and the times recorded, so that a timer is the same on every device and
after every reload; instants are compared in UTC, so neither midnight nor a changed clock moves them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from safetyplan.plans.document import STARTED, Event


@dataclass(frozen=True)
class Happened:
    """An event of a lot that stands: its code and when it happened."""

    event: str
    at: datetime


@dataclass(frozen=True)
class Coming:
    """An event of the plan as it stands in a make.

    times: when it happened so far, in order. usual_at: when it is usual, or when the next of several is; None
    where the plan does not say, or it counts from an event that has not happened.
    """

    event: Event
    times: tuple[datetime, ...]
    usual_at: datetime | None

    @property
    def done(self) -> bool:
        """Tell whether it has happened."""
        return bool(self.times)

    @property
    def again(self) -> bool:
        """Tell whether it has happened and may happen again."""
        return self.done and self.event.repeats


@dataclass(frozen=True)
class Course:
    """Where a make stands. next: the event that comes next in the plan. earlier: those passed over.

    repeating: those that may happen again, the one that is usual soonest first. later: what follows the next.
    """

    next: Coming | None
    earlier: tuple[Coming, ...]
    repeating: tuple[Coming, ...]
    later: tuple[Coming, ...]


def _usual(event: Event, times: Sequence[datetime], first: Mapping[str, datetime]) -> datetime | None:
    if times:
        every = timedelta(minutes=event.every_minutes)
        return times[-1] + every if event.repeats and event.every_minutes else None
    base = first.get(event.after_event)
    return None if base is None else base + timedelta(minutes=event.after_minutes)


def course(events: Sequence[Event], started_at: datetime, happened: Sequence[Happened]) -> Course:
    """Tell the course of a make by the events of its product, its start and what happened.

    Next is the first event of the plan that has not happened and stands after the last one that has (one that
    repeats moves nothing on); what stands before it and did not happen was passed over. Times as given, usual
    times as instants: base + minutes.
    """
    times: dict[str, list[datetime]] = {}
    for one in sorted(happened, key=lambda h: h.at):
        times.setdefault(one.event, []).append(one.at)
    first = {STARTED: started_at, **{code: found[0] for code, found in times.items()}}
    all_coming = [
        Coming(event, tuple(times.get(event.code, ())), _usual(event, times.get(event.code, ()), first))
        for event in events
    ]
    reached = max((n for n, c in enumerate(all_coming) if c.done and not c.event.repeats), default=-1)
    open_ones = [(n, c) for n, c in enumerate(all_coming) if not c.done]
    following = [c for n, c in open_ones if n > reached]
    repeating = sorted(
        (c for c in all_coming if c.again), key=lambda c: (c.usual_at is None, c.usual_at or started_at)
    )
    return Course(
        next=following[0] if following else None,
        earlier=tuple(c for n, c in open_ones if n < reached),
        repeating=tuple(repeating),
        later=tuple(following[1:]),
    )
