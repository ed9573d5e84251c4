"""Cumulative time in warmth: milk before the starter above 50 °F at most 5 h in all, above 70 °F at most 2 h.

Judged over the log of an instrument, or over hand readings no further apart than the plan allows. Between two
readings the warmer end decides; a gap leaves it not shown, unless it is outside the limit already. The time
between the event and the first reading, and between the last reading and the end, counts too. Curd in process
has no such limit: its pH falls and the starter competes, so a table of exposures does not apply.
"""

from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any, ClassVar

from safetyplan.calculation import rounding
from safetyplan.calculation.exposure import CURD, FOODS, gap_positions, milliseconds_above
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.band import number_text, text_of
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, LimitError, Part, part
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series, milliseconds
from safetyplan.calculation.times import instant_text
from safetyplan.calculation.units import UnitError, convert

_MINUTE_MS = 60_000
MOST_MINUTES = 525_600


@dataclass(frozen=True)
class Edge:
    """Above a temperature at most so many minutes in all."""

    above: Decimal
    at_most_minutes: Decimal

    def to_document(self) -> dict[str, Any]:
        """The edge as it stands in the limit's document."""
        return {"above": number_text(self.above), "at_most_minutes": number_text(self.at_most_minutes)}


@dataclass(frozen=True)
class Exposure:
    """Above each edge the total time from `event` to `until` (or to now) stays within its minutes.

    Exactly on an edge is not above it; exactly the minutes is within. The hotter the edge, the fewer minutes.
    """

    kind: ClassVar[str] = "exposure"
    part: str
    unit: str
    food: str
    event: str
    until: str
    edges: tuple[Edge, ...]
    longest_gap_minutes: int

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "Exposure":
        """Read {"kind", "part", "unit", "food", "event", "until", "bands", "longest_gap_minutes"}.

        bands: [{"above", "at_most_minutes"}], rising, each with fewer minutes than the one before. Raises
        LimitError, also for curd in process.
        """
        keys = "kind part unit food event until bands longest_gap_minutes"
        reader = DocumentReader(document, kind=cls.kind, keys=keys)
        if document.get("food") == CURD:
            raise LimitError(say("limit_exposure_curd"))
        limit = cls(
            part=reader.name("part"),
            unit=reader.one_of("unit", ("degC", "degF")),
            food=reader.one_of("food", FOODS),
            event=reader.name("event"),
            until="" if document.get("until") is None else reader.name("until"),
            edges=tuple(_read_edge(edge) for edge in reader.documents("bands")),
            longest_gap_minutes=reader.minutes("longest_gap_minutes"),
        )
        if not 0 < limit.longest_gap_minutes <= MOST_MINUTES:
            raise LimitError(say("limit_wrong_value", kind=cls.kind, key="longest_gap_minutes"))
        for cooler, hotter in pairwise(limit.edges):
            if cooler.above >= hotter.above or cooler.at_most_minutes <= hotter.at_most_minutes:
                raise LimitError(say("limit_exposure_order"))
        return limit

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {
            "kind": self.kind,
            "part": self.part,
            "unit": self.unit,
            "food": self.food,
            "event": self.event,
            "until": self.until or None,
            "bands": [edge.to_document() for edge in self.edges],
            "longest_gap_minutes": self.longest_gap_minutes,
        }

    def describe(self) -> tuple[Sentence, ...]:
        """Each edge with its minutes, the end of the time, and how far apart readings may be."""
        lines = [
            say(
                "plan_exposure",
                part=self.part,
                food=self.food,
                above=text_of(edge.above, self.unit),
                limit=text_of(edge.at_most_minutes, "min"),
                event=self.event,
            )
            for edge in self.edges
        ]
        if self.until:
            lines.append(say("plan_exposure_until", event=self.until))
        gap = text_of(Decimal(self.longest_gap_minutes), "min")
        return (*lines, say("plan_exposure_gap", part=self.part, gap=gap))

    def parts(self) -> tuple[Part, ...]:
        """One temperature for each hand reading."""
        return (part(self.part, "number", quantity="temperature", unit=self.unit),)

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """None: any temperature may have been measured."""
        return ()

    def judge(self, evidence: Evidence) -> Judgement:
        """Judge the time above every edge from the event to its end, or to the last reading while it is open.

        Outside the limit as soon as one edge is exceeded; a gap, or readings missing at the beginning or the
        end, leave it not shown; while the end is to come, not yet due. The margin is the minutes left at the
        tightest edge, in thousandths away from zero. A warning when the shares of all the bands together are
        more than the whole, though each is within.
        """
        start = evidence.events.get(self.event)
        if start is None:
            return Judgement(State.NOT_SHOWN, say("event_unknown", part=self.part, event=self.event))
        ended = evidence.events.get(self.until) if self.until else None
        is_open = ended is None or ended > evidence.now
        end = evidence.now if ended is None or is_open else ended
        if ended is not None and ended < start:
            return Judgement(State.NOT_SHOWN, say("exposure_backwards", part=self.part, event=self.event))
        try:
            return self._judge_log(self._series(evidence), start, end, is_open=is_open)
        except UnitError:
            return Judgement(State.NOT_SHOWN, say("unit_not_comparable", part=self.part))
        except Refusal as refusal:  # two readings of one moment contradict each other
            return Judgement(State.NOT_SHOWN, refusal.sentence)

    def _series(self, evidence: Evidence) -> Series:
        logged = evidence.series.get(self.part)
        if logged is not None:
            return logged
        taken = [m for m in evidence.of(self.part) if m.value is not None and m.at is not None]
        return Series.of(
            (_reading(m, self.unit) for m in taken),
            unit=self.unit,
            longest_gap=timedelta(minutes=self.longest_gap_minutes),
            valid=all(m.instrument_valid for m in taken),
        )

    def _judge_log(self, series: Series, start: datetime, end: datetime, *, is_open: bool) -> Judgement:
        allowed = min(series.longest_gap_ms, self.longest_gap_minutes * _MINUTE_MS)
        window = _window(series, milliseconds(start), milliseconds(end), allowed, is_open=is_open)
        judgement = self._judge_edges(window)
        if not series.valid:
            return Judgement(State.INSTRUMENT_NOT_VALID, say("instrument_failed", part=self.part))
        if judgement.state is State.OUTSIDE_LIMIT:
            return judgement
        missing = self._missing(window, start, end, allowed, is_open=is_open)
        if missing is not None:
            return Judgement(State.NOT_SHOWN, missing).warned(judgement.sentence, *judgement.warnings)
        return replace(judgement, state=State.NOT_YET_DUE) if is_open else judgement

    def _judge_edges(self, series: Series) -> Judgement:
        """The tightest edge: the one with the fewest minutes left."""
        at = [series.highest_at_most(edge.above, self.unit) for edge in self.edges]
        spent = milliseconds_above(series, at)
        found = [self._judge_edge(edge, ms) for edge, ms in zip(self.edges, spent, strict=True)]
        tightest = min(found, key=lambda judgement: judgement.margin or Decimal(0))
        together = self._together(spent)
        if tightest.state is State.OUTSIDE_LIMIT or together <= 1:
            return tightest
        percent = Decimal(100 * together.numerator) / together.denominator
        share = rounding.shown_against(percent, Decimal(100), "percent", "percent")
        return tightest.warned(say("exposure_together", share=rounding.amount(share, "percent")))

    def _together(self, spent: Sequence[int]) -> Fraction:
        """The shares of the bands between the edges, added up; a band that allows no time adds nothing."""
        bands = [warmer - hotter for warmer, hotter in zip(spent, (*spent[1:], 0), strict=True)]
        limits = [Fraction(edge.at_most_minutes) * _MINUTE_MS for edge in self.edges]
        return sum((ms / limit for ms, limit in zip(bands, limits, strict=True) if limit), Fraction(0))

    def _judge_edge(self, edge: Edge, ms: int) -> Judgement:
        left = edge.at_most_minutes - Decimal(ms) / _MINUTE_MS
        margin = rounding.margin(left)
        spent = text_of(rounding.margin(Decimal(ms) / _MINUTE_MS), "min")
        above, limit = text_of(edge.above, self.unit), text_of(edge.at_most_minutes, "min")
        by = text_of(abs(margin), "min")
        if left < 0:
            sentence = say("exposure_outside", part=self.part, spent=spent, above=above, limit=limit, by=by)
            return Judgement(State.OUTSIDE_LIMIT, sentence, margin, "min")
        sentence = say("exposure_within", part=self.part, spent=spent, above=above, limit=limit, by=by)
        return Judgement(State.WITHIN, sentence, margin, "min")

    def _missing(
        self, series: Series, start: datetime, end: datetime, allowed: int, *, is_open: bool
    ) -> Sentence | None:
        """What the log does not show: its beginning, its end, or a gap inside."""
        first, last = milliseconds(start), milliseconds(end)
        if not len(series):
            if is_open and last - first <= allowed:
                return None
            return say("exposure_no_reading", part=self.part)
        if series.times[0] - first > allowed:
            return say("exposure_late_start", part=self.part, first_at=instant_text(series.start))
        if last - series.times[-1] > allowed:
            return say("exposure_early_end", part=self.part, last_at=instant_text(series.end))
        if gap_positions(series.times, allowed):
            gap = text_of(rounding.margin(Decimal(allowed) / _MINUTE_MS), "min")
            return say("exposure_gap", part=self.part, gap=gap)
        return None

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """A device cannot add up a log: on receipt."""
        return dict(ON_RECEIPT)

    def chart(self) -> dict[str, Any]:
        """A line at each edge, with the minutes allowed above it."""
        lines = [
            {
                "role": "limit",
                "side": "at_most",
                "value": number_text(edge.above),
                "unit": self.unit,
                "minutes": number_text(edge.at_most_minutes),
            }
            for edge in self.edges
        ]
        return {"event": self.event, "lines": lines, "bands": []}


def _read_edge(document: object) -> Edge:
    reader = DocumentReader(document, kind="exposure", keys="above at_most_minutes")
    edge = Edge(reader.number("above"), reader.number("at_most_minutes"))
    if not 0 <= edge.at_most_minutes <= MOST_MINUTES:
        raise LimitError(say("limit_wrong_value", kind="exposure", key="at_most_minutes"))
    return edge


def _reading(measured: Measured, unit: str) -> tuple[datetime, Decimal]:
    """A hand reading in the unit of the limit, rounded up to thousandths so that it is never too cold."""
    assert measured.value is not None
    assert measured.at is not None
    exact = convert(measured.value, measured.unit, unit)
    return measured.at, Decimal(rounding.thousandths_at_least(exact)).scaleb(-3)


def _window(series: Series, first: int, last: int, allowed: int, *, is_open: bool) -> Series:
    """The log from first to last (milliseconds), with a reading at both ends where one can stand for them.

    The neighbour outside stands for its side of a span that crosses an end, so that the warmer of the two
    counts; without one the nearest reading inside does, as far as `allowed` reaches. While the time is open
    nothing stands for what comes after the last reading.
    """
    times, values = series.times, series.values
    a = bisect_left(times, first)
    b = max(a, bisect_right(times, last))
    at, found = times[a:b], values[a:b]
    crossing = first < last and 0 < a == b < len(times) and times[a] - times[a - 1] <= allowed
    if crossing and not is_open:
        at, found = array("q", (first, last)), array("q", (values[a - 1], values[a]))
    elif at:
        if first < at[0] and at[0] - first <= allowed:
            near = a > 0 and at[0] - times[a - 1] <= allowed
            at.insert(0, first)
            found.insert(0, values[a - 1] if near else found[0])
        if not is_open and at[-1] < last and last - at[-1] <= allowed:
            near = b < len(times) and times[b] - at[-1] <= allowed
            at.append(last)
            found.append(values[b] if near else found[-1])
    return Series(series.unit, at, found, series.longest_gap_ms, series.valid)
