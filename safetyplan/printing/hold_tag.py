"""The tag fixed to cheese on hold: one A5 page across, its main words readable from two metres.

A5 prints at full size on A5 paper and, unscaled, on A4 or Letter. Letters of about 10 mm and more carry the
message (height = distance / 200 is common practice for signs, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext, override

from safetyplan.printing import qr, typeset
from safetyplan.printing.document import Foot
from safetyplan.printing.frame import MM, QR_SIDE, demonstration_strip, seal_strips
from safetyplan.printing.pieces import Line, Look, Slot, Strip, set_lines
from safetyplan.printing.render import new_canvas

WIDTH, HEIGHT = 210 * MM, 148 * MM
_MARGIN, _INSET = 8 * MM, 8.0
_LEFT = _MARGIN + _INSET
_ROOM = WIDTH - 2 * _LEFT
_CAP = 0.73


@dataclass(frozen=True, slots=True)
class Tag:
    """What is held, where, why and by whom; all texts ready to print. The foot is that of any print."""

    establishment: str
    address: str
    tag_number: str
    lot_code: str
    product: str
    place: str
    pieces: str
    kilograms: str
    deviation_number: str
    reason: str
    held_at: str
    held_by: str
    caution: str
    foot: Foot
    demonstration: bool = False
    language: str = "en"
    litres: str = ""
    lot_label: str = ""


def render_tag(tag: Tag) -> bytes:
    """Return the PDF of one tag; the same tag always gives the same bytes.

    Texts too long for their place end with an ellipsis: the tag points to the record, it does not replace it.
    """
    with override(tag.language), typeset.DRAWING:
        canvas, output = new_canvas((WIDTH, HEIGHT), tag.language)
        canvas.setTitle(typeset.printable(f"{gettext('Hold tag')} {tag.tag_number}"))
        canvas.setAuthor(typeset.printable(tag.establishment))
        canvas.setLineWidth(2.5)
        canvas.rect(_MARGIN, _MARGIN, WIDTH - 2 * _MARGIN, HEIGHT - 2 * _MARGIN)
        top = _draw_order(canvas, HEIGHT - _MARGIN)
        top = _stack(canvas, top, _what(tag))
        _stack(canvas, top, _facts(tag))
        _draw_foot(canvas, tag)
        canvas.showPage()
        canvas.save()
    return output.getvalue()


def _draw_order(canvas: Any, top: float) -> float:
    """The order itself: white on a black band, then large below it."""
    band = 68.0
    canvas.setFillGray(0)
    canvas.rect(_MARGIN, top - band, WIDTH - 2 * _MARGIN, band, stroke=0, fill=1)
    canvas.setFillGray(1)
    _draw_large(canvas, gettext("ON HOLD"), top - band / 2, 74)
    canvas.setFillGray(0)
    _draw_large(canvas, gettext("DO NOT MOVE OR SELL"), top - band - 24, 44)
    return top - band - 44


def _draw_large(canvas: Any, text: str, middle: float, most: float) -> None:
    words = typeset.printable(text)
    size = typeset.largest_size(words, width=_ROOM, most=most, least=20, bold=True)
    canvas.setFont(typeset.BOLD, size)
    canvas.drawCentredString(WIDTH / 2, middle - _CAP * size / 2, words)


def _stack(canvas: Any, top: float, strips: Sequence[Strip]) -> float:
    for strip in strips:
        strip.draw(canvas, _LEFT, top - strip.gap)
        top -= strip.gap + strip.height
    return top


def _what(tag: Tag) -> list[Strip]:
    """Lot, product and place."""
    lot_size = typeset.largest_size(tag.lot_code, width=_ROOM - 44, most=50, least=16, bold=True)
    lot = Strip(
        _ROOM,
        (
            Slot(
                0,
                40,
                (Line("", lot_size * 0.45), *set_lines(tag.lot_label or gettext("Lot"), 40, 13, most=1)),
            ),
            Slot(44, _ROOM - 44, set_lines(tag.lot_code, _ROOM - 44, lot_size, bold=True, most=2)),
        ),
        Look(above=1, pad_top=0, pad_bottom=0),
    )
    half = _ROOM / 2 - 8
    where = Strip(
        _ROOM,
        (
            Slot(0, half, _labelled(gettext("Product"), tag.product, half, 15)),
            Slot(half + 16, half, _labelled(gettext("Place"), tag.place, half, 15)),
        ),
        Look(above=0.4, pad_bottom=4),
    )
    return [lot, where]


def _facts(tag: Tag) -> list[Strip]:
    reason = _labelled(gettext("Reason"), tag.reason, _ROOM / 2 - 8, 10, most=2)
    quarter = _ROOM / 4
    counts = (
        (gettext("Tag"), tag.tag_number),
        (gettext("L"), tag.litres) if tag.litres else (gettext("Pieces"), tag.pieces),
        (gettext("kg"), tag.kilograms),
        (gettext("Deviation"), tag.deviation_number),
    )
    hold = ((gettext("Held since"), tag.held_at), (gettext("Held by"), tag.held_by))
    why = Slot(2 * quarter, _ROOM / 2 - 8, reason)
    look = Look(above=0.4, pad_bottom=3)
    return [
        Strip(_ROOM, _fact_slots(counts, quarter, 15), look),
        Strip(_ROOM, (*_fact_slots(hold, quarter, 12), why), look),
    ]


def _fact_slots(pairs: Sequence[tuple[str, str]], part: float, size: float) -> tuple[Slot, ...]:
    return tuple(
        Slot(number * part, part - 8, _labelled(label, value, part - 8, size))
        for number, (label, value) in enumerate(pairs)
    )


def _labelled(label: str, value: str, width: float, size: float, most: int = 1) -> tuple[Line, ...]:
    """A small label over a value that shrinks to two thirds before it is cut."""
    fitted = typeset.largest_size(value, width=width, most=size, least=size * 2 / 3, bold=True)
    shown = set_lines(value or "–", width, size if most > 1 else fitted, bold=True, most=most)
    return (*set_lines(label, width, 7, most=1), *shown)


def _draw_foot(canvas: Any, tag: Tag) -> None:
    """Establishment, caution, seal and code, from the lower edge up."""
    side = QR_SIDE * MM
    bottom = _MARGIN + _INSET
    code = qr.symbol(tag.foot.seal_note, QR_SIDE) if tag.foot.seal_note else None
    room = _ROOM - side - 5 * MM
    if code is not None:
        qr.define(canvas, code)
        qr.draw(canvas, code, WIDTH - _LEFT - side, bottom, side)
    strips = _foot_strips(tag, room, coded=code is not None)
    if tag.demonstration:
        strips.insert(0, demonstration_strip(room, explained=False))
    top = bottom + side
    canvas.setLineWidth(0.8)
    canvas.line(_LEFT, top + 2 * MM, WIDTH - _LEFT, top + 2 * MM)
    _stack(canvas, top, strips)


def _foot_strips(tag: Tag, room: float, *, coded: bool) -> list[Strip]:
    issue = gettext("Printed %(time)s by %(person)s. Print issue %(issue)s.") % {
        "time": tag.foot.printed_at,
        "person": tag.foot.printed_by,
        "issue": tag.foot.issue_number or "–",
    }
    lines = (
        *set_lines(f"{tag.establishment}, {tag.address}", room, 7.5, bold=True, most=1),
        *set_lines(tag.caution, room, 7, most=2),
        *set_lines(issue, room, 6.5, most=1),
    )
    own = Strip(room, (Slot(0, room, lines),), Look(pad_top=0, pad_bottom=1))
    return [own, *seal_strips(tag.foot.seal_root, tag.foot.seal_size, room, coded=coded, explained=False)]
