"""Reads about what came in: loads of milk and their balance, ingredient lots."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _

from records.receiving.models import (
    AuthorityNotice,
    EndedHow,
    IngredientEnded,
    IngredientLot,
    LotMilk,
    MilkLoad,
    MilkRefused,
)
from safetyplan.calculation.codes import skeleton
from safetyplan.calculation.units import convert
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, until, zone_of

LOAD_PARTS = ("supplier", "herd", "author")


@dataclass(frozen=True)
class MilkBalance:
    """Where the milk of a load is: used + refused + left = received, in the unit of the load."""

    received: Decimal
    used: Decimal
    refused: Decimal
    unit: str

    @property
    def left(self) -> Decimal:
        """Give what is neither used nor refused."""
        return self.received - self.used - self.refused

    @property
    def wholly_refused(self) -> bool:
        """Tell whether none of it was taken."""
        return self.received > 0 and self.refused == self.received


# Milk ----------------------------------------------------------------------------------------------


def milk_loads(establishment: Establishment, as_of: int | None = None) -> "QuerySet[MilkLoad]":
    """Give the loads as they stand, the newest first; those whose receipt was voided too."""
    rows: QuerySet[MilkLoad] = latest(MilkLoad.objects.of(establishment), as_of)
    return rows.select_related(*LOAD_PARTS).order_by("-received_at", "-pk")


def loads_between(
    establishment: Establishment, start: datetime, end: datetime, as_of: int | None = None
) -> list[MilkLoad]:
    """Give the loads received in a period, the first one first; without those voided."""
    rows = milk_loads(establishment, as_of).filter(received_at__gte=start, received_at__lt=end, voided=False)
    return list(reversed(rows))


def loads_by_identity(
    establishment: Establishment, identities: Iterable[UUID], as_of: int | None = None
) -> dict[UUID, MilkLoad]:
    """Give several loads as they stand, by their identity."""
    wanted = list(identities)
    rows = milk_loads(establishment, as_of).filter(Q(pk__in=wanted) | Q(first__in=wanted))
    return {row.identity: row for row in rows}


def load_of(establishment: Establishment, identity: UUID, as_of: int | None = None) -> MilkLoad | None:
    """Give a load as it stands."""
    return loads_by_identity(establishment, [identity], as_of).get(identity)


def load_records(establishment: Establishment, identity: UUID, as_of: int | None = None) -> list[MilkLoad]:
    """Give every record of a load, the first receipt first."""
    rows = until(MilkLoad.objects.of(establishment), as_of).filter(Q(pk=identity) | Q(first=identity))
    return list(rows.select_related(*LOAD_PARTS).order_by("entry__sequence"))


def similar_load(establishment: Establishment, code: str) -> MilkLoad | None:
    """Find a load whose number looks the same."""
    rows = MilkLoad.objects.of(establishment).filter(code_skeleton=skeleton(code))
    found: MilkLoad | None = rows.first()
    return found


def refusals(
    establishment: Establishment, loads: Iterable[UUID], as_of: int | None = None
) -> list[MilkRefused]:
    """Give the refusals of some loads as they stand."""
    rows = latest(MilkRefused.objects.of(establishment).filter(load__in=list(loads)), as_of)
    return list(rows.select_related("author").order_by("refused_at", "entry__sequence"))


def notices(
    establishment: Establishment, loads: Iterable[UUID], as_of: int | None = None
) -> list[AuthorityNotice]:
    """Give what was noted of informing the authority about some loads, as it stands."""
    rows = latest(AuthorityNotice.objects.of(establishment).filter(load__in=list(loads)), as_of)
    return list(rows.select_related("author").order_by("entry__sequence"))


def notices_due(establishment: Establishment) -> list[AuthorityNotice]:
    """Give what the authority still has to be told, the nearest deadline first."""
    rows = latest(AuthorityNotice.objects.of(establishment)).filter(informed_at=None)
    found = list(rows.select_related("load").order_by("entry__sequence"))
    return sorted(found, key=lambda row: (row.deadline is None, row.deadline or row.recorded_at))


def milk_of_lots(
    establishment: Establishment, lots: Iterable[UUID], as_of: int | None = None
) -> dict[UUID, list[LotMilk]]:
    """Give the milk that went into some lots, by lot; what was corrected to nothing is left out."""
    rows = latest(LotMilk.objects.of(establishment).filter(lot__in=list(lots)), as_of)
    return _by("lot_id", rows)


def lots_of_loads(
    establishment: Establishment, loads: Iterable[UUID], as_of: int | None = None
) -> dict[UUID, list[LotMilk]]:
    """Give the lots into which the milk of some loads went, by load."""
    rows = latest(LotMilk.objects.of(establishment).filter(load__in=list(loads)), as_of)
    return _by("load_id", rows)


def _by(name: str, rows: "QuerySet[Any]") -> dict[UUID, list[LotMilk]]:
    found: dict[UUID, list[LotMilk]] = defaultdict(list)
    for row in rows.select_related("lot", "load", "author").order_by("entry__sequence"):
        if Decimal(row.volume_text) > 0:
            found[getattr(row, name)].append(row)
    return found


def balances(
    establishment: Establishment, loads: Iterable[MilkLoad], as_of: int | None = None
) -> dict[UUID, MilkBalance]:
    """Give the balance of several loads by identity, in a constant number of queries."""
    listed = {load.identity: load for load in loads}
    used: dict[UUID, Decimal] = defaultdict(Decimal)
    refused: dict[UUID, Decimal] = defaultdict(Decimal)
    for rows in lots_of_loads(establishment, listed, as_of).values():
        for row in rows:
            used[row.load_id] += in_unit_of(listed[row.load_id], row)
    for gone in refusals(establishment, listed, as_of):
        refused[gone.load_id] += in_unit_of(listed[gone.load_id], gone)
    return {
        key: MilkBalance(received(load), used[key], refused[key], load.volume_unit)
        for key, load in listed.items()
    }


def balance_of(establishment: Establishment, load: MilkLoad) -> MilkBalance:
    """Give the balance of one load."""
    return balances(establishment, [load])[load.identity]


def received(load: MilkLoad) -> Decimal:
    """Give how much was received; nothing where the receipt was voided."""
    return Decimal(0) if load.voided else Decimal(load.volume_text)


def in_unit_of(load: MilkLoad, row: LotMilk | MilkRefused) -> Decimal:
    """Give the volume of a row in the unit of the load."""
    return convert(Decimal(row.volume_text), row.volume_unit, load.volume_unit)


# Ingredients ---------------------------------------------------------------------------------------


def ingredients(establishment: Establishment, as_of: int | None = None) -> "QuerySet[Any]":
    """Give the ingredient lots as they stand, noting as `ended` whether nothing of them is left."""
    rows = latest(IngredientLot.objects.of(establishment), as_of).select_related("supplier", "author")
    over = IngredientEnded.objects.of(establishment)
    over = until(over, as_of).filter(Q(ingredient=OuterRef("pk")) | Q(ingredient=OuterRef("first")))
    found: QuerySet[Any] = rows.annotate(ended=Exists(over)).order_by("kind", "name", "use_by", "received_at")
    return found


def ingredient_of(establishment: Establishment, identity: UUID, as_of: int | None = None) -> Any:
    """Give an ingredient lot as it stands, by its identity; None when there is none."""
    rows = ingredients(establishment, as_of).filter(Q(pk=identity) | Q(first=identity))
    return rows.first()


def usable(establishment: Establishment, kind: str, at: datetime) -> list[IngredientLot]:
    """Give the lots of a kind that may be used at an instant, the one to be used first on top.

    Received by then, something left of it, and not past the last day on which it may be used.
    """
    day = at.astimezone(zone_of(establishment)).date()
    over = IngredientEnded.objects.of(establishment).filter(ended_at__lte=at)
    over = over.filter(Q(ingredient=OuterRef("pk")) | Q(ingredient=OuterRef("first")))
    rows = latest(IngredientLot.objects.of(establishment)).filter(kind=kind, received_at__lte=at)
    rows = rows.filter(Q(use_by=None) | Q(use_by__gte=day)).filter(~Exists(over))
    return sorted(rows, key=lambda row: (row.use_by is None, row.use_by or day, row.received_at))


def find_by_code(establishment: Establishment, code: str) -> list[Any]:
    """Find the ingredient lots with a code, those of which something is left first (for a scanner)."""
    rows = ingredients(establishment).filter(code_skeleton=skeleton(code))
    return sorted(rows, key=lambda row: (row.ended, row.code != code, row.received_at))


def ended_of(
    establishment: Establishment, identities: Iterable[UUID], as_of: int | None = None
) -> dict[UUID, IngredientEnded]:
    """Give how some ingredient lots ended, by identity."""
    rows = until(IngredientEnded.objects.of(establishment), as_of).filter(ingredient__in=list(identities))
    return {row.ingredient_id: row for row in rows.select_related("author")}


def unfit(establishment: Establishment, row: IngredientLot, at: datetime) -> str:
    """Say why an ingredient lot should not be used at an instant; empty when nothing speaks against it."""
    day = at.astimezone(zone_of(establishment)).date()
    told = {"name": row.name, "code": row.code}
    if row.use_by is not None and row.use_by < day:
        told["day"] = row.use_by.isoformat()
        return _("%(name)s, lot %(code)s: its last day of use was %(day)s.") % told
    ended = ended_of(establishment, [row.identity]).get(row.identity)
    if ended is not None and ended.ended_at <= at:
        if ended.how == EndedHow.DISCARDED:
            return _("%(name)s, lot %(code)s was discarded: %(why)s.") % {**told, "why": ended.reason}
        return _("%(name)s, lot %(code)s is recorded as used up.") % told
    if row.received_at > at:
        return _("%(name)s, lot %(code)s was received only later.") % told
    return ""


def uses(establishment: Establishment, ingredient: UUID, as_of: int | None = None) -> list[MilkLoad]:
    """Give the loads of milk that were tested with a lot of test kits."""
    rows = milk_loads(establishment, as_of).filter(kit=ingredient, voided=False)
    return list(rows)
