"""Reads about shared things: each with its present facts and its end, and the lots that used it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from records.things.models import Thing, ThingChange, ThingEnded, ThingKind, ThingUse
from safetyplan.calculation.codes import skeleton
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, until
from safetyplan.integrity import canonical

MADE = "made"
"""The event of a thing that limits count its age from: its birth."""


@dataclass(frozen=True)
class Life:
    """A thing as it stands: the row that bears its key, the newest facts of its birth, and its end."""

    first: Thing
    facts: Thing
    end: ThingEnded | None = None

    @property
    def id(self) -> UUID:
        """Give the key that slots, changes and uses name."""
        key: UUID = self.first.pk
        return key

    @property
    def kind(self) -> str:
        """Give the kind of the thing."""
        return self.first.kind

    @property
    def code(self) -> str:
        """Give the code of the thing."""
        return self.first.code

    @property
    def title(self) -> str:
        """Name the thing for people: code and name."""
        return f"{self.code} {self.facts.name}".strip()

    @property
    def begun_at(self) -> datetime:
        """Give when its life began, as last corrected."""
        return self.facts.begun_at

    @property
    def ended_at(self) -> datetime | None:
        """Give when its life ended; None while it lasts."""
        return self.end.ended_at if self.end else None

    @property
    def events(self) -> dict[str, datetime]:
        """Give the events that limits may count from."""
        return {MADE: self.begun_at}

    def lives_at(self, at: datetime) -> bool:
        """Tell whether the thing is there at an instant; it is not any more at the instant of its end."""
        return self.begun_at <= at and (self.ended_at is None or at < self.ended_at)


def lives(
    establishment: Establishment,
    *,
    kind: str = "",
    ids: Iterable[UUID] | None = None,
    as_of: int | None = None,
) -> list[Life]:
    """Give things with their facts and end, newest first; by kind, or those named. A few queries."""
    rows = until(Thing.objects.of(establishment), as_of)
    if kind:
        rows = rows.filter(kind=kind)
    if ids is not None:
        wanted = list(ids)
        rows = rows.filter(Q(pk__in=wanted) | Q(first__in=wanted))
    return _lives(establishment, rows, as_of)


def _lives(establishment: Establishment, rows: "QuerySet[Any]", as_of: int | None) -> list[Life]:
    first: dict[Any, Thing] = {}
    newest: dict[Any, Thing] = {}
    for row in rows.select_related("author").order_by("entry__sequence"):
        key = row.first_id or row.pk
        first.setdefault(key, row)
        newest[key] = row
    ends = latest(ThingEnded.objects.of(establishment), as_of).filter(voided=False, thing__in=list(first))
    ended = {row.thing_id: row for row in ends.select_related("author")}
    found = [Life(first[key], newest[key], ended.get(key)) for key in first]
    return sorted(found, key=lambda life: life.begun_at, reverse=True)


def life_of(establishment: Establishment, thing: UUID, as_of: int | None = None) -> Life | None:
    """Give one thing by its key; None when there is none."""
    return next(iter(lives(establishment, ids=[thing], as_of=as_of)), None)


def living(
    establishment: Establishment, start: datetime, end: datetime, as_of: int | None = None
) -> list[Life]:
    """Give the things that were there at any time from `start` up to `end`."""
    over = latest(ThingEnded.objects.of(establishment), as_of).filter(voided=False, ended_at__lte=start)
    gone = over.values("thing")
    rows = until(Thing.objects.of(establishment), as_of).exclude(pk__in=gone).exclude(first__in=gone)
    found = _lives(establishment, rows, as_of)
    return [
        life for life in found if life.begun_at < end and (life.ended_at is None or life.ended_at > start)
    ]


def thing_called(establishment: Establishment, code: str, kind: str = "") -> Life | None:
    """Find a thing by its code as typed; one that looks the same counts."""
    rows = Thing.objects.of(establishment).filter(code_skeleton=skeleton(code.strip()), first__isnull=True)
    row = (rows.filter(kind=kind) if kind else rows).first()
    return life_of(establishment, row.pk) if row else None


def newest_of(establishment: Establishment, row: Any) -> Any:
    """Give an entry of a thing as it stands by now, corrected or voided since."""
    later = type(row).objects.of(establishment)
    while (found := later.filter(supersedes=row).first()) is not None:
        row = found
    return row


def recipe_of(thing: Thing) -> list[dict[str, str]]:
    """Give what a thing was made of: what, amount, unit, ingredient of each line."""
    value: list[dict[str, str]] = canonical.loads(thing.recipe.encode())
    return value


def changes(establishment: Establishment, thing: UUID, as_of: int | None = None) -> list[ThingChange]:
    """Give everything done to a thing, the superseded and voided rows too, in the order it was done."""
    rows = until(ThingChange.objects.of(establishment), as_of).filter(thing=thing)
    return list(rows.select_related("author").order_by("done_at", "entry__sequence"))


def uses(establishment: Establishment, as_of: int | None = None) -> "QuerySet[Any]":
    """Give the uses that stand, with their lots."""
    rows = latest(ThingUse.objects.of(establishment), as_of).filter(voided=False)
    chosen: QuerySet[Any] = rows.select_related("lot", "author").order_by(
        "from_at", "place", "entry__sequence"
    )
    return chosen


def uses_between(
    establishment: Establishment,
    life: Life,
    start: datetime,
    end: datetime,
    as_of: int | None = None,
) -> list[ThingUse]:
    """Give the uses of a thing that touch the time from `start` to `end`, both included.

    A use without an end lasts while the thing does.
    """
    lasting = Q(until_at__gte=start)
    if life.ended_at is None or life.ended_at >= start:
        lasting |= Q(until_at__isnull=True)
    return list(uses(establishment, as_of).filter(lasting, thing=life.id, from_at__lte=end))


def uses_of_lot(establishment: Establishment, lot: UUID, as_of: int | None = None) -> list[ThingUse]:
    """Give the uses of a lot that stand."""
    return list(uses(establishment, as_of).filter(lot=lot).select_related("thing"))


def made_with(establishment: Establishment, code: str) -> list[Life]:
    """Give the things into which a lot of an ingredient went, at birth or later, by its code as written."""
    wanted = skeleton(code.strip())
    rows = latest(ThingChange.objects.of(establishment)).filter(voided=False).exclude(ingredient="")
    later = {
        thing
        for thing, written in rows.values_list("thing", "ingredient")
        if skeleton(written.strip()) == wanted
    }

    def holds(life: Life) -> bool:
        lines = recipe_of(life.facts)
        return life.id in later or any(skeleton(line["ingredient"].strip()) == wanted for line in lines)

    return [life for life in lives(establishment) if holds(life)]


def by_key(found: Iterable[Life]) -> Mapping[UUID, Life]:
    """Give things by their key."""
    return {life.id: life for life in found}


def kind_word(kind: str) -> str:
    """Give the word of a kind of thing."""
    return str(ThingKind(kind).label)
