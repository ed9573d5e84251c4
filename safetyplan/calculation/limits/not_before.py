"""No sale before so many days at or above a temperature: raw-milk cheese 60 days at 35 °F or more.

Only time that a record shows counts. Time below the temperature does not count, and time without a record is
not shown; both are told apart in the sentence. The days are a legal minimum: ageing alone controls neither
Listeria nor STEC. Source of the shape: 21 CFR 133.182 and its sisters ("at a temperature of not less than
35 °F for not less than 60 days"); the figures are the plan's own.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta, tzinfo
from decimal import Decimal
from itertools import pairwise
from typing import Any, ClassVar

from safetyplan.calculation import rounding
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.band import Band, Edge, number_text, text_of
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, LimitError, Part, part
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series, Stretch, instant, milliseconds, overlap
from safetyplan.calculation.times import instant_text
from safetyplan.calculation.units import UnitError, convert

LEFT = ("sold", "dispatched")
MOST_COVERAGE_HOURS = 168
_HOUR_MS = 3_600_000
_DAY_MS = 86_400_000


@dataclass(frozen=True)
class Shown:
    """Milliseconds since the event: at or above the temperature, below it, and without a record."""

    counted: int
    below: int
    unshown: int


@dataclass(frozen=True)
class NotBefore:
    """At least `days` times 24 h at or above the temperature since the event, and never before the last day.

    A hand reading covers the time up to the next one, at most `coverage_hours`; in a log a pause between two
    readings counts when both are at or above and it is no gap. Where readings disagree, below wins. Exactly
    on the temperature counts.

    counted: no temperature is entered but the number of days at or above it, as a person counted them from
    the records of the room; of several numbers the lowest counts, with a mark "<" none does.
    """

    kind: ClassVar[str] = "not_before"
    part: str
    event: str
    days: Decimal
    unit: str
    at_least: Decimal
    coverage_hours: Decimal
    counted: bool = False

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "NotBefore":
        """Read {"kind", "part", "event", "days", "unit", "at_least", "coverage_hours", "counted"}.

        Days are whole; the hours covered are 36 when left out, at most 168; counted is false when left out.
        Raises LimitError.
        """
        reader = DocumentReader(
            document, kind=cls.kind, keys="kind part event days unit at_least coverage_hours counted"
        )
        coverage = reader.optional_number("coverage_hours")
        limit = cls(
            part=reader.name("part"),
            event=reader.name("event"),
            days=reader.number("days"),
            unit=reader.one_of("unit", ("degC", "degF")),
            at_least=reader.number("at_least"),
            coverage_hours=Decimal(36) if coverage is None else coverage,
            counted=reader.optional_flag("counted"),
        )
        if not 0 < limit.days <= 3650 or limit.days != int(limit.days):
            raise LimitError(say("limit_wrong_value", kind=cls.kind, key="days"))
        if not 0 < limit.coverage_hours <= MOST_COVERAGE_HOURS:
            raise LimitError(say("limit_wrong_value", kind=cls.kind, key="coverage_hours"))
        limit._band.check(Decimal(0))
        return limit

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from, with the hours covered; without what it does not use."""
        counted = {"counted": True} if self.counted else {}
        return {
            "kind": self.kind,
            "part": self.part,
            "event": self.event,
            "days": number_text(self.days),
            "unit": self.unit,
            "at_least": number_text(self.at_least),
            "coverage_hours": number_text(self.coverage_hours),
            **counted,
        }

    @property
    def _band(self) -> Band:
        return Band("temperature", self.unit, at_least=self.at_least)

    @property
    def _needed(self) -> int:
        return int(self.days) * _DAY_MS

    @property
    def _limit_text(self) -> str:
        return text_of(self.at_least, self.unit)

    def describe(self) -> tuple[Sentence, ...]:
        """The days and the temperature, how they are shown, and what they do not show."""
        days = text_of(self.days, "d")
        how = say("plan_not_before_cover", part=self.part, hours=text_of(self.coverage_hours, "h"))
        if self.counted:
            how = say("plan_not_before_counted", part=self.part, limit=self._limit_text)
        return (
            say("plan_not_before", part=self.part, days=days, limit=self._limit_text, event=self.event),
            how,
            say("plan_not_before_minimum", days=days),
        )

    def parts(self) -> tuple[Part, ...]:
        """The temperature where it ages, or the days counted."""
        if self.counted:
            return (part(self.part, "number", quantity="duration", unit="d"),)
        return (part(self.part, "number", quantity="temperature", unit=self.unit),)

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """None of a temperature: any may be. Not more days than have passed since the event."""
        start = evidence.events.get(self.event)
        typed = self._typed(evidence, trusting=True) if self.counted else None
        if (
            typed is None
            or start is None
            or typed * _DAY_MS <= milliseconds(evidence.now) - milliseconds(start)
        ):
            return ()
        return (say("not_before_more_than_passed", part=self.part, event=self.event),)

    def judge(self, evidence: Evidence) -> Judgement:
        """Judge the time from the event to now, or to the sale or dispatch when that came first.

        Not yet due while the days cannot be complete, with the earliest instant; left before that instant is
        outside the limit. Once the days are up by the calendar, those not shown leave it not shown, or the
        instrument not valid when only its readings would show them. The margin is in days.
        """
        start = evidence.events.get(self.event)
        if start is None:
            return Judgement(State.NOT_SHOWN, say("event_unknown", part=self.part, event=self.event))
        left = [evidence.events[name] for name in LEFT if name in evidence.events]
        gone = min((at for at in left if at <= evidence.now), default=None)
        end = evidence.now if gone is None else gone
        shown = self._shown(evidence, start, end, trusting=False)
        margin = rounding.margin(_days(shown.counted - self._needed))
        earliest = self._earliest(start, shown.below, evidence.zone)
        if end < earliest:
            state = State.NOT_YET_DUE if gone is None else State.OUTSIDE_LIMIT
            return Judgement(state, self._early(shown, earliest, gone), margin, "d")
        if shown.counted >= self._needed:
            return Judgement(State.WITHIN, self._enough(shown), margin, "d")
        trusted = self._shown(evidence, start, end, trusting=True)
        failed = trusted.counted >= self._needed
        state = State.INSTRUMENT_NOT_VALID if failed else State.NOT_SHOWN
        return Judgement(state, self._lacking(shown, failed=failed), margin, "d")

    def _earliest(self, start: datetime, below: int, zone: tzinfo) -> datetime:
        """The first instant at which the days can be complete: 24 h each, time below added, on its day."""
        last_day = start.astimezone(zone).date() + timedelta(days=int(self.days))
        midnight = datetime.combine(last_day, time.min, tzinfo=zone)
        return max(instant(milliseconds(start) + self._needed + below), midnight)

    def _shown(self, evidence: Evidence, start: datetime, end: datetime, *, trusting: bool) -> Shown:
        """What the records show from start to end; `trusting` also takes instruments that are not valid."""
        first, last = milliseconds(start), milliseconds(end)
        if last <= first:
            return Shown(0, 0, 0)
        if self.counted:
            typed = self._typed(evidence, trusting=trusting) or Decimal(0)
            counted = min(int(typed * _DAY_MS), last - first)
            return Shown(counted, 0, last - first - counted)
        good, bad = self._by_hand(evidence, trusting=trusting)
        logged = evidence.series.get(self.part)
        if logged is not None and (logged.valid or trusting):
            log_good, log_bad = self._by_log(logged)
            good, bad = [*good, *log_good], [*bad, *log_bad]
        whole = [(first, last)]
        below = overlap(_merged(bad), whole)
        counted = _total(_without(overlap(_merged(good), whole), below))
        return Shown(counted, _total(below), last - first - counted - _total(below))

    def _typed(self, evidence: Evidence, *, trusting: bool) -> Decimal | None:
        """The lowest number of days that was entered; None without one."""
        found = [
            Decimal(0) if entry.text == "<" else convert(entry.value, entry.unit, "d")
            for entry in evidence.of(self.part)
            if entry.value is not None and (entry.instrument_valid or trusting)
        ]
        return min(found, default=None)

    def _by_hand(self, evidence: Evidence, *, trusting: bool) -> tuple[list[Stretch], list[Stretch]]:
        """The stretches that hand readings show at or above, and below."""
        found = [
            (milliseconds(entry.at), warm)
            for entry in evidence.of(self.part)
            if entry.at is not None
            and (entry.instrument_valid or trusting)
            and (warm := self._is_warm(entry)) is not None
        ]
        found.sort(
            key=lambda reading: (reading[0], not reading[1])
        )  # of two at one instant, the cold one counts
        cover = int(self.coverage_hours * _HOUR_MS)
        ends = [*(at for at, _ in found[1:]), *(at + cover for at, _ in found[-1:])]
        covered = [((at, min(end, at + cover)), warm) for (at, warm), end in zip(found, ends, strict=True)]
        return [span for span, warm in covered if warm], [span for span, warm in covered if not warm]

    def _is_warm(self, entry: Measured) -> bool | None:
        """Whether a reading is at or above the temperature; None when it does not say."""
        if entry.value is None:
            return None
        try:
            value = convert(entry.value, entry.unit, self.unit)
        except UnitError:
            return None
        mark = entry.text if entry.text in ("<", ">") else ""
        return Edge("limit", "at_least", self.at_least).met_by(value, mark)

    def _by_log(self, logged: Series) -> tuple[list[Stretch], list[Stretch]]:
        """The stretches that a log shows at or above, and below: the rest that lies in no gap."""
        if not logged.times:
            return [], []
        try:
            good = logged.stretches_at_least(self.at_least, self.unit)
        except UnitError:
            return [], []
        return good, _cold(logged, good)

    def _early(self, shown: Shown, earliest: datetime, gone: datetime | None) -> Sentence:
        counted, below, unshown = self._texts(shown)
        days, at = text_of(self.days, "d"), instant_text(earliest)
        if gone is None:
            return say(
                "not_before_waits",
                event=self.event,
                days=days,
                limit=self._limit_text,
                earliest_at=at,
                counted=counted,
                below=below,
                unshown=unshown,
            )
        return say(
            "not_before_left_early",
            event=self.event,
            days=days,
            limit=self._limit_text,
            left_at=instant_text(gone),
            earliest_at=at,
            counted=counted,
            below=below,
            unshown=unshown,
        )

    def _enough(self, shown: Shown) -> Sentence:
        counted, below, unshown = self._texts(shown)
        return say(
            "not_before_enough",
            event=self.event,
            days=text_of(self.days, "d"),
            limit=self._limit_text,
            counted=counted,
            below=below,
            unshown=unshown,
        )

    def _lacking(self, shown: Shown, *, failed: bool) -> Sentence:
        counted, below, unshown = self._texts(shown)
        days = text_of(self.days, "d")
        if failed:
            return say(
                "not_before_instrument",
                part=self.part,
                days=days,
                limit=self._limit_text,
                counted=counted,
                below=below,
                unshown=unshown,
            )
        return say(
            "not_before_not_shown",
            event=self.event,
            days=days,
            limit=self._limit_text,
            counted=counted,
            below=below,
            unshown=unshown,
        )

    def _texts(self, shown: Shown) -> tuple[str, str, str]:
        """Days counted, below and not shown; the first on its true side of the days needed."""
        counted = rounding.shown_against(_days(shown.counted), self.days, "duration", "d")
        rest = (rounding.shown(_days(ms), "duration", "d") for ms in (shown.below, shown.unshown))
        below, unshown = (rounding.amount(number, "d") for number in rest)
        return rounding.amount(counted, "d"), below, unshown

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """A device does not have weeks of readings: on receipt."""
        return dict(ON_RECEIPT)

    def chart(self) -> dict[str, Any]:
        """The line at the temperature, or at the days that are counted, and the days since the event."""
        band = Band("duration", "d", at_least=self.days) if self.counted else self._band
        return {"event": self.event, **band.chart(), "to_minutes": str(self._needed // 60_000)}


def _cold(logged: Series, good: Sequence[Stretch]) -> list[Stretch]:
    """What lies in no gap of a log and in none of its good stretches; only that is looked at again."""
    times, longest = logged.times, logged.longest_gap_ms
    found: list[Stretch] = []
    edges = [(times[0], times[0]), *good, (times[-1], times[-1])]
    for (_, end), (start, _) in pairwise(edges):
        low, high = bisect_left(times, end), bisect_left(times, start)
        after_gaps = [n for n in range(low + 1, high + 1) if times[n] - times[n - 1] > longest]
        begins = [low, *after_gaps]
        ends = [*(n - 1 for n in after_gaps), high]
        found += [(times[a], times[b]) for a, b in zip(begins, ends, strict=True) if b > a]
    return found


def _days(ms: int) -> Decimal:
    return Decimal(ms) / _DAY_MS


def _total(stretches: Iterable[Stretch]) -> int:
    return sum(end - start for start, end in stretches)


def _merged(stretches: Iterable[Stretch]) -> list[Stretch]:
    """The same time as sorted stretches that neither touch nor overlap."""
    found: list[Stretch] = []
    for start, end in sorted(stretches):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found


def _without(stretches: Sequence[Stretch], cut: Sequence[Stretch]) -> list[Stretch]:
    """What is left of sorted stretches when sorted others are taken out."""
    if not stretches:
        return []
    edges = [(stretches[0][0], stretches[0][0]), *cut, (stretches[-1][1], stretches[-1][1])]
    return overlap(stretches, [(end, start) for (_, end), (start, _) in pairwise(edges) if end <= start])
