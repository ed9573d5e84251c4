"""Several limits of one check of which one is enough: used within 2 h of milking, or at most 6 °C."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, ClassVar

from safetyplan.calculation.judgement import Evidence, Judgement, State, severity
from safetyplan.calculation.limits.all_of import AllOf
from safetyplan.calculation.limits.shape import Part
from safetyplan.calculation.sentences import Sentence, say

SHOWN = (State.WITHIN, State.OUTSIDE_TARGET)


@dataclass(frozen=True)
class AnyOf(AllOf):
    """The mildest member decides. Written and read like `all_of`, judged the other way round.

    No part must be entered, but with none entered nothing is shown.
    """

    kind: ClassVar[str] = "any_of"

    def describe(self) -> tuple[Sentence, ...]:
        """The words of every member, parted by "or"."""
        lines = [say("plan_any_of")]
        for number, member in enumerate(self.members):
            if number:
                lines.append(say("plan_any_or"))
            lines += member.describe()
        return tuple(lines)

    def parts(self) -> tuple[Part, ...]:
        """The parts of every member, none of them required."""
        return tuple(replace(part, required=False) for part in super().parts())

    def judge(self, evidence: Evidence) -> Judgement:
        """The mildest member, of equals the first.

        While none is shown, what the others found are its warnings; once one is, only what a person has to
        see all the same (a target missed, a contradiction).
        """
        found = [member.judge(evidence) for member in self.members]
        leading = min(found, key=lambda judgement: severity(judgement.state))
        others = [judgement for judgement in found if judgement is not leading]
        told = SHOWN[1:] if leading.state in SHOWN else tuple(State)
        sentences = [judgement.sentence for judgement in others if judgement.state in told]
        warnings = [warning for judgement in others for warning in judgement.warnings]
        return leading.warned(*sentences, *warnings)

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """The tables of the members."""
        return {**super().judging_table(ordinal, events), "judge": "any_of"}
