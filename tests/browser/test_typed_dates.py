"""Typing a date, or a date with a time, on the keypad: the marks between the digits come by themselves."""

from typing import Any

import pytest

from tests.browser.test_judge_vectors import static_address

__all__ = ["static_address"]  # the fixture that serves the scripts

PRESS = """async ([keys, entry]) => {
  const { afterKey } = await import("/js/fields.js");
  return keys.reduce((raw, key) => afterKey(raw, key, entry), "");
}"""
LACKING = """async ([raw, entry]) => {
  const { lacking } = await import("/js/fields.js");
  return lacking({ part: { entry, label: "use-by date" }, raw }) !== "";
}"""

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def page(browser: Any, static_address: str) -> Any:
    """A page from which the scripts can be loaded."""
    opened = browser.new_page()
    opened.goto(f"{static_address}/js/fields.js")
    return opened


@pytest.mark.parametrize(
    ("entry", "keys", "text"),
    [
        ("date", [*"20260514"], "2026-05-14"),
        ("date", [*"2026051499"], "2026-05-14"),
        ("date", [*"2026", "sign", "5", "sign", "4"], "2026-5-4"),
        ("date", [*"20260", "backspace"], "2026"),
        ("date", [*"2026", "decimal", "now", *"05"], "2026-05"),
        ("moment", [*"202605140610"], "2026-05-14 06:10"),
        ("moment", [*"2026051406109"], "2026-05-14 06:10"),
        ("moment", [*"202605140", "backspace"], "2026-05-14"),
        ("time", [*"0610"], "06:10"),
        ("number", [*"4", "decimal", *"25"], "4.25"),
    ],
)
def test_the_keys_write_a_date_with_its_marks(page: Any, entry: str, keys: list[str], text: str) -> None:
    assert page.evaluate(PRESS, [keys, entry]) == text


@pytest.mark.parametrize(
    ("entry", "text", "lacking"),
    [
        ("date", "2026-05-14", False),
        ("date", "2026-5-4", False),
        ("date", "2026-05", True),
        ("date", "14.05.2026", True),
        ("moment", "2026-05-14 06:10", False),
        ("moment", "2026-05-14", True),
    ],
)
def test_an_unfinished_date_is_not_sent(page: Any, entry: str, text: str, lacking: bool) -> None:
    assert page.evaluate(LACKING, [text, entry]) is lacking
