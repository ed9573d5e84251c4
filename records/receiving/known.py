"""What is known of suppliers and herds: who is approved, which certificates hold, whose milk stays out."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.receiving.models import (
    Approval,
    Certificate,
    Herd,
    Supplier,
    SupplierApproval,
    TreatedAnimal,
)
from safetyplan.establishments.localtime import LocalTime, ZoneTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import latest, until, zone_of

# A course of treatment may have begun before its last dose. Common practice, no source.
COURSE = timedelta(days=14)
NEAR = timedelta(days=30)


@dataclass(frozen=True)
class Caution:
    """Something to be said about a load before it is taken: which rule, the facts, and the answers.

    key: its name in a form and in the record, for example "treated:<uuid>".
    """

    key: str
    code: str
    facts: str


@dataclass
class Known:
    """The suppliers of an establishment with all that was recorded about them, read once."""

    clock: LocalTime
    suppliers: dict[UUID, Supplier] = field(default_factory=dict)
    herds: dict[UUID, Herd] = field(default_factory=dict)
    approvals: Mapping[UUID, list[SupplierApproval]] = field(default_factory=dict)
    certificates: Sequence[Certificate] = ()
    treated: Sequence[TreatedAnimal] = ()

    def herds_of(self, supplier: UUID, *, closed: bool = False) -> list[Herd]:
        """Give the herds of a supplier, by name."""
        found = [h for h in self.herds.values() if h.supplier_id == supplier and (closed or not h.closed)]
        return sorted(found, key=lambda herd: herd.name)

    def approval(self, who: UUID) -> SupplierApproval | None:
        """Give the newest approval of a supplier or herd itself."""
        rows = self.approvals.get(who, [])
        return rows[-1] if rows else None

    def standing(self, supplier: UUID, herd: UUID | None, day: date) -> tuple[str, str]:
        """Tell how a supplier (and herd) stands on a day, with the reason: an approval, or "" for none.

        A herd without an approval of its own stands as its supplier; the worse of the two counts.
        """
        own = [self.approval(supplier)]
        if herd is not None and self.approval(herd) is not None:
            own.append(self.approval(herd))
        found = [_standing(row, day) for row in own]
        order = [Approval.SUSPENDED, "", Approval.ON_CONDITION, Approval.APPROVED]
        return min(found, key=lambda one: order.index(one[0]))

    def expired(self, supplier: UUID, herd: UUID | None, day: date) -> list[Certificate]:
        """Give the certificates that ran out before a day and were not replaced by one of the same name."""
        rows = [c for c in self.certificates if c.supplier_id == supplier and c.herd_id in (None, herd)]
        return [c for c in _newest(rows) if c.valid_until < day]

    def ending(self, day: date) -> list[Certificate]:
        """Give the certificates that have run out on a day or will within thirty days."""
        rows = [c for c in _newest(self.certificates) if c.valid_until < day + NEAR and self._active(c)]
        return sorted(rows, key=lambda c: c.valid_until)

    def _active(self, row: Certificate) -> bool:
        supplier = self.suppliers[row.supplier_id]
        herd = self.herds[row.herd_id] if row.herd_id else None
        return not supplier.closed and not (herd and herd.closed)

    def milk_out(self, at: datetime) -> list[TreatedAnimal]:
        """Give the animals whose milk stays out at an instant, the one that waits longest last."""
        return sorted((t for t in self.treated if _out(t, at)), key=lambda t: t.milk_out_until)

    def warnings(
        self, supplier: UUID, herd: UUID | None, received_at: datetime, milkings: Iterable[datetime]
    ) -> list[Caution]:
        """Give what has to be answered before a load is taken."""
        day = self.clock.local(received_at).date()
        status, why = self.standing(supplier, herd, day)
        name = self.suppliers[supplier].name
        found = []
        if status == Approval.SUSPENDED:
            found.append(Caution("suspended", "suspended", _suspended(name, why)))
        elif status == "":
            found.append(Caution("not_approved", "not_approved", _not_approved(name, why)))
        found += [
            Caution(f"certificate_{c.pk}", "certificate", _expired(c))
            for c in self.expired(supplier, herd, day)
        ]
        herds = {herd} if herd else {h.pk for h in self.herds_of(supplier)}
        times = list(milkings)
        for row in self.treated:
            if row.herd_id in herds and any(_out(row, at) for at in times):
                found.append(Caution(f"treated_{row.pk}", "treated", self.treated_words(row)))
        return found

    def notice(self, supplier: UUID, herd: UUID | None, day: date) -> str:
        """Give the condition of an approval, to be read before a load is taken."""
        status, why = self.standing(supplier, herd, day)
        return why if status == Approval.ON_CONDITION else ""

    def treated_words(self, row: TreatedAnimal) -> str:
        """Say which animal's milk stays out until when."""
        words = _("%(herd)s, animal %(animal)s: treated with %(drug)s, its milk stays out until %(until)s.")
        return words % {
            "herd": self.herds[row.herd_id].name,
            "animal": row.animal,
            "drug": row.drug,
            "until": self.clock.local(row.milk_out_until).strftime("%Y-%m-%d %H:%M"),
        }


def _standing(row: SupplierApproval | None, day: date) -> tuple[str, str]:
    if row is None:
        return "", ""
    if row.status != Approval.SUSPENDED and row.valid_until is not None and row.valid_until < day:
        return "", _("The approval ended on %(day)s.") % {"day": row.valid_until.isoformat()}
    if row.status == Approval.SUSPENDED and row.valid_until is not None and row.valid_until < day:
        words = _("The suspension ended on %(day)s and nobody has approved it since.")
        return "", words % {"day": row.valid_until.isoformat()}
    return row.status, row.reason


def _newest(rows: Iterable[Certificate]) -> list[Certificate]:
    """Of several certificates of one name for one herd, keep the one that holds longest."""
    found: dict[Any, Certificate] = {}
    for row in rows:
        key = (row.supplier_id, row.herd_id, row.name.casefold())
        if key not in found or found[key].valid_until < row.valid_until:
            found[key] = row
    return list(found.values())


def _out(row: TreatedAnimal, at: datetime) -> bool:
    ends = row.milk_out_until if row.ended_at is None else min(row.milk_out_until, row.ended_at)
    return row.last_dose_at - COURSE <= at < ends


def _suspended(name: str, why: str) -> str:
    return _("%(name)s is suspended: %(why)s") % {"name": name, "why": why}


def _not_approved(name: str, why: str) -> str:
    return _("%(name)s is not approved. %(why)s") % {"name": name, "why": why or _("Nobody approved it yet.")}


def _expired(row: Certificate) -> str:
    words = _("The certificate “%(name)s” (%(reference)s) expired on %(day)s.")
    return words % {
        "name": row.name,
        "reference": row.reference or "–",
        "day": row.valid_until.isoformat(),
    }


def known(establishment: Establishment, as_of: int | None = None) -> Known:
    """Read the suppliers of an establishment with all that was recorded about them."""
    approvals: dict[UUID, list[SupplierApproval]] = defaultdict(list)
    rows = until(SupplierApproval.objects.of(establishment), as_of).order_by("entry__sequence")
    for row in rows.select_related("author"):
        approvals[row.herd_id or row.supplier_id].append(row)
    certificates = latest(Certificate.objects.of(establishment), as_of).filter(withdrawn=False)
    treated = latest(TreatedAnimal.objects.of(establishment), as_of)
    return Known(
        clock=ZoneTime(zone_of(establishment)),
        suppliers=_current(Supplier, establishment, as_of),
        herds=_current(Herd, establishment, as_of),
        approvals=approvals,
        certificates=list(certificates.order_by("valid_until", "entry__sequence")),
        treated=list(treated.order_by("milk_out_until", "entry__sequence")),
    )


def _current(model: Any, establishment: Establishment, as_of: int | None) -> dict[UUID, Any]:
    rows = latest(model.objects.of(establishment), as_of).order_by("name", "entry__sequence")
    return {row.identity: row for row in rows}
