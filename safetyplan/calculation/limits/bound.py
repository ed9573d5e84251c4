"""A bound on one measured value: milk at arrival at most 7 °C; chlorine between 100 and 200 ppm."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar

from safetyplan.calculation.judgement import Evidence, Judgement, State, worst
from safetyplan.calculation.limits.band import Band, number_text, text_of
from safetyplan.calculation.limits.shape import DocumentReader, LimitError, Part, part
from safetyplan.calculation.sentences import Sentence, say


@dataclass(frozen=True)
class Bound:
    """A measured part lies at least here, at most there, or between; optionally with a target inside.

    Every value entered for the part is judged and the worst decides. Exactly on a bound passes.
    """

    kind: ClassVar[str] = "bound"
    part: str
    band: Band
    tolerance: Decimal

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "Bound":
        """Read {"kind", "part", "quantity", "unit", "at_least", "at_most", "target_at_...", "tolerance"}.

        Absent or null bounds do not exist; one critical bound must. Raises LimitError.
        """
        keys = "kind part quantity unit at_least at_most target_at_least target_at_most tolerance"
        reader = DocumentReader(document, kind=cls.kind, keys=keys)
        quantity, unit = reader.quantity_and_unit()
        band = Band(
            quantity,
            unit,
            at_least=reader.optional_number("at_least"),
            at_most=reader.optional_number("at_most"),
            target_at_least=reader.optional_number("target_at_least"),
            target_at_most=reader.optional_number("target_at_most"),
        )
        if not list(band.edges("limit")):
            raise LimitError(say("limit_without_bound"))
        tolerance = reader.number("tolerance")
        band.check(tolerance)
        return cls(reader.name("part"), band, tolerance)

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from, absent bounds as null."""
        return {
            "kind": self.kind,
            "part": self.part,
            "quantity": self.band.quantity,
            "unit": self.band.unit,
            **self.band.bounds_document(),
            "tolerance": number_text(self.tolerance),
        }

    def describe(self) -> tuple[Sentence, ...]:
        """The bounds in words, with the tolerance of the instrument."""
        return (
            *self.band.describe(self.part),
            say("plan_tolerance", part=self.part, tolerance=text_of(self.tolerance, self.band.unit)),
        )

    def parts(self) -> tuple[Part, ...]:
        """The one number to enter."""
        return (part(self.part, "number", quantity=self.band.quantity, unit=self.band.unit),)

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """None: any number may have been measured."""
        return ()

    def judge(self, evidence: Evidence) -> Judgement:
        """The worst of the values entered; not shown when there is none."""
        entered = evidence.of(self.part)
        if not entered:
            return Judgement(State.NOT_SHOWN, say("part_missing", part=self.part))
        return worst(self.band.judge(measured) for measured in entered)

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """The bounds as decimal strings, also in each other unit in which all of them are exact."""
        return {
            "judge": "bound",
            "part": self.part,
            "unit": self.band.unit,
            **self.band.bounds_document(),
            "also": {unit: band.bounds_document() for unit, band in self.band.also().items()},
        }

    def chart(self) -> dict[str, Any]:
        """Lines at the bounds, and the bands between them."""
        return self.band.chart()
