"""Reading of the check values under fixtures/published: numbers as exact decimals."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


def published(name: str) -> Any:
    """The content of fixtures/published/NAME.json."""
    text = (ROOT / "fixtures" / "published" / f"{name}.json").read_text(encoding="utf-8")
    return json.loads(text, parse_float=Decimal, parse_int=Decimal)


def check_value(name: str, identity: str) -> dict[str, Any]:
    """One row of a published file by its id."""
    found: dict[str, Any] = next(row for row in published(name) if row["id"] == identity)
    return found
