"""A limit still to be decided: it holds the question and its sources, judges nothing, approves nothing.

No regulation fixes a pH by an hour, and a figure that nobody chose must never stand in a plan as if somebody
had. Where a model plan has no figure to offer, the control carries this in its place.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from safetyplan.calculation.judgement import Evidence, Judgement, State
from safetyplan.calculation.limits.shape import ON_RECEIPT, Part
from safetyplan.calculation.sentences import Sentence, say


@dataclass(frozen=True)
class OpenLimit:
    """The place of a limit nobody has set yet.

    prompt: what must be decided. sources: texts to read for it. suggests: the kind of limit to offer.
    """

    kind: ClassVar[str] = "open"
    prompt: str
    sources: tuple[str, ...]
    suggests: str

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {
            "kind": self.kind,
            "prompt": self.prompt,
            "sources": list(self.sources),
            "suggests": self.suggests,
        }

    def describe(self) -> tuple[Sentence, ...]:
        """That no limit is set, and what must be decided."""
        return (say("limit_open", prompt=self.prompt),)

    def parts(self) -> tuple[Part, ...]:
        """Nothing can be entered."""
        return ()

    def points(self) -> int:
        """One, which nothing shows."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """None."""
        return ()

    def judge(self, evidence: Evidence) -> Judgement:
        """Not shown, whatever was measured."""
        return Judgement(State.NOT_SHOWN, say("limit_open", prompt=self.prompt))

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """On receipt."""
        return dict(ON_RECEIPT)

    def chart(self) -> dict[str, Any]:
        """Nothing to draw."""
        return {"lines": [], "bands": []}
