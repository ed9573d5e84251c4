"""The pages of suppliers: the list, and one supplier with everything recorded of it."""

from collections.abc import Collection
from typing import Any

from django.utils.translation import gettext as _

from records.inspection.telling import Teller, on_screen
from records.receiving.known import Known, known
from records.receiving.load_page import standing_mark
from records.receiving.models import Certificate, Species, Supplier, TreatedAnimal
from records.receiving.reminders import reminders
from safetyplan.establishments.access import WRITERS
from safetyplan.establishments.models import Establishment, Role
from safetyplan.establishments.queries import latest
from safetyplan.integrity import clock

DECIDERS = {Role.RESPONSIBLE, Role.QUALIFIED}
Rows = list[dict[str, Any]]


def suppliers_context(establishment: Establishment, roles: Collection[str]) -> dict[str, Any]:
    """Give the suppliers, each with its herds and how it stands today."""
    about, now = known(establishment), clock.now(establishment)
    day = about.clock.local(now).date()
    rows = [
        {
            "row": supplier,
            "mark": _mark(about, supplier, day),
            "herds": ", ".join(herd.name for herd in about.herds_of(supplier.identity)) or "–",
        }
        for supplier in sorted(about.suppliers.values(), key=lambda one: (one.closed, one.name))
    ]
    return {
        "suppliers": rows,
        "reminders": reminders(establishment, about, now),
        "may_write": bool(set(roles) & set(WRITERS)),
        "section": "today",
    }


def _mark(about: Known, supplier: Supplier, day: Any) -> tuple[str, str]:
    if supplier.closed:
        return "superseded", _("No longer a supplier")
    return standing_mark(about.standing(supplier.identity, None, day)[0])


def supplier_context(
    establishment: Establishment, about: Known, supplier: Supplier, roles: Collection[str]
) -> dict[str, Any]:
    """Give everything recorded of a supplier."""
    teller, now = on_screen(establishment), clock.now(establishment)
    day = teller.day(now)
    key = supplier.identity
    return {
        "supplier": supplier,
        "mark": _mark(about, supplier, day),
        "why": about.standing(key, None, day)[1],
        "herds": [
            {
                "row": herd,
                "species": str(Species(herd.species).label),
                "mark": standing_mark(about.standing(key, herd.identity, day)[0]),
            }
            for herd in about.herds_of(key, closed=True)
        ],
        "approvals": _approvals(teller, about, key),
        "certificates": _certificates(teller, about, establishment, key, day),
        "treated": _treated(teller, about, establishment, key, now),
        "may_write": bool(set(roles) & set(WRITERS)),
        "may_decide": bool(set(roles) & DECIDERS),
        "key": teller.key_rows(),
        "section": "today",
    }


def _approvals(teller: Teller, about: Known, key: Any) -> Rows:
    """Give every approval of a supplier and its herds, the newest first."""
    herds = [herd.identity for herd in about.herds_of(key, closed=True)]
    rows = [row for who in (key, *herds) for row in about.approvals.get(who, [])]
    return [
        {
            "row": row,
            "herd": about.herds[row.herd_id].name if row.herd_id else "",
            "mark": standing_mark(row.status),
            "at": teller.time(row.recorded_at),
            "who": teller.initials(row.author_id),
        }
        for row in sorted(rows, key=lambda row: row.recorded_at, reverse=True)
    ]


def _certificates(teller: Teller, about: Known, establishment: Establishment, key: Any, day: Any) -> Rows:
    rows = latest(Certificate.objects.of(establishment)).filter(supplier=key)
    return [
        {
            "row": row,
            "herd": about.herds[row.herd_id].name if row.herd_id else "",
            "mark": _certificate_mark(row, day),
            "at": teller.time(row.recorded_at),
            "who": teller.initials(row.author_id),
        }
        for row in rows.order_by("-valid_until")
    ]


def _certificate_mark(row: Certificate, day: Any) -> tuple[str, str]:
    if row.withdrawn:
        return "superseded", _("No longer holds")
    return ("overdue", _("Expired")) if row.valid_until < day else ("active", _("Valid"))


def _treated(teller: Teller, about: Known, establishment: Establishment, key: Any, now: Any) -> Rows:
    herds = [herd.identity for herd in about.herds_of(key, closed=True)]
    rows: Any = latest(TreatedAnimal.objects.of(establishment)).filter(herd__in=herds)
    return [
        {
            "row": row,
            "herd": about.herds[row.herd_id].name,
            "dose": teller.time(row.last_dose_at),
            "until": teller.time(row.milk_out_until),
            "ended": teller.time(row.ended_at),
            "out": row.ended_at is None and row.milk_out_until > now,
            "who": teller.initials(row.author_id),
        }
        for row in rows.order_by("-milk_out_until")[:100]
    ]
