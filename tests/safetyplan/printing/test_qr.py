"""The QR code of the signed note."""

from __future__ import annotations

import subprocess
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from safetyplan.printing import qr
from safetyplan.printing.render import render
from tests.safetyplan.printing import reading
from tests.safetyplan.printing.samples import LOT, NOTE


@pytest.mark.parametrize(
    ("length", "modules"),
    # Byte mode at level M holds 213 bytes in version 10, 251 in 11, 287 in 12, 331 in 13; version v is
    # 17 + 4 v modules wide. ISO/IEC 18004:2015, table 7 and 6.3.1, from memory.
    [(213, 57), (214, 61), (251, 61), (252, 65), (287, 65), (288, 69), (331, 69)],
)
def test_the_symbol_is_as_wide_as_the_standard_says(length: int, modules: int) -> None:
    code = qr.symbol("x" * length, 100)
    assert code is not None
    assert (code.side, code.level) == (modules, "M")


def test_bytes_are_counted_not_letters() -> None:
    code = qr.symbol("—" * 71 + "x", 100)
    assert code is not None
    assert code.side == 61


def test_the_corners_carry_the_finder_pattern_of_the_standard() -> None:
    code = qr.symbol(NOTE, 26)
    assert code is not None
    # ISO/IEC 18004: 7 x 7 dark frame, light ring, 3 x 3 dark core, in three corners.
    for row, length in ((0, 7), (6, 7)):
        assert (row, 0, length) in code.runs
        assert (row, code.side - 7, length) in code.runs
        assert (code.side - 1 - row, 0, length) in code.runs
    assert {(3, 0, 1), (3, 2, 3), (3, 6, 1)} <= set(code.runs)


def test_where_strong_correction_would_be_too_fine_the_weaker_one_is_used() -> None:
    code = qr.symbol("x" * 330, 22)
    assert code is not None
    assert code.level == "L"
    assert 22 / code.side >= qr.SMALLEST_MODULE


def test_a_note_whose_modules_would_be_too_fine_gets_no_symbol() -> None:
    assert qr.symbol("x" * 800, 22) is None


@pytest.mark.parametrize("length", [1_001, 5_000])
def test_a_note_far_too_long_gets_no_symbol(length: int) -> None:
    assert qr.symbol("x" * length, 22) is None


def test_the_symbol_stands_upright_on_paper_without_a_finder_pattern_lower_right() -> None:
    reader = PdfReader(BytesIO(render(LOT)))
    resources: Any = reader.pages[0]["/Resources"]
    (form,) = (entry.get_object() for entry in resources["/XObject"].values())
    side = int(form["/BBox"][2])
    drawn = {
        tuple(int(number) for number in operands)
        for operands, operator in ContentStream(form, reader).operations
        if operator == b"re"
    }
    # The three finder patterns of ISO/IEC 18004 stand upper left, upper right and lower left.
    assert {(0, side - 1, 7, 1), (side - 7, side - 1, 7, 1), (0, 0, 7, 1)} <= drawn
    assert (side - 7, 0, 7, 1) not in drawn


@pytest.mark.parametrize("page", [1, 2])
def test_a_reader_gets_the_note_back_from_each_printed_page(page: int, tmp_path: Path) -> None:
    (tmp_path / "record.pdf").write_bytes(render(LOT))
    range_of_pages = ["-f", str(page), "-l", str(page), "-singlefile"]
    subprocess.run(
        [reading.tool("pdftoppm"), "-r", "200", "-png", *range_of_pages, "record.pdf", "page"],
        cwd=tmp_path,
        check=True,
    )

    read = subprocess.run(
        [reading.tool("zbarimg"), "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", "page.png"],
        cwd=tmp_path,
        capture_output=True,
        check=True,
    )

    assert read.stdout.decode().strip() == NOTE.strip()
