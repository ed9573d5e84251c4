"""A printed record: the frame of every page, hostile texts, size and sameness."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import time
import tracemalloc
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from django.utils.translation import get_language, override
from pypdf import PdfReader

from safetyplan.printing import document as doc
from safetyplan.printing import typeset
from safetyplan.printing.render import page_count, render
from tests.safetyplan.printing import reading
from tests.safetyplan.printing.samples import FOOT, HEAD, LOT, NOTE, READINGS, ROOT, many, only, row

ROOT_FOLDER = Path(__file__).resolve().parents[3]
TWO_PAGES = only(many(60))
_PRINT_DIGEST = """
import hashlib, django
django.setup()
from safetyplan.printing.render import render
from tests.safetyplan.printing.samples import LOT
print(hashlib.sha256(render(LOT)).hexdigest())
"""


def test_the_same_document_gives_the_same_bytes_twice() -> None:
    assert render(LOT) == render(LOT)


def test_the_same_document_gives_the_same_bytes_in_another_process_with_another_hash_seed() -> None:
    from django.conf import settings

    environment = {
        **os.environ,
        "PYTHONHASHSEED": "4711",
        "TZ": "Pacific/Auckland",
        "SECRET_KEY": "only for this test",
        "DJANGO_SETTINGS_MODULE": os.environ.get("DJANGO_SETTINGS_MODULE", settings.SETTINGS_MODULE),
    }

    other = subprocess.run(
        [sys.executable, "-c", _PRINT_DIGEST],
        cwd=ROOT_FOLDER,
        env=environment,
        capture_output=True,
        text=True,
    )

    assert other.stdout.strip() == hashlib.sha256(render(LOT)).hexdigest(), other.stderr


def test_a_changed_value_changes_the_bytes() -> None:
    assert render(LOT) != render(replace(LOT, foot=replace(FOOT, issue_number="13")))


def test_a_record_waits_while_another_is_drawn_because_the_fonts_are_shared() -> None:
    expected = render(LOT)
    with ThreadPoolExecutor(1) as pool:
        with typeset.DRAWING:
            second = pool.submit(render, LOT)
            with pytest.raises(TimeoutError):
                second.result(timeout=1)

        assert second.result(timeout=30) == expected


def test_the_file_names_no_moment_of_its_making() -> None:
    information = PdfReader(BytesIO(render(LOT))).metadata
    assert information is not None
    # The fixed date of reportlab's invariant mode.
    assert information.creation_date_raw is not None
    assert information.creation_date_raw.startswith("D:20000101000000")


def test_every_font_is_embedded_as_a_subset() -> None:
    found = reading.fonts(render(LOT))
    assert len(found) == 2
    for name, descriptor in found.items():
        assert "+DejaVuSans" in name
        assert "/FontFile2" in descriptor.get_object()


def test_poppler_finds_embedded_fonts_and_the_digits_of_the_seal(tmp_path: Path) -> None:
    path = tmp_path / "record.pdf"
    path.write_bytes(render(LOT))

    fonts = subprocess.run(
        [reading.tool("pdffonts"), path], capture_output=True, text=True, check=True
    ).stdout
    words = subprocess.run([reading.tool("pdftotext"), path, "-"], capture_output=True, text=True, check=True)

    assert all(" yes yes yes " in line for line in fonts.splitlines()[2:])
    assert ROOT in reading.squeezed(words.stdout)
    assert "page 1 of 2" in words.stdout


@pytest.mark.parametrize(
    "words",
    [
        "Tarrowby Goat Dairy",
        "1 Beacon Lane, Tarrowby",
        "Registration TG 0417",
        "Make record and monitoring, lot TF-0514",
        "F-07",
        "2 March 2030",
        "2, of 9 October 2029",
        "INVENTED DEMONSTRATION",
        "self-reviewed",
        "Printed 15 May 2030 20:41 (Europe/London) by Josse Vanlerberg",
        "Print issue 12",
        "1284 entries",
    ],
)
def test_the_frame_repeats_its_fields_on_every_page(words: str) -> None:
    found = reading.pages(render(TWO_PAGES))
    assert len(found) == 2
    assert all(words in " ".join(page.split()) for page in found)


def test_marks_are_left_out_where_they_do_not_apply() -> None:
    plain = replace(LOT, head=replace(HEAD, demonstration=False, self_reviewed=False), blocks=())
    words = reading.text(render(plain))
    assert "Tarrowby" in words
    assert "INVENTED" not in words
    assert "self-reviewed" not in words


def test_every_page_says_which_of_how_many_it_is() -> None:
    first, second = reading.pages(render(TWO_PAGES))
    assert "page 1 of 2" in first
    assert "page 2 of 2" in second


def test_every_page_carries_the_64_digits_in_eight_groups() -> None:
    for page in reading.pages(render(TWO_PAGES)):
        assert ROOT in reading.squeezed(page)
        assert " ".join(ROOT[start : start + 8] for start in range(0, 64, 8)) in page


def test_a_sheet_without_a_seal_says_so_and_a_sealed_one_does_not() -> None:
    unsealed = replace(only(), foot=replace(FOOT, seal_note="", seal_root="", seal_size=0))
    assert "Not sealed" in reading.text(render(unsealed))
    assert "Not sealed" not in reading.text(render(only()))


def test_a_note_too_long_for_the_code_is_printed_as_text() -> None:
    long_note = NOTE + "extension " * 100
    words = reading.text(render(replace(only(), foot=replace(FOOT, seal_note=long_note))))
    assert "too long for a code" in words
    assert words.count("extension") == 100


def test_a_note_that_fits_the_code_is_not_printed_twice() -> None:
    assert "Signed note of the record seal" not in reading.text(render(only()))


@pytest.mark.parametrize(
    ("paper", "width", "height"),
    # ISO 216: A4 is 210 mm x 297 mm. ANSI/ASME Y14.1: Letter is 8.5 in x 11 in. A point is 1/72 in.
    [("A4", 210 / 25.4 * 72, 297 / 25.4 * 72), ("letter", 8.5 * 72, 11 * 72)],
)
def test_both_papers_have_their_size_and_all_words_inside(
    paper: doc.Paper, width: float, height: float
) -> None:
    pdf = render(replace(LOT, paper=paper))
    box = PdfReader(BytesIO(pdf)).pages[0].mediabox
    assert float(box.width) == pytest.approx(width, abs=0.01)
    assert float(box.height) == pytest.approx(height, abs=0.01)
    assert all(0 < x < width and 20 < y < height for _, x, y, _ in reading.places(pdf))


def test_a_paper_of_another_name_is_refused() -> None:
    with pytest.raises(ValueError, match="A4"):
        replace(LOT, paper="A3")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "hostile", ["<b>bold</b>", "a < b & c", "&amp; &#x3c;", "<para/><img src='x'/>", "%(x)s {0}"]
)
def test_markup_in_a_text_is_printed_as_it_stands(hostile: str) -> None:
    blocks = (
        doc.Text(hostile),
        doc.Facts(((hostile, hostile),)),
        doc.Caution(hostile),
        doc.SignatureBox(hostile),
    )
    grid = doc.Grid((doc.Column(hostile, hostile),), (doc.Row((doc.Cell(hostile),)),))
    words = reading.squeezed(reading.text(render(only(*blocks, grid))))
    assert words.count(reading.squeezed(hostile)) == 8


@pytest.mark.parametrize(
    ("hostile", "shown"),
    [
        ("ab\u202egpj.exe", "ab[U+202E]gpj.exe"),
        ("a\u2066b\u2069", "a[U+2066]b[U+2069]"),
        ("a\x00b\x1bc", "a[U+0000]b[U+001B]c"),
        ("12\u200b34", "12[U+200B]34"),
        ("\ud800x", "[U+D800]x"),
        ("水 here", "[U+6C34] here"),
        ("🧀", "[U+1F9C0]"),
    ],
)
def test_what_has_no_shape_is_printed_as_its_code(hostile: str, shown: str) -> None:
    assert shown in reading.text(render(only(doc.Text(hostile))))


@pytest.mark.parametrize(
    "words", ["≤ 4 °C ≥ → ✓", "Ząb żółw śliwka źródło", "Käse, fromage frais à l’œuf", "Τυρί сыр"]
)
def test_letters_and_signs_of_the_trade_are_printed_as_they_are(words: str) -> None:
    assert words in reading.text(render(only(doc.Text(words, "strong"))))


@pytest.mark.parametrize(
    "block", [doc.Text("x" * 10_000), doc.Caution("x" * 10_000), doc.Heading("x" * 10_000)]
)
def test_a_word_of_10_000_letters_is_printed_whole_and_inside_the_page(block: doc.Block) -> None:
    pdf = render(only(block))
    assert reading.squeezed("".join(reading.pages(pdf))).count("x") >= 10_000
    long_lines = [len(words) for words, *_ in reading.places(pdf) if "xxx" in words]
    assert max(long_lines) < 120


def test_a_cell_of_10_000_letters_runs_over_pages_with_the_head_and_state_repeated() -> None:
    columns = (doc.Column("Reason"), doc.Column("Value", share=3))
    row = doc.Row((doc.Cell("z" * 10_000), doc.Cell("4.2")), "late")

    found = reading.pages(render(only(doc.Grid(columns, (row,)))))

    assert sum(page.count("z") for page in found) == 10_000
    assert len(found) > 2
    assert all("Reason" in page and "late entry" in page for page in found)


def test_hostile_head_and_foot_leave_room_for_the_record() -> None:
    long = "W" * 10_000
    head = doc.Head(long, long, long, long, long, long, long, long)
    foot = replace(FOOT, printed_by=long, printed_at=long, issue_number=long)

    found = reading.pages(render(doc.Document(head, foot, (doc.Text("the record"),))))

    assert len(found) == 1
    assert "the record" in found[0]
    assert "page 1 of 1" in found[0]
    assert ROOT in reading.squeezed(found[0])


def test_500_rows_take_less_than_3_seconds() -> None:
    render(only())
    before = time.perf_counter()
    render(only(many(500)))
    assert time.perf_counter() - before < 3


def test_500_rows_need_less_than_40_megabytes() -> None:
    render(only())
    tracemalloc.start()
    try:
        render(only(many(500)))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < 40_000_000


def test_drawing_leaves_the_language_of_the_reader_alone() -> None:
    with override("fr"):
        render(replace(LOT, language="de"))
        assert get_language() == "fr"


def test_the_file_names_its_language() -> None:
    pdf = PdfReader(BytesIO(render(replace(only(READINGS), language="de"))))
    assert pdf.trailer["/Root"]["/Lang"] == "de"  # type: ignore[index]


WIDE = doc.Sideways((doc.Heading("Wide table", anchor="wide"), many(30)))
MIXED = only(
    doc.Contents((doc.Entry("wide", "Wide table"), doc.Entry("end", "The end"))),
    WIDE,
    doc.Heading("The end", anchor="end"),
)


def test_a_wide_table_lies_in_landscape_on_pages_of_its_own_and_the_rest_stands_upright() -> None:
    shown = PdfReader(BytesIO(render(MIXED))).pages
    turned = [float(page.mediabox.width) > float(page.mediabox.height) for page in shown]
    assert turned[0] is turned[-1] is False
    assert all(turned[1:-1])
    assert len(turned) >= 4


def test_the_frame_of_a_landscape_page_is_that_of_an_upright_one() -> None:
    shown = reading.pages(render(MIXED))
    for number, page in enumerate(shown, start=1):
        assert f"page {number} of {len(shown)}" in page
        assert ROOT in reading.squeezed(page)
        assert "Tarrowby Goat Dairy" in page


def test_the_contents_name_the_page_on_which_a_heading_stands() -> None:
    shown = reading.pages(render(MIXED))
    first = " ".join(shown[0].split())
    assert "Wide table 2" in first
    assert f"The end {len(shown)}" in first


def test_headings_with_an_anchor_are_the_bookmarks_of_the_file() -> None:
    outline = PdfReader(BytesIO(render(MIXED))).outline
    assert [getattr(entry, "title", "") for entry in outline] == ["Wide table", "The end"]


def test_pages_are_counted_as_they_are_printed() -> None:
    assert page_count(MIXED) == len(reading.pages(render(MIXED)))


def test_a_cell_that_is_shown_again_stands_on_each_page_of_its_row() -> None:
    columns = (doc.Column("Code", again=True), doc.Column("Note", share=5))
    shown = reading.pages(render(only(doc.Grid(columns, (row("CCP1", "word " * 3000),)))))
    assert len(shown) > 1
    assert all("CCP1" in page for page in shown)
