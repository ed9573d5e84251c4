"""Additions: which lot of an ingredient an event put into a lot, with its dose; written with the event."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from records.batches.details import Row, dose_name
from records.batches.kinds import LOT_ADDITION
from records.batches.models import LotAddition, LotEvent
from records.receiving.queries import find_by_code, unfit
from safetyplan.calculation.codes import skeleton
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import ledger
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.document import Detail, Event


def record_additions(
    establishment: Establishment,
    by: Person,
    planned: Event,
    event: LotEvent,
    rows: Sequence[Row],
    typed: Sequence[Mapping[str, Any]],
) -> None:
    """Record each ingredient lot that an event names.

    A lot that is not listed, is past its last day of use or is recorded as gone is refused, with an offer to
    record it all the same: what went into the vat is in it, and the reason stands in the record.
    """
    read = {row["name"]: row for row in rows}
    confirmed = {str(item.get("name")) for item in typed if item.get("confirmed")}
    for detail in planned.details:
        if detail.entry == "ingredient" and detail.name in read:
            row = _addition(establishment, detail, event, read, confirmed=detail.name in confirmed)
            ledger.append(kind=LOT_ADDITION, row=row, establishment=establishment, author=by)


def _addition(
    establishment: Establishment,
    detail: Detail,
    event: LotEvent,
    read: Mapping[str, Row],
    *,
    confirmed: bool,
) -> LotAddition:
    typed, dose = read[detail.name], read.get(dose_name(detail))
    listed = [row for row in find_by_code(establishment, typed["value"]) if row.kind == detail.of]
    found = listed[0] if listed else None
    not_listed = _("It is not in the list of ingredient lots.")
    why = unfit(establishment, found, event.observed_at) if found else not_listed
    if why and not confirmed:
        raise _refusal(detail, typed["raw"], why)
    return LotAddition(
        lot=event.lot,
        event=event,
        detail=detail.name,
        label=detail.label,
        kind=detail.of,
        code=found.code if found else typed["value"],
        code_skeleton=skeleton(found.code if found else typed["value"]),
        ingredient_id=found.identity if found else None,
        ingredient_name=found.name if found else "",
        dose_text=dose["value"] if dose else "",
        dose_unit=dose["unit"] if dose else "",
        unfit=why,
    )


def _refusal(detail: Detail, raw: str, why: str) -> BadInput:
    label = _("Record %(code)s all the same") % {"code": raw.strip()}
    offer = {"label": label, "raw": raw, "unit": "", "confirmed": True, "fold": None}
    return BadInput(f"{raw.strip()}: {why}", part=detail.name, offers=[offer])
