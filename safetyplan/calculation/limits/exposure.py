"""Cumulative time in warmth: milk before the starter above 50 °F at most 5 h in all, above 70 °F at most 2 h.

Judged over the log of an instrument, or over hand readings no further apart than the plan allows. Between two
readings the warmer end decides; a gap leaves it not shown, unless it is outside the limit already. Curd in
process has no such limit: its pH falls and the starter competes, so a table of exposures does not apply.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any, ClassVar

from safetyplan.calculation import rounding
from safetyplan.calculation.exposure import CURD, FOODS
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.band import number_text, text_of
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, LimitError, Part, part
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.series import Series
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
        """Each edge with its minutes, and how far apart readings may be."""
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
        """Judge the time above every edge from the event to its end, or to now while that is to come.

        Outside the limit as soon as one edge is exceeded; a gap, or readings missing at the beginning or the
        end, leave it not shown; while the end is to come, not yet due. The margin is the minutes left at the
        tightest edge.
        """
        start = evidence.events.get(self.event)
        if start is None:
            return Judgement(State.NOT_SHOWN, say("event_unknown", part=self.part, event=self.event))
        ended = evidence.events.get(self.until) if self.until else evidence.now
        is_open = ended is None or ended > evidence.now
        end = evidence.now if ended is None or is_open else ended
        try:
            series = self._series(evidence)
            judgement = self._judge_edges(series.between(start, end))
        except UnitError:
            return Judgement(State.NOT_SHOWN, say("unit_not_comparable", part=self.part))
        except Refusal as refusal:  # two readings of one moment contradict each other
            return Judgement(State.NOT_SHOWN, refusal.sentence)
        if not series.valid:
            return Judgement(State.INSTRUMENT_NOT_VALID, say("instrument_failed", part=self.part))
        if judgement.state is State.OUTSIDE_LIMIT:
            return judgement
        missing = self._missing(series.between(start, end), start, end, is_open=is_open)
        if missing is not None:
            return Judgement(State.NOT_SHOWN, missing).warned(judgement.sentence)
        if is_open:
            return Judgement(State.NOT_YET_DUE, judgement.sentence, judgement.margin, "min")
        return judgement

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

    def _judge_edges(self, series: Series) -> Judgement:
        """The tightest edge: the one with the fewest minutes left."""
        found = [self._judge_edge(edge, series) for edge in self.edges]
        return min(found, key=lambda judgement: judgement.margin or Decimal(0))

    def _judge_edge(self, edge: Edge, series: Series) -> Judgement:
        ms = series.time_above(edge.above, self.unit)
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

    def _missing(self, series: Series, start: datetime, end: datetime, *, is_open: bool) -> Sentence | None:
        """What the log does not show: its beginning, its end, or a gap inside."""
        longest = timedelta(minutes=self.longest_gap_minutes)
        if not len(series):
            if is_open and end - start <= longest:
                return None
            return say("exposure_no_reading", part=self.part)
        if series.start - start > longest:
            return say("exposure_late_start", part=self.part, first_at=instant_text(series.start))
        if end - series.end > longest:
            return say("exposure_early_end", part=self.part, last_at=instant_text(series.end))
        allowed = min(series.longest_gap_ms, self.longest_gap_minutes * _MINUTE_MS)
        if any(b - a > allowed for a, b in pairwise(series.times)):
            return say("exposure_gap", part=self.part, gap=text_of(Decimal(self.longest_gap_minutes), "min"))
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
