"""What is recorded on a day besides checks and events: rounds, cellar, instruments, paper sheets, dispatch.

Each model says by which column it belongs to a day; a day sheet holds them in the order of that time.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, cast

from django.db.models import Q
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.models import Dispatch
from records.checks.models import PaperSheet, RoundConfirmed
from records.checks.rounds_seen import checks_of
from records.instruments.models import InstrumentCheck
from records.things.models import Thing, ThingChange, ThingEnded, ThingUse
from safetyplan.calculation.rounding import amount
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until


@dataclass(frozen=True)
class Told:
    """A record in words: when, what it is, its details, whether it is late, corrected or void."""

    row: Any
    at: datetime
    title: str
    details: list[str]
    late: bool = False
    voided: bool = False


@dataclass(frozen=True)
class Source:
    """A model whose rows belong to a day by a column, with the group under which they are shown.

    covered: a reviewer's signature of the day covers them.
    """

    model: Any
    column: str
    group: str
    title: "str | Promise"
    details: Callable[[Any], list[str]]
    related: tuple[str, ...] = ()
    covered: bool = True


def _round(row: RoundConfirmed) -> list[str]:
    return [f"{c['control']} {c['control_name']} {c['point']}".strip() for c in checks_of(row)]


def _thing(row: Thing) -> list[str]:
    return [f"{row.code} {row.name}", row.note]


def _change(row: ThingChange) -> list[str]:
    said = amount(row.amount_text, row.amount_unit) if row.amount_text else ""
    return [row.thing.code, row.get_what_display(), said, row.ingredient, row.note]


def _ended(row: ThingEnded) -> list[str]:
    return [row.thing.code, row.get_how_display(), row.why, row.became]


def _use(row: ThingUse) -> list[str]:
    place = _("no. %(place)d in the order") % {"place": row.place} if row.place else ""
    out = _("taken out") if row.supersedes_id and not row.reason and row.until_at else ""
    pieces = _("%(n)d pieces") % {"n": row.pieces} if row.pieces else ""
    return [f"{row.thing.code} · {row.lot.code}", out, place, pieces, row.note]


def _instrument(row: InstrumentCheck) -> list[str]:
    name = f"{row.instrument.code} {row.instrument.name}"
    return [name, row.sentence_text, row.left_sentence_text, row.note]


def _paper(row: PaperSheet) -> list[str]:
    return [_("no. %(number)s") % {"number": row.number}, row.name, row.note]


def _sent(row: Dispatch) -> list[str]:
    mass = f"{row.mass_text} kg" if row.mass_text else ""
    held = _("LEFT WHILE ON HOLD") if row.left_on_hold else ""
    pieces = _("%(n)d pieces") % {"n": row.pieces}
    return [row.lot.code, row.customer, pieces, mass, held, row.note]


SOURCES: tuple[Source, ...] = (
    Source(RoundConfirmed, "observed_at", "rounds", gettext_lazy("Seen, nothing to note"), _round),
    Source(Thing, "begun_at", "things", gettext_lazy("Begun"), _thing),
    Source(ThingChange, "done_at", "things", gettext_lazy("Done to it"), _change, ("thing",)),
    Source(ThingUse, "from_at", "things", gettext_lazy("Used by a lot"), _use, ("thing", "lot")),
    Source(ThingEnded, "ended_at", "things", gettext_lazy("Ended"), _ended, ("thing",)),
    Source(
        InstrumentCheck,
        "checked_at",
        "instruments",
        gettext_lazy("Instrument checked"),
        _instrument,
        ("instrument",),
    ),
    Source(Dispatch, "left_at", "dispatch", gettext_lazy("Left the dairy"), _sent, ("lot",), covered=False),
    Source(PaperSheet, "day", "paper", gettext_lazy("Paper sheet entered"), _paper),
)
TITLES: Mapping[str, "str | Promise"] = {
    "rounds": gettext_lazy("Rounds"),
    "things": gettext_lazy("Cellar and vats"),
    "instruments": gettext_lazy("Instruments"),
    "dispatch": gettext_lazy("Dispatch"),
    "paper": gettext_lazy("Entered later from paper"),
}


def further(
    establishment: Establishment, day: date, start: datetime, end: datetime, as_of: int | None = None
) -> list[tuple[Source, Any]]:
    """Give the records of a day by source, those corrected or voided too; a query for each source."""
    found = []
    for source in SOURCES:
        rows = until(source.model.objects.of(establishment), as_of).filter(_on_day(source, day, start, end))
        for row in rows.select_related("author", *source.related).order_by(source.column, "entry__sequence"):
            found.append((source, row))
    return found


def _on_day(source: Source, day: date, start: datetime, end: datetime) -> Q:
    if source.column == "day":
        return Q(day=day)
    inside = Q(**{f"{source.column}__gte": start, f"{source.column}__lt": end})
    if source.model is not ThingUse:
        return inside
    # A use that only ended later belongs to the day of its end: the day of its beginning has not changed.
    ended = Q(supersedes__isnull=False, reason="", until_at__isnull=False, voided=False)
    return (inside & ~ended) | (ended & Q(until_at__gte=start, until_at__lt=end))


def told(source: Source, row: Any) -> Told:
    """Write a record in words."""
    ends = source.model is ThingUse and row.supersedes_id and not row.reason and row.until_at
    return Told(
        row=row,
        at=_at(source, row, ends=bool(ends)),
        title=str(source.title),
        details=[*(part for part in source.details(row) if part), *_notes(row)],
        late=bool(getattr(row, "late", False)),
        voided=bool(getattr(row, "voided", False)),
    )


def _at(source: Source, row: Any, *, ends: bool) -> datetime:
    if source.column == "day":
        return cast(datetime, row.recorded_at)
    return cast(datetime, row.until_at if ends else getattr(row, source.column))


def _notes(row: Any) -> list[str]:
    notes = []
    if getattr(row, "late", False):
        notes.append(_("late: %(why)s") % {"why": row.late_reason or row.reason})
    if getattr(row, "voided", False):
        notes.append(_("VOID: %(why)s") % {"why": row.reason})
    elif getattr(row, "supersedes_id", None) and row.reason:
        notes.append(_("replaces an entry: %(why)s") % {"why": row.reason})
    return notes


def by_group(rows: list[tuple[Source, Any]]) -> list[tuple[str, str, list[Told]]]:
    """Give the records of a day by the group under which they are shown: code, title, records in order."""
    found: dict[str, list[Told]] = {}
    for source, row in rows:
        found.setdefault(source.group, []).append(told(source, row))
    return [
        (code, str(TITLES[code]), sorted(found[code], key=lambda one: (one.at, one.row.recorded_at)))
        for code in TITLES
        if code in found
    ]
