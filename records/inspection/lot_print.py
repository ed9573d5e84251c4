"""The record of a lot on paper."""

from collections import defaultdict
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.batches.queries import Quantity, standing_events, version_of
from records.checks.due import SlotState, lot_states
from records.checks.models import Reading
from records.deviations.queries import DeviationState
from records.inspection.deviation_print import deviation_blocks
from records.inspection.door import span
from records.inspection.frame import Frame
from records.inspection.history import event_lines, reading_lines
from records.inspection.limits import judged_by, limit_grid
from records.inspection.lot_curve import lot_curve
from records.inspection.lot_versions import followed, version_blocks
from records.inspection.make_print import addition_blocks, link_blocks, not_recorded, weight_blocks
from records.inspection.photo_lines import photo_blocks
from records.inspection.signoff_print import lot_blocks
from records.inspection.tables import event_grid, reading_grid, slot_grid
from records.receiving.queries import loads_by_identity, milk_of_lots
from records.signoff.queries import dispatches, releases, self_reviewed
from records.signoff.release import balance, lot_deviations
from safetyplan.calculation.rounding import amount, trim
from safetyplan.establishments.queries import until
from safetyplan.plans.models import PlanApproved
from safetyplan.printing.document import (
    Block,
    Cell,
    Chart,
    Column,
    Document,
    Facts,
    Grid,
    Heading,
    KeepTogether,
    Row,
    Text,
)


def document(frame: Frame, lot: Lot) -> Document:
    """Compose the whole record of a lot."""
    readings = _rows(frame, Reading, lot)
    events = _rows(frame, LotEvent, lot)
    standing = standing_events(frame.establishment, events, frame.as_of)
    of_days = _by_day(frame, [lot, *events, *readings])
    own = self_reviewed(frame.establishment, of_days, frame.as_of)
    found = lot_deviations(frame.establishment, lot, frame.as_of)
    found.sort(key=lambda state: state.deviation.number)
    version = version_of(frame.establishment, lot, frame.as_of)
    by_themselves = bool(own & {str(r.pk) for r in (lot, *readings, *events)})
    by_themselves = by_themselves or any(s.closure and s.closure.self_reviewed for s in found)
    blocks: list[Block] = [
        *_first(frame, lot, version),
        *version_blocks(frame, lot),
        *_checks(frame, lot, readings, events, own, version),
        *_chart(lot, readings, standing, version),
        *addition_blocks(frame, lot),
        *weight_blocks(frame, lot, standing),
        *link_blocks(frame, lot),
        *photo_blocks(frame, [*events, *readings], frame.as_of),
        *_deviations(frame, found),
        *_release(frame, lot),
        *lot_blocks(frame, of_days),
        KeepTogether((Heading(_("Who is who"), 2), frame.key(), frame.caution())),
    ]
    title = _("Lot record %(code)s") % {"code": lot.code}
    head = frame.head(title, version, self_reviewed=by_themselves)
    return Document(head, frame.foot(), tuple(blocks), frame.paper, frame.language)


def _rows(frame: Frame, model: Any, lot: Lot) -> list[Any]:
    rows = until(model.objects.of(frame.establishment), frame.as_of).filter(lot=lot)
    return list(rows.select_related("lot__plan_version").order_by("observed_at", "entry__sequence"))


def _by_day(frame: Frame, rows: list[Any]) -> dict[date, set[str]]:
    """Name the records of a lot by the local day to which they belong."""
    found: dict[date, set[str]] = defaultdict(set)
    for row in rows:
        at = row.started_at if isinstance(row, Lot) else row.observed_at
        found[frame.day(at)].add(str(row.pk))
    return dict(found)


def _amount(quantity: Quantity) -> str:
    return _("%(pieces)d pieces, %(kg)s kg") % {"pieces": quantity.pieces, "kg": trim(quantity.mass)}


def _first(frame: Frame, lot: Lot, version: PlanApproved) -> list[Block]:
    found = balance(frame.establishment, lot, frame.as_of)
    product = version.plan().product(lot.product_code)
    made = _amount(found.made) if found.made else _("not recorded yet")
    return [
        Facts(
            (
                (_("Lot"), lot.code),
                (_("Product"), f"{lot.product_code} {lot.product_name}"),
                (_("Started"), f"{frame.time(lot.started_at)}, {frame.name(lot.author_id)}"),
                (_("Vat"), lot.vat or "–"),
                (_("Milk"), f"{lot.milk_text} {lot.milk_unit}".strip() or "–"),
                (_("Milk of"), _milk(frame, lot)),
                (_("Milk treatment"), product.milk or "–"),
                (_("Plan"), followed(frame, lot)),
                (_("Made"), made),
                (_("Released"), _amount(found.released)),
            )
        )
    ]


def _milk(frame: Frame, lot: Lot) -> str:
    """Name the loads whose milk is in the lot, each with its volume and its age when it was received."""
    rows = milk_of_lots(frame.establishment, [lot.pk], frame.as_of)[lot.pk]
    loads = loads_by_identity(frame.establishment, [row.load_id for row in rows], frame.as_of)
    words = _("load %(code)s, %(volume)s, age %(age)s")
    said = [
        words
        % {
            "code": loads[row.load_id].code,
            "volume": amount(row.volume_text, row.volume_unit),
            "age": span(loads[row.load_id]),
        }
        for row in rows
    ]
    return "; ".join(said) or _("not named")


def _checks(
    frame: Frame,
    lot: Lot,
    readings: list[Reading],
    events: list[LotEvent],
    own: set[str],
    version: PlanApproved,
) -> list[Block]:
    states = lot_states(frame.establishment, [lot], frame.issue.recorded_at, frame.as_of)[lot.pk]
    states.sort(key=_due_first)
    return [
        Heading(_("Limits"), 1),
        limit_grid(judged_by(states, readings)),
        Heading(_("What happened to the lot"), 1),
        event_grid(frame, [lot], event_lines(frame.establishment, events, frame.as_of, own), own),
        *not_recorded(
            version.plan().product(lot.product_code),
            standing_events(frame.establishment, events, frame.as_of),
        ),
        Heading(_("Checks that were due"), 1),
        slot_grid(frame, states, own),
        Heading(_("Readings"), 1),
        reading_grid(
            frame,
            reading_lines(frame.establishment, readings, frame.as_of, own, beside=frame.beside(readings)),
        ),
    ]


def _due_first(state: SlotState) -> tuple[bool, Any]:
    return state.slot.due_at is None, state.slot.due_at or state.slot.closes_at


def _chart(lot: Lot, readings: list[Reading], standing: list[LotEvent], version: PlanApproved) -> list[Block]:
    scene = lot_curve(lot, readings, standing, version)
    if scene is None:
        return []
    words = _("Measured points only; the line between them is no evidence.")
    return [KeepTogether((Heading(_("Curve"), 1), Chart(scene, words)))]


def _deviations(frame: Frame, found: list[DeviationState]) -> list[Block]:
    blocks: list[Block] = [Heading(_("Deviations"), 1)]
    if not found:
        blocks.append(Text(_("None.")))
    for state in found:
        blocks += deviation_blocks(frame, state)
    return blocks


def _release(frame: Frame, lot: Lot) -> list[Block]:
    blocks: list[Block] = [Heading(_("Release and dispatch"), 1)]
    listed = list(releases(frame.establishment, lot, frame.as_of))
    for release in listed:
        words = _("Released: %(pieces)d pieces, %(kg)s kg. %(note)s") % {
            "pieces": release.pieces,
            "kg": release.mass_text or "–",
            "note": release.note,
        }
        blocks.append(KeepTogether((Text(words.strip()), frame.signature(release))))
    if not listed:
        blocks.append(Text(_("NOT RELEASED."), "strong"))
    return [*blocks, _dispatch_grid(frame, lot)]


def _dispatch_grid(frame: Frame, lot: Lot) -> Grid:
    rows = tuple(
        Row(
            (
                Cell(frame.time(row.left_at)),
                Cell(row.customer),
                Cell(str(row.pieces)),
                Cell(row.mass_text or "–"),
                Cell(frame.initials(row.author_id)),
                Cell(
                    _("LEFT WHILE ON HOLD. %(note)s") % {"note": row.note} if row.left_on_hold else row.note,
                    strong=row.left_on_hold,
                ),
            )
        )
        for row in dispatches(frame.establishment, lot, frame.as_of)
    )
    columns = (
        Column(_("Left"), share=16),
        Column(_("To"), share=28),
        Column(_("Pieces"), share=9, align="right"),
        Column(_("Mass"), "kg", share=10, align="right"),
        Column(_("By"), share=7),
        Column(_("Notes"), share=26),
    )
    return Grid(columns, rows)
