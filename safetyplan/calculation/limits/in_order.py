"""Lots handled one after the other in the order of their age: young rinds washed before old ones."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any, ClassVar

from safetyplan.calculation.codes import parse_code
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, Part, part
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.times import instant_text
from safetyplan.calculation.typed import TypedRefusal, quotable

YOUNGEST, OLDEST = "youngest", "oldest"


@dataclass(frozen=True)
class InOrder:
    """Each lot is at least as old as the one before it (youngest first), or at most as old (oldest first).

    The entries of the part are lot codes: one for each lot with the time it was handled, or several in one
    text parted by commas, in their order. Lots of one age may stand in any order.
    """

    kind: ClassVar[str] = "in_order"
    part: str
    first: str

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "InOrder":
        """Read {"kind", "part", "first": "youngest" or "oldest"}. Raises LimitError."""
        reader = DocumentReader(document, kind=cls.kind, keys="kind part first")
        return cls(reader.name("part"), reader.one_of("first", (YOUNGEST, OLDEST)))

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {"kind": self.kind, "part": self.part, "first": self.first}

    def describe(self) -> tuple[Sentence, ...]:
        """Which lots come first."""
        if self.first == YOUNGEST:
            return (say("plan_in_order_youngest", part=self.part),)
        return (say("plan_in_order_oldest", part=self.part),)

    def parts(self) -> tuple[Part, ...]:
        """The codes, in their order."""
        return (part(self.part, "text"),)

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """None: any order may have been kept."""
        return ()

    def judge(self, evidence: Evidence) -> Judgement:
        """Outside the limit at the first pair out of order, else not shown while a lot is unknown.

        When a lot was made is the event named by its code. Entries of one time stay in the order given; of
        several entries each needs a time.
        """
        entered = [entry for entry in evidence.of(self.part) if _codes(entry)]
        if not entered:
            return Judgement(State.NOT_SHOWN, say("part_missing", part=self.part))
        if not all(entry.instrument_valid for entry in entered):
            return Judgement(State.INSTRUMENT_NOT_VALID, say("instrument_failed", part=self.part))
        timed = [(entry.at, entry) for entry in entered if entry.at is not None]
        if len(timed) < len(entered) and len(entered) > 1:
            return Judgement(State.NOT_SHOWN, say("order_without_times", part=self.part))
        timed.sort(key=lambda pair: pair[0])
        codes = [code for entry in ([entry for _, entry in timed] or entered) for code in _codes(entry)]
        return self._judge_codes(codes, evidence.events)

    def _judge_codes(self, codes: Sequence[str], made: Mapping[str, datetime]) -> Judgement:
        known = [(code, made[code]) for code in codes if code in made]
        for (before, made_before), (after, made_after) in pairwise(known):
            turned = made_after > made_before if self.first == YOUNGEST else made_after < made_before
            if turned:
                sentence = say(
                    "order_broken",
                    part=self.part,
                    before=before,
                    before_made_at=instant_text(made_before),
                    after=after,
                    after_made_at=instant_text(made_after),
                )
                return Judgement(State.OUTSIDE_LIMIT, sentence)
        unknown = next((code for code in codes if code not in made), None)
        if unknown is not None:
            return Judgement(State.NOT_SHOWN, say("order_unknown", part=self.part, lot=quotable(unknown)))
        return Judgement(State.WITHIN, say("order_kept", part=self.part, count=str(len(codes))))

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """A device does not know when other lots were made: on receipt."""
        return dict(ON_RECEIPT)

    def chart(self) -> dict[str, Any]:
        """Nothing to draw."""
        return {"lines": [], "bands": []}


def _codes(entry: Measured) -> list[str]:
    return lot_codes(entry.text or "")


def lot_codes(text: str) -> list[str]:
    """The lot codes of one entry as they are kept with lots; one that is none stays as it was typed."""
    return [_code(piece) for piece in text.split(",") if piece.strip()]


def _code(piece: str) -> str:
    try:
        return parse_code(piece)
    except TypedRefusal:
        return piece.strip()
