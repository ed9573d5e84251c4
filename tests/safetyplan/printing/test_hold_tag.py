"""The tag fixed to cheese on hold."""

from __future__ import annotations

from dataclasses import fields, replace
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from safetyplan.printing.hold_tag import Tag, render_tag
from tests.safetyplan.printing import reading
from tests.safetyplan.printing.samples import FOOT, ROOT, TAG

CAPITAL_HEIGHT = 1493 / 2048
"""Of DejaVu Sans Bold, from the outline of its H (top at 1493 of 2048 units per em)."""


def height_in_mm(words: str, tag: Tag = TAG) -> float:
    size = next(size for shown, _, _, size in reading.places(render_tag(tag)) if shown == words)
    return size * CAPITAL_HEIGHT * 25.4 / 72


def test_the_same_tag_gives_the_same_bytes_twice() -> None:
    assert render_tag(TAG) == render_tag(TAG)


def test_a_tag_is_one_page_of_a5_across() -> None:
    reader = PdfReader(BytesIO(render_tag(TAG)))
    # ISO 216: A5 is 148 mm x 210 mm.
    assert len(reader.pages) == 1
    assert float(reader.pages[0].mediabox.width) == pytest.approx(210 * 72 / 25.4, abs=0.01)
    assert float(reader.pages[0].mediabox.height) == pytest.approx(148 * 72 / 25.4, abs=0.01)


@pytest.mark.parametrize("words", ["ON HOLD", "DO NOT MOVE OR SELL", "TF-0514"])
def test_the_main_words_can_be_read_from_two_metres(words: str) -> None:
    # Letter height = viewing distance / 200 (common practice for signs, no source).
    assert height_in_mm(words) >= 2000 / 200


@pytest.mark.parametrize(
    "words",
    [
        "Tarrow Fresh, lactic, 120 g",
        "Cold room 1, shelf C, red crate",
        "280",
        "33.6",
        "D-031",
        "pH 4.71 at 24 h against a limit of 4.60.",
        "15 May 2030 18:05",
        "Mirren Oake",
        "Tarrowby Goat Dairy, 1 Beacon Lane, Tarrowby",
        "Only the responsible person may lift this hold",
        "INVENTED DEMONSTRATION",
        "Print issue 12",
    ],
)
def test_the_tag_says_what_is_held_where_why_and_by_whom(words: str) -> None:
    assert words in reading.text(render_tag(TAG))


def test_a_tag_of_a_real_plant_is_not_marked_as_invented() -> None:
    assert "INVENTED" not in reading.text(render_tag(replace(TAG, demonstration=False)))


def test_the_tag_carries_the_64_digits() -> None:
    assert ROOT in reading.squeezed(reading.text(render_tag(TAG)))


def test_a_tag_without_a_seal_says_so() -> None:
    unsealed = replace(TAG, foot=replace(FOOT, seal_note="", seal_root=""))
    assert "Not sealed" in reading.text(render_tag(unsealed))


def test_all_fonts_of_the_tag_are_embedded() -> None:
    found = reading.fonts(render_tag(TAG))
    assert len(found) == 2
    assert all("/FontFile2" in descriptor.get_object() for descriptor in found.values())


def test_a_lot_code_of_60_letters_is_printed_whole() -> None:
    code = "L" * 59 + "7"
    assert code in reading.squeezed(reading.text(render_tag(replace(TAG, lot_code=code))))


def test_hostile_texts_stay_on_the_one_page_inside_the_frame() -> None:
    long = "<b>W</b> \u202e" * 500
    texts: dict[str, Any] = {field.name: long for field in fields(Tag) if field.type == "str"}
    foot = replace(FOOT, printed_by=long, printed_at=long)
    tag = replace(TAG, **{**texts, "language": "en", "foot": foot})
    pdf = render_tag(tag)
    assert len(PdfReader(BytesIO(pdf)).pages) == 1
    assert "<b>W</b> [U+202E]" in reading.text(pdf)
    assert min(y for _, _, y, _ in reading.places(pdf)) > 8 * 72 / 25.4
