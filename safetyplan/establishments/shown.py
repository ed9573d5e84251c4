"""Records as pages show them: beside each, who recorded it and when, in the establishment's time."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from safetyplan.establishments.localtime import ZoneTime, shown_time
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import names, zone_of


@dataclass(frozen=True)
class Shown:
    """One record with the printed name of its author and its local time."""

    row: Any
    who: str
    when: str
    at: datetime


class People:
    """Printed names and local times of an establishment; reads them once for a whole page."""

    def __init__(self, establishment: Establishment) -> None:
        self.members = names(establishment)
        self.clock = ZoneTime(zone_of(establishment))

    def name(self, person: UUID | None) -> str:
        """Give a printed name; what nobody recorded was recorded by the clock."""
        if person is None:
            return _("the clock")
        member = self.members.get(person)
        return member.printed_name if member else _("a person unknown here")

    def when(self, at: datetime | None) -> str:
        """Write an instant in local time."""
        return shown_time(self.clock, at)

    def shown(self, row: Any) -> Shown:
        """Give a record with its author and time."""
        return Shown(row, self.name(row.author_id), self.when(row.recorded_at), row.recorded_at)

    def each(self, rows: Iterable[Any]) -> list[Shown]:
        """Give several records with author and time."""
        return [self.shown(row) for row in rows]
