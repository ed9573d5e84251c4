"""Local time of an establishment: by its time zone on pages, by frozen offsets on paper.

A print must give the same bytes for ever, also after the zone data has changed; so an issue carries
the offsets that held when it was made.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Protocol
from zoneinfo import ZoneInfo

from safetyplan.integrity import canonical


class LocalTime(Protocol):
    """Turns instants into local time and back."""

    def local(self, at: datetime) -> datetime:
        """Give an instant in local time."""

    def instant(self, day: date, clock_time: time) -> datetime:
        """Give the instant (UTC) of a local day and time."""


@dataclass(frozen=True)
class ZoneTime:
    """Local time by zone data."""

    zone: ZoneInfo

    def local(self, at: datetime) -> datetime:
        """Give an instant in local time."""
        return at.astimezone(self.zone)

    def instant(self, day: date, clock_time: time) -> datetime:
        """Give the instant of a local day and time; the first of the two where a clock hour comes twice.

        A time that the clocks leave out is as long after the last minute before it as they would have run.
        """
        return datetime.combine(day, clock_time, tzinfo=self.zone).astimezone(UTC)


@dataclass(frozen=True)
class FrozenOffsets:
    """Local time by a short list of (from this instant on, offset in minutes)."""

    steps: tuple[tuple[datetime, int], ...]

    def _offset(self, at: datetime) -> timedelta:
        index = bisect_right([start for start, _minutes in self.steps], at) - 1
        return timedelta(minutes=self.steps[max(index, 0)][1])

    def local(self, at: datetime) -> datetime:
        """Give an instant in local time."""
        return at.astimezone(timezone(self._offset(at)))

    def instant(self, day: date, clock_time: time) -> datetime:
        """Give the instant of a local day and time, as by zone data: the first of two, and past a gap."""
        naive = datetime.combine(day, clock_time, tzinfo=UTC)
        first = naive - self._offset(naive - timedelta(hours=15))
        second = naive - self._offset(first)
        reads_so = [at for at in (first, second) if self.local(at).replace(tzinfo=UTC) == naive]
        return reads_so[0] if reads_so else first

    def document(self) -> list[list[object]]:
        """Give the steps as a value of canonical JSON."""
        return [[canonical.instant(start), minutes] for start, minutes in self.steps]

    @classmethod
    def read(cls, value: Sequence[Sequence[object]]) -> "FrozenOffsets":
        """Read the steps back."""
        return cls(tuple((canonical.read_instant(str(start)), int(str(minutes))) for start, minutes in value))


def freeze(zone: ZoneInfo, start: datetime, end: datetime) -> FrozenOffsets:
    """List a zone's offsets between two instants, to the hour."""
    at = start.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    steps: list[tuple[datetime, int]] = []
    while at <= end:
        minutes = int((at.astimezone(zone).utcoffset() or timedelta()).total_seconds() // 60)
        if not steps or steps[-1][1] != minutes:
            steps.append((at, minutes))
        at += timedelta(minutes=30)
    return FrozenOffsets(tuple(steps))


def day_bounds(clock: LocalTime, day: date) -> tuple[datetime, datetime]:
    """Give the instants at which a local day begins and the next one begins."""
    return clock.instant(day, time.min), clock.instant(day + timedelta(days=1), time.min)


def shown_time(clock: LocalTime, at: datetime | None, *, relative_to: date | None = None) -> str:
    """Write an instant for people: HH:MM, with the date when it is another day."""
    if at is None:
        return "–"
    local = clock.local(at)
    if relative_to is not None and local.date() == relative_to:
        return local.strftime("%H:%M")
    return local.strftime("%Y-%m-%d %H:%M")
