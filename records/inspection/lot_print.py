"""The record of a lot on paper."""

from typing import Any

from django.utils.translation import gettext as _

from records.batches.models import Lot, LotEvent
from records.checks.due import lot_states
from records.checks.models import Reading
from records.deviations.queries import DeviationState
from records.inspection.frame import Frame
from records.inspection.lot_curve import lot_curve
from records.inspection.tables import (
    deviation_blocks,
    event_grid,
    limits_block,
    reading_grid,
    slot_grid,
)
from records.signoff.queries import dispatches, releases, self_reviewed
from records.signoff.release import balance, lot_deviations
from safetyplan.calculation.rounding import trim
from safetyplan.establishments.queries import until
from safetyplan.printing.document import (
    Block,
    Cell,
    Chart,
    Column,
    Document,
    Facts,
    Grid,
    Heading,
    Row,
    Text,
)


def document(frame: Frame, lot: Lot) -> Document:
    """Compose the whole record of a lot."""
    plan = lot.plan_version.plan()
    codes = [c.code for c in plan.controls if c.of_lot and lot.product_code in c.products]
    readings = _rows(frame, Reading, lot)
    events = _rows(frame, LotEvent, lot)
    days = {frame.clock.local(row.observed_at).date() for row in (*readings, *events)}
    own = self_reviewed(frame.establishment, days, frame.as_of)
    found = lot_deviations(frame.establishment, lot, frame.as_of)
    found.sort(key=lambda state: state.deviation.number)
    reviewed_self = bool(own & {str(r.pk) for r in (*readings, *events)}) or any(
        s.closure and s.closure.self_reviewed for s in found
    )
    states = lot_states(frame.establishment, [lot], frame.issue.recorded_at, frame.as_of)[lot.pk]
    blocks: list[Block] = [
        *_first(frame, lot),
        Heading(_("Limits"), 1),
        limits_block(plan, codes),
        Heading(_("What happened to the lot"), 1),
        event_grid(frame, events, with_lot=False, own=own),
        Heading(_("Checks that were due"), 1),
        slot_grid(frame, states),
        Heading(_("Readings"), 1),
        reading_grid(frame, readings, own),
        *_chart(frame, lot, readings, events),
        *_deviations(frame, found),
        *_release(frame, lot),
        Heading(_("Who is who"), 2),
        frame.key(),
        frame.caution(),
    ]
    head = frame.head(
        _("Lot record %(code)s") % {"code": lot.code}, lot.plan_version, self_reviewed=reviewed_self
    )
    return Document(head, frame.foot(), tuple(blocks), frame.paper, frame.language)


def _rows(frame: Frame, model: Any, lot: Lot) -> list[Any]:
    rows = until(model.objects.of(frame.establishment), frame.as_of).filter(lot=lot)
    return list(rows.select_related("lot").order_by("observed_at", "entry__sequence"))


def _first(frame: Frame, lot: Lot) -> list[Block]:
    found = balance(frame.establishment, lot, frame.as_of)
    made = found.made
    product = lot.plan_version.plan().product(lot.product_code)
    return [
        Facts(
            (
                (_("Lot"), lot.code),
                (_("Product"), f"{lot.product_code} {lot.product_name}"),
                (_("Started"), f"{frame.time(lot.started_at)}, {frame.name(lot.author_id)}"),
                (_("Vat"), lot.vat or "–"),
                (_("Milk"), f"{lot.milk_text} {lot.milk_unit}".strip() or "–"),
                (_("Milk treatment"), product.milk or "–"),
                (_("Made"), f"{made.pieces} / {trim(made.mass)} kg" if made else "–"),
                (_("Released"), f"{found.released.pieces} / {trim(found.released.mass)} kg"),
                (_("Left"), f"{found.dispatched.pieces} / {trim(found.dispatched.mass)} kg"),
                (_("Disposed of otherwise"), f"{found.gone.pieces} / {trim(found.gone.mass)} kg"),
            )
        )
    ]


def _chart(frame: Frame, lot: Lot, readings: list[Any], events: list[Any]) -> list[Block]:
    scene = lot_curve(lot, readings, events)
    if scene is None:
        return []
    return [
        Heading(_("Curve"), 1),
        Chart(scene, _("Measured points only; the line between them is no evidence.")),
    ]


def _deviations(frame: Frame, found: list[DeviationState]) -> list[Block]:
    blocks: list[Block] = [Heading(_("Deviations"), 1)]
    if not found:
        blocks.append(Text(_("None.")))
    for state in found:
        blocks += deviation_blocks(frame, state)
    return blocks


def _release(frame: Frame, lot: Lot) -> list[Block]:
    blocks: list[Block] = [Heading(_("Release and dispatch"), 1)]
    for release in releases(frame.establishment, lot, frame.as_of):
        words = _("Released: %(pieces)d pieces, %(kg)s kg. %(note)s") % {
            "pieces": release.pieces,
            "kg": release.mass_text or "–",
            "note": release.note,
        }
        blocks += [Text(words), frame.signature(release)]
    rows = tuple(
        Row(
            (
                Cell(frame.time(row.left_at)),
                Cell(row.customer),
                Cell(str(row.pieces)),
                Cell(row.mass_text),
                Cell(frame.initials(row.author_id)),
                Cell(_("LEFT WHILE ON HOLD") if row.left_on_hold else row.note),
            )
        )
        for row in dispatches(frame.establishment, lot, frame.as_of)
    )
    columns = (
        Column(_("Left"), share=16),
        Column(_("To"), share=28),
        Column(_("Pieces"), share=8, align="right"),
        Column(_("Mass"), "kg", share=10, align="right"),
        Column(_("By"), share=6),
        Column(_("Notes"), share=26),
    )
    return [*blocks, Grid(columns, rows)]
