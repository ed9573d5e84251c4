"""Invented records to print: the small goat dairy of the demonstration, and a hostile one."""

from __future__ import annotations

from safetyplan.printing import document as doc
from safetyplan.printing.curve import Words, curve_scene
from safetyplan.printing.hold_tag import Tag

ROOT = "9f2c41d07ab35e86" * 4
NOTE = (
    "tarrowby.example/records\n1284\nnyxB0HqzXobiuLMHqzXoafLEHQerNehBfLEHQerNehg=\n"
    "2030-05-15T20:41:07.000Z invented demonstration\n\n"
    "— tarrowby.example/records+2f1c9a77 "
    "Lxwq7kq0bXv2mUuYk1H0m1f1N6o0C2t8m3aZrj5QeW7pXbS4nVtRzYqKcJdUhGfTlOiPaEsDxFwMvBgNyHkCuQ==\n"
)

HEAD = doc.Head(
    establishment="Tarrowby Goat Dairy",
    address="1 Beacon Lane, Tarrowby",
    registration="TG 0417",
    title="Make record and monitoring, lot TF-0514",
    form_number="F-07",
    version="3",
    issued_on="2 March 2030",
    supersedes="2, of 9 October 2029",
    demonstration=True,
    self_reviewed=True,
)

FOOT = doc.Foot(
    printed_at="15 May 2030 20:41 (Europe/London)",
    printed_by="Josse Vanlerberg",
    seal_note=NOTE,
    seal_root=ROOT,
    seal_size=1284,
    issue_number="12",
)

CURVE_WORDS = Words("hours after starter", "pH", "reading", "limit", "target", "no readings", "reading due")
CURVE = curve_scene(
    ((0, 6.61), (4, 6.32), (8, 5.84), (12, 5.43), (16, 5.12), (20, 4.88), (24, 4.71), (26, 4.58)),
    ((24, 4.60),),
    ((16, 4.90),),
    CURVE_WORDS,
    bands=((23.5, 24.5),),
    x_step=4,
)


def row(*texts: str, state: doc.RowState = "", struck: int = -1, mark: str = "") -> doc.Row:
    """A row of plain cells; the cell with the number `struck` is struck and carries the mark."""
    cells = [
        doc.Cell(text, struck=number == struck, mark=mark if number == struck else "")
        for number, text in enumerate(texts)
    ]
    return doc.Row(tuple(cells), state)


READINGS = doc.Grid(
    columns=(
        doc.Column("Date and time", share=22),
        doc.Column("Check", share=34),
        doc.Column("Value", "°C or pH", share=14, align="right"),
        doc.Column("Limit", share=20),
        doc.Column("Instrument", share=16),
        doc.Column("Initials", share=11),
        doc.Column("Result against the limit", share=26),
    ),
    rows=(
        row("14 May 16:52", "Milk at arrival", "3.8 °C", "≤ 4 °C", "T-2", "MO", "within"),
        row("14 May 17:20", "Heat, product", "64.3 °C", "≥ 63 °C", "T-1", "MO", "within", state="corrected",
            struck=2, mark="1"),
        row("14 May 17:20", "Heat, product", "63.4 °C", "≥ 63 °C", "T-1", "MO", "within, outside target"),
        row("14 May 17:20", "Heat, air space", "66.8 °C", "≥ 66 °C", "T-3", "MO", "within"),
        row("15 May 10:00", "Acid, 16 h", "pH 5.12", "≤ 4.90 (action)", "PH-1", "MO", "outside target",
            state="late"),
        row("15 May 18:00", "Acid, 24 h", "pH 4.71", "≤ 4.60", "PH-1", "MO",
            "outside limit by 0.11: deviation D-031 opened, lot held"),
        row("15 May 19:00", "Label check", "", "label is right", "", "", "not shown: deviation D-032",
            state="missing"),
        row("15 May 20:00", "Acid, 26 h", "pH 4.58", "information", "PH-1", "MO", "no limit", state="void"),
    ),
)  # fmt: skip

BLOCKS: tuple[doc.Block, ...] = (
    doc.Facts(
        (
            ("Product", "Tarrow Fresh, lactic, 120 g"),
            ("Lot", "TF-0514"),
            ("Milk", "212 L, goat, pasteurised"),
            ("Made on", "14 May 2030"),
            ("Starter", "lot K81, 0.8 %, in at 18:00"),
            ("Pieces", "280 pieces, 33.6 kg"),
            ("Plan version", "3, approved 2 March 2030"),
        )
    ),
    doc.Heading("Limits on this form", 2),
    doc.Limits(
        (
            doc.Limit("CCP 1", "Heat treatment", "product ≥ 63 °C, air space ≥ 66 °C, for 30 min unbroken"),
            doc.Limit("CCP 2", "Acidification", "pH ≤ 4.60 within 24 h of starter; act above 4.90 at 16 h"),
        )
    ),
    doc.Heading("Readings", 2),
    READINGS,
    doc.Text("1  Corrected 14 May 17:41 by MO: read the wrong probe. Late: typed at 22:10.", "small"),
    doc.KeepTogether((doc.Heading("Acid curve", 2), doc.Chart(CURVE, "Measured pH of lot TF-0514."))),
    doc.Heading("Deviation D-031", 2),
    doc.Text(
        "Limit missed at 24 h: pH 4.71 against 4.60. All 280 pieces tagged (tag 7) and held at 3 °C. The "
        "room fell to 17.5 °C when a door stood open. Disposition: 262 pieces released with a life of 12 "
        "days, 8 to the laboratory, 10 destroyed."
    ),
    doc.Heading("Initials", 2),
    doc.Initials(
        (
            doc.Initial("MO", "Mirren Oake", "maker"),
            doc.Initial("JV", "Josse Vanlerberg", "reviewer, responsible person"),
        )
    ),
    doc.KeepTogether(
        (
            doc.Heading("Signatures", 2),
            doc.SignatureBox(
                "Made and recorded by", "Mirren Oake", "15 May 2030 20:12", "personal PIN", "maker"
            ),
            doc.SignatureBox(
                "Reviewed: the records are complete and the limits were judged as shown",
                "Josse Vanlerberg",
                "15 May 2030 20:39",
                "password entered again",
                "reviewer, responsible person",
                self_reviewed=True,
            ),
            doc.SignatureBox("Seen at inspection"),
        )
    ),
    doc.Caution(
        "This record supports and does not replace the judgement of a qualified person. Final authority "
        "rests with the local regulator."
    ),
)  # fmt: skip

LOT = doc.Document(HEAD, FOOT, BLOCKS)

TAG = Tag(
    establishment="Tarrowby Goat Dairy",
    address="1 Beacon Lane, Tarrowby",
    tag_number="7",
    lot_code="TF-0514",
    product="Tarrow Fresh, lactic, 120 g",
    place="Cold room 1, shelf C, red crate",
    pieces="280",
    kilograms="33.6",
    deviation_number="D-031",
    reason="pH 4.71 at 24 h against a limit of 4.60.",
    held_at="15 May 2030 18:05",
    held_by="Mirren Oake",
    caution="Only the responsible person may lift this hold, by signature. When in doubt, leave it.",
    foot=FOOT,
    demonstration=True,
)


def many(count: int) -> doc.Grid:
    """The sample readings repeated until there are `count` rows."""
    return doc.Grid(READINGS.columns, tuple(READINGS.rows[number % 4] for number in range(count)))


def only(*blocks: doc.Block) -> doc.Document:
    """A document of these blocks alone."""
    return doc.Document(HEAD, FOOT, blocks)
