"""A make at the vat in a browser: timers that outlive a reload, one tap to record, one to undo."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.test_every_page import WIDE, violations
from tests.browser.test_main_job import SECOND_TAP, expect

pytestmark = pytest.mark.browser
TARGETS = """() => ['.make-button', '.make-times a', 'a.check']
    .flatMap((target) => Array.from(document.querySelectorAll(`#make ${target}`)))
    .map((element) => element.getBoundingClientRect()).filter(({ height }) => height > 0)
    .map(({ width, height }) => Math.min(width, height))"""


def at_the_vat(page: Any) -> None:
    """Open the make of the lot that soured over night."""
    page.goto("/tarrowby/today/")
    page.get_by_role("link", name=re.compile("At the vat TF")).click()
    page.wait_for_url("**/make/")


@pytest.mark.parametrize("width", [320, 360, 768, 1280])
def test_the_page_of_a_make_fits_has_large_targets_and_is_accessible(
    open_page: Callable[..., Any], width: int
) -> None:
    page = open_page("mirren", width)

    at_the_vat(page)

    assert page.evaluate(WIDE) == 0
    assert min(page.evaluate(TARGETS)) >= 64
    assert violations(page) == []


def test_timers_are_the_same_after_a_reload(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    at_the_vat(page)
    elapsed = page.locator(".elapsed [role=timer]")
    expect(elapsed).to_have_text(re.compile(r"^2[34] h \d+ min$"))
    before = elapsed.inner_text()

    page.reload()

    expect(elapsed).to_have_text(re.compile(r"^2[34] h \d+ min$"))
    minutes = [int(part) for text in (before, elapsed.inner_text()) for part in re.findall(r"\d+", text)]
    assert 0 <= (minutes[2] - minutes[0]) * 60 + minutes[3] - minutes[1] <= 2


def test_one_tap_records_what_comes_next_and_one_more_takes_it_back(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    at_the_vat(page)

    page.locator(".make-next .make-button").click()

    said = page.locator("#make-said")
    expect(said).to_contain_text(re.compile(r"received, no\. \d+"))
    page.wait_for_timeout(SECOND_TAP)
    said.get_by_role("button", name="Undo").click()
    expect(said).to_contain_text("undone")
    page.wait_for_load_state()
    expect(page.locator("main")).to_contain_text("VOID since")
    expect(page.locator(".make-next .make-button")).to_contain_text("Ladled into moulds")
