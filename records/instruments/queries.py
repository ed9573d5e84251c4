"""Reads about instruments and their checks."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from records.instruments.models import Instrument, InstrumentCheck
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, until

# What a check left behind: good as it was found, or good after it was adjusted; "known bad" is the reverse.
LEFT_GOOD = Q(adjusted=False, passed=True) | Q(adjusted=True, left_passed=True)
LEFT_BAD = Q(adjusted=False, passed=False) | Q(adjusted=True) & ~Q(left_passed=True)


def in_use(establishment: Establishment, as_of: int | None = None) -> "QuerySet[Any]":
    """Give the instruments in use."""
    return latest(Instrument.objects.of(establishment), as_of).filter(retired=False).order_by("code")


@dataclass(frozen=True)
class Register:
    """Every row of the register of instruments, an instrument being a chain of rows."""

    rows: dict[UUID, Instrument] = field(default_factory=dict)

    @cached_property
    def _roots(self) -> dict[UUID, UUID]:
        roots: dict[UUID, UUID] = {}
        for key, row in self.rows.items():
            first = row
            while first.supersedes_id in self.rows:
                first = self.rows[first.supersedes_id]
            roots[key] = first.pk
        return roots

    @cached_property
    def chains(self) -> dict[UUID, list[Instrument]]:
        """Give the rows of each instrument by its first row's key, the first one first."""
        found: dict[UUID, list[Instrument]] = {}
        for key, row in self.rows.items():
            found.setdefault(self._roots[key], []).append(row)
        return found

    def root(self, key: UUID) -> UUID:
        """Give the key of an instrument's first row: the same for all rows of one instrument."""
        return self._roots[key]

    def newest(self, key: UUID) -> Instrument:
        """Give the row of an instrument that stands."""
        return self.chains[self._roots[key]][-1]

    def at(self, key: UUID, moment: datetime) -> Instrument:
        """Give the row of an instrument that stood at an instant; its first one before all of them."""
        chain = self.chains[self._roots[key]]
        return next((row for row in reversed(chain) if row.recorded_at <= moment), chain[0])

    def keys(self, key: UUID) -> list[UUID]:
        """Give the keys of all rows of an instrument."""
        return [row.pk for row in self.chains[self._roots[key]]]


def register_of(establishment: Establishment, as_of: int | None = None) -> Register:
    """Read the register of instruments, in one query."""
    rows = until(Instrument.objects.of(establishment), as_of).order_by("entry__sequence")
    return Register({row.pk: row for row in rows.select_related("reference")})


def versions_of(establishment: Establishment, instrument: Instrument, as_of: int | None = None) -> list[UUID]:
    """Give the keys of every row of an instrument: readings and checks name the one that stood then."""
    return register_of(establishment, as_of).keys(instrument.pk)


def checks_of(
    establishment: Establishment, keys: Iterable[UUID], as_of: int | None = None
) -> "QuerySet[InstrumentCheck]":
    """Give the standing checks of instruments, in the order of time. keys: of all their rows."""
    rows: QuerySet[InstrumentCheck] = latest(InstrumentCheck.objects.of(establishment), as_of)
    return rows.filter(instrument__in=list(keys)).order_by("checked_at", "entry__sequence")


def last_check(
    establishment: Establishment, instrument: Instrument, at: datetime, as_of: int | None = None
) -> InstrumentCheck | None:
    """Give the last check of an instrument at or before an instant."""
    keys = versions_of(establishment, instrument, as_of)
    return checks_of(establishment, keys, as_of).filter(checked_at__lte=at).last()


def last_good(
    establishment: Establishment, instrument: Instrument, before: datetime, as_of: int | None = None
) -> InstrumentCheck | None:
    """Give the last check before an instant that left an instrument good."""
    keys = versions_of(establishment, instrument, as_of)
    return checks_of(establishment, keys, as_of).filter(LEFT_GOOD, checked_at__lt=before).last()
