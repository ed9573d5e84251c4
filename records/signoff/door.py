"""What came in over a period, what became of it and what was put right: for the day sheet and its print."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from records.checks.models import CorrectionMade
from records.receiving.models import (
    AuthorityNotice,
    IngredientEnded,
    IngredientLot,
    LotMilk,
    MilkLoad,
    MilkRefused,
)
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import until


@dataclass(frozen=True)
class Door:
    """Every record of a period at the door, those that a correction replaced too.

    codes: the number of each load that any of them names, by the load's identity.
    """

    loads: list[MilkLoad]
    refusals: list[MilkRefused]
    notices: list[AuthorityNotice]
    ingredients: list[IngredientLot]
    ended: list[IngredientEnded]
    poured: list[LotMilk]
    corrections: list[CorrectionMade]
    codes: dict[UUID, str]

    def records(self) -> list[Any]:
        """Give them all."""
        return [
            *self.loads,
            *self.refusals,
            *self.notices,
            *self.ingredients,
            *self.ended,
            *self.poured,
            *self.corrections,
        ]


def door_between(
    establishment: Establishment, start: datetime, end: datetime, as_of: int | None = None
) -> Door:
    """Give what happened at the door from one instant up to another."""

    def between(model: Any, column: str, *related: str) -> list[Any]:
        rows: QuerySet[Any] = until(model.objects.of(establishment), as_of)
        chosen = rows.filter(**{f"{column}__gte": start, f"{column}__lt": end})
        return list(chosen.select_related("author", *related).order_by(column, "entry__sequence"))

    loads = between(MilkLoad, "received_at", "kit")
    refusals = between(MilkRefused, "refused_at", "load")
    notices = between(AuthorityNotice, "recorded_at", "load")
    poured = between(LotMilk, "recorded_at", "load", "lot")
    codes = {row.identity: row.code for row in loads}
    codes |= {row.load_id: row.load.code for row in (*refusals, *notices, *poured)}
    return Door(
        loads=loads,
        refusals=refusals,
        notices=notices,
        ingredients=between(IngredientLot, "received_at"),
        ended=between(IngredientEnded, "ended_at", "ingredient"),
        poured=poured,
        corrections=between(CorrectionMade, "done_at", "reading"),
        codes=codes,
    )
