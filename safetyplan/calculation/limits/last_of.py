"""At most so many of the last results outside their limit: 2 of the last 4, 3 of the last 5."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar

from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State, combined
from safetyplan.calculation.limits.sampling_plan import whole_number
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, Limit, LimitError, Part
from safetyplan.calculation.sentences import Sentence, say

MOST_RESULTS = 50
COUNTABLE = ("bound", "attribute")
_PASSED = (State.WITHIN, State.OUTSIDE_TARGET)


@dataclass(frozen=True)
class LastOf:
    """Of the last `of` results, at most `most` are outside the limit of the member.

    The order is that in which they were observed; entries of one instant are one result, the worst of them. A
    result that shows nothing (an instrument not valid, a mark that leaves the answer open) does not count as
    a pass: when it could be the one too many, nothing is shown. With one or more outside but not too many the
    answer is outside the target, never within. Fewer results than `of` are judged, with a warning.
    """

    kind: ClassVar[str] = "last_of"
    most: int
    of: int
    member: Limit

    @classmethod
    def from_document(cls, document: Mapping[str, Any], load: Callable[[object], Limit]) -> "LastOf":
        """Read {"kind", "most", "of", "member"}: the member is the document of a bound or an attribute.

        most (0 and up, below of) and of (2 to 50) are JSON integers. Raises LimitError.
        """
        DocumentReader(document, kind=cls.kind, keys="kind most of member")
        of = whole_number(document, cls.kind, "of", least=2, most=MOST_RESULTS)
        most = whole_number(document, cls.kind, "most", least=0, most=of - 1)
        if "member" not in document:
            raise LimitError(say("limit_missing_key", kind=cls.kind, key="member"))
        member = load(document["member"])
        if member.kind not in COUNTABLE:
            raise LimitError(say("last_of_member"))
        return cls(most, of, member)

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {"kind": self.kind, "most": self.most, "of": self.of, "member": self.member.to_document()}

    def describe(self) -> tuple[Sentence, ...]:
        """How many of how many may be outside, then the words of the member."""
        return say("last_of_plan", most=str(self.most), of=str(self.of)), *self.member.describe()

    def parts(self) -> tuple[Part, ...]:
        """The part of the member."""
        return self.member.parts()

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """What the member refuses."""
        return self.member.refusals(evidence)

    def judge(self, evidence: Evidence) -> Judgement:
        """Judge the last results up to `evidence.now` one by one, and count."""
        name = self.member.parts()[0].name
        entries = [entry for entry in evidence.of(name) if entry.value is not None or entry.text]
        undated = any(entry.at is None for entry in entries)
        results = self._results(evidence, entries)
        found = [self._count(results)] if results else []
        if undated:
            found.append(Judgement(State.NOT_SHOWN, say("last_of_undated", part=name)))
        return combined(found or [Judgement(State.NOT_SHOWN, say("part_missing", part=name))])

    def _results(self, evidence: Evidence, entries: list[Measured]) -> list[Judgement]:
        """The judgements of the last results, in the order in which they were observed."""
        taken: dict[datetime, list[Measured]] = {}
        for entry in entries:
            if entry.at is not None and entry.at <= evidence.now:
                taken.setdefault(entry.at, []).append(entry)
        return [
            self.member.judge(replace(evidence, measured=tuple(taken[at]), now=at, ordinal=0))
            for at in sorted(taken)[-self.of :]
        ]

    def _count(self, results: list[Judgement]) -> Judgement:
        outside = sum(result.state is State.OUTSIDE_LIMIT for result in results)
        unknown = [r for r in results if r.state not in (*_PASSED, State.OUTSIDE_LIMIT)]
        newest, margin = results[-1], Decimal(self.most - outside)
        warnings = self._warnings(results)
        many, most, given = str(outside), str(self.most), str(len(results))
        if outside > self.most:
            sentence = say("last_of_too_many", outside=many, given=given, most=most)
            return Judgement(State.OUTSIDE_LIMIT, sentence, margin, "count", warnings)
        if outside + len(unknown) > self.most:
            invalid = all(result.state is State.INSTRUMENT_NOT_VALID for result in unknown)
            state = State.INSTRUMENT_NOT_VALID if invalid else State.NOT_SHOWN
            count = str(len(unknown))
            sentence = say("last_of_open", outside=many, unknown=count, given=given, most=most)
            return Judgement(state, sentence, warnings=warnings)
        if outside or unknown:
            count = str(len(unknown))
            sentence = say("last_of_some", outside=many, unknown=count, given=given, most=most)
            return Judgement(State.OUTSIDE_TARGET, sentence, margin, "count", warnings)
        if newest.state is State.OUTSIDE_TARGET:
            return newest.warned(*warnings)
        return Judgement(State.WITHIN, say("last_of_none", given=given), margin, "count", warnings)

    def _warnings(self, results: list[Judgement]) -> tuple[Sentence, ...]:
        """What the newest result alone says when it did not pass, and that there are fewer than asked for."""
        newest = results[-1]
        found = [newest.sentence] if newest.state not in _PASSED else []
        if len(results) < self.of:
            found.append(say("last_of_fewer", given=str(len(results)), of=str(self.of)))
        return tuple(found)

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """Judged on receipt: a device does not hold the results before."""
        return dict(ON_RECEIPT)

    def chart(self) -> dict[str, Any]:
        """What the member draws."""
        return self.member.chart()
