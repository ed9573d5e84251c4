"""The shape every kind of limit has, and the reader of its document.

A document is JSON: numbers are plain decimal strings, so that "4.60" stays "4.60"; no key beyond those of its
kind.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar, Literal, Protocol

from safetyplan.calculation.judgement import Evidence, Judgement
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.unit_tables import QUANTITIES

Entry = Literal["number", "choice", "time", "date", "moment", "text"]

ON_RECEIPT: Mapping[str, Any] = {"judge": "on_receipt"}
_NUMBER = re.compile(r"-?[0-9]{1,10}(\.[0-9]{1,6})?")
_NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")


class LimitError(Refusal):
    """A limit that cannot stand in a plan: malformed, contradictory, target too close to limit."""


@dataclass(frozen=True)
class Part:
    """One thing to enter for a check: name, label, how it is entered, its unit or its options.

    A "time" is a time of day, the last one before the check; a "date" a day, good through its end; a "moment"
    a date with a time of day. second_of_two: of a local time that came twice the second is meant, where that
    is the cautious reading.
    """

    name: str
    label: Sentence
    entry: Entry
    quantity: str = ""
    unit: str = ""
    options: tuple[str, ...] = ()
    required: bool = True
    second_of_two: bool = False


def part(
    name: str,
    entry: Entry,
    *,
    quantity: str = "",
    unit: str = "",
    options: tuple[str, ...] = (),
    required: bool = True,
    second_of_two: bool = False,
) -> Part:
    """A part whose label is its name."""
    return Part(name, say("part", part=name), entry, quantity, unit, options, required, second_of_two)


class Limit(Protocol):
    """What plans, checks and charts may ask of a limit of any kind."""

    kind: ClassVar[str]

    def to_document(self) -> dict[str, Any]:
        """The JSON-able document it was loaded from."""

    def describe(self) -> tuple[Sentence, ...]:
        """The words printed in the plan and on the form."""

    def parts(self) -> tuple[Part, ...]:
        """What must be entered for one check."""

    def points(self) -> int:
        """How many due points the limit has for one lot."""

    def refusals(self, evidence: Evidence) -> tuple[Sentence, ...]:
        """Why this evidence cannot have happened and must be typed again before it is saved."""

    def judge(self, evidence: Evidence) -> Judgement:
        """The result against the limit."""

    def judging_table(self, ordinal: int, events: Mapping[str, datetime]) -> dict[str, Any]:
        """The small table by which a device judges one due point without a server."""

    def chart(self) -> dict[str, Any]:
        """The lines and bands a chart must draw."""


def nested(limit: Limit) -> Iterator[Limit]:
    """A limit with all the limits it is made of, itself first."""
    yield limit
    alone = getattr(limit, "member", None)
    for member in (alone,) if alone is not None else getattr(limit, "members", ()):
        yield from nested(member)


def events_of(limit: Limit) -> tuple[str, ...]:
    """The events from which a limit, or any it is made of, counts; each once."""
    named = (getattr(one, "event", "") for one in nested(limit))
    return tuple(dict.fromkeys(event for event in named if event))


class DocumentReader:
    """Reads one limit document key by key; everything unexpected is a LimitError that names the key."""

    def __init__(self, document: object, *, kind: str, keys: str) -> None:
        """keys: the allowed keys, separated by blanks."""
        if not isinstance(document, Mapping):
            raise LimitError(say("limit_not_a_document"))
        self._document: Mapping[Any, Any] = document
        self._kind = kind
        for key in document:
            if key not in keys.split():
                raise LimitError(say("limit_unknown_key", kind=kind, key=str(key)[:40]))

    def _wrong(self, key: str) -> LimitError:
        code = say("limit_missing_key", kind=self._kind, key=key)
        return LimitError(
            say("limit_wrong_value", kind=self._kind, key=key) if key in self._document else code
        )

    def optional_number(self, key: str) -> Decimal | None:
        """A decimal string; None when null or left out."""
        found = self._document.get(key)
        if found is None:
            return None
        if not isinstance(found, str) or not _NUMBER.fullmatch(found):
            raise self._wrong(key)
        return Decimal(found)

    def number(self, key: str) -> Decimal:
        """A decimal string that must be there."""
        found = self.optional_number(key)
        if found is None:
            raise self._wrong(key)
        return found

    def name(self, key: str) -> str:
        """A lower-case name: letters, digits and underscores."""
        found = self._document.get(key)
        if not isinstance(found, str) or not _NAME.fullmatch(found):
            raise self._wrong(key)
        return found

    def optional_name(self, key: str) -> str:
        """A name; empty when null or left out."""
        return "" if self._document.get(key) is None else self.name(key)

    def names(self, key: str) -> tuple[str, ...]:
        """A non-empty list of different names."""
        names = [name for name in self.documents(key) if isinstance(name, str) and _NAME.fullmatch(name)]
        if len(set(names)) != len(self.documents(key)):
            raise self._wrong(key)
        return tuple(names)

    def one_of(self, key: str, allowed: tuple[str, ...]) -> str:
        """One of the allowed words."""
        found = self._document.get(key)
        if not isinstance(found, str) or found not in allowed:
            raise self._wrong(key)
        return found

    def flag(self, key: str) -> bool:
        """True or false, and nothing else."""
        found = self._document.get(key)
        if not isinstance(found, bool):
            raise self._wrong(key)
        return found

    def optional_flag(self, key: str) -> bool:
        """True or false; false when left out."""
        return key in self._document and self.flag(key)

    def minutes(self, key: str) -> int:
        """A whole number of minutes above zero, as a JSON integer."""
        found = self._document.get(key)
        if not isinstance(found, int) or isinstance(found, bool) or not 0 < found < 1_000_000:
            raise self._wrong(key)
        return found

    def documents(self, key: str) -> tuple[object, ...]:
        """A non-empty list of further documents."""
        found = self._document.get(key)
        if not isinstance(found, list | tuple) or not found:
            raise self._wrong(key)
        return tuple(found)

    def quantity_and_unit(self) -> tuple[str, str]:
        """The keys `quantity` and `unit`, which must belong together."""
        quantity = self.one_of("quantity", tuple(QUANTITIES))
        return quantity, self.one_of("unit", QUANTITIES[quantity].units)
