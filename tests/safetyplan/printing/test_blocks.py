"""Each kind of block on paper."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from safetyplan.printing import document as doc
from safetyplan.printing.render import render
from tests.safetyplan.printing import reading
from tests.safetyplan.printing.samples import CURVE, FOOT, ROOT, many, only, row

ONE_COLUMN = (doc.Column("Value", "°C"),)


def one(cell: doc.Cell, state: doc.RowState = "") -> doc.Document:
    return only(doc.Grid(ONE_COLUMN, (doc.Row((cell,), state),)))


def strikes(pdf: bytes, words: str) -> int:
    """How many horizontal lines cross the printed words at half the height of their letters."""
    x, y, size = next((x, y, size) for shown, x, y, size in reading.places(pdf) if shown == words)
    return sum(
        1
        for x1, y1, x2, y2 in reading.rules(pdf)
        if y1 == y2 and y < y1 < y + size / 2 and x1 <= x and x < x2 < x + 100
    )


def test_a_grid_repeats_its_head_with_the_units_on_every_page() -> None:
    found = reading.pages(render(only(many(120))))
    assert len(found) > 2
    assert all("Date and time" in page and "°C or pH" in page for page in found)


def test_a_grid_prints_every_row_once() -> None:
    columns = (doc.Column("Number"),)
    rows = tuple(doc.Row((doc.Cell(f"row-{number:03d}"),)) for number in range(120))
    words = reading.text(render(only(doc.Grid(columns, rows)))).split()
    assert [word for word in words if word.startswith("row-")] == [
        f"row-{number:03d}" for number in range(120)
    ]


def test_a_grid_without_rows_says_no_records() -> None:
    assert "no records" in reading.text(render(only(doc.Grid(ONE_COLUMN, ()))))


def test_a_grid_with_rows_does_not_say_no_records() -> None:
    assert "no records" not in reading.text(render(one(doc.Cell("4.2"))))


@pytest.mark.parametrize(
    ("state", "word"),
    [("corrected", "corrected"), ("late", "late entry"), ("missing", "not recorded"), ("void", "void")],
)
def test_the_state_of_a_row_is_printed_as_a_word(state: doc.RowState, word: str) -> None:
    words = reading.text(render(one(doc.Cell("4.2"), state)))
    assert word in words
    assert "State" in words


def test_a_grid_of_ordinary_rows_has_no_column_for_the_state() -> None:
    assert "State" not in reading.text(render(one(doc.Cell("4.2"))))


def test_a_struck_value_has_a_line_through_it_and_can_still_be_read() -> None:
    assert strikes(render(one(doc.Cell("64.3", struck=True), "corrected")), "64.3") == 1


def test_a_value_that_is_not_struck_has_no_line_through_it() -> None:
    assert strikes(render(one(doc.Cell("64.3"), "corrected")), "64.3") == 0


def test_a_struck_value_in_a_row_without_a_state_is_named_in_words_too() -> None:
    assert "struck out" in reading.text(render(one(doc.Cell("64.3", struck=True))))


def test_a_void_row_is_struck_throughout() -> None:
    assert strikes(render(one(doc.Cell("64.3"), "void")), "64.3") == 1


@pytest.mark.parametrize(("state", "lines"), [("missing", 1), ("", 0)])
def test_an_entry_never_made_is_ruled_out_on_paper(state: doc.RowState, lines: int) -> None:
    pdf = render(only(doc.Grid((*ONE_COLUMN, doc.Column("Note")), (row("", "asleep", state=state),))))
    _, x, y, _ = next(place for place in reading.places(pdf) if place[0] == "asleep")
    assert len([rule for rule in reading.rules(pdf) if abs(rule[1] - y) < 5 and rule[2] < x]) == lines


def test_the_mark_of_a_cell_stands_beside_its_value() -> None:
    found = reading.places(render(one(doc.Cell("64.3", mark="c1"))))
    value = next(place for place in found if place[0] == "64.3")
    mark = next(place for place in found if place[0] == "c1")
    assert value[1] < mark[1] < value[1] + 40
    assert abs(value[2] - mark[2]) < value[3]


def test_a_value_is_not_torn_from_its_unit() -> None:
    narrow = doc.Grid((doc.Column("a"), doc.Column("b", share=7)), (row("a reading of 4.2 °C", ""),))
    assert "4.2 °C" in [words for words, *_ in reading.places(render(only(narrow)))]


def test_right_aligned_values_end_at_the_same_place() -> None:
    grid = doc.Grid((doc.Column("V", align="right"), doc.Column("n")), (row("1.0", "a"), row("1000.0", "b")))
    found = {words: x for words, x, *_ in reading.places(render(only(grid)))}
    assert found["1.0"] > found["1000.0"]


def test_a_signature_box_without_a_name_has_three_lines_to_write_on() -> None:
    pdf = render(only(doc.SignatureBox("Reviewed by")))
    words = reading.text(pdf)
    assert "Signature" in words
    assert "Printed name" in words
    assert "Date and time" in words
    assert len(writing_lines(pdf)) == 3


def test_a_signature_box_with_a_name_has_no_lines_to_write_on() -> None:
    box = doc.SignatureBox("Reviewed", "Josse Vanlerberg", "15 May 2030 20:39", "password again", "reviewer")
    pdf = render(only(box))
    words = reading.text(pdf)
    for part in ("Reviewed", "Josse Vanlerberg", "15 May 2030 20:39", "password again", "reviewer"):
        assert part in words
    assert writing_lines(pdf) == []


def writing_lines(pdf: bytes) -> list[tuple[float, float, float, float]]:
    """Horizontal lines that are neither as wide as the page nor short strokes."""
    return [rule for rule in reading.rules(pdf) if rule[1] == rule[3] and 100 < rule[2] - rule[0] < 250]


@pytest.mark.parametrize("reviewed", [True, False])
def test_only_a_self_reviewed_signature_says_so(reviewed: bool) -> None:
    document = only(doc.SignatureBox("Reviewed", "Mirren Oake", self_reviewed=reviewed))
    plain = replace(document, head=replace(document.head, self_reviewed=False))
    assert ("self-reviewed" in reading.text(render(plain))) is reviewed


def test_limits_print_code_name_and_words() -> None:
    words = reading.text(
        render(only(doc.Limits((doc.Limit("CCP 2", "Acidification", "pH ≤ 4.60 within 24 h"),))))
    )
    assert "CCP 2 Acidification pH ≤ 4.60 within 24 h" in words


def test_initials_print_the_name_and_the_roles() -> None:
    words = reading.text(render(only(doc.Initials((doc.Initial("MO", "Mirren Oake", "maker"),)))))
    assert "MO Mirren Oake, maker" in words


def test_facts_print_label_and_value_two_to_a_line() -> None:
    found = reading.places(render(only(doc.Facts((("Lot", "TF-0514"), ("Milk", "212 L"), ("Vat", "1"))))))
    heights = {words: y for words, _, y, _ in found}
    assert heights["Lot"] == heights["TF-0514"] == heights["Milk"] == heights["212 L"] > heights["Vat"]


def test_a_caution_is_headed_as_one() -> None:
    assert "Caution Ask a qualified person." in reading.text(
        render(only(doc.Caution("Ask a qualified person.")))
    )


def test_line_breaks_in_a_text_are_kept() -> None:
    heights = {words: y for words, _, y, _ in reading.places(render(only(doc.Text("one\r\ntwo"))))}
    assert heights["one"] > heights["two"]


def test_a_chart_prints_its_labels_and_its_caption() -> None:
    words = reading.text(render(only(doc.Chart(CURVE, "Measured pH"))))
    for part in ("hours after starter", "limit", "target", "reading due", "Measured pH"):
        assert part in words


def test_blocks_kept_together_move_to_the_next_page_together() -> None:
    group = doc.KeepTogether((doc.Heading("Acid curve"), doc.Text("about it"), doc.Chart(CURVE)))
    first, second = reading.pages(render(only(FILLED, group)))
    assert "Acid curve" not in first
    assert "Acid curve" in second
    assert "about it" in second


FILLED = doc.Grid(ONE_COLUMN, tuple(row("1") for _ in range(30)))


def test_blocks_not_kept_together_fill_the_first_page() -> None:
    first, second = reading.pages(render(only(FILLED, doc.Text("about it"), doc.Chart(CURVE))))
    assert "about it" in first
    assert "hours after starter" in second


def test_a_group_taller_than_a_page_is_printed_all_the_same() -> None:
    words = reading.text(render(only(doc.KeepTogether((doc.Heading("All"), many(120), doc.Text("the end"))))))
    assert words.count("14 May") == 120
    assert "the end" in words


def test_a_heading_is_never_the_last_line_of_a_page() -> None:
    for count in range(24, 40):
        filled = doc.Grid(ONE_COLUMN, tuple(row("1") for _ in range(count)))
        for page in reading.pages(render(only(filled, doc.Heading("Next"), doc.Text("its text")))):
            assert ("Next" in page) == ("its text" in page)


def test_a_page_break_starts_a_page_and_leaves_no_empty_one() -> None:
    breaks = (
        doc.PageBreak(),
        doc.Text("a"),
        doc.PageBreak(),
        doc.PageBreak(),
        doc.Text("b"),
        doc.PageBreak(),
    )
    first, second = reading.pages(render(only(*breaks)))
    assert "\na\n" in first
    assert "\nb\n" in second


def test_a_spacer_pushes_what_follows_down() -> None:
    def height(*between: doc.Block) -> float:
        found = reading.places(render(only(doc.Text("top"), *between, doc.Text("below"))))
        return next(y for words, _, y, _ in found if words == "below")

    # 72 points to 25.4 mm.
    assert height() - height(doc.Spacer(25.4)) == pytest.approx(72, abs=0.01)


def test_a_blank_sheet_keeps_the_row_height_asked_for() -> None:
    rows = tuple(row("") for _ in range(4))
    levels = sorted(
        {
            rule[1]
            for rule in reading.rules(render(only(doc.Grid(ONE_COLUMN, rows, row_height=10))))
            if rule[2] > 500
        }
    )
    steps = [round(b - a, 1) for a, b in pairwise(levels)]
    assert steps.count(round(10 * 72 / 25.4, 1)) == 4


def test_a_row_with_too_few_cells_is_refused() -> None:
    with pytest.raises(ValueError, match="row 1 has 2 cells for 1 columns"):
        doc.Grid(ONE_COLUMN, (row("a", "b"),))


def test_a_grid_without_columns_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one column"):
        doc.Grid((), ())


@pytest.mark.parametrize("share", [0, -1, float("nan")])
def test_a_column_without_width_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="share"):
        doc.Column("Value", share=share)


@pytest.mark.parametrize("root", [ROOT[:-1], ROOT.upper(), ROOT + "0", "g" * 64, ROOT + "\n"])
def test_a_root_that_is_not_64_digits_is_refused(root: str) -> None:
    with pytest.raises(ValueError, match="64"):
        replace(FOOT, seal_root=root)


def test_a_root_without_its_note_is_refused() -> None:
    with pytest.raises(ValueError, match="belong together"):
        replace(FOOT, seal_note="")


@pytest.mark.parametrize("before", [28, 30, 32, 34])
def test_a_heading_does_not_stay_behind_when_the_row_below_it_is_taller_than_a_page(before: int) -> None:
    filler = tuple(doc.Text(f"line {number}") for number in range(before))
    tall = doc.Grid((doc.Column("Note"),), (row("word " * 2600),))
    shown = reading.pages(render(only(*filler, doc.Heading("The tall table"), tall)))
    page = next(page for page in shown if "The tall table" in page)
    assert "Note" in page
    assert page.count("word") > 3
