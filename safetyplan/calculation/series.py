"""A log of one quantity: readings at irregular times, with gaps that nothing fills.

Times are milliseconds since 1970 in UTC, values thousandths of the unit, both in arrays of whole numbers, so
that a year of minutes is compared exactly and fast. A limit in another unit is turned into the whole number
of thousandths that stands at its edge; the limit itself is never rounded (161 °F is 71 666.67 thousandths of
a degree Celsius, so 71 667 passes and 71 666 does not).

Between two readings nobody looked. What a rule makes of that is chosen by the method: a stretch at or above a
limit needs both of its ends there (`stretches_at_least`), a stretch above a limit counts when either end is
above it (`time_above`), and a gap counts for neither.
"""

from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise

from safetyplan.calculation import rounding
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import say
from safetyplan.calculation.times import instant_text
from safetyplan.calculation.units import convert

Stretch = tuple[int, int]
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def milliseconds(at: datetime) -> int:
    """An aware instant as whole milliseconds since 1970 in UTC; finer parts are dropped."""
    return (at - _EPOCH) // timedelta(milliseconds=1)


def instant(ms: int) -> datetime:
    """The instant of so many milliseconds since 1970, in UTC."""
    return _EPOCH + timedelta(milliseconds=ms)


@dataclass(frozen=True)
class Series:
    """Readings of one quantity in the order of time, no two at one instant.

    unit: of the values. longest_gap_ms: a longer pause between two readings is a gap. valid: False when the
    instrument behind it is not valid, so that it shows nothing.
    """

    unit: str
    times: "array[int]"
    values: "array[int]"
    longest_gap_ms: int
    valid: bool = True

    @classmethod
    def of(
        cls,
        readings: Iterable[tuple[datetime, Decimal]],
        *,
        unit: str,
        longest_gap: timedelta,
        valid: bool = True,
    ) -> "Series":
        """Make a series of (aware instant, value) in any order; the same reading twice counts once.

        Raises Refusal when two readings of one instant differ, or a value is finer than a thousandth.
        """
        found: dict[int, int] = {}
        for at, value in readings:
            key = milliseconds(at)
            try:
                thousandths = rounding.scaled(value)
            except ValueError:
                raise Refusal(say("series_too_fine", value=str(value))) from None
            if found.setdefault(key, thousandths) != thousandths:
                raise Refusal(say("series_two_values", at=instant_text(at)))
        order = sorted(found)
        values = array("q", (found[key] for key in order))
        return cls(unit, array("q", order), values, longest_gap // timedelta(milliseconds=1), valid)

    def __len__(self) -> int:
        return len(self.times)

    @property
    def start(self) -> datetime:
        """The instant of the first reading. Raises Refusal when there is none."""
        self._need_readings()
        return instant(self.times[0])

    @property
    def end(self) -> datetime:
        """The instant of the last reading. Raises Refusal when there is none."""
        self._need_readings()
        return instant(self.times[-1])

    def _need_readings(self) -> None:
        if not self.times:
            raise Refusal(say("series_empty"))

    def decimals(self) -> list[Decimal]:
        """The values as decimals in the unit of the series."""
        return [Decimal(value).scaleb(-3) for value in self.values]

    def seconds(self) -> list[float]:
        """The times in seconds since the first reading."""
        first = self.times[0] if self.times else 0
        return [(time - first) / 1000 for time in self.times]

    def gaps(self) -> list[Stretch]:
        """The pauses longer than `longest_gap_ms`, as (from, to) in milliseconds."""
        longest = self.longest_gap_ms
        return [(a, b) for a, b in pairwise(self.times) if b - a > longest]

    def parts(self) -> list["Series"]:
        """The series cut at its gaps, each part without one."""
        cuts = [0, *(n for n in range(1, len(self)) if self._is_gap(n)), len(self)]
        return [self._slice(a, b) for a, b in pairwise(cuts) if b > a]

    def _is_gap(self, number: int) -> bool:
        return self.times[number] - self.times[number - 1] > self.longest_gap_ms

    def _slice(self, first: int, last: int) -> "Series":
        times, values = self.times[first:last], self.values[first:last]
        return Series(self.unit, times, values, self.longest_gap_ms, self.valid)

    def between(self, start: datetime, end: datetime) -> "Series":
        """The readings from start to end, both included."""
        first = bisect_left(self.times, milliseconds(start))
        return self._slice(first, max(first, bisect_right(self.times, milliseconds(end))))

    def corrected(self, correct: Callable[[Decimal], Decimal]) -> "Series":
        """Every value put through a correction in the unit of the series, half up to thousandths."""
        seen = {value: correct(Decimal(value).scaleb(-3)) for value in set(self.values)}
        kept = {value: rounding.scaled(rounding.to_typed_precision(new)) for value, new in seen.items()}
        values = array("q", (kept[value] for value in self.values))
        return Series(self.unit, self.times, values, self.longest_gap_ms, self.valid)

    def lowest_at_least(self, limit: Decimal, unit: str) -> int:
        """The least number of thousandths, in the unit here, at or above a limit in its own unit."""
        return rounding.thousandths_at_least(convert(limit, unit, self.unit))

    def highest_at_most(self, limit: Decimal, unit: str) -> int:
        """The greatest number of thousandths, in the unit here, at or below a limit in its own unit."""
        return rounding.thousandths_at_most(convert(limit, unit, self.unit))

    def stretches_at_least(self, limit: Decimal, unit: str) -> list[Stretch]:
        """The longest stretches whose every reading is at or above the limit, without a gap inside.

        (from, to) in milliseconds, both of them readings; a single reading is a stretch of no length. A dip
        or a gap ends a stretch. Exactly on the limit is at it.
        """
        return self._stretches(self.lowest_at_least(limit, unit))

    def _stretches(self, edge: int) -> list[Stretch]:
        found: list[Stretch] = []
        longest, start, before = self.longest_gap_ms, -1, 0
        for time, value in zip(self.times, self.values, strict=True):
            if value < edge:
                if start >= 0:
                    found.append((start, before))
                    start = -1
            elif start < 0:
                start = time
            elif time - before > longest:
                found.append((start, before))
                start = time
            before = time
        if start >= 0:
            found.append((start, before))
        return found

    def time_above(self, limit: Decimal, unit: str) -> int:
        """Milliseconds between neighbouring readings of which at least one is above the limit; gaps count 0.

        The warmer end decides, so that the time is never too short. Exactly on the limit is not above it.
        """
        edge, longest, total = self.highest_at_most(limit, unit), self.longest_gap_ms, 0
        before, above = 0, False
        for time, value in zip(self.times, self.values, strict=True):
            if value > edge:
                if before and time - before <= longest:
                    total += time - before
                above = True
            elif above:
                if time - before <= longest:
                    total += time - before
                above = False
            before = time
        return total

    def spans(self) -> Iterator[tuple[int, int, int]]:
        """(milliseconds, value before, value after) between neighbouring readings that no gap separates."""
        longest = self.longest_gap_ms
        times, values = self.times, self.values
        for a, b, low, high in zip(times, times[1:], values, values[1:], strict=False):
            if b - a <= longest:
                yield b - a, low, high


def overlap(first: Sequence[Stretch], second: Sequence[Stretch]) -> list[Stretch]:
    """The stretches that lie in both of two sorted lists of stretches."""
    found: list[Stretch] = []
    n = m = 0
    while n < len(first) and m < len(second):
        start, end = max(first[n][0], second[m][0]), min(first[n][1], second[m][1])
        if start <= end:
            found.append((start, end))
        if first[n][1] < second[m][1]:
            n += 1
        else:
            m += 1
    return found
