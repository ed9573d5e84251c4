"""The frame of every page: paper, margins, the head and the foot.

The head is the same on all pages and limited in height, however long its texts are; a text that had to be cut
there ends with an ellipsis.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext, ngettext

from safetyplan.printing import qr, typeset
from safetyplan.printing.document import Foot, Head, Paper
from safetyplan.printing.pieces import Line, Look, Slot, Strip, set_lines

MM = 72 / 25.4
SIZES: dict[Paper, tuple[float, float]] = {"A4": (210 * MM, 297 * MM), "letter": (612.0, 792.0)}
QR_SIDE = 26.0
"""Side of the printed QR code without its quiet zone, in millimetres."""

_LEFT, _RIGHT, _TOP, _BOTTOM = 20 * MM, 13 * MM, 11 * MM, 11 * MM
_QR_GAP = 5 * MM


@dataclass(frozen=True, slots=True)
class Frame:
    """A page measured for one document: the body is `body_width` x `body_height` below `body_top`."""

    width: float
    height: float
    head: tuple[Strip, ...]
    foot: Foot
    code: qr.Symbol | None

    @property
    def left(self) -> float:
        """Left edge of the text; wide enough for the holes of a binder."""
        return _LEFT

    @property
    def body_width(self) -> float:
        return self.width - _LEFT - _RIGHT

    @property
    def body_top(self) -> float:
        return self.height - _TOP - sum(strip.height for strip in self.head) - 8

    @property
    def body_height(self) -> float:
        return self.body_top - _BOTTOM - foot_height() - 8

    def draw_head(self, canvas: Any) -> None:
        """Draw the head, the same on every page."""
        top = self.height - _TOP
        for strip in self.head:
            strip.draw(canvas, _LEFT, top)
            top -= strip.height

    def draw_foot(self, canvas: Any, number: int, total: int) -> None:
        """Draw the foot of page `number` of `total`."""
        top, right = _BOTTOM + foot_height(), self.width - _RIGHT
        canvas.setLineWidth(0.8)
        canvas.line(_LEFT, top, right, top)
        room = self.body_width - QR_SIDE * MM - _QR_GAP
        if self.code is not None:
            qr.draw(canvas, self.code, right - QR_SIDE * MM, _BOTTOM, QR_SIDE * MM)
        top -= 5
        for strip in foot_strips(self.foot, number, total, room, coded=self.code is not None):
            strip.draw(canvas, _LEFT, top)
            top -= strip.height


def make_frame(head: Head, foot: Foot, paper: Paper, *, sideways: bool = False) -> Frame:
    """Measure head and foot in the active language, upright or in landscape."""
    width, height = SIZES[paper][::-1] if sideways else SIZES[paper]
    code = qr.symbol(foot.seal_note, QR_SIDE) if foot.seal_note else None
    return Frame(width, height, tuple(_head_strips(head, width - _LEFT - _RIGHT)), foot, code)


def foot_height() -> float:
    """Height of the foot in points: the QR code and its quiet zone."""
    return QR_SIDE * MM + 2.5 * MM


def _head_strips(head: Head, width: float) -> list[Strip]:
    strips = [demonstration_strip(width)] if head.demonstration else []
    strips.append(_control_strip(head, width))
    mark = gettext("self-reviewed") if head.self_reviewed else ""
    aside = typeset.text_width(typeset.printable(mark), 9, bold=True) + 12 if mark else 0.0
    room = width - aside
    title = Slot(0, room, set_lines(head.title, room, 14, bold=True, most=2))
    slots = [title]
    if mark:
        slots.append(Slot(room, aside - 2, (Line("", 4.5), *set_lines(mark, aside, 9, bold=True)), "right"))
    strips.append(Strip(width, tuple(slots), Look(above=0.4, below=1.2, pad_top=2.5, pad_bottom=4)))
    return strips


def demonstration_strip(width: float, *, explained: bool = True) -> Strip:
    """The boxed line that tells every reader that the record is invented."""
    lines = set_lines(gettext("INVENTED DEMONSTRATION"), width - 8, 10, bold=True, most=1)
    if explained:
        words = gettext("People, products and values on this page are made up.")
        lines += set_lines(words, width - 8, 6.8, most=1)
    return Strip(width, (Slot(4, width - 8, lines, "center"),), Look(above=1, below=1, sides=1, pad_top=1))


def _control_strip(head: Head, width: float) -> Strip:
    """Who runs the plant on the left, the document control fields on the right."""
    label_width, value_width = 0.15 * width, 0.25 * width
    room = width - label_width - value_width - 10
    registration = gettext("Registration %(number)s") % {"number": head.registration}
    left = (
        *set_lines(head.establishment, room, 10, bold=True, most=2),
        *set_lines(head.address, room, 8, most=2),
        *(set_lines(registration, room, 8, most=1) if head.registration else ()),
    )
    fields = (
        (gettext("Form"), head.form_number),
        (gettext("Version"), head.version),
        (gettext("Issued"), head.issued_on),
        (gettext("Supersedes"), head.supersedes),
    )
    labels = [line for name, _ in fields for line in set_lines(name, label_width - 4, 7.5, most=1)]
    values = [line for _, value in fields for line in set_lines(value or "–", value_width, 7.5, most=1)]
    x = room + 10
    slots = (
        Slot(0, room, left),
        Slot(x, label_width - 4, tuple(labels)),
        Slot(x + label_width, value_width, tuple(values)),
    )
    return Strip(width, slots, Look(pad_top=4, pad_bottom=4))


def root_groups(root: str) -> str:
    """The 64 hexadecimal digits in eight groups of eight, to be compared by eye."""
    return " ".join(root[start : start + 8] for start in range(0, len(root), 8))


def foot_strips(foot: Foot, number: int, total: int, width: float, *, coded: bool) -> list[Strip]:
    """The texts of the foot: page, printing, seal."""
    page = gettext("page %(number)d of %(total)d") % {"number": number, "total": total}
    printed = gettext("Printed %(time)s by %(person)s. Print issue %(issue)s.") % {
        "time": foot.printed_at,
        "person": foot.printed_by,
        "issue": foot.issue_number or "–",
    }
    aside = typeset.text_width(typeset.printable(page), 9, bold=True) + 10
    rest = width - aside
    first = (
        Slot(0, aside, set_lines(page, aside, 9, bold=True)),
        Slot(aside, rest, (Line("", 1.2), *set_lines(printed, rest, 7.5, most=2))),
    )
    strips = [Strip(width, first, Look(pad_top=0, pad_bottom=3))]
    return [*strips, *seal_strips(foot.seal_root, foot.seal_size, width, coded=coded)]


def seal_strips(root: str, size: int, width: float, *, coded: bool, explained: bool = True) -> list[Strip]:
    """The seal in words and digits, and how to use it."""
    if not root:
        words = gettext("Not sealed: this sheet was printed without a record seal.")
        return [Strip(width, (Slot(0, width, set_lines(words, width, 7, most=2)),), Look(pad_top=0))]
    entries = ngettext("%(count)d entry", "%(count)d entries", size) % {"count": size}
    over = gettext("Record seal over %(entries)s. Root of the hash tree (SHA-256):") % {"entries": entries}
    digits = root_groups(root)
    digit_size = typeset.largest_size(digits, width=width, most=8, least=5)
    if coded:
        help_text = gettext(
            "The code holds the signed note of this seal. Keep this page: compared with a later copy of the "
            "records, root and note show whether any of these entries was changed or removed."
        )
    else:
        help_text = gettext(
            "The signed note of this seal is too long for a code; it is kept with the print issue."
        )
    lines = (
        *set_lines(over, width, 7, most=1),
        Line(digits, digit_size),
        *(set_lines(help_text, width, 6.5, most=3) if explained or not coded else ()),
    )
    return [Strip(width, (Slot(0, width, lines),), Look(pad_top=0, pad_bottom=0))]
