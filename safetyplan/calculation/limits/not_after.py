"""Something used before it is too old: a wash at most 24 h old, milk within 2 h of milking, a use-by date.

The age is counted from a recorded event, from a date and time entered with the check, or the last day is
entered itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any, ClassVar

from safetyplan.calculation import rounding
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State, worst
from safetyplan.calculation.limits.band import number_text, text_of
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, LimitError, Part, part
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.times import instant_text

_MICROSECOND = timedelta(microseconds=1)
_HOUR = 3_600_000_000


@dataclass(frozen=True)
class NotAfter:
    """The time of use lies at or before the deadline; exactly at it is in time.

    With `event`: the part is the time of use, the deadline so many hours after the event. Without: the part
    is the date and time when the thing was made, and the use is the check. With `use_by`: the part is the
    last day on which it may be used, kept as the last instant of that day, and the use is the check.
    """

    kind: ClassVar[str] = "not_after"
    part: str
    event: str
    hours: Decimal | None
    use_by: bool

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "NotAfter":
        """Read {"kind", "part", "hours"}, with "event" or not, or {"kind", "part", "use_by": true}.

        Raises LimitError.
        """
        reader = DocumentReader(document, kind=cls.kind, keys="kind part event hours use_by")
        limit = cls(
            part=reader.name("part"),
            event=reader.optional_name("event"),
            hours=reader.optional_number("hours"),
            use_by=reader.optional_flag("use_by"),
        )
        if limit.use_by and (limit.event or limit.hours is not None):
            raise LimitError(say("limit_use_by_alone"))
        if not limit.use_by and (limit.hours is None or not 0 < limit.hours <= 87600):
            raise LimitError(say("limit_wrong_value", kind=cls.kind, key="hours"))
        return limit

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from, without what it does not use."""
        document: dict[str, Any] = {"kind": self.kind, "part": self.part}
        if self.use_by:
            return {**document, "use_by": True}
        event = {"event": self.event} if self.event else {}
        return {**document, **event, "hours": number_text(self.hours)}

    @property
    def _hours_text(self) -> str:
        return text_of(self.hours or Decimal(0), "h")

    @property
    def _allowed(self) -> timedelta:
        return timedelta(microseconds=int((self.hours or Decimal(0)) * _HOUR))

    def describe(self) -> tuple[Sentence, ...]:
        """The deadline in words."""
        if self.use_by:
            return (say("plan_not_after_use_by", part=self.part),)
        if self.event:
            return (say("plan_not_after_event", part=self.part, hours=self._hours_text, event=self.event),)
        return (say("plan_not_after_made", part=self.part, hours=self._hours_text),)

    def parts(self) -> tuple[Part, ...]:
        """The time of use, the date and time when it was made, or the last day; of two, the cautious one."""
        if self.use_by:
            return (part(self.part, "date"),)
        if self.event:
            return (part(self.part, "time", second_of_two=True),)
        return (part(self.part, "moment"),)

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """What was made after the check that used it must be typed again."""
        if self.use_by or self.event:
            return ()
        later = any(entry.at is not None and entry.at > evidence.now for entry in evidence.of(self.part))
        return (say("made_after_check", part=self.part),) if later else ()

    def judge(self, evidence: Evidence) -> Judgement:
        """The worst of the entries; the margin is in hours, thousandths, away from zero.

        Without an entry: not shown, or not yet due while the hours since the event still run.
        """
        start = evidence.events.get(self.event) if self.event else None
        if self.event and start is None:
            return Judgement(State.NOT_SHOWN, say("event_unknown", part=self.part, event=self.event))
        entered = [entry for entry in evidence.of(self.part) if entry.at is not None]
        if not entered:
            return self._judge_missing(start, evidence.now)
        return worst(self._judge_one(entry, start, evidence.now) for entry in entered)

    def _judge_missing(self, start: datetime | None, now: datetime) -> Judgement:
        if start is None:
            return Judgement(State.NOT_SHOWN, say("part_missing", part=self.part))
        deadline, hours = start + self._allowed, self._hours_text
        at = instant_text(deadline)
        if now <= deadline:
            sentence = say("not_after_open", part=self.part, hours=hours, event=self.event, deadline_at=at)
            return Judgement(State.NOT_YET_DUE, sentence)
        sentence = say("not_after_missing", part=self.part, hours=hours, event=self.event, deadline_at=at)
        return Judgement(State.NOT_SHOWN, sentence)

    def _judge_one(self, entry: Measured, start: datetime | None, now: datetime) -> Judgement:
        assert entry.at is not None
        if not entry.instrument_valid:
            return Judgement(State.INSTRUMENT_NOT_VALID, say("instrument_failed", part=self.part))
        if self.use_by:
            return self._judge_day(entry.at, now)
        if start is None:
            return self._judge_made(entry.at, now)
        return self._judge_used(start, entry.at)

    def _judge_day(self, last: datetime, now: datetime) -> Judgement:
        day, left = instant_text(last), _hours(last - now)
        if left < 0:
            sentence = say("use_by_passed", part=self.part, deadline_at=day, used_at=instant_text(now))
            return Judgement(State.OUTSIDE_LIMIT, sentence, rounding.margin(left), "h")
        sentence = say("use_by_kept", part=self.part, deadline_at=day, used_at=instant_text(now))
        return Judgement(State.WITHIN, sentence, rounding.margin(left), "h")

    def _judge_made(self, made: datetime, now: datetime) -> Judgement:
        if made > now:
            return Judgement(State.NOT_SHOWN, say("made_after_check", part=self.part))
        margin, age, by = self._compare(now - made)
        if margin < 0:
            sentence = say("too_old", part=self.part, age=age, hours=self._hours_text, by=by)
            return Judgement(State.OUTSIDE_LIMIT, sentence, margin, "h")
        sentence = say("not_too_old", part=self.part, age=age, hours=self._hours_text, by=by)
        return Judgement(State.WITHIN, sentence, margin, "h")

    def _judge_used(self, start: datetime, used: datetime) -> Judgement:
        if used < start:
            return Judgement(State.NOT_SHOWN, say("used_before_event", part=self.part, event=self.event))
        margin, age, by = self._compare(used - start)
        words = (self.part, self.event, age, self._hours_text)
        if margin < 0:
            return Judgement(State.OUTSIDE_LIMIT, _too_late(*words, by), margin, "h")
        return Judgement(State.WITHIN, _in_time(*words, by), margin, "h")

    def _compare(self, age: timedelta) -> tuple[Decimal, str, str]:
        """The margin in hours, the age and the distance in words."""
        allowed, hours = _hours(self._allowed), _hours(age)
        margin = rounding.margin(allowed - hours)
        shown = rounding.shown_against(hours, allowed, "duration", "h")
        return margin, rounding.amount(shown, "h"), text_of(abs(margin), "h")

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """A device leaves ages and dates to the server, which knows the calendar: on receipt."""
        return dict(ON_RECEIPT)

    def chart(self) -> dict[str, Any]:
        """How long after the event it may be used; nothing to draw for a date."""
        if self.hours is None:
            return {"lines": [], "bands": []}
        minutes = rounding.trim(self.hours * 60)
        return {"event": self.event or self.part, "lines": [], "bands": [], "to_minutes": minutes}


def _hours(span: timedelta) -> Decimal:
    return Decimal(span // _MICROSECOND) / _HOUR


def _in_time(part: str, event: str, age: str, hours: str, by: str) -> Sentence:
    return say("used_in_time", part=part, event=event, age=age, hours=hours, by=by)


def _too_late(part: str, event: str, age: str, hours: str, by: str) -> Sentence:
    return say("used_too_late", part=part, event=event, age=age, hours=hours, by=by)
