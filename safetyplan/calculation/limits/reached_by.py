"""A value reached within hours of a named event: pH at most 4.60 within 24 h of adding the starter.

Only a measured value inside the reading window of a point, which ends at the deadline, shows the point.
Nothing is interpolated or forecast, and a later pass does not heal a miss.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any, ClassVar, Literal, cast

from safetyplan.calculation import rounding
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State, severity, worst
from safetyplan.calculation.limits.band import Band, number_text, text_of
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, LimitError, Part, part
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.times import instant_text

Direction = Literal["at_most", "at_least"]


@dataclass(frozen=True)
class Point:
    """One deadline: hours after the event, the limit and target there, and how early a reading may count."""

    hours: Decimal
    limit: Decimal | None
    target: Decimal | None
    window_before_minutes: int

    @property
    def hours_text(self) -> str:
        """The hours as text with their unit."""
        return text_of(self.hours, "h")

    def to_document(self) -> dict[str, Any]:
        """The point as it stands in the limit's document."""
        return {
            "hours": number_text(self.hours),
            "limit": number_text(self.limit),
            "target": number_text(self.target),
            "window_before_minutes": self.window_before_minutes,
        }


def _read_point(document: object) -> Point:
    reader = DocumentReader(document, kind="reached_by", keys="hours limit target window_before_minutes")
    point = Point(
        reader.number("hours"),
        reader.optional_number("limit"),
        reader.optional_number("target"),
        reader.minutes("window_before_minutes"),
    )
    if point.limit is None and point.target is None:
        raise LimitError(say("limit_without_bound"))
    if not 0 < point.hours <= 87600 or point.window_before_minutes > point.hours * 60:
        raise LimitError(say("limit_window", hours=point.hours_text))
    return point


@dataclass(frozen=True)
class ReachedBy:
    """At each point, a value at or beyond the limit was measured in the window that ends at the deadline.

    Every value measured in the window counts and the worst decides. Exactly at the deadline is in time;
    exactly on the limit passes. A value measured only after the deadline is outside the limit when it misses
    it, and otherwise leaves the point not shown. Reached and then left again is a contradiction for a person
    to resolve.
    """

    kind: ClassVar[str] = "reached_by"
    part: str
    quantity: str
    unit: str
    direction: Direction
    event: str
    tolerance: Decimal
    due: tuple[Point, ...]

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "ReachedBy":
        """Read {"kind", "part", "quantity", "unit", "direction", "event", "tolerance", "points": [...]}.

        Points in order of their hours, each with a limit, a target or both. Raises LimitError.
        """
        keys = "kind part quantity unit direction event tolerance points"
        reader = DocumentReader(document, kind=cls.kind, keys=keys)
        quantity, unit = reader.quantity_and_unit()
        due = tuple(_read_point(point) for point in reader.documents("points"))
        if any(first.hours >= second.hours for first, second in pairwise(due)):
            raise LimitError(say("limit_points_order"))
        limit = cls(
            part=reader.name("part"),
            quantity=quantity,
            unit=unit,
            direction=cast("Direction", reader.one_of("direction", ("at_most", "at_least"))),
            event=reader.name("event"),
            tolerance=reader.number("tolerance"),
            due=due,
        )
        for point in due:
            limit.band(point).check(limit.tolerance)
        return limit

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {
            "kind": self.kind,
            "part": self.part,
            "quantity": self.quantity,
            "unit": self.unit,
            "direction": self.direction,
            "event": self.event,
            "tolerance": number_text(self.tolerance),
            "points": [point.to_document() for point in self.due],
        }

    def band(self, point: Point) -> Band:
        """The bounds that hold at one point."""
        if self.direction == "at_most":
            return Band(self.quantity, self.unit, at_most=point.limit, target_at_most=point.target)
        return Band(self.quantity, self.unit, at_least=point.limit, target_at_least=point.target)

    def window(self, ordinal: int, events: Mapping[str, datetime]) -> tuple[datetime, datetime] | None:
        """Opening and deadline of the reading of a point; None while the event is not recorded."""
        point, start = self.due[ordinal], events.get(self.event)
        if start is None:
            return None
        deadline = start + timedelta(microseconds=int(point.hours * 3_600_000_000))
        return deadline - timedelta(minutes=point.window_before_minutes), deadline

    def describe(self) -> tuple[Sentence, ...]:
        """Each point in words, with its reading window, and the tolerance of the instrument."""
        lines = [sentence for point in self.due for sentence in self._describe_point(point)]
        tolerance = text_of(self.tolerance, self.unit)
        return (*lines, say("plan_tolerance", part=self.part, tolerance=tolerance))

    def _describe_point(self, point: Point) -> list[Sentence]:
        lines = [self._reworded(plain, point) for plain in self.band(point).describe(self.part)]
        minutes = str(point.window_before_minutes)
        lines.append(say("plan_window", minutes=minutes, hours=point.hours_text, event=self.event))
        return lines

    def parts(self) -> tuple[Part, ...]:
        """The one number to enter at each point."""
        return (part(self.part, "number", quantity=self.quantity, unit=self.unit),)

    def points(self) -> int:
        """The number of deadlines."""
        return len(self.due)

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """None: any number may have been measured."""
        return ()

    def judge(self, evidence: Evidence) -> Judgement:
        """Judge the point `evidence.ordinal` on all readings of the part since the event."""
        point, window = self.due[evidence.ordinal], self.window(evidence.ordinal, evidence.events)
        if window is None:
            return Judgement(State.NOT_SHOWN, say("event_unknown", part=self.part, event=self.event))
        start = evidence.events[self.event]
        taken = [measured for measured in evidence.of(self.part) if measured.value is not None]
        timed = [
            (measured.at, measured) for measured in taken if measured.at is not None and measured.at >= start
        ]
        timed.sort(key=lambda pair: pair[0])
        judgement = self._judge_point(point, window, timed, evidence.now)
        return self._with_contradiction(judgement, point, timed)

    def _judge_point(
        self,
        point: Point,
        window: tuple[datetime, datetime],
        timed: Sequence[tuple[datetime, Measured]],
        now: datetime,
    ) -> Judgement:
        opens, deadline = window
        in_time = [measured for at, measured in timed if opens <= at <= deadline]
        late = [measured for at, measured in timed if at > deadline]
        if in_time:
            return worst(self._compare(point, measured) for measured in in_time)
        if late:
            return worst(self._judge_late(point, measured, deadline) for measured in late)
        if now <= deadline:
            return Judgement(State.NOT_YET_DUE, self._still_open(point, window))
        return Judgement(State.NOT_SHOWN, self._missed(point, deadline))

    def _still_open(self, point: Point, window: tuple[datetime, datetime]) -> Sentence:
        opens, deadline = (instant_text(end) for end in window)
        hours = point.hours_text
        return say(
            "not_yet_due",
            part=self.part,
            hours=hours,
            event=self.event,
            opens_at=opens,
            deadline_at=deadline,
        )

    def _missed(self, point: Point, deadline: datetime) -> Sentence:
        hours, at = point.hours_text, instant_text(deadline)
        return say("not_measured_in_time", part=self.part, hours=hours, event=self.event, deadline_at=at)

    def _compare(self, point: Point, measured: Measured) -> Judgement:
        judgement = self.band(point).judge(measured)
        return replace(judgement, sentence=self._reworded(judgement.sentence, point))

    def _judge_late(self, point: Point, measured: Measured, deadline: datetime) -> Judgement:
        """Only a miss of the limit outweighs the gap; everything else leaves the point not shown."""
        judgement = self._compare(point, measured)
        if judgement.state is State.OUTSIDE_LIMIT:
            return judgement
        passed = State.WITHIN if point.limit is None else State.OUTSIDE_TARGET
        if severity(judgement.state) > severity(passed) or measured.value is None or measured.at is None:
            return Judgement(State.NOT_SHOWN, self._missed(point, deadline))
        sentence = say(
            "passed_too_late",
            part=self.part,
            value=text_of(measured.value, measured.unit),
            measured_at=instant_text(measured.at),
            deadline_at=instant_text(deadline),
            hours=point.hours_text,
            event=self.event,
        )
        return Judgement(State.NOT_SHOWN, sentence)

    def _with_contradiction(
        self, judgement: Judgement, point: Point, timed: Sequence[tuple[datetime, Measured]]
    ) -> Judgement:
        threshold = self.band(replace(point, target=None) if point.limit is not None else point)
        reached: tuple[datetime, Measured] | None = None
        for at, measured in timed:
            state = threshold.judge(measured).state
            if state is State.WITHIN:
                reached = reached or (at, measured)
            elif reached and state in (State.OUTSIDE_LIMIT, State.OUTSIDE_TARGET):
                return _contradicted(judgement, self.part, reached, (at, measured))
        return judgement

    def _reworded(self, plain: Sentence, point: Point) -> Sentence:
        """The sentence of the band with the hours and the event added."""
        words = dict(plain.params)
        if plain.code.startswith("plan_"):
            return _plan_words(plain.code, words["part"], words["limit"], point.hours_text, self.event)
        if "by" not in words:
            return plain
        return _result_words(plain.code, words, point.hours_text, self.event)

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """Limit, target, opening and deadline of one point; on receipt while the event is not recorded."""
        window = self.window(ordinal, events)
        if window is None:
            return dict(ON_RECEIPT)
        band = self.band(self.due[ordinal])
        return {
            "judge": "deadline",
            "part": self.part,
            "unit": self.unit,
            "direction": self.direction,
            **self._ends(band),
            "also": {unit: self._ends(other) for unit, other in band.also().items()},
            "opens_at": instant_text(window[0]),
            "deadline": instant_text(window[1]),
        }

    def _ends(self, band: Band) -> dict[str, str | None]:
        if self.direction == "at_most":
            return {"limit": number_text(band.at_most), "target": number_text(band.target_at_most)}
        return {"limit": number_text(band.at_least), "target": number_text(band.target_at_least)}

    def chart(self) -> dict[str, Any]:
        """Lines over minutes since the event: from the opening of a point's window to its deadline."""
        lines = [
            {
                "role": role,
                "side": self.direction,
                "value": number_text(value),
                "unit": self.unit,
                "from_minutes": rounding.trim(point.hours * 60 - point.window_before_minutes),
                "to_minutes": rounding.trim(point.hours * 60),
            }
            for point in self.due
            for role, value in (("limit", point.limit), ("target", point.target))
            if value is not None
        ]
        return {"event": self.event, "lines": lines, "bands": []}


def _contradicted(
    judgement: Judgement, part: str, reached: tuple[datetime, Measured], left: tuple[datetime, Measured]
) -> Judgement:
    """At least outside the target: a value that went back over its limit waits for a person."""
    first, second = (text_of(cast("Decimal", one.value), one.unit) for _, one in (reached, left))
    sentence = say(
        "reached_then_left",
        part=part,
        first=first,
        first_at=instant_text(reached[0]),
        second=second,
        second_at=instant_text(left[0]),
    )
    if severity(judgement.state) >= severity(State.OUTSIDE_TARGET):
        return judgement.warned(sentence)
    return replace(judgement, state=State.OUTSIDE_TARGET, sentence=sentence).warned(judgement.sentence)


def _plan_words(code: str, part: str, limit: str, hours: str, event: str) -> Sentence:
    if code == "plan_at_most":
        return say("plan_reached_at_most", part=part, limit=limit, hours=hours, event=event)
    if code == "plan_at_least":
        return say("plan_reached_at_least", part=part, limit=limit, hours=hours, event=event)
    if code == "plan_target_at_most":
        return say("plan_reached_target_at_most", part=part, limit=limit, hours=hours, event=event)
    return say("plan_reached_target_at_least", part=part, limit=limit, hours=hours, event=event)


def _result_words(code: str, words: Mapping[str, str], hours: str, event: str) -> Sentence:
    part, value, limit, by = (words[name] for name in ("part", "value", "limit", "by"))
    if code == "above_limit":
        return say("above_limit_at", part=part, value=value, limit=limit, by=by, hours=hours, event=event)
    if code == "below_limit":
        return say("below_limit_at", part=part, value=value, limit=limit, by=by, hours=hours, event=event)
    if code == "above_target":
        return say("above_target_at", part=part, value=value, limit=limit, by=by, hours=hours, event=event)
    if code == "below_target":
        return say("below_target_at", part=part, value=value, limit=limit, by=by, hours=hours, event=event)
    if code == "within_target_at_most":
        return say(
            "within_target_at_most_at", part=part, value=value, limit=limit, by=by, hours=hours, event=event
        )
    if code == "within_target_at_least":
        return say(
            "within_target_at_least_at", part=part, value=value, limit=limit, by=by, hours=hours, event=event
        )
    if code == "within_at_most":
        return say("within_at_most_at", part=part, value=value, limit=limit, by=by, hours=hours, event=event)
    return say("within_at_least_at", part=part, value=value, limit=limit, by=by, hours=hours, event=event)
