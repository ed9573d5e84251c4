"""A heat hold proved by its chart: product at least 63 °C, air space at least 66 °C, for 30 min.

The entries are read by a person from the recorder chart of the hold. Two hand readings do not prove a hold,
so without a chart number nothing is shown; a dip of product or air space below its limit restarts the clock.
Where the log of a recorder itself is there, the time is judged by it (held_for_log.py).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar

from safetyplan.calculation import rounding
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State, combined, worst
from safetyplan.calculation.limits.band import Band, number_text, text_of
from safetyplan.calculation.limits.held_for_log import Kept, judge_log
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, LimitError, Part, part
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.units import UnitError, convert

AIR_SPACE = ("air_space_start", "air_space_end")
ON, OFF = "on", "off"


@dataclass(frozen=True)
class HeldFor:
    """A hold of at least `minutes`, its temperatures at or above their limits from start to end.

    product: the lowest product temperature on the chart during the hold. indicating and recorder: both
    thermometers read at one moment of the hold; the recorder may not read higher, and the indicating
    thermometer, being the one that counts, may not read below the product limit. Source of the shape: vat
    pasteurisation as in the US pasteurised milk ordinance, item 16p, from memory; figures are the plan's own.
    """

    kind: ClassVar[str] = "held_for"
    minutes: Decimal
    unit: str
    product_at_least: Decimal | None
    air_space_at_least: Decimal | None
    product_target: Decimal | None
    recorder_not_above_indicating: bool
    agitator: bool
    tolerance: Decimal

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "HeldFor":
        """Read keys named like the fields, numbers as decimal strings. Raises LimitError.

        product_at_least, air_space_at_least and product_target may be null; one of the first two must stand.
        """
        keys = (
            "kind minutes unit product_at_least air_space_at_least product_target "
            "recorder_not_above_indicating agitator tolerance"
        )
        reader = DocumentReader(document, kind=cls.kind, keys=keys)
        limit = cls(
            minutes=reader.number("minutes"),
            unit=reader.one_of("unit", ("degC", "degF")),
            product_at_least=reader.optional_number("product_at_least"),
            air_space_at_least=reader.optional_number("air_space_at_least"),
            product_target=reader.optional_number("product_target"),
            recorder_not_above_indicating=reader.flag("recorder_not_above_indicating"),
            agitator=reader.flag("agitator"),
            tolerance=reader.number("tolerance"),
        )
        if limit.product_at_least is None and limit.air_space_at_least is None:
            raise LimitError(say("limit_without_bound"))
        if not 0 < limit.minutes <= 10080:
            raise LimitError(say("limit_wrong_value", kind=cls.kind, key="minutes"))
        limit.product.check(limit.tolerance)
        limit.air_space.check(limit.tolerance)
        return limit

    @property
    def product(self) -> Band:
        """The bounds of the product temperature."""
        return Band(
            "temperature",
            self.unit,
            at_least=self.product_at_least,
            target_at_least=self.product_target,
        )

    @property
    def air_space(self) -> Band:
        """The bound of the air above the product."""
        return Band("temperature", self.unit, at_least=self.air_space_at_least)

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {
            "kind": self.kind,
            "minutes": number_text(self.minutes),
            "unit": self.unit,
            "product_at_least": number_text(self.product_at_least),
            "air_space_at_least": number_text(self.air_space_at_least),
            "product_target": number_text(self.product_target),
            "recorder_not_above_indicating": self.recorder_not_above_indicating,
            "agitator": self.agitator,
            "tolerance": number_text(self.tolerance),
        }

    def describe(self) -> tuple[Sentence, ...]:
        """The hold in words: time, temperatures, thermometers, agitator, chart."""
        lines = [say("plan_hold", limit=text_of(self.minutes, "min"))]
        lines += self.product.describe("product")
        lines += self.air_space.describe("air_space")
        if self.recorder_not_above_indicating:
            lines.append(say("plan_hold_recorder"))
        if self.agitator:
            lines.append(say("plan_hold_agitator"))
        lines.append(say("plan_hold_chart"))
        lines.append(say("plan_tolerance", part="product", tolerance=text_of(self.tolerance, self.unit)))
        return tuple(lines)

    def parts(self) -> tuple[Part, ...]:
        """What is read from the chart and the vat; only what the rule asks for."""
        numbers = [*self._product_parts(), *self._air_parts(), *self._thermometer_parts()]
        agitator = (part("agitator", "choice", options=(ON, OFF)),) if self.agitator else ()
        return (
            part("hold_start", "time", second_of_two=True),
            part("hold_end", "time"),
            *(part(name, "number", quantity="temperature", unit=self.unit) for name in numbers),
            part("chart_number", "text"),
            *agitator,
        )

    def _product_parts(self) -> tuple[str, ...]:
        return () if self.product_at_least is None and self.product_target is None else ("product",)

    def _air_parts(self) -> tuple[str, ...]:
        return () if self.air_space_at_least is None else AIR_SPACE

    def _thermometer_parts(self) -> tuple[str, ...]:
        return ("indicating", "recorder") if self.recorder_not_above_indicating else ()

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """A hold that ends before it starts must be typed again."""
        start, end = self._hold(evidence)
        return (say("hold_backwards"),) if start and end and end < start else ()

    def judge(self, evidence: Evidence) -> Judgement:
        """The worst of time, temperatures, thermometers, agitator, chart and instruments.

        With a log of product or air space the time is that of its longest stretch, and every quantity of the
        rule needs one; what a person entered beside it still counts when it misses a limit.
        """
        logged = any(kept.part in evidence.series for kept in self._kept())
        time = (
            judge_log(self.minutes, self.unit, self._kept(), evidence.series)
            if logged
            else (self._judge_time(evidence))
        )
        found = [
            time,
            *self._judge_temperatures(evidence, missing=not logged),
            *self._judge_thermometers(evidence),
            *self._judge_chart_and_agitator(evidence),
            *self._judge_instruments(evidence),
        ]
        judgement = combined(found)
        if judgement.state is not State.WITHIN or logged:
            return judgement
        nearest = worst(found[1:])
        words = dict(time.sentence.params)
        sentence = say("hold_within", held=words["held"], limit=words["limit"])
        return replace(judgement, sentence=sentence, margin=nearest.margin, margin_unit=nearest.margin_unit)

    def _kept(self) -> tuple[Kept, ...]:
        """What a log must keep during the hold: product and air space, as far as the rule has them."""
        product = Kept("product", self.product_at_least, self.product_target)
        air = Kept("air_space", self.air_space_at_least, None)
        return tuple(kept for kept in (product, air) if kept.at_least is not None or kept.target is not None)

    def _hold(self, evidence: Evidence) -> tuple[datetime | None, datetime | None]:
        """Start and end; of several entries the ones that make the hold shortest."""
        starts = [entry.at for entry in evidence.of("hold_start") if entry.at]
        ends = [entry.at for entry in evidence.of("hold_end") if entry.at]
        return max(starts, default=None), min(ends, default=None)

    def _judge_time(self, evidence: Evidence) -> Judgement:
        start, end = self._hold(evidence)
        if start is None or end is None:
            return Judgement(State.NOT_SHOWN, say("hold_without_times"))
        if end < start:
            return Judgement(State.NOT_SHOWN, say("hold_backwards"))
        held = Decimal(int((end - start).total_seconds())) / 60
        margin = rounding.margin(held - self.minutes)
        held_text = rounding.amount(rounding.shown_against(held, self.minutes, "duration", "min"), "min")
        limit, by = text_of(self.minutes, "min"), text_of(abs(margin), "min")
        if margin < 0:
            sentence = say("hold_short", held=held_text, limit=limit, by=by)
            return Judgement(State.OUTSIDE_LIMIT, sentence, margin, "min")
        return Judgement(State.WITHIN, say("hold_long_enough", held=held_text, limit=limit), margin, "min")

    def _judge_temperatures(self, evidence: Evidence, *, missing: bool) -> Iterator[Judgement]:
        for names, band in ((self._product_parts(), self.product), (self._air_parts(), self.air_space)):
            for name in names:
                entered = _entered(evidence, name) if missing else evidence.of(name)
                yield from (_dip(band.judge(measured)) for measured in entered)

    def _judge_thermometers(self, evidence: Evidence) -> Iterator[Judgement]:
        if not self.recorder_not_above_indicating:
            return
        for indicating in _entered(evidence, "indicating"):
            if self.product_at_least is not None:
                yield _dip(replace(self.product, target_at_least=None).judge(indicating))
            for recorder in _entered(evidence, "recorder"):
                yield self._compare_thermometers(indicating, recorder)

    def _compare_thermometers(self, indicating: Measured, recorder: Measured) -> Judgement:
        if indicating.value is None or recorder.value is None:
            missing = "indicating" if indicating.value is None else "recorder"
            return Judgement(State.NOT_SHOWN, say("part_missing", part=missing))
        try:
            low = convert(recorder.value, recorder.unit, self.unit)
            high = convert(indicating.value, indicating.unit, self.unit)
        except UnitError:
            return Judgement(State.NOT_SHOWN, say("unit_not_comparable", part="recorder"))
        margin = rounding.margin(high - low)
        words = (text_of(recorder.value, recorder.unit), text_of(indicating.value, indicating.unit))
        if margin < 0:
            sentence = say("recorder_above", recorder=words[0], indicating=words[1])
            return Judgement(State.OUTSIDE_LIMIT, sentence, margin, self.unit)
        return Judgement(State.WITHIN, say("recorder_not_above", recorder=words[0], indicating=words[1]))

    def _judge_chart_and_agitator(self, evidence: Evidence) -> Iterator[Judgement]:
        if not any((entry.text or "").strip() for entry in evidence.of("chart_number")):
            yield Judgement(State.NOT_SHOWN, say("hold_without_chart"))
        if not self.agitator:
            return
        told = {entry.text for entry in evidence.of("agitator") if entry.text}
        if not told:
            yield Judgement(State.NOT_SHOWN, say("part_missing", part="agitator"))
        elif told != {ON}:
            yield Judgement(State.OUTSIDE_LIMIT, say("agitator_off"))

    def _judge_instruments(self, evidence: Evidence) -> Iterator[Judgement]:
        for needed in self.parts():
            if any(not entry.instrument_valid for entry in evidence.of(needed.name)):
                yield Judgement(State.INSTRUMENT_NOT_VALID, say("instrument_failed", part=needed.name))

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """A device cannot judge a hold: on receipt."""
        return dict(ON_RECEIPT)

    def chart(self) -> dict[str, Any]:
        """The lines of product and air space, and how long they must be kept."""
        lines = [
            {**line, "part": name}
            for name, band in (("product", self.product), ("air_space", self.air_space))
            for line in band.chart()["lines"]
        ]
        return {"lines": lines, "bands": [], "held_minutes": number_text(self.minutes)}


def _entered(evidence: Evidence, name: str) -> tuple[Measured, ...]:
    """The entries of a part; one without a value when it was left out, so that it is judged as missing."""
    return evidence.of(name) or (Measured(name, None, "", None),)


def _dip(judgement: Judgement) -> Judgement:
    """A temperature below its limit during the hold restarts the clock, and the sentence says so."""
    if judgement.sentence.code != "below_limit":
        return judgement
    words = dict(judgement.sentence.params)
    part_name, value, limit, by = (words[name] for name in ("part", "value", "limit", "by"))
    return replace(judgement, sentence=say("hold_dip", part=part_name, value=value, limit=limit, by=by))
