"""Who and when, in words: shared by the pages (by zone data) and the paper (by frozen offsets)."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.establishments.localtime import LocalTime, ZoneTime
from safetyplan.establishments.models import Establishment, Membership, Role
from safetyplan.establishments.queries import names, roles_of, zone_of

FORM = 3
"""The version of pages and forms. Since 2 a reading names its point or thing and its instrument; since 3 a
calibration record has every check."""


@dataclass(kw_only=True)
class Teller:
    """Writes times and people; remembers whose initials were used, for the key.

    `focus` is the day a page or form is about: times on it are written as hours and minutes only.
    `form` is the version in which it is written: pages in the present one, a print in that of its issue.
    """

    establishment: Establishment
    clock: LocalTime
    people: dict[Any, Membership]
    used: set[Any] = field(default_factory=set)
    focus: date | None = None
    form: int = FORM

    def day(self, at: datetime) -> date:
        """Give the local day of an instant."""
        return self.clock.local(at).date()

    def time(self, at: datetime | None) -> str:
        """Write an instant in local time."""
        if at is None:
            return ""
        local = self.clock.local(at)
        return local.strftime("%H:%M" if local.date() == self.focus else "%Y-%m-%d %H:%M")

    def moment(self, at: datetime) -> str:
        """Write an instant in local time, to the second, with its offset from UTC."""
        local = self.clock.local(at)
        offset = local.strftime("%z")
        return f"{local:%Y-%m-%d %H:%M:%S} {offset[:3]}:{offset[3:]}"

    def name(self, person: Any) -> str:
        """Give a person's printed name; the clock's own records say so."""
        if person is None:
            return _("the clock")
        self.used.add(person)
        found = self.people.get(person)
        return found.printed_name if found else _("unknown")

    def initials(self, person: Any) -> str:
        """Give a person's initials and note that the key must explain them."""
        if person is None:
            return _("clock")
        self.used.add(person)
        found = self.people.get(person)
        return found.initials if found else "?"

    def key_rows(self) -> list[tuple[str, str, str]]:
        """Give initials, name and roles of everybody used so far."""
        found = [self.people[person] for person in self.used if person in self.people]
        return [(m.initials, m.printed_name, role_words(m)) for m in sorted(found, key=lambda m: m.initials)]


def role_words(membership: Membership) -> str:
    """Name a person's roles."""
    return ", ".join(str(Role(role).label) for role in roles_of(membership))


def on_screen(establishment: Establishment) -> Teller:
    """Make the teller of a page."""
    return Teller(
        establishment=establishment, clock=ZoneTime(zone_of(establishment)), people=names(establishment)
    )


def joined(parts: Iterable[str]) -> str:
    """Join the parts that say something."""
    return "; ".join(part for part in parts if part)
