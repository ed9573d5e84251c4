"""Worked cases of a limit as evidence: what is measured, when, and what a person may try. Pure.

Every case is judged by the limit itself. The time is that of an invented check; the events lie before it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.judgement import Evidence, Measured
from safetyplan.calculation.limits.band import Band, text_of
from safetyplan.calculation.series import Series
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.words import name_words, sentence_case

HOUR_US = 3_600_000_000


@dataclass(frozen=True)
class At:
    """The moment of the invented check, and the zone of the dairy's days."""

    now: datetime
    zone: tzinfo


@dataclass(frozen=True)
class Example:
    """One case: what it shows, in words what was entered, and the evidence."""

    role: str
    words: str
    measured: tuple[Measured, ...] = ()
    events: Mapping[str, datetime] = field(default_factory=dict)
    series: Mapping[str, Series] = field(default_factory=dict)
    ordinal: int = 0

    def evidence(self, at: At) -> Evidence:
        """The case as evidence at a moment."""
        return Evidence(
            self.measured, self.events, at.now, ordinal=self.ordinal, series=self.series, zone=at.zone
        )


@dataclass(frozen=True)
class Reading:
    """A number that was typed to try a limit, in the unit it was typed in."""

    value: Decimal
    unit: str
    mark: str = ""

    def of(self, part: str, at: datetime | None) -> Measured:
        """The number as an entry of a part."""
        return Measured(part, self.value, self.unit, at, text=self.mark or None)

    @property
    def words(self) -> str:
        """The number with its unit."""
        return self.mark + text_of(self.value, self.unit)


@dataclass(frozen=True)
class Try:
    """One thing to type to try a limit: entry is number, span, choice, words, or lines of either."""

    name: str
    label: str
    entry: str
    unit: str = ""
    options: tuple[str, ...] = ()
    help: str = ""


Given = Mapping[str, Any]


def hours(count: Decimal) -> timedelta:
    """So many hours, to the microsecond."""
    return timedelta(microseconds=int(count * HOUR_US))


def minutes(count: Decimal) -> timedelta:
    """So many minutes, to the microsecond."""
    return hours(count / 60)


def number(part: str, value: Decimal, unit: str, at: datetime | None) -> Measured:
    """A measured number."""
    return Measured(part, value, unit, at)


def label(part: str) -> str:
    """The name of a part as it stands at the beginning of a line."""
    return sentence_case(name_words(part))


def said(part: str, words: str) -> str:
    """A part with what was entered: "room temperature 8.0 °C", but "pH 4.60" once."""
    name = name_words(part)
    return words if words.startswith(f"{name} ") else f"{label(part)} {words}"


def step(value: Decimal, unit: str) -> Decimal:
    """The smallest difference that is written: that of the unit, or finer where the figure is."""
    exponent = value.as_tuple().exponent
    finest = QUANTITIES[UNITS[unit].quantity].decimals[unit]
    return Decimal(1).scaleb(min(-finest, exponent if isinstance(exponent, int) else 0))


def possible(value: Decimal, unit: str) -> bool:
    """Tell whether a value can be measured at all."""
    low, high = QUANTITIES[UNITS[unit].quantity].physical[unit]
    return low <= value <= high


def edges(band: Band, *, differences: bool = False) -> Iterator[tuple[str, Decimal]]:
    """The values worth looking at: on each limit, just beyond it, on each target, just beyond that."""
    roles = {
        "limit": (_("On the limit"), _("Just beyond the limit")),
        "target": (_("On the target"), _("Just beyond the target")),
    }
    for edge in (*band.edges("limit"), *band.edges("target")):
        on, beyond = roles[edge.role]
        away = step(edge.value, band.unit) * (1 if edge.side == "at_most" else -1)
        yield on, edge.value
        if differences or possible(edge.value + away, band.unit):
            yield beyond, edge.value + away


def missing(events: Mapping[str, datetime] | None = None) -> Example:
    """Nothing was entered."""
    return Example(_("Nothing entered"), _("No reading"), events=events or {})
