"""One reading with everything that was ever recorded of it: corrections, later judgements, ledger entries."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from typing import Any

from django.db.models import Q

from records.checks.again import Again, judged_again, sentence_of, state_of
from records.checks.device_clock import clock_notes, clock_words
from records.checks.instruments_used import overdue_readings
from records.checks.judging import IN_TIME, kept_parts
from records.checks.models import ClockNoted, Reading, RejudgedByInstrument, RejudgedByPlan
from records.deviations.models import Deviation
from records.deviations.queries import deviations
from records.photos.queries import Photos, photos_of
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.establishments.models import Establishment, Membership
from safetyplan.establishments.queries import names, zone_of
from safetyplan.integrity import canonical
from safetyplan.words import name_words


@dataclass(frozen=True)
class ShownPart:
    """One part of a reading for people: its name, its value with unit, and the text as it was typed."""

    label: str
    text: str
    raw: str


@dataclass(frozen=True)
class Version:
    """One recorded version of a reading."""

    reading: Reading
    parts: Sequence[ShownPart]
    who: Membership | None
    superseded: bool
    judged_again: Sequence[Again] = field(default_factory=list)
    instrument_overdue: bool = False
    clock: str = ""
    photos: Photos | None = None

    @property
    def state(self) -> str:
        """Give the result against the limit, the newest where it was judged again."""
        return state_of(self.reading, self.judged_again)

    @property
    def sentence(self) -> str:
        """Give what is said of it as it stands now."""
        return sentence_of(self.reading, self.judged_again)

    @property
    def by_plan(self) -> RejudgedByPlan | None:
        """Give the newest judgement by a plan version applied later, if there is one."""
        return next((a for a in reversed(self.judged_again) if isinstance(a, RejudgedByPlan)), None)

    @property
    def text(self) -> str:
        """Give the values in one line."""
        return "; ".join(part.text for part in self.parts)


@dataclass(frozen=True)
class History:
    """A reading's versions, the first one first, and the deviations of its check."""

    versions: Sequence[Version]
    deviations: Sequence[Deviation]

    @property
    def newest(self) -> Version:
        """Give the version that stands."""
        return self.versions[-1]


def _shown(part: dict[str, str], zone: tzinfo) -> str:
    if part["entry"] in IN_TIME:
        at: datetime = canonical.read_instant(part["value"]).astimezone(zone)
        return at.strftime("%Y-%m-%d" if part["entry"] == "date" else "%Y-%m-%d %H:%M")
    if part["entry"] == "choice":
        return name_words(part["value"])
    unit = UNITS.get(part["unit"])
    if unit is None or unit.code == "count":
        return part["value"]
    return f"{unit.symbol} {part['value']}" if unit.before else f"{part['value']} {unit.symbol}"


def shown_parts(reading: Reading, zone: tzinfo) -> list[ShownPart]:
    """Give the parts of a reading for people."""
    return [ShownPart(name_words(p["name"]), _shown(p, zone), p["raw"]) for p in kept_parts(reading)]


def value_text(reading: Reading, zone: tzinfo) -> str:
    """Give the values of a reading in one line."""
    return "; ".join(part.text for part in shown_parts(reading, zone))


def _chain(rows: Sequence[Reading], reading: Reading) -> list[Reading]:
    """Give the versions of one reading in order, out of all readings of its check."""
    by_key = {row.pk: row for row in rows}
    after: dict[Any, Reading] = {row.supersedes_id: row for row in rows if row.supersedes_id}
    first = reading
    while first.supersedes_id in by_key:
        first = by_key[first.supersedes_id]
    chain = [first]
    while chain[-1].pk in after:
        chain.append(after[chain[-1].pk])
    return chain


def versions_of(establishment: Establishment, reading: Reading) -> list[Reading]:
    """Give the versions of a reading, the first one first."""
    rows = Reading.objects.of(establishment).filter(slot=reading.slot)
    related = rows.select_related("entry", "lot", "plan_version", "instrument", "credential")
    return _chain(list(related.order_by("entry__sequence")), reading)


def _clock(note: ClockNoted | None, zone: tzinfo) -> str:
    if note is None:
        return ""
    return clock_words(note, note.device_captured_at.astimezone(zone).strftime("%Y-%m-%d %H:%M"))


def history_of(establishment: Establishment, reading: Reading) -> History:
    """Give a reading with its whole history, in a constant number of queries."""
    chain, people, zone = versions_of(establishment, reading), names(establishment), zone_of(establishment)
    again = judged_again(establishment, [row.pk for row in chain])
    overdue = overdue_readings(establishment, chain)
    clocks = clock_notes(establishment, [row.pk for row in chain])
    photos = photos_of(establishment, chain)
    versions = [
        Version(
            reading=row,
            parts=shown_parts(row, zone),
            who=people.get(row.author_id),
            superseded=row is not chain[-1],
            judged_again=again[row.pk],
            instrument_overdue=row.pk in overdue,
            clock=_clock(clocks.get(row.pk), zone),
            photos=photos.get(row.pk),
        )
        for row in chain
    ]
    by_instrument = [row for rows in again.values() for row in rows if isinstance(row, RejudgedByInstrument)]
    looked_back = {row.deviation_id for row in by_instrument}
    found = deviations(establishment).filter(Q(slot=reading.slot) | Q(pk__in=looked_back - {None}))
    return History(versions, list(found))
