"""Line breaking and visible text."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from safetyplan.printing import typeset

TEXTS = st.text(max_size=300)
WIDTHS = st.floats(min_value=20, max_value=500)


@given(text=TEXTS, width=WIDTHS, bold=st.booleans())
def test_no_line_is_wider_than_its_place(text: str, width: float, bold: bool) -> None:
    lines = typeset.wrap(text, width=width, size=8, bold=bold)
    assert all(typeset.text_width(line, 8, bold=bold) <= width + 1e-6 for line in lines)


@given(text=TEXTS, width=WIDTHS)
def test_breaking_lines_drops_nothing_but_spaces(text: str, width: float) -> None:
    lines = typeset.wrap(text, width=width, size=8)
    assert "".join(lines).replace(" ", "") == typeset.printable(text).replace("\n", "").replace(" ", "")


@given(text=TEXTS)
def test_printable_text_has_a_glyph_for_every_character(text: str) -> None:
    regular, bold = typeset.widths()
    assert all(char == "\n" or (char in regular and char in bold) for char in typeset.printable(text))


@given(text=TEXTS)
def test_making_text_printable_twice_changes_nothing(text: str) -> None:
    once = typeset.printable(text)
    assert typeset.printable(once) == once


def test_even_a_place_narrower_than_a_letter_takes_one_letter_a_line() -> None:
    assert typeset.wrap("abc", width=0.5, size=8) == ("a", "b", "c")


def test_a_text_that_is_cut_ends_with_an_ellipsis() -> None:
    lines = typeset.wrap("one two three four", width=30, size=8)
    cut = typeset.clamp(lines, 2, width=30, size=8)
    assert len(cut) == 2
    assert cut[-1].endswith("…")


def test_a_text_that_is_not_cut_keeps_its_end() -> None:
    lines = typeset.wrap("one two", width=30, size=8)
    assert typeset.clamp(lines, 2, width=30, size=8) == lines


def test_a_number_stays_with_its_unit_and_other_words_part() -> None:
    assert typeset.wrap("wait 30 min then go", width=typeset.text_width("wait 30 m", 8), size=8) == (
        "wait",
        "30 min",
        "then go",
    )
