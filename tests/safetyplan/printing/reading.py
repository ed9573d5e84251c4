"""Reading printed files back with pypdf and, where installed, with tools from outside Python."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream


def pages(pdf: bytes) -> list[str]:
    """The text of each page."""
    return [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]


def text(pdf: bytes) -> str:
    """The text of all pages, every run of white space as one space."""
    return " ".join(" ".join(pages(pdf)).split())


def squeezed(words: str) -> str:
    """The text without any white space, to find what is broken over lines."""
    return "".join(words.split())


def fonts(pdf: bytes) -> dict[str, Any]:
    """Every font of the file with its descriptor (None when it has none)."""
    found: dict[str, Any] = {}
    for page in PdfReader(BytesIO(pdf)).pages:
        resources: Any = page["/Resources"]
        for font in resources["/Font"].values():
            found[font.get_object()["/BaseFont"]] = font.get_object().get("/FontDescriptor")
    return found


def rules(pdf: bytes, number: int = 0) -> list[tuple[float, float, float, float]]:
    """The straight lines of a page as (x1, y1, x2, y2), outside of charts and codes."""
    return list(_rules(PdfReader(BytesIO(pdf)), number))


def _rules(reader: PdfReader, number: int) -> Iterator[tuple[float, float, float, float]]:
    start = (0.0, 0.0)
    for operands, operator in ContentStream(reader.pages[number].get_contents(), reader).operations:
        if operator == b"m":
            start = (float(operands[0]), float(operands[1]))
        elif operator == b"l":
            yield (*start, float(operands[0]), float(operands[1]))


def places(pdf: bytes, number: int = 0) -> list[tuple[str, float, float, float]]:
    """Each piece of text of a page with x, y and font size."""
    found: list[tuple[str, float, float, float]] = []

    def visit(words: str, cm: Any, tm: Any, _font: Any, size: float) -> None:
        if words.strip():
            x = tm[4] * cm[0] + tm[5] * cm[2] + cm[4]
            y = tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
            found.append((words.strip(), float(x), float(y), float(size)))

    PdfReader(BytesIO(pdf)).pages[number].extract_text(visitor_text=visit)
    return found


def tool(name: str) -> str:
    """Path of a program; without it the test is skipped, or fails where everything is required."""
    path = shutil.which(name)
    if path is None:
        if os.environ.get("REQUIRE_ALL") == "1":
            pytest.fail(f"{name} is required and not installed")
        pytest.skip(f"{name} is not installed")
    return path
