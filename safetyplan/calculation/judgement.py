"""What a limit is given (evidence) and what it answers (judgement)."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, tzinfo
from decimal import Decimal
from enum import StrEnum
from typing import Any

from safetyplan.calculation.sentences import Sentence
from safetyplan.calculation.series import Series


class State(StrEnum):
    """The result against the limit. None of these releases a product."""

    WITHIN = "within"
    OUTSIDE_TARGET = "outside_target"
    OUTSIDE_LIMIT = "outside_limit"
    NOT_YET_DUE = "not_yet_due"
    NOT_SHOWN = "not_shown"
    INSTRUMENT_NOT_VALID = "instrument_not_valid"


# "Not yet due" ranks above "outside target": a check that still lacks a value must not look complete.
MILDEST_FIRST = (
    State.WITHIN,
    State.OUTSIDE_TARGET,
    State.NOT_YET_DUE,
    State.INSTRUMENT_NOT_VALID,
    State.NOT_SHOWN,
    State.OUTSIDE_LIMIT,
)


def severity(state: State) -> int:
    """Rank of a state: 0 for within, larger for worse; outside limit is the worst."""
    return MILDEST_FIRST.index(state)


@dataclass(frozen=True)
class Judgement:
    """One answer of a limit.

    margin: distance to the bound named in the sentence, in `margin_unit`; positive inside, negative outside,
    zero exactly on it; None when nothing was compared.
    """

    state: State
    sentence: Sentence
    margin: Decimal | None = None
    margin_unit: str = ""
    warnings: tuple[Sentence, ...] = ()

    def warned(self, *warnings: Sentence) -> "Judgement":
        """The same judgement with further warnings."""
        return replace(self, warnings=self.warnings + warnings)

    def to_document(self) -> dict[str, Any]:
        """The judgement as a JSON-able dict; the margin is a plain decimal string or null."""
        return {
            "state": str(self.state),
            "sentence": self.sentence.to_document(),
            "margin": None if self.margin is None else format(self.margin, "f"),
            "margin_unit": self.margin_unit,
            "warnings": [warning.to_document() for warning in self.warnings],
        }

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "Judgement":
        """Read back what `to_document` wrote. Raises KeyError or ValueError when it is not of that shape."""
        margin = document["margin"]
        return cls(
            State(document["state"]),
            Sentence.from_document(document["sentence"]),
            None if margin is None else Decimal(margin),
            document["margin_unit"],
            tuple(Sentence.from_document(warning) for warning in document["warnings"]),
        )


def worst(judgements: Iterable[Judgement]) -> Judgement:
    """The most severe judgement; of equals the one with the smaller margin, then the first."""

    def rank(judgement: Judgement) -> tuple[int, Decimal]:
        margin = judgement.margin if judgement.margin is not None else Decimal("Infinity")
        return (severity(judgement.state), -margin)

    return max(judgements, key=rank)


def combined(judgements: Sequence[Judgement]) -> Judgement:
    """The most severe of several judgements (of equals the first), with what the others found as warnings."""
    leading = max(judgements, key=lambda judgement: severity(judgement.state))
    others = [judgement for judgement in judgements if judgement is not leading]
    found = [judgement.sentence for judgement in others if judgement.state is not State.WITHIN]
    warnings = [warning for judgement in others for warning in judgement.warnings]
    return leading.warned(*found, *warnings)


@dataclass(frozen=True)
class Measured:
    """One part of a reading as it entered the record.

    A number has `value` and `unit`; a censored colony count also has `text` "<" or ">"; a choice or a written
    reference has `text`; a time of the process (start of a hold) has only `at`. `at` is when it was observed.
    """

    name: str
    value: Decimal | None
    unit: str
    at: datetime | None
    text: str | None = None
    instrument_valid: bool = True


@dataclass(frozen=True)
class Evidence:
    """What a limit may look at: readings, events of the lot, the present time, the due point judged.

    series: the logs of instruments by the part they measure. zone: the zone of the dairy's calendar days.
    """

    measured: tuple[Measured, ...]
    events: Mapping[str, datetime]
    now: datetime
    ordinal: int = 0
    series: Mapping[str, Series] = field(default_factory=dict)
    zone: tzinfo = UTC

    def of(self, name: str) -> tuple[Measured, ...]:
        """All entries of one part, in the order given."""
        return tuple(measured for measured in self.measured if measured.name == name)
