"""Comparing one measured value with a lower and an upper bound, a critical limit outside and a target inside.

A band stays in the unit of its source; only the reading is converted. Exactly on a bound is inside it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from safetyplan.calculation import rounding
from safetyplan.calculation.judgement import Judgement, Measured, State
from safetyplan.calculation.limits.shape import LimitError
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.calculation.units import UnitError, convert, convert_exactly

Side = Literal["at_least", "at_most"]
Role = Literal["limit", "target"]


def text_of(value: Decimal, unit: str) -> str:
    """A number as it was written, with its unit."""
    return rounding.amount(rounding.trim(value), unit)


def bare_text(number: str, unit: str) -> str:
    """A number with its unit, but "4.60" and not "pH 4.60": for the second amount of a sentence."""
    return number if UNITS[unit].before else rounding.amount(number, unit)


@dataclass(frozen=True)
class Edge:
    """One bound of a band."""

    role: Role
    side: Side
    value: Decimal

    def distance(self, value: Decimal) -> Decimal:
        """How far inside the bound the value lies; negative outside. Both in the unit of the bound."""
        return self.value - value if self.side == "at_most" else value - self.value

    def met_by(self, value: Decimal, mark: str) -> bool | None:
        """Whether the true value keeps the bound; None when a censored one ("<10") leaves it open."""
        inside = self.distance(value) >= 0
        if not mark:
            return inside
        if (mark == "<") == (self.side == "at_most"):
            return True if inside else None
        return False if self.distance(value) <= 0 else None


@dataclass(frozen=True)
class Band:
    """Bounds of one quantity in one unit."""

    quantity: str
    unit: str
    at_least: Decimal | None = None
    at_most: Decimal | None = None
    target_at_least: Decimal | None = None
    target_at_most: Decimal | None = None

    def edges(self, role: Role) -> Iterator[Edge]:
        """The bounds of one role that exist, lower first."""
        low, high = (
            (self.at_least, self.at_most) if role == "limit" else (self.target_at_least, self.target_at_most)
        )
        if low is not None:
            yield Edge(role, "at_least", low)
        if high is not None:
            yield Edge(role, "at_most", high)

    def check(self, tolerance: Decimal) -> None:
        """Raise LimitError unless bounds make sense and the target lies inside by the tolerance or more."""
        edges = [*self.edges("limit"), *self.edges("target")]
        low, high = QUANTITIES[self.quantity].physical[self.unit]
        for edge in edges:
            if not low <= edge.value <= high:
                raise LimitError(say("limit_impossible", value=text_of(edge.value, self.unit)))
        if tolerance < 0:
            raise LimitError(say("limit_negative_tolerance"))
        for lower, upper in ((self.at_least, self.at_most), (self.target_at_least, self.target_at_most)):
            if lower is not None and upper is not None and lower > upper:
                raise LimitError(say("limit_empty_range"))
        for outer in self.edges("limit"):
            for target in self.edges("target"):
                if outer.distance(target.value) < tolerance:
                    words = (text_of(value, self.unit) for value in (target.value, outer.value, tolerance))
                    target_text, limit_text, by = words
                    raise LimitError(
                        say("limit_target_not_inside", target=target_text, limit=limit_text, tolerance=by)
                    )

    def judge(self, measured: Measured) -> Judgement:
        """Compare one measured value; the sentence names both in the unit the person used.

        Margin in the unit of the band, thousandths, away from zero. Not shown when there is no number, its
        unit cannot be converted, or a censored value leaves the answer open.
        """
        if measured.value is None:
            return Judgement(State.NOT_SHOWN, say("part_missing", part=measured.name))
        try:
            value = convert(measured.value, measured.unit, self.unit)
        except UnitError:
            return Judgement(State.NOT_SHOWN, say("unit_not_comparable", part=measured.name))
        if not measured.instrument_valid:
            value_text = text_of(measured.value, measured.unit)
            sentence = say("instrument_not_valid", part=measured.name, value=value_text)
            return Judgement(State.INSTRUMENT_NOT_VALID, sentence)
        return self._compare(measured, value, measured.text if measured.text in ("<", ">") else "")

    def _compare(self, measured: Measured, value: Decimal, mark: str) -> Judgement:
        limits, targets = list(self.edges("limit")), list(self.edges("target"))
        for edge in limits:
            if edge.met_by(value, mark) is False:
                return self._answer(State.OUTSIDE_LIMIT, measured, value, edge, met=False)
        for edge in limits:
            if edge.met_by(value, mark) is None:
                return self._answer(State.NOT_SHOWN, measured, value, edge, met=None)
        for edge in targets:
            if edge.met_by(value, mark) is not True:
                return self._answer(State.OUTSIDE_TARGET, measured, value, edge, met=False)
        nearest = min(limits or targets, key=lambda edge: edge.distance(value))
        return self._answer(State.WITHIN, measured, value, nearest, met=True)

    def _answer(
        self, state: State, measured: Measured, value: Decimal, edge: Edge, *, met: bool | None
    ) -> Judgement:
        margin = rounding.margin(edge.distance(value))
        sentence = self._sentence(measured, edge, met)
        return Judgement(state, sentence, None if met is None else margin, "" if met is None else self.unit)

    def _sentence(self, measured: Measured, edge: Edge, met: bool | None) -> Sentence:
        assert measured.value is not None
        unit, written = measured.unit, rounding.trim(measured.value)
        bound = convert(edge.value, self.unit, unit)
        if unit == self.unit:
            limit = bare_text(rounding.trim(bound), unit)
        else:
            near = rounding.shown_against(bound, measured.value, self.quantity, unit)
            limit = f"{bare_text(near, unit)} ({text_of(edge.value, self.unit)})"
        mark = measured.text if measured.text in ("<", ">") else ""
        value = f"{mark}{rounding.amount(written, unit)}"
        by = bare_text(rounding.trim(rounding.margin(abs(bound - measured.value))), unit)
        return _words(edge, met, measured.name, value, limit, by)

    def exactly_in(self, unit: str) -> "Band | None":
        """The same band in another unit, or None when one of its bounds has no finite decimal form there."""
        names = ("at_least", "at_most", "target_at_least", "target_at_most")
        converted: dict[str, Decimal | None] = {}
        for name in names:
            bound = getattr(self, name)
            converted[name] = None if bound is None else convert_exactly(bound, self.unit, unit)
            if bound is not None and converted[name] is None:
                return None
        return Band(self.quantity, unit, **converted)

    def also(self) -> "dict[str, Band]":
        """The band in every other unit of its quantity in which it is exact."""
        others = (unit for unit in QUANTITIES[self.quantity].units if unit != self.unit)
        found = ((unit, self.exactly_in(unit)) for unit in others)
        return {unit: band for unit, band in found if band is not None}

    def bounds_document(self) -> dict[str, str | None]:
        """The four bounds as decimal strings or null."""
        return {
            "at_least": number_text(self.at_least),
            "at_most": number_text(self.at_most),
            "target_at_least": number_text(self.target_at_least),
            "target_at_most": number_text(self.target_at_most),
        }

    def describe(self, part: str) -> tuple[Sentence, ...]:
        """The band in words, the critical limit first."""
        return tuple(_plan_words(edge, part, text_of(edge.value, self.unit)) for edge in self._all_edges())

    def _all_edges(self) -> tuple[Edge, ...]:
        return (*self.edges("limit"), *self.edges("target"))

    def chart(self) -> dict[str, Any]:
        """Lines to draw at each bound, and the band between the bounds of each role."""
        lines = [
            {"role": edge.role, "side": edge.side, "value": rounding.trim(edge.value), "unit": self.unit}
            for edge in self._all_edges()
        ]
        spans = (
            ("limit", self.at_least, self.at_most),
            ("target", self.target_at_least, self.target_at_most),
        )
        bands = [
            {"role": role, "low": number_text(low), "high": number_text(high), "unit": self.unit}
            for role, low, high in spans
            if low is not None or high is not None
        ]
        return {"lines": lines, "bands": bands}


def number_text(value: Decimal | None) -> str | None:
    """A number as a plain decimal string, or None."""
    return None if value is None else rounding.trim(value)


def _words(edge: Edge, met: bool | None, part: str, value: str, limit: str, by: str) -> Sentence:
    if met is None:
        return say("censored_open", part=part, value=value, limit=limit)
    high, target = edge.side == "at_most", edge.role == "target"
    if met and target:
        if high:
            return say("within_target_at_most", part=part, value=value, limit=limit, by=by)
        return say("within_target_at_least", part=part, value=value, limit=limit, by=by)
    if met:
        if high:
            return say("within_at_most", part=part, value=value, limit=limit, by=by)
        return say("within_at_least", part=part, value=value, limit=limit, by=by)
    if target:
        if high:
            return say("above_target", part=part, value=value, limit=limit, by=by)
        return say("below_target", part=part, value=value, limit=limit, by=by)
    if high:
        return say("above_limit", part=part, value=value, limit=limit, by=by)
    return say("below_limit", part=part, value=value, limit=limit, by=by)


def _plan_words(edge: Edge, part: str, limit: str) -> Sentence:
    if edge.role == "limit":
        if edge.side == "at_most":
            return say("plan_at_most", part=part, limit=limit)
        return say("plan_at_least", part=part, limit=limit)
    if edge.side == "at_most":
        return say("plan_target_at_most", part=part, limit=limit)
    return say("plan_target_at_least", part=part, limit=limit)
