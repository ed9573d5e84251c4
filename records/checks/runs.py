"""Which time a reading of a shared thing casts doubt on. Pure: no database, no clock.

A run is what lies between two readings within the limit that show nothing but readings outside it. Every
lot that used the thing from the reading within the limit before it to the one after it belongs to the run,
both instants included: what happened between two readings is not known.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True)
class Seen:
    """One reading as far as a run is concerned; `good` when it shows control."""

    at: datetime
    good: bool
    slot: str
    reading: Any = None


@dataclass(frozen=True)
class Run:
    """Readings outside the limit, and the time they cast doubt on; `until` None: nothing good came since."""

    since: datetime
    until: datetime | None
    bad: Sequence[Seen]

    @property
    def slots(self) -> list[str]:
        """Give the slots of the readings outside the limit."""
        return [seen.slot for seen in self.bad]

    def touches(self, start: datetime, end: datetime | None) -> bool:
        """Tell whether a use from `start` to `end` (None: still going on) falls into the run."""
        return (self.until is None or start <= self.until) and (end is None or end >= self.since)

    def covers(self, at: datetime) -> bool:
        """Tell whether an instant lies in the run."""
        return self.touches(at, at)


def runs(begun_at: datetime, seen: Iterable[Seen]) -> list[Run]:
    """Find the runs in the life of a thing. Of readings at one instant a bad one counts."""
    by_time: dict[datetime, list[Seen]] = defaultdict(list)
    for one in seen:
        by_time[one.at].append(one)
    found: list[Run] = []
    since, bad = begun_at, list[Seen]()
    for at in sorted(by_time):
        outside = [one for one in by_time[at] if not one.good]
        if outside:
            bad += outside
            continue
        if bad:
            found.append(Run(since, at, tuple(bad)))
            bad = []
        since = at
    return [*found, Run(since, None, tuple(bad))] if bad else found
