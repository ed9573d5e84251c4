"""Reading of the check values under fixtures/published: numbers as exact decimals."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]


def published(name: str) -> Any:
    """The content of fixtures/published/NAME.json."""
    text = (ROOT / "fixtures" / "published" / f"{name}.json").read_text(encoding="utf-8")
    return json.loads(text, parse_float=Decimal, parse_int=Decimal)


def check_value(name: str, identity: str) -> dict[str, Any]:
    """One row of a published file by its id."""
    found: dict[str, Any] = next(row for row in published(name) if row["id"] == identity)
    return found


def rows_of(name: str) -> list[Any]:
    """The rows of a published file as test parameters, named by id, provenance where memory, and source."""
    found = []
    for row in published(name):
        memory = "from memory, " if row["provenance"] == "memory" else ""
        found.append(pytest.param(row, id=f"{row['id']} [{memory}{row['source']}]"))
    return found


def assert_near(found: Any, row: dict[str, Any]) -> None:
    """The result lies within the tolerance of the row; a row without one must be equal."""
    expected, tolerance = row["expected"], row["tolerance"]
    if tolerance is None or not isinstance(expected, (Decimal, list)):
        assert found == expected
    elif isinstance(expected, list):
        assert len(found) == len(expected)
        for one, other in zip(found, expected, strict=True):
            assert abs(Decimal(str(one)) - other) <= tolerance
    else:
        assert abs(Decimal(str(found)) - expected) <= tolerance
