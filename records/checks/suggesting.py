"""What a capture page suggests where a lot of an ingredient or a shared thing is asked: those in use now."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from records.receiving.queries import ingredients
from records.things.queries import living
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import zone_of

MOST = 8


def suggestions(establishment: Establishment, now: datetime) -> Mapping[str, list[dict[str, Any]]]:
    """Give, by kind, the lots and things in use, the one to be used first on top; a few queries."""
    day = ZoneTime(zone_of(establishment)).local(now).date()
    found: dict[str, list[dict[str, Any]]] = defaultdict(list)
    rows = [
        row
        for row in ingredients(establishment)
        if not row.ended and (row.use_by is None or row.use_by >= day)
    ]
    for row in sorted(rows, key=lambda row: (row.use_by is None, row.use_by or day, row.received_at)):
        until = _("until %(day)s") % {"day": row.use_by.isoformat()} if row.use_by else ""
        found[row.kind].append(_suggested(row.code, row.name, until))
    for life in living(establishment, now, now):
        found[life.kind].append(_suggested(life.code, life.facts.name, ""))
    return {kind: listed[:MOST] for kind, listed in found.items()}


def _suggested(code: str, name: str, more: str) -> dict[str, Any]:
    return {"code": code, "label": " · ".join(filter(None, (code, name, more)))}
