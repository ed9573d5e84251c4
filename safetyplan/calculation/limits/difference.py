"""The difference of two measured values: needles out = needles in; recorder not above the indicating one.

The limit stays in the unit of its source; only the two readings are converted, and exactly.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from itertools import product
from typing import Any, ClassVar

from safetyplan.calculation import rounding
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State, worst
from safetyplan.calculation.limits.band import Band, Edge, bare_text, number_text, text_of
from safetyplan.calculation.limits.shape import DocumentReader, LimitError, Part, part
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.calculation.units import UnitError, convert, convert_difference, convert_exactly


@dataclass(frozen=True)
class Difference:
    """The first value minus the second lies at least here, at most there, or between; both are entered.

    Of several entries of a part every pair is judged and the worst decides. Exactly on a bound passes.
    """

    kind: ClassVar[str] = "difference"
    first: str
    second: str
    band: Band
    tolerance: Decimal

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "Difference":
        """Read {"kind", "first", "second", "quantity", "unit", bounds as of `bound`, "tolerance"}.

        The bounds are those of the difference and may be negative; absent or null ones do not exist, one
        critical bound must. Raises LimitError.
        """
        keys = "kind first second quantity unit at_least at_most target_at_least target_at_most tolerance"
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
        limit = cls(reader.name("first"), reader.name("second"), band, reader.number("tolerance"))
        if limit.first == limit.second:
            raise LimitError(say("limit_same_part", part=limit.first))
        limit._check()
        return limit

    def _check(self) -> None:
        band, unit = self.band, self.band.unit
        limits, targets = list(band.edges("limit")), list(band.edges("target"))
        low, high = QUANTITIES[band.quantity].physical[unit]
        if not limits:
            raise LimitError(say("limit_without_bound"))
        for edge in (*limits, *targets):
            if abs(edge.value) > high - low:
                raise LimitError(say("limit_impossible", value=text_of(edge.value, unit)))
        if self.tolerance < 0:
            raise LimitError(say("limit_negative_tolerance"))
        for edges in (limits, targets):
            if len(edges) == 2 and edges[0].value > edges[1].value:
                raise LimitError(say("limit_empty_range"))
        for outer, target in product(limits, targets):
            if outer.distance(target.value) < self.tolerance:
                words = (text_of(value, unit) for value in (target.value, outer.value, self.tolerance))
                inner_text, limit_text, by = words
                raise LimitError(
                    say("limit_target_not_inside", target=inner_text, limit=limit_text, tolerance=by)
                )

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from, absent bounds as null."""
        return {
            "kind": self.kind,
            "first": self.first,
            "second": self.second,
            "quantity": self.band.quantity,
            "unit": self.band.unit,
            **self.band.bounds_document(),
            "tolerance": number_text(self.tolerance),
        }

    @property
    def _equal(self) -> bool:
        """Whether the two values must be the same."""
        return self.band.at_least == self.band.at_most == 0

    def describe(self) -> tuple[Sentence, ...]:
        """The bounds of the difference in words, with the tolerance where it is not zero."""
        limits = [self._plan_words(edge) for edge in self.band.edges("limit")]
        if self._equal:
            limits = [say("plan_difference_none", part=self.first, basis=self.second)]
        targets = [self._plan_words(edge) for edge in self.band.edges("target")]
        if self.tolerance == 0:
            return (*limits, *targets)
        by = text_of(self.tolerance, self.band.unit)
        tolerance = say("plan_tolerance_difference", part=self.first, basis=self.second, tolerance=by)
        return (*limits, *targets, tolerance)

    def _plan_words(self, edge: Edge) -> Sentence:
        one, other, bound = self.first, self.second, text_of(edge.value, self.band.unit)
        if edge.role == "limit":
            if edge.side == "at_most":
                return say("plan_difference_at_most", part=one, basis=other, limit=bound)
            return say("plan_difference_at_least", part=one, basis=other, limit=bound)
        if edge.side == "at_most":
            return say("plan_target_difference_at_most", part=one, basis=other, limit=bound)
        return say("plan_target_difference_at_least", part=one, basis=other, limit=bound)

    def parts(self) -> tuple[Part, ...]:
        """The two numbers to enter."""
        quantity, unit = self.band.quantity, self.band.unit
        return tuple(part(name, "number", quantity=quantity, unit=unit) for name in (self.first, self.second))

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """None: any two numbers may have been measured."""
        return ()

    def judge(self, evidence: Evidence) -> Judgement:
        """The worst pair of values entered; not shown when one of the two is missing.

        The margin is in the unit of the limit, thousandths, away from zero. Not shown when a unit cannot be
        compared or a censored value ("<10") leaves the difference open.
        """
        for name in (self.first, self.second):
            if not evidence.of(name):
                return Judgement(State.NOT_SHOWN, say("part_missing", part=name))
        pairs = product(evidence.of(self.first), evidence.of(self.second))
        return worst(self._judge_pair(one, other) for one, other in pairs)

    def _judge_pair(self, one: Measured, other: Measured) -> Judgement:
        for measured in (one, other):
            if measured.value is None:
                return Judgement(State.NOT_SHOWN, say("part_missing", part=measured.name))
        difference = self._subtract(one, other, self.band.unit)
        if difference is None:
            return Judgement(State.NOT_SHOWN, say("unit_not_comparable", part=self.first))
        for measured in (one, other):
            if not measured.instrument_valid:
                sentence = say("instrument_failed", part=measured.name)
                return Judgement(State.INSTRUMENT_NOT_VALID, sentence)
            if measured.text in ("<", ">"):
                sentence = say("difference_open", part=measured.name, value=_typed(measured))
                return Judgement(State.NOT_SHOWN, sentence)
        return self._compare(one, other, difference)

    def _subtract(self, one: Measured, other: Measured, unit: str) -> Decimal | None:
        """First minus second in a unit, subtracted where both are exact; None when units do not fit."""
        assert one.value is not None
        assert other.value is not None
        for where in (unit, *QUANTITIES[self.band.quantity].units):
            first = convert_exactly(one.value, one.unit, where)
            second = convert_exactly(other.value, other.unit, where)
            if first is not None and second is not None:
                return convert_difference(first - second, where, unit)
        try:
            return convert(one.value, one.unit, unit) - convert(other.value, other.unit, unit)
        except UnitError:
            return None

    def _compare(self, one: Measured, other: Measured, difference: Decimal) -> Judgement:
        limits, targets = list(self.band.edges("limit")), list(self.band.edges("target"))
        nearest = min(limits, key=lambda edge: edge.distance(difference))
        state = State.WITHIN
        if nearest.distance(difference) < 0:
            state = State.OUTSIDE_LIMIT
        else:
            missed = [edge for edge in targets if edge.distance(difference) < 0]
            if missed:
                state, nearest = State.OUTSIDE_TARGET, missed[0]
        margin = rounding.margin(nearest.distance(difference))
        return Judgement(state, self._sentence(state, one, other, nearest), margin, self.band.unit)

    def _sentence(self, state: State, one: Measured, other: Measured, edge: Edge) -> Sentence:
        """Both values as typed, the difference in their unit; in that of the limit when they have two."""
        own = self.band.unit
        unit = one.unit if one.unit == other.unit else own
        difference = self._subtract(one, other, unit)
        assert difference is not None
        quantity, bound = self.band.quantity, convert_difference(edge.value, own, unit)
        shown = rounding.shown_against(difference, bound, quantity, unit)
        limit = text_of(bound, unit)
        if unit != own:
            near = rounding.shown_against(bound, difference, quantity, unit)
            limit = f"{rounding.amount(near, unit)} ({text_of(edge.value, own)})"
        value = f"{_typed(one)} − {_typed(other)} = {rounding.amount(shown, unit)}"
        if state is State.WITHIN and self._equal:
            return say("difference_none", part=self.first, basis=self.second, value=value)
        by = bare_text(rounding.trim(rounding.margin(abs(bound - difference))), unit)
        return _words(state, edge, self.first, self.second, value, limit, by)

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """The bounds of the difference as decimal strings, for two values in the unit of the limit."""
        return {
            "judge": "difference",
            "first": self.first,
            "second": self.second,
            "unit": self.band.unit,
            **self.band.bounds_document(),
        }

    def chart(self) -> dict[str, Any]:
        """Lines at the bounds of the difference, and the bands between them."""
        return {**self.band.chart(), "first": self.first, "second": self.second}


def _typed(measured: Measured) -> str:
    assert measured.value is not None
    mark = measured.text if measured.text in ("<", ">") else ""
    return f"{mark}{text_of(measured.value, measured.unit)}"


def _words(state: State, edge: Edge, part: str, basis: str, value: str, limit: str, by: str) -> Sentence:
    high = edge.side == "at_most"
    if state is State.WITHIN:
        if high:
            return say("difference_at_most", part=part, basis=basis, value=value, limit=limit, by=by)
        return say("difference_at_least", part=part, basis=basis, value=value, limit=limit, by=by)
    if edge.role == "target":
        if high:
            return say("difference_above_target", part=part, basis=basis, value=value, limit=limit, by=by)
        return say("difference_below_target", part=part, basis=basis, value=value, limit=limit, by=by)
    if high:
        return say("difference_above", part=part, basis=basis, value=value, limit=limit, by=by)
    return say("difference_below", part=part, basis=basis, value=value, limit=limit, by=by)
