"""Additions in words, for pages and paper: what went into a lot, when, from which lot, how much, by whom."""

from collections.abc import Sequence
from typing import Any
from urllib.parse import quote

from django.urls import reverse

from records.batches.models import LotAddition
from records.inspection.telling import Teller
from safetyplan.calculation.rounding import amount
from safetyplan.plans.change_codes import code_words


def addition_rows(teller: Teller, slug: str, found: Sequence[LotAddition]) -> list[dict[str, Any]]:
    """Give additions as rows of a table."""
    return [
        {
            "row": row,
            "at": teller.time(row.event.observed_at),
            "what": row.label,
            "kind": code_words(row.kind),
            "name": row.ingredient_name,
            "dose": amount(row.dose_text, row.dose_unit) if row.dose_text else "",
            "who": teller.initials(row.author_id),
            "url": f"{reverse('additions', args=[slug])}?code={quote(row.code)}",
        }
        for row in found
    ]
