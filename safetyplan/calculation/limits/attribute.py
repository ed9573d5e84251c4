"""A result that is one of a few words: inhibitor test negative; label correct."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State, worst
from safetyplan.calculation.limits.shape import DocumentReader, LimitError, Part, part
from safetyplan.calculation.sentences import Sentence, say


@dataclass(frozen=True)
class Attribute:
    """The result is one of the accepted options; anything else, an unknown word too, is outside the limit."""

    kind: ClassVar[str] = "attribute"
    part: str
    options: tuple[str, ...]
    accepted: tuple[str, ...]

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "Attribute":
        """Read {"kind", "part", "options", "accepted"}; some options are accepted, not all."""
        reader = DocumentReader(document, kind=cls.kind, keys="kind part options accepted")
        options, accepted = reader.names("options"), reader.names("accepted")
        if not set(accepted) < set(options):
            raise LimitError(say("limit_accepted_options"))
        return cls(reader.name("part"), options, accepted)

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {
            "kind": self.kind,
            "part": self.part,
            "options": list(self.options),
            "accepted": list(self.accepted),
        }

    def describe(self) -> tuple[Sentence, ...]:
        """Which results are accepted."""
        return (say("plan_accepted", part=self.part, options=" ".join(self.accepted)),)

    def parts(self) -> tuple[Part, ...]:
        """The one choice to make."""
        return (part(self.part, "choice", options=self.options),)

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """None: any result may have been seen."""
        return ()

    def judge(self, evidence: Evidence) -> Judgement:
        """The worst of the results entered; not shown when there is none."""
        entered = [measured for measured in evidence.of(self.part) if measured.text]
        if not entered:
            return Judgement(State.NOT_SHOWN, say("part_missing", part=self.part))
        return worst(self._judge_one(measured) for measured in entered)

    def _judge_one(self, measured: Measured) -> Judgement:
        option, accepted = measured.text or "", " ".join(self.accepted)
        if not measured.instrument_valid:
            sentence = say("instrument_failed", part=self.part)
            return Judgement(State.INSTRUMENT_NOT_VALID, sentence)
        if option in self.accepted:
            return Judgement(State.WITHIN, say("accepted", part=self.part, option=option))
        return Judgement(
            State.OUTSIDE_LIMIT, say("not_accepted", part=self.part, option=option, options=accepted)
        )

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """The accepted options."""
        return {"judge": "attribute", "part": self.part, "accepted": list(self.accepted)}

    def chart(self) -> dict[str, Any]:
        """Nothing to draw."""
        return {"lines": [], "bands": []}
