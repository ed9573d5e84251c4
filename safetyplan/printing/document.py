"""What a printed record is made of: plain frozen values, no layout and no colours.

The same `Document` always gives the same bytes, so everything that ends up on paper (times, names, the seal)
is a value here and nothing is looked up while drawing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal, TypeAlias

from safetyplan.printing.chart import Scene

Paper = Literal["A4", "letter"]
Align = Literal["left", "right", "center"]
TextStyle = Literal["normal", "small", "strong"]
RowState = Literal["", "corrected", "late", "missing", "void"]

_ROOT = re.compile(r"(?:[0-9a-f]{64})?")


@dataclass(frozen=True, slots=True)
class Head:
    """The document control fields, repeated at the head of every page. Texts may be empty."""

    establishment: str
    address: str
    registration: str
    title: str
    form_number: str
    version: str
    issued_on: str
    supersedes: str
    demonstration: bool = False
    self_reviewed: bool = False


@dataclass(frozen=True, slots=True)
class Foot:
    """Who printed what, and the record seal, repeated at the foot of every page.

    `seal_note` is the whole signed note (it goes into the QR code); `seal_root` its Merkle root as 64
    lower-case hexadecimal digits; `seal_size` the number of ledger entries under it. A sheet without a seal,
    such as a blank form, leaves note and root empty, and the page says so.
    """

    printed_at: str
    printed_by: str
    seal_note: str
    seal_root: str
    seal_size: int
    issue_number: str

    def __post_init__(self) -> None:
        if not _ROOT.fullmatch(self.seal_root):
            raise ValueError("seal_root must be empty or 64 lower-case hexadecimal digits")
        if bool(self.seal_root) != bool(self.seal_note):
            raise ValueError("seal_note and seal_root belong together: give both or neither")


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; level 1 is the largest. Never left alone at the end of a page.

    With an `anchor` it can be named in the contents, and stands among the bookmarks of the file.
    """

    text: str
    level: int = 1
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the contents: the anchor of a heading and its words. The page is found while printing."""

    anchor: str
    text: str
    page: str = ""


@dataclass(frozen=True, slots=True)
class Contents:
    """The headings of the document with their pages."""

    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph; line breaks in the text are kept. `keep` keeps it with what follows."""

    text: str
    style: TextStyle = "normal"
    keep: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels and values, two pairs to a line."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a grid; `share` is its part of the width, in any unit common to the grid.

    `again` shows its words again where a row runs over to the next page.
    """

    title: str
    unit: str = ""
    share: float = 1
    align: Align = "left"
    again: bool = False

    def __post_init__(self) -> None:
        if not self.share > 0:
            raise ValueError(f"column {self.title!r}: share must be more than 0")


@dataclass(frozen=True, slots=True)
class Cell:
    """One value; `struck` draws a line through it, still readable; `mark` is a short reference after it."""

    text: str
    struck: bool = False
    strong: bool = False
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a grid. Its state is printed as a word in a last column, never as a colour."""

    cells: tuple[Cell, ...]
    state: RowState = ""


@dataclass(frozen=True, slots=True)
class Grid:
    """A table whose head is repeated on every page; without rows it prints "no records".

    `row_height` (millimetres) is the least height of a row: 8 or more for a blank sheet filled in by hand.
    `ruled` draws lines between the columns; `size` is that of the letters, in points.
    """

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    row_height: float = 0
    ruled: bool = False
    size: float = 8.0

    def __post_init__(self) -> None:
        if not self.columns:
            raise ValueError("a grid needs at least one column")
        for number, row in enumerate(self.rows, start=1):
            if len(row.cells) != len(self.columns):
                raise ValueError(f"row {number} has {len(row.cells)} cells for {len(self.columns)} columns")


@dataclass(frozen=True, slots=True)
class Limit:
    """One critical limit as printed on the form: code of the control, its name, the limit in words."""

    code: str
    name: str
    words: str


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits in force for this record."""

    limits: tuple[Limit, ...]


@dataclass(frozen=True, slots=True)
class Initial:
    """Whose initials these are."""

    initials: str
    name: str
    roles: str = ""


@dataclass(frozen=True, slots=True)
class Initials:
    """The key of initials used on this record."""

    people: tuple[Initial, ...]


@dataclass(frozen=True, slots=True)
class SignatureBox:
    """A signature with its meaning; without a name, lines to sign by hand.

    `how_authenticated` says how the person was recognised (for example "password again").
    """

    meaning: str
    name: str = ""
    signed_at: str = ""
    how_authenticated: str = ""
    roles: str = ""
    self_reviewed: bool = False


@dataclass(frozen=True, slots=True)
class Caution:
    """A boxed warning."""

    text: str


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart scene over the full width, with an optional caption under it."""

    scene: Scene
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo as the bytes of a JPEG file, its width and height in any one unit, and its caption."""

    content: bytes
    width: int
    height: int
    caption: str


@dataclass(frozen=True, slots=True)
class Photos:
    """Photos side by side, small, each with its caption under it."""

    photos: tuple[Photo, ...]


@dataclass(frozen=True, slots=True)
class Spacer:
    """Free height in millimetres; dropped at the top of a page."""

    height: float


@dataclass(frozen=True, slots=True)
class PageBreak:
    """What follows starts on a new page."""


@dataclass(frozen=True, slots=True)
class KeepTogether:
    """Blocks that move to the next page together when they fit on one page."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Sideways:
    """Blocks on landscape pages of their own, for tables of many columns; not inside other blocks."""

    blocks: tuple[Block, ...]


Block: TypeAlias = (
    Heading
    | Contents
    | Text
    | Facts
    | Grid
    | Limits
    | Initials
    | SignatureBox
    | Caution
    | Chart
    | Photos
    | Spacer
    | PageBreak
    | KeepTogether
    | Sideways
)


@dataclass(frozen=True, slots=True)
class Document:
    """A whole record to print; `language` is the code of the language of the fixed words, such as "en"."""

    head: Head
    foot: Foot
    blocks: tuple[Block, ...]
    paper: Paper = "A4"
    language: str = "en"

    def __post_init__(self) -> None:
        if self.paper not in ("A4", "letter"):
            raise ValueError('paper must be "A4" or "letter"')
