"""The make record on paper: events not recorded, weights and yield, pieces, links with other lots."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from records.batches.added import addition_rows
from records.batches.additions import additions_of
from records.batches.models import Lot, LotEvent
from records.inspection.frame import Frame
from records.inspection.telling import joined
from records.inspection.weights import (
    Weighing,
    loss_words,
    piece_balance,
    usual_words,
    weighings,
    yield_words,
)
from records.links.queries import linked_deviations
from records.links.rows import link_rows
from safetyplan.calculation.rounding import trim
from safetyplan.plans.document import Product
from safetyplan.plans.event_words import usual_words as event_usual_words
from safetyplan.printing.document import Block, Cell, Column, Grid, Heading, Row, Text


def not_recorded(product: Product, standing: Sequence[LotEvent]) -> list[Block]:
    """Strike the events of the plan that nobody recorded, so that none can be filled in afterwards."""
    happened = {event.event for event in standing}
    lacking = [event for event in product.events if event.code not in happened]
    if not lacking:
        return []
    columns = (
        Column(_("Event of the plan"), share=40),
        Column(_("When it usually happens"), share=40),
        Column(_("Recorded"), share=20),
    )
    rows = [
        Row(
            (Cell(event.name), Cell(joined(event_usual_words(product, event))), Cell(_("not recorded"))),
            "missing",
        )
        for event in lacking
    ]
    return [Heading(_("Events of the plan that were not recorded"), 2), Grid(columns, tuple(rows))]


def weight_blocks(frame: Frame, lot: Lot, standing: Sequence[LotEvent]) -> list[Block]:
    """Give weights, yield and loss, and where the pieces are."""
    found = weighings(frame.establishment, lot, standing, frame.as_of)
    blocks: list[Block] = [Heading(_("Weights, yield and pieces"), 1)]
    if found:
        blocks.append(_weight_grid(frame, found))
        words = _("What is usual is told by earlier makes of the product; it is no limit and judges nothing.")
        blocks.append(Text(words, "small"))
    return [*blocks, _piece_grid(frame, lot)]


def addition_blocks(frame: Frame, lot: Lot) -> list[Block]:
    """Give what went into the lot, each with the lot it came from and its dose."""
    found = additions_of(frame.establishment, [lot.pk], frame.as_of)
    if not found:
        return []
    columns = (
        Column(_("When"), share=16),
        Column(_("What"), share=24),
        Column(_("Lot of the ingredient"), share=20),
        Column(_("Dose"), share=13, align="right"),
        Column(_("By"), share=7),
        Column(_("Notes"), share=20),
    )
    rows = [
        Row(
            (
                Cell(item["at"]),
                Cell(f"{item['what']}\n{item['name']}".strip()),
                Cell(item["row"].code, strong=True),
                Cell(item["dose"] or "–"),
                Cell(item["who"]),
                Cell(item["row"].unfit),
            )
        )
        for item in addition_rows(frame, frame.establishment.slug, found)
    ]
    return [Heading(_("What is in this lot"), 1), Grid(columns, tuple(rows))]


def _weight_grid(frame: Frame, found: Sequence[Weighing]) -> Grid:
    columns = (
        Column(_("Weighed"), share=15),
        Column(_("At"), share=18),
        Column(_("Pieces"), share=8, align="right"),
        Column(_("Mass"), "kg", share=9, align="right"),
        Column(_("Yield"), share=20),
        Column(_("Loss since the weighing before"), share=14),
        Column(_("Usual yield"), "kg / 100 L", share=22),
    )
    rows = [
        Row(
            (
                Cell(frame.time(one.at)),
                Cell(one.name),
                Cell("–" if one.pieces is None else str(one.pieces)),
                Cell(trim(one.mass)),
                Cell(yield_words(one) or "–"),
                Cell(loss_words(one) or "–"),
                Cell(usual_words(one) or "–"),
            )
        )
        for one in found
    ]
    return Grid(columns, tuple(rows))


def _piece_grid(frame: Frame, lot: Lot) -> Grid:
    columns = (
        Column(_("Where the pieces are"), share=50),
        Column(_("Pieces"), share=25, align="right"),
        Column(_("Mass"), "kg", share=25, align="right"),
    )
    rows = [
        Row(
            (
                Cell(name),
                Cell("–" if quantity is None else str(quantity.pieces)),
                Cell("–" if quantity is None else trim(quantity.mass)),
            )
        )
        for name, quantity in piece_balance(frame.establishment, lot, frame.as_of).rows()
    ]
    return Grid(columns, tuple(rows))


def link_blocks(frame: Frame, lot: Lot) -> list[Block]:
    """Give the links with other lots, corrected ones struck, and what is open on those lots."""
    found = link_rows(frame, frame.establishment.slug, frame.establishment, lot, frame.as_of)
    blocks: list[Block] = [Heading(_("Links with other lots"), 1)]
    if not found:
        return [*blocks, Text(_("Nothing went from or to another lot."))]
    columns = (
        Column(_("When"), share=16),
        Column(_("What"), share=28),
        Column(_("How much"), share=18),
        Column(_("By"), share=7),
        Column(_("Notes"), share=31),
    )
    rows = [
        Row(
            (
                Cell(item["at"], struck=item["struck"]),
                Cell(f"{item['kind']} {item['way']} {item['other'].code}"),
                Cell(item["quantity"], struck=item["struck"], strong=not item["struck"]),
                Cell(item["who"]),
                Cell(joined(item["notes"])),
            ),
            "corrected" if item["struck"] else "",
        )
        for item in found
    ]
    blocks.append(Grid(columns, tuple(rows)))
    words = _("Lot %(code)s has deviation %(number)d open: %(what)s")
    for linked in linked_deviations(frame.establishment, lot, frame.as_of):
        told = {"code": linked.lot_code, "number": linked.state.deviation.number}
        blocks.append(Text(words % {**told, "what": linked.state.deviation.description}, "strong"))
    return blocks
