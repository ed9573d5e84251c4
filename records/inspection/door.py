"""What came in, in words: lines that the day's page, its print and the receiving log share."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _

from records.checks.models import Reading
from records.checks.slots import parse_slot
from records.inspection.telling import Teller
from records.receiving.known import Known
from records.receiving.models import (
    EndedHow,
    IngredientKind,
    IngredientLot,
    MilkLoad,
    MilkOutcome,
    MilkRefused,
    Species,
)
from records.receiving.noted import shown
from records.signoff.door import Door
from safetyplan.calculation.rounding import amount
from safetyplan.integrity import canonical


@dataclass(frozen=True)
class DoorLine:
    """One record at the door; struck: a later record replaced it. url: its page, name and arguments."""

    at: datetime
    row: Any
    name: str
    details: Sequence[str]
    notes: Sequence[str]
    struck: bool
    page: tuple[str, UUID] | None = None

    @property
    def late(self) -> bool:
        """Tell whether it was entered late."""
        return bool(getattr(self.row, "late", False))


def span(load: MilkLoad) -> str:
    """Write the age of a load when it was received, in hours and minutes."""
    hours, minutes = divmod(int((load.received_at - load.milked_at).total_seconds() // 60), 60)
    return _("%(hours)d h %(minutes)02d min") % {"hours": hours, "minutes": minutes}


def door_lines(teller: Teller, door: Door, about: Known) -> list[DoorLine]:
    """Give the records at the door as lines, in the order in which they happened."""
    replaced = {row.supersedes_id for row in door.records() if getattr(row, "supersedes_id", None)}
    lines = [
        *(_load(teller, about, row, replaced) for row in door.loads),
        *(_refusal(door, row, replaced) for row in door.refusals),
        *(_notice(teller, door, row, replaced) for row in door.notices),
        *(_ingredient(about, row, replaced) for row in door.ingredients),
        *(_ended(row) for row in door.ended),
        *(_poured(door, row, replaced) for row in door.poured),
        *(_correction(row) for row in door.corrections),
    ]
    return sorted(lines, key=lambda line: (line.at, line.row.recorded_at))


def _changed(row: Any) -> list[str]:
    why = row.reason if getattr(row, "supersedes_id", None) else ""
    late = getattr(row, "late", False) and not why
    return [
        *([_("replaces the struck entry: %(why)s") % {"why": why}] if why else []),
        *([_("late: %(why)s") % {"why": row.late_reason}] if late else []),
    ]


def _load(teller: Teller, about: Known, row: MilkLoad, replaced: set[Any]) -> DoorLine:
    herd = f", {about.herds[row.herd_id].name}" if row.herd_id in about.herds else ""
    milkings = [teller.time(canonical.read_instant(t)) for t in canonical.loads(row.milkings.encode())]
    details = [
        about.suppliers[row.supplier_id].name + herd,
        str(Species(row.species).label),
        amount(row.volume_text, row.volume_unit),
        _("milkings %(times)s") % {"times": ", ".join(milkings)},
        _("age %(age)s") % {"age": span(row)},
        row.tank,
        *(f"{detail['label']}: {shown(detail)}" for detail in row.noted()),
        *([_("test lot %(code)s") % {"code": row.kit.code}] if row.kit else []),
    ]
    by = _(" (%(by)s)")
    said = [f"{s['facts']} {s['words']}" + (by % {"by": s["by"]} if s["by"] else "") for s in row.said()]
    void = [_("VOID: %(why)s") % {"why": row.reason}] if row.voided else _changed(row)
    name = _("Load %(code)s received") % {"code": row.code}
    struck = row.pk in replaced or row.voided
    return DoorLine(
        row.received_at,
        row,
        name,
        [d for d in details if d],
        [*void, *said],
        struck,
        ("load", row.identity),
    )


def _refusal(door: Door, row: MilkRefused, replaced: set[Any]) -> DoorLine:
    told = [_("told: %(who)s") % {"who": row.told}] if row.told else []
    details = [
        amount(row.volume_text, row.volume_unit),
        str(MilkOutcome(row.outcome).label),
        row.why,
        *told,
    ]
    name = _("Milk of load %(code)s REFUSED") % {"code": door.codes[row.load_id]}
    page = ("load", row.load_id)
    return DoorLine(row.refused_at, row, name, details, _changed(row), row.pk in replaced, page)


def _notice(teller: Teller, door: Door, row: Any, replaced: set[Any]) -> DoorLine:
    told = _("told %(at)s") % {"at": teller.time(row.informed_at)} if row.informed_at else _("NOT YET TOLD")
    by = _("to be done by %(at)s") % {"at": teller.time(row.deadline)} if row.deadline else ""
    details = [d for d in (row.authority, row.legal_basis, by, told, row.reference) if d]
    name = _("Authority about load %(code)s") % {"code": door.codes[row.load_id]}
    page = ("load", row.load_id)
    return DoorLine(row.recorded_at, row, name, details, _changed(row), row.pk in replaced, page)


def _ingredient(about: Known, row: IngredientLot, replaced: set[Any]) -> DoorLine:
    supplier = about.suppliers[row.supplier_id].name if row.supplier_id in about.suppliers else ""
    use_by = _("use by %(day)s") % {"day": row.use_by.isoformat()} if row.use_by else ""
    quantity = amount(row.quantity_text, row.quantity_unit) if row.quantity_text else ""
    kind = str(IngredientKind(row.kind).label)
    details = [d for d in (kind, supplier, quantity, use_by, row.storage, row.allergens) if d]
    name = f"{row.name} {row.code}"
    page = ("ingredient", row.identity)
    return DoorLine(row.received_at, row, name, details, _changed(row), row.pk in replaced, page)


def _ended(row: Any) -> DoorLine:
    name = f"{row.ingredient.name} {row.ingredient.code}"
    details = [d for d in (str(EndedHow(row.how).label), row.reason) if d]
    return DoorLine(row.ended_at, row, name, details, [], False, ("ingredient", row.ingredient_id))


def _poured(door: Door, row: Any, replaced: set[Any]) -> DoorLine:
    told = {"load": door.codes[row.load_id], "lot": row.lot.code}
    name = _("Milk of load %(load)s into lot %(lot)s") % told
    details = [amount(row.volume_text, row.volume_unit)]
    page = ("lot", row.lot_id)
    return DoorLine(row.recorded_at, row, name, details, _changed(row), row.pk in replaced, page)


def _correction(row: Any) -> DoorLine:
    name = _("Put right: %(check)s") % {"check": f"{row.reading.control} {row.reading.control_name}"}
    again = [_("not measured again: %(why)s") % {"why": row.no_recheck}] if row.no_recheck else []
    page = ("correction", row.reading_id)
    return DoorLine(row.done_at, row, name, [row.text], again, False, page)


def door_rows(teller: Teller, slug: str, lines: Sequence[DoorLine]) -> list[dict[str, Any]]:
    """Give the lines as rows of the table of events on a page."""
    return [
        {
            "happened": teller.time(line.at),
            "recorded": teller.time(line.row.recorded_at),
            "name": line.name,
            "details": line.details,
            "struck": line.struck,
            "late": line.late,
            "who": teller.initials(line.row.author_id),
            "notes": line.notes,
            "url": reverse(line.page[0], args=[slug, line.page[1]]) if line.page else "",
        }
        for line in lines
    ]


def load_code(reading: Reading, codes: Mapping[UUID, str]) -> str:
    """Give the number of the load that a reading belongs to; empty for any other reading."""
    if not reading.slot.startswith("load:"):
        return ""
    load = parse_slot(reading.slot).load
    return codes.get(load, "") if load else ""
