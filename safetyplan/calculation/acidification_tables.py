"""Published values of acidification, for comparison only: nothing here is ever prefilled or judged against.

The recipe of the dairy sets its own targets. `provenance` is "read" where the source was seen, "memory" where
the value is the common knowledge of the trade and no source is given.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Provenance = Literal["read", "memory"]


@dataclass(frozen=True)
class PublishedTarget:
    """What a source gives for one family of cheese at one moment: from `low` to `high`, in `unit`.

    low None: at or below `high`; for a count, below it. hours: after `event`, from and to; None where the
    source ties the value to a step of the make, then `event` is that step.
    """

    family: str
    unit: str
    low: Decimal | None
    high: Decimal
    event: str
    hours: tuple[Decimal, Decimal] | None
    source: str
    provenance: Provenance = "read"


_DELBES = "Delbes et al. 2006, J Food Prot 69:2161-2167, abstract (pubmed.gov/16995519)"
_GOAT = "Farm goat lactic cheese targets (reussir.fr)"
_COURSE = "Course on lactic cheese (etudier.com 69819832)"
_DRAINING = "Draining of lactic curd (fr.doczz.net/doc/1940114)"
_HANDBOOK = "Handbook chapter on fresh white-mould cheese (buffalobrewingstl.com)"
_SPECIFICATION = "Cheddar specification, pH 5.1 to 5.4 at 24 to 48 h"
_TRADE = "Practice of the trade, from memory, no source"

# family, unit, low ("" for none), high, event, hours from, hours to ("" for none), source, provenance
_ROWS: tuple[tuple[str, str, str, str, str, str, str, str, Provenance], ...] = (
    ("uncooked_semi_hard", "pH", "", "5.8", "make_start", "6", "6", _DELBES, "read"),
    # coagulase-positive staphylococci in the raw milk for cheese: keep below, and best below
    ("uncooked_semi_hard", "cfu_per_ml", "", "100", "milk_for_cheese", "", "", _DELBES, "read"),
    ("uncooked_semi_hard", "cfu_per_ml", "", "40", "milk_for_cheese_best", "", "", _DELBES, "read"),
    ("salers_type", "pH", "", "6.3", "make_start", "6", "6", _DELBES, "read"),
    ("lactic_goat", "dornic", "15", "25", "renneting", "", "", _GOAT, "read"),
    ("lactic_goat", "dornic", "25", "40", "renneting", "10", "10", _GOAT, "read"),
    ("lactic_goat", "pH", "5.0", "6.1", "renneting", "10", "10", _GOAT, "read"),
    ("lactic_goat", "dornic", "50", "65", "renneting", "24", "24", _GOAT, "read"),
    ("lactic_goat", "pH", "4.4", "4.4", "renneting", "24", "24", _GOAT, "read"),
    ("lactic_course", "dornic", "14", "15", "renneting_fresh", "", "", _COURSE, "read"),
    ("lactic_course", "dornic", "17", "23", "renneting_ripened", "", "", _COURSE, "read"),
    ("lactic_course", "dornic", "47", "65", "moulding", "", "", _COURSE, "read"),
    ("lactic_course", "dornic", "70", "80", "unmoulding", "", "", _COURSE, "read"),
    ("lactic_course", "pH", "", "4.6", "draining_curd", "", "", _DRAINING, "read"),
    ("fresh_white_mould", "pH", "4.5", "4.7", "fresh_cheese", "", "", _HANDBOOK, "read"),
    ("cheddar", "pH", "5.1", "5.4", "make_start", "24", "48", _SPECIFICATION, "read"),
    ("gouda", "pH", "5.2", "5.4", "next_morning", "", "", _TRADE, "memory"),
    ("soft_mould_ripened", "pH", "4.6", "4.7", "make_start", "18", "24", _TRADE, "memory"),
)


def _target(row: tuple[str, str, str, str, str, str, str, str, Provenance]) -> PublishedTarget:
    family, unit, low, high, event, first, last, source, provenance = row
    hours = (Decimal(first), Decimal(last)) if first else None
    lowest = Decimal(low) if low else None
    return PublishedTarget(family, unit, lowest, Decimal(high), event, hours, source, provenance)


PUBLISHED_TARGETS: tuple[PublishedTarget, ...] = tuple(_target(row) for row in _ROWS)
FAMILIES: tuple[str, ...] = tuple(dict.fromkeys(target.family for target in PUBLISHED_TARGETS))


@dataclass(frozen=True)
class MakeRecord:
    """The pH of a published make of a family, by minutes since its start."""

    family: str
    readings: tuple[tuple[Decimal, Decimal], ...]
    source: str


def _record(*pairs: tuple[str, str]) -> MakeRecord:
    readings = tuple((Decimal(minutes), Decimal(ph)) for minutes, ph in pairs)
    return MakeRecord(
        "cheddar", readings, "Cheddar make, two methods, mean of 2 vats (ejmsb.org jmsb-35-2-85 table 1)"
    )


MAKE_RECORDS: Mapping[str, MakeRecord] = {
    "cheddar_high_ph": _record(
        ("0", "6.59"), ("5", "6.59"), ("30", "6.58"), ("100", "6.29"), ("191", "5.60"), ("206", "5.40")
    ),
    "cheddar_low_ph": _record(
        ("0", "6.59"), ("60", "6.53"), ("80", "6.55"), ("151", "6.07"), ("233", "5.32"), ("248", "5.25")
    ),
}


def published_targets(family: str) -> tuple[PublishedTarget, ...]:
    """Every published value of a family, in the order of the make; none is ()."""
    return tuple(target for target in PUBLISHED_TARGETS if target.family == family)
