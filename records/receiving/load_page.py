"""The page of a load of milk, the choice of whose milk comes in, and what a lot's page shows of its milk."""

import itertools
from collections.abc import Collection, Sequence
from datetime import timedelta
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from records.batches.models import Lot
from records.checks.due import SlotState, Status, load_states
from records.checks.models import PaperSheet
from records.deviations.page import missing_words, summary
from records.deviations.queries import deviations, states
from records.inspection.beside import beside_of
from records.inspection.history import reading_lines
from records.inspection.rows import Rows, check_rows, reading_rows
from records.inspection.telling import Teller, on_screen
from records.receiving.known import Known, known
from records.receiving.models import Approval, LotMilk, MilkLoad, MilkOutcome, Species
from records.receiving.noted import shown
from records.receiving.queries import (
    MilkBalance,
    balances,
    load_records,
    loads_between,
    loads_by_identity,
    lots_of_loads,
    milk_of_lots,
    notices,
    refusals,
)
from records.receiving.tables import age_words, milkings_words, volume_words
from safetyplan.establishments.access import WRITERS
from safetyplan.establishments.models import Establishment, Role
from safetyplan.integrity import clock

IN_HOUSE = timedelta(days=14)
STANDING = {
    Approval.APPROVED: "approved",
    Approval.ON_CONDITION: "outside_target",
    Approval.SUSPENDED: "hold",
    "": "not_shown",
}


def standing_mark(status: str) -> tuple[str, str]:
    """Give the state code and word of how a supplier stands."""
    word = str(Approval(status).label) if status else _("not approved")
    return STANDING[status], word[:1].upper() + word[1:]


def load_context(establishment: Establishment, load: MilkLoad, roles: Collection[str]) -> dict[str, Any]:
    """Give everything the page shows of a load."""
    teller = on_screen(establishment)
    now, slug, key = clock.now(establishment), establishment.slug, load.identity
    checks = load_states(establishment, [load], now).get(key, [])
    about = known(establishment)
    writes = bool(set(roles) & set(WRITERS))
    balance = balances(establishment, [load])[key]
    readings = [reading for state in checks for reading in state.readings]
    return {
        "load": load,
        "state": load_state(load, balance, checks),
        "facts": load_facts(teller, about, load),
        "balance": balance_rows(balance),
        "left": balance.left > 0 and not load.voided,
        "statements": load.said(),
        "checks": check_rows(teller, slug, checks, roles),
        "extra": _extra(slug, checks) if Role.MAKER in roles else [],
        "readings": reading_rows(
            teller, slug, reading_lines(establishment, readings, beside=beside_of(establishment, readings))
        ),
        "refusals": refusal_rows(teller, establishment, load),
        "notices": _notices(teller, establishment, load),
        "lots": lots_of_loads(establishment, [key])[key],
        "deviations": _deviations(establishment, key),
        "records": _records(teller, about, establishment, load),
        "may_record": Role.MAKER in roles and not load.voided,
        "may_write": writes and not load.voided,
        "to_record": any(s.status in (Status.DUE, Status.OVERDUE, Status.MISSING) for s in checks),
        "day": teller.day(load.received_at),
        "key": teller.key_rows(),
        "section": "today",
    }


def next_check(establishment: Establishment, load: MilkLoad) -> str:
    """Give the slot of the next check of a load that can be recorded now; empty without one."""
    found = load_states(establishment, [load], clock.now(establishment)).get(load.identity, [])
    open_ones = [s for s in found if s.status in (Status.DUE, Status.OVERDUE, Status.MISSING)]
    return open_ones[0].slot.id if open_ones else ""


def load_state(load: MilkLoad, balance: MilkBalance, checks: Sequence[SlotState]) -> tuple[str, str]:
    """Give where a load stands: what is wrong comes before what is done."""
    if load.voided:
        return "void", ""
    if balance.wholly_refused:
        return "refused", ""
    if any(state.result is not None and not state.shown for state in checks):
        return "outside_limit", ""
    if any(state.status == Status.MISSING for state in checks):
        return "not_shown", ""
    if any(state.status in (Status.DUE, Status.OVERDUE) for state in checks):
        return "due", _("Checks to record")
    return ("closed", _("Used")) if balance.left == 0 else ("active", _("In the tank"))


def load_facts(teller: Teller, about: Known, load: MilkLoad) -> list[tuple[str, str]]:
    """Give the facts of a receipt, each with its name."""
    herd = about.herds[load.herd_id].name if load.herd_id else "–"
    rows = [
        (_("Supplier"), about.suppliers[load.supplier_id].name),
        (_("Herd"), herd),
        (_("Species"), str(Species(load.species).label)),
        (_("Received"), f"{teller.time(load.received_at)}, {teller.name(load.author_id)}"),
        (_("Milkings"), milkings_words(teller, load)),
        (_("Age when received"), age_words(load)),
        (_("Volume"), volume_words(load.volume_text, load.volume_unit)),
        (_("Tank"), load.tank or "–"),
    ]
    rows += [(str(detail["label"]), shown(detail)) for detail in load.noted()]
    if load.kit is not None:
        rows.append((_("Lot of the inhibitor test"), f"{load.kit.name} {load.kit.code}"))
    if load.late:
        rows.append((_("Late entry"), load.late_reason or load.reason))
    return rows


def balance_rows(balance: MilkBalance) -> list[tuple[str, str]]:
    """Give the balance of a load in words."""
    named = (
        (_("Received"), balance.received),
        (_("Used in lots"), balance.used),
        (_("Refused"), balance.refused),
        (_("Left"), balance.left),
    )
    return [(label, volume_words(value, balance.unit)) for label, value in named]


def _extra(slug: str, checks: Sequence[SlotState]) -> list[tuple[str, str]]:
    """Link to a further reading of each check that was recorded."""
    return [
        (
            reverse("capture", args=[slug, s.slot.id.rpartition(":")[0] + ":extra"]),
            f"{s.slot.control.code} {s.slot.control.name}",
        )
        for s in checks
        if s.status == Status.RECORDED
    ]


def refusal_rows(teller: Teller, establishment: Establishment, load: MilkLoad) -> Rows:
    """Give the refusals of a load as they stand."""
    return [
        {
            "row": row,
            "volume": volume_words(row.volume_text, row.volume_unit),
            "outcome": str(MilkOutcome(row.outcome).label),
            "at": teller.time(row.refused_at),
            "who": teller.initials(row.author_id),
        }
        for row in refusals(establishment, [load.identity])
    ]


def _notices(teller: Teller, establishment: Establishment, load: MilkLoad) -> Rows:
    now = clock.now(establishment)
    return [
        {
            "row": row,
            "deadline": teller.time(row.deadline),
            "informed": teller.time(row.informed_at),
            "late": row.informed_at is None and row.deadline is not None and row.deadline < now,
        }
        for row in notices(establishment, [load.identity])
    ]


def _deviations(establishment: Establishment, load: Any) -> Rows:
    rows = deviations(establishment).filter(slot__startswith=f"load:{load}:")
    return [
        {
            "pk": state.deviation.pk,
            "number": state.deviation.number,
            "description": state.deviation.description,
            "summary": summary(state),
            "missing": missing_words(state.missing()) if state.is_open else [],
        }
        for state in states(establishment, rows)
    ]


def _records(teller: Teller, about: Known, establishment: Establishment, load: MilkLoad) -> Rows:
    """Give the receipts that a correction replaced, the first one first."""
    found = load_records(establishment, load.identity)
    return [
        {
            "facts": load_facts(teller, about, row),
            "at": teller.moment(row.recorded_at),
            "who": teller.name(row.author_id),
            "reason": later.reason,
        }
        for row, later in itertools.pairwise(found)
    ]


def choose_context(establishment: Establishment, sheet: PaperSheet | None = None) -> dict[str, Any]:
    """Give the suppliers of milk with their herds, and how each stands today; `sheet`: entered from it."""
    about, now = known(establishment), clock.now(establishment)
    day = about.clock.local(now).date()
    sources = []
    for supplier in about.suppliers.values():
        if supplier.gives_milk and not supplier.closed:
            herds: list[Any] = [*about.herds_of(supplier.identity)] or [None]
            for herd in herds:
                pk = herd.identity if herd else None
                status, why = about.standing(supplier.identity, pk, day)
                url = reverse("milk_new", args=[establishment.slug, supplier.identity])
                asked = {**({"herd": pk} if pk else {}), **({"sheet": sheet.pk} if sheet else {})}
                sources.append(
                    {
                        "name": supplier.name,
                        "herd": herd.name if herd else "",
                        "url": f"{url}?{urlencode(asked)}" if asked else url,
                        "mark": standing_mark(status),
                        "why": why,
                        "cautions": about.warnings(supplier.identity, pk, now, [now]),
                    }
                )
    return {"sources": sources, "section": "today"}


def open_loads(establishment: Establishment) -> list[tuple[MilkLoad, str]]:
    """Give the loads of the last two weeks of which something is left, the newest first, each in words."""
    now = clock.now(establishment)
    loads = loads_between(establishment, now - IN_HOUSE, now + timedelta(minutes=2))
    found = balances(establishment, loads)
    teller = on_screen(establishment)
    teller.focus = teller.day(now)
    words = _("%(code)s, received %(at)s, %(left)s left")
    return [
        (
            load,
            words
            % {
                "code": load.code,
                "at": teller.time(load.received_at),
                "left": volume_words(found[load.identity].left, load.volume_unit),
            },
        )
        for load in reversed(loads)
        if found[load.identity].left > 0
    ]


def open_load_choices(establishment: Establishment) -> list[tuple[str, str]]:
    """List the loads of which something is left, to choose from."""
    return [(str(load.identity), words) for load, words in open_loads(establishment)]


def milk_rows(establishment: Establishment, lot: Lot, as_of: int | None = None) -> list[dict[str, Any]]:
    """Give the milk of a lot: each load, how much of it, how old it was when received."""
    rows: list[LotMilk] = milk_of_lots(establishment, [lot.pk], as_of)[lot.pk]
    loads = loads_by_identity(establishment, [row.load_id for row in rows], as_of)
    about = known(establishment, as_of)
    return [
        {
            "row": row,
            "load": loads[row.load_id],
            "supplier": about.suppliers[loads[row.load_id].supplier_id].name,
            "volume": volume_words(row.volume_text, row.volume_unit),
            "age": age_words(loads[row.load_id]),
        }
        for row in rows
    ]
