"""Laboratory results judged by a sampling plan: 5 samples, at most 2 above 100 CFU/g, none above 1000."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar

from safetyplan.calculation import rounding
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State, combined
from safetyplan.calculation.limits.band import Band, number_text, text_of
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, LimitError, Part
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sampling import (
    Count,
    Outcome,
    Plan,
    Span,
    Verdict,
    outcome_of,
    verdict_sentence,
)
from safetyplan.calculation.sampling_chances import chances_sentence
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.calculation.units import UnitError, convert

DETECTED, NOT_DETECTED = "detected", "not_detected"
COUNT, PRESENCE = "colony_count", "presence"
MOST_SAMPLES = 60
_LONGEST_PART = 36
_MOST_GRAMS = 1000
_STATES = {
    Verdict.SATISFACTORY: State.WITHIN,
    Verdict.ACCEPTABLE: State.OUTSIDE_TARGET,
    Verdict.UNSATISFACTORY: State.OUTSIDE_LIMIT,
    Verdict.UNDECIDED: State.NOT_SHOWN,
}


def whole_number(document: Mapping[str, Any], kind: str, key: str, *, least: int, most: int) -> int:
    """A JSON integer of a limit's document, from least to most. Raises LimitError."""
    found = document.get(key)
    if key not in document:
        raise LimitError(say("limit_missing_key", kind=kind, key=key))
    if not isinstance(found, int) or isinstance(found, bool) or not least <= found <= most:
        raise LimitError(say("limit_wrong_value", kind=kind, key=key))
    return found


@dataclass(frozen=True)
class SamplingPlan:
    """n samples, of which at most c above m and none above M; or n samples, in at most c of them detected.

    Satisfactory is within, acceptable is outside the target, unsatisfactory is outside the limit. Fewer
    results than n, or results whose "<" or ">" leaves the answer open, are not shown unless already
    unsatisfactory. Of several entries for one sample the worst counts. The chance with which bad lots pass
    is said beside every result.
    """

    kind: ClassVar[str] = "sampling_plan"
    part: str
    quantity: str
    unit: str
    plan: Plan
    grams: Decimal | None

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "SamplingPlan":
        """Read {"kind", "part", "quantity", "unit", "n", "c", "m", "M", "grams"}. Raises LimitError.

        quantity "colony_count": unit and m, M null for two classes, no grams. quantity "presence": grams of
        each sample, the other three null. n and c are JSON integers, n at most 60.
        """
        keys = "kind part quantity unit n c m M grams"
        reader = DocumentReader(document, kind=cls.kind, keys=keys)
        quantity = reader.one_of("quantity", (COUNT, PRESENCE))
        m, upper, grams = (reader.optional_number(key) for key in ("m", "M", "grams"))
        present = quantity == PRESENCE
        wrong = {"m": (m is None) is not present, "M": present and upper is not None}
        wrong |= {"grams": present is not (grams is not None and 0 < grams <= _MOST_GRAMS)}
        wrong |= {"unit": present and document.get("unit") is not None}
        for key, is_wrong in wrong.items():
            if is_wrong:
                raise LimitError(say("limit_wrong_value", kind=cls.kind, key=key))
        part, unit = reader.name("part"), ""
        if len(part) > _LONGEST_PART:
            raise LimitError(say("limit_wrong_value", kind=cls.kind, key="part"))
        if not present:
            unit = reader.one_of("unit", QUANTITIES[COUNT].units)
            Band(quantity, unit, at_most=upper, target_at_most=m).check(Decimal(0))
        n = whole_number(document, cls.kind, "n", least=1, most=MOST_SAMPLES)
        c = whole_number(document, cls.kind, "c", least=0, most=n - 1)
        return cls(part, quantity, unit, _plan(n, c, m, upper), grams)

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {
            "kind": self.kind,
            "part": self.part,
            "quantity": self.quantity,
            "unit": self.unit or None,
            "n": self.plan.n,
            "c": self.plan.c,
            "m": number_text(self.plan.m),
            "M": number_text(self.plan.upper),
            "grams": number_text(self.grams),
        }

    def describe(self) -> tuple[Sentence, ...]:
        """The plan in words, and with what chance a bad lot passes it."""
        return self._describe_plan(), chances_sentence(self.plan)

    def _describe_plan(self) -> Sentence:
        n, c, plan = str(self.plan.n), str(self.plan.c), self.plan
        if plan.m is None:
            grams = text_of(self.grams or Decimal(0), "g")
            return say("sampling_plan_presence", part=self.part, n=n, c=c, grams=grams)
        m = text_of(plan.m, self.unit)
        if plan.upper is None:
            return say("sampling_plan_two", part=self.part, n=n, c=c, m=m)
        upper = text_of(plan.upper, self.unit)
        return say("sampling_plan_three", part=self.part, n=n, c=c, m=m, upper=upper)

    def _names(self) -> tuple[str, ...]:
        return tuple(f"{self.part}_{number}" for number in range(1, self.plan.n + 1))

    def parts(self) -> tuple[Part, ...]:
        """One entry per sample, PART_1 to PART_n; the first must be there, so that "1 of 5" can be kept."""
        return tuple(self._sample(name, number) for number, name in enumerate(self._names(), 1))

    def _sample(self, name: str, number: int) -> Part:
        label = say("sampling_sample", part=self.part, number=str(number))
        required = number == 1
        if self.plan.is_presence:
            return Part(name, label, "choice", options=(NOT_DETECTED, DETECTED), required=required)
        return Part(name, label, "number", quantity=self.quantity, unit=self.unit, required=required)

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """More samples than n, and a count below nought, must be typed again."""
        names = self._names()
        numbered = {entry.name for entry in evidence.measured if _numbered(entry.name, self.part)}
        found = []
        if len(numbered | set(names)) > len(names):
            found.append(say("sampling_too_many", given=str(len(numbered)), n=str(self.plan.n)))
        entries = [entry for name in names for entry in evidence.of(name)]
        if any(entry.text == "<" and entry.value is not None and entry.value <= 0 for entry in entries):
            found.append(say("sampling_below_nothing"))
        return tuple(found)

    def judge(self, evidence: Evidence) -> Judgement:
        """The verdict on the samples entered, with the chances beside it."""
        read = [[self._read(entry) for entry in evidence.of(name)] for name in self._names()]
        problems = [found for own in read for found in own if isinstance(found, Judgement)]
        results = [[found for found in own if isinstance(found, Count | bool)] for own in read]
        spans = [self._span(own) for own in results if own]
        surely = [one.value for own in results for one in own if isinstance(one, Count) and one.mark != "<"]
        outcome = outcome_of(self.plan, spans)
        return combined([self._judgement(outcome, max(surely, default=None)), *problems])

    def _span(self, results: Sequence[Count | bool]) -> Span:
        spans = [self.plan.span(result) for result in results]
        return max(low for low, _ in spans), max(high for _, high in spans)

    def _read(self, entry: Measured) -> Count | bool | Judgement | None:
        """One entry as a result; None when nothing was entered, a judgement when it shows nothing."""
        if entry.value is None and not (self.plan.is_presence and entry.text):
            return None
        if not entry.instrument_valid:
            sentence = say("instrument_failed", part=entry.name)
            return Judgement(State.INSTRUMENT_NOT_VALID, sentence)
        if self.plan.is_presence:
            return entry.text != NOT_DETECTED
        assert entry.value is not None
        try:
            value = convert(entry.value, entry.unit, self.unit)
            return Count(value, entry.text if entry.text in ("<", ">") else "")
        except UnitError:
            return Judgement(State.NOT_SHOWN, say("unit_not_comparable", part=entry.name))
        except Refusal as refusal:
            return Judgement(State.NOT_SHOWN, refusal.sentence)

    def _judgement(self, outcome: Outcome, highest: Decimal | None) -> Judgement:
        """The margin is the number of samples left until c, or the distance to M of a result above it."""
        sentence, state = verdict_sentence(self.plan, outcome, self.unit), _STATES[outcome.verdict]
        chances = (chances_sentence(self.plan),)
        if outcome.verdict is Verdict.UNDECIDED:
            return Judgement(state, sentence, warnings=chances)
        if outcome.above_upper and self.plan.upper is not None and highest is not None:
            margin = rounding.margin(self.plan.upper - highest)
            return Judgement(state, sentence, margin, self.unit, chances)
        above = outcome.above_m
        if outcome.verdict is not Verdict.UNSATISFACTORY:
            above += outcome.left_open
        return Judgement(state, sentence, Decimal(self.plan.c - above), "count", chances)

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """Judged on receipt: the results come from a laboratory, often one by one."""
        return dict(ON_RECEIPT)

    def chart(self) -> dict[str, Any]:
        """Lines at M and m; m is the target where M is the limit. Nothing for presence."""
        plan = self.plan
        if plan.upper is not None:
            return Band(self.quantity, self.unit, at_most=plan.upper, target_at_most=plan.m).chart()
        if plan.m is not None:
            return Band(self.quantity, self.unit, at_most=plan.m).chart()
        return {"lines": [], "bands": []}


def _numbered(name: str, part: str) -> bool:
    return name.startswith(f"{part}_") and name.removeprefix(f"{part}_").isdecimal()


def _plan(n: int, c: int, m: Decimal | None, upper: Decimal | None) -> Plan:
    try:
        return Plan(n, c, m, upper)
    except Refusal as refusal:
        raise LimitError(refusal.sentence) from refusal
