"""Several limits of one check that must all be kept: temperature at arrival and inhibitor test."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from safetyplan.calculation.judgement import Evidence, Judgement, State, combined
from safetyplan.calculation.limits.shape import DocumentReader, Limit, LimitError, Part
from safetyplan.calculation.sentences import Sentence, say

MOST_LEVELS = 4


@dataclass(frozen=True)
class AllOf:
    """The worst member decides; a member without its entries is not shown. Part names are distinct."""

    kind: ClassVar[str] = "all_of"
    members: tuple[Limit, ...]

    @classmethod
    def from_document(cls, document: Mapping[str, Any], load: Callable[[object], Limit]) -> "AllOf":
        """Read {"kind", "members": [documents]}, each member with one due point. Raises LimitError."""
        reader = DocumentReader(document, kind=cls.kind, keys="kind members")
        limit = cls(tuple(load(member) for member in reader.documents("members")))
        names = [part.name for part in limit.parts()]
        for name in names:
            if names.count(name) > 1:
                raise LimitError(say("limit_same_part", part=name))
        if any(member.points() > 1 for member in limit.members):
            raise LimitError(say("limit_points_inside"))
        return limit

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {"kind": self.kind, "members": [member.to_document() for member in self.members]}

    def describe(self) -> tuple[Sentence, ...]:
        """The words of every member, in order."""
        return tuple(sentence for member in self.members for sentence in member.describe())

    def parts(self) -> tuple[Part, ...]:
        """The parts of every member, in order."""
        return tuple(part for member in self.members for part in member.parts())

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """What any member refuses."""
        return tuple(sentence for member in self.members for sentence in member.refusals(evidence))

    def judge(self, evidence: Evidence) -> Judgement:
        """The worst member, with what the others found as warnings."""
        found = [member.judge(evidence) for member in self.members]
        judgement = combined(found)
        if judgement.state is State.WITHIN and len(found) > 1:
            sentence = say("all_within", count=str(len(found)))
            return Judgement(State.WITHIN, sentence, warnings=judgement.warnings)
        return judgement

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """The tables of the members."""
        return {"judge": "all_of", "members": [member.judging_table(0, events) for member in self.members]}

    def chart(self) -> dict[str, Any]:
        """What each member draws, side by side."""
        return {"lines": [], "bands": [], "members": [member.chart() for member in self.members]}
