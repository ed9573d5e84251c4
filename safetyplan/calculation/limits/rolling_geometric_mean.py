"""A rolling geometric mean: plate count of raw milk over two months, at least two samples in each."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar

from safetyplan.calculation import rounding
from safetyplan.calculation.geometric_mean import (
    MOST_MONTHS,
    CensoredAs,
    Method,
    Month,
    MonthMean,
    RollingMean,
    Sample,
    replaced_text,
    rolling_mean,
)
from safetyplan.calculation.judgement import Evidence, Judgement, Measured, State, combined
from safetyplan.calculation.limits.band import Band, number_text, text_of
from safetyplan.calculation.limits.sampling_plan import whole_number
from safetyplan.calculation.limits.shape import ON_RECEIPT, DocumentReader, LimitError, Part, part
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sampling import Count
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.calculation.units import UnitError, convert

# What is counted: colonies, and cells in thousands as a plain number.
COUNTED = tuple(unit for quantity in QUANTITIES.values() if quantity.whole for unit in quantity.units)


@dataclass(frozen=True)
class RollingGeometricMean:
    """The geometric mean of the samples of the last calendar months is at or below a limit.

    The months are those of the dairy's zone and end with the month of the judgement. A month that is over and
    has too few samples leaves the mean not shown; while only the running month lacks some, it is not yet due.
    Exactly on the limit passes. The number that stands for a "<" is the plan's choice and is said; a ">"
    makes the mean too low, so it can show a miss but never a pass.
    """

    kind: ClassVar[str] = "rolling_geometric_mean"
    part: str
    unit: str
    months: int
    least_per_month: int
    at_most: Decimal
    method: Method
    censored_as: CensoredAs

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "RollingGeometricMean":
        """Read {"kind", "part", "unit", "months", "least_per_month", "at_most", "method", "censored_as"}.

        months (1 to 24) and least_per_month (1 to 31) are JSON integers; method "pooled_samples" or
        "monthly_means"; censored_as "full_limit" or "half_limit". Raises LimitError.
        """
        keys = "kind part unit months least_per_month at_most method censored_as"
        reader = DocumentReader(document, kind=cls.kind, keys=keys)
        unit, at_most = reader.one_of("unit", COUNTED), reader.number("at_most")
        limit = cls(
            part=reader.name("part"),
            unit=unit,
            months=whole_number(document, cls.kind, "months", least=1, most=MOST_MONTHS),
            least_per_month=whole_number(document, cls.kind, "least_per_month", least=1, most=31),
            at_most=at_most,
            method=Method(reader.one_of("method", tuple(Method))),
            censored_as=CensoredAs(reader.one_of("censored_as", tuple(CensoredAs))),
        )
        if at_most <= 0:
            raise LimitError(say("limit_wrong_value", kind=cls.kind, key="at_most"))
        limit._band().check(Decimal(0))
        return limit

    def to_document(self) -> dict[str, Any]:
        """The document it was loaded from."""
        return {
            "kind": self.kind,
            "part": self.part,
            "unit": self.unit,
            "months": self.months,
            "least_per_month": self.least_per_month,
            "at_most": number_text(self.at_most),
            "method": str(self.method),
            "censored_as": str(self.censored_as),
        }

    @property
    def quantity(self) -> str:
        """What is counted."""
        return UNITS[self.unit].quantity

    def _band(self) -> Band:
        return Band(self.quantity, self.unit, at_most=self.at_most)

    def describe(self) -> tuple[Sentence, ...]:
        """The mean, its months and samples, the way it is taken, and what stands for a marked count."""
        limit = say(
            "mean_plan",
            part=self.part,
            months=str(self.months),
            limit=text_of(self.at_most, self.unit),
            least=str(self.least_per_month),
        )
        method, option = str(self.method), str(self.censored_as)
        return limit, say("mean_plan_method", method=method, option=option)

    def parts(self) -> tuple[Part, ...]:
        """The count of one sample."""
        return (part(self.part, "number", quantity=self.quantity, unit=self.unit),)

    def points(self) -> int:
        """One."""
        return 1

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """Nought has no logarithm: it must be typed again as below the laboratory's limit."""
        known = [m for m in evidence.of(self.part) if m.value is not None and m.unit in UNITS]
        noughts = [text_of(m.value, m.unit) for m in known if m.value is not None and m.value <= 0]
        return tuple(say("mean_nought", value=value) for value in noughts[:1])

    def judge(self, evidence: Evidence) -> Judgement:
        """The mean of the months that end with that of `evidence.now`, against the limit."""
        last = Month.of(evidence.now, evidence.zone)
        first = last.before(self.months - 1)
        samples: list[Sample] = []
        problems: list[Judgement] = []
        for entry in evidence.of(self.part):
            if entry.value is None or (entry.at is not None and entry.at > evidence.now):
                continue
            if entry.at is None:
                problems.append(Judgement(State.NOT_SHOWN, say("mean_undated", part=self.part)))
                continue
            month = Month.of(entry.at, evidence.zone)
            if month < first:
                continue
            count = self._count(entry, entry.value)
            if isinstance(count, Judgement):
                problems.append(count)
            else:
                samples.append(Sample(month, count))
        return combined([self._judge_mean(self._mean(samples, last), last), *problems])

    def _count(self, entry: Measured, value: Decimal) -> Count | Judgement:
        if not entry.instrument_valid:
            sentence = say("instrument_failed", part=self.part)
            return Judgement(State.INSTRUMENT_NOT_VALID, sentence)
        if value <= 0:
            return Judgement(State.NOT_SHOWN, say("mean_nought", value=text_of(value, entry.unit)))
        try:
            mark = entry.text if entry.text in ("<", ">") else ""
            return Count(convert(value, entry.unit, self.unit), mark)
        except UnitError:
            return Judgement(State.NOT_SHOWN, say("unit_not_comparable", part=self.part))
        except Refusal as refusal:
            return Judgement(State.NOT_SHOWN, refusal.sentence)

    def _mean(self, samples: list[Sample], last: Month) -> RollingMean:
        return rolling_mean(
            samples,
            last=last,
            months=self.months,
            least_per_month=self.least_per_month,
            method=self.method,
            censored_as=self.censored_as,
        )

    def _judge_mean(self, found: RollingMean, last: Month) -> Judgement:
        warnings = self._warnings(found)
        if found.short or found.mean is None:
            return self._judge_short(found.short[0], last).warned(*warnings, *self._so_far(found))
        margin, shown = rounding.margin(self.at_most - found.mean), self._shown(found.mean)
        mean, limit = rounding.amount(shown, self.unit), text_of(self.at_most, self.unit)
        by = text_of(abs(self.at_most - Decimal(shown)), self.unit)
        months, method = str(self.months), str(self.method)
        if margin < 0:
            sentence = say("mean_above", mean=mean, limit=limit, by=by, months=months, method=method)
            return Judgement(State.OUTSIDE_LIMIT, sentence, margin, self.unit, warnings)
        if found.open:
            sentence = say("mean_open", mean=mean, limit=limit)
            return Judgement(State.NOT_SHOWN, sentence, warnings=warnings)
        sentence = say("mean_within", mean=mean, limit=limit, by=by, months=months, method=method)
        return Judgement(State.WITHIN, sentence, margin, self.unit, warnings)

    def _judge_short(self, short: MonthMean, last: Month) -> Judgement:
        """The first month in the order of time that lacks samples; time is not up in the running one."""
        month, given, least = short.month.text, str(short.samples), str(self.least_per_month)
        if short.month == last:
            sentence = say("mean_month_running", month=month, given=given, least=least)
            return Judgement(State.NOT_YET_DUE, sentence)
        return Judgement(State.NOT_SHOWN, say("mean_month_short", month=month, given=given, least=least))

    def _so_far(self, found: RollingMean) -> tuple[Sentence, ...]:
        if found.mean is None:
            return ()
        mean = rounding.amount(self._shown(found.mean), self.unit)
        return (say("mean_so_far", mean=mean, limit=text_of(self.at_most, self.unit)),)

    def _warnings(self, found: RollingMean) -> tuple[Sentence, ...]:
        if not found.replaced:
            return ()
        count, which = str(len(found.replaced)), replaced_text(found.replaced)
        return (say("mean_replaced", count=count, which=which),)

    def _shown(self, mean: Decimal) -> str:
        return rounding.shown_against(mean, self.at_most, self.quantity, self.unit)

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """Judged on receipt: a device does not hold the samples of the months before."""
        return dict(ON_RECEIPT)

    def chart(self) -> dict[str, Any]:
        """A line at the limit."""
        return self._band().chart()
