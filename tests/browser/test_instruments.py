"""An instrument registered and checked on a phone and at a desk: targets, keypad, axe, no sideways scroll."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.conftest import Site
from tests.browser.test_every_page import WIDE, violations

pytestmark = pytest.mark.browser
SMALL = """() => [...document.querySelectorAll(
    "#instrument-check :is(button, select, summary, label:has(input[type=radio]), input), .methods a")]
  .filter((e) => e.offsetParent && !["hidden", "radio"].includes(e.type))
  .map((e) => [e.name || e.textContent.trim(), e.getBoundingClientRect(), e.matches(".key") ? 80 : 64])
  .filter(([, box, least]) => box.height < least || box.width < 64)
  .map(([name, box]) => `${name}: ${box.width} x ${box.height}`)"""


def looked_at(page: Any, faults: list[str]) -> None:
    """Note what axe finds on a page, and whether it scrolls sideways."""
    faults += [f"{page.url} {fault}" for fault in violations(page)]
    if page.evaluate(WIDE) > 0:
        faults.append(f"{page.url} scrolls sideways")


def tap(page: Any, text: str) -> None:
    """Type on the page's own keypad."""
    for letter in text:
        page.locator(f".key[data-key='{'decimal' if letter == '.' else letter}']").click()


@pytest.mark.parametrize("width", [360, 1280])
def test_an_instrument_is_registered_and_checked_with_wet_hands(
    open_page: Callable[..., Any], site: Site, width: int
) -> None:
    page, faults = open_page("mirren", width), list[str]()
    page.goto("/tarrowby/instruments/new/")
    looked_at(page, faults)
    page.get_by_label("Code").fill(f"T{width}")
    page.get_by_label("Name", exact=True).fill("Probe of the cellar")
    page.get_by_label("Measures", exact=True).select_option("temperature")
    page.get_by_label("Tolerance (optional)").fill("0.5 °C")
    page.get_by_label("Checked every").fill("7")
    page.get_by_role("button", name="Register").click()
    page.get_by_role("heading", name=f"T{width} Probe of the cellar").wait_for()
    looked_at(page, faults)

    page.get_by_role("link", name="Check it now").click()
    shows = page.locator("[name=found_1_shown]")
    shows.focus()
    tap(page, "0.9")
    assert shows.input_value() == "0.9"
    assert shows.evaluate("field => parseFloat(getComputedStyle(field).fontSize)") >= 32
    assert page.evaluate(SMALL) == []
    looked_at(page, faults)
    page.locator("button.save").click()
    page.get_by_text("outside the tolerance of ± 0.5 °C: the check fails.").first.wait_for()
    looked_at(page, faults)

    page.get_by_role("link", name="Correct this check").click()
    assert page.locator("[name=found_1_shown]").input_value() == "0.9"
    looked_at(page, faults)
    page.goto("/tarrowby/instruments/")
    looked_at(page, faults)
    page.goto("/tarrowby/today/")
    assert page.get_by_role("link", name=f"T{width} Probe of the cellar").count() == 1
    assert faults == []


def test_a_scanners_enter_moves_on_and_saves_nothing(open_page: Callable[..., Any], site: Site) -> None:
    page = open_page("mirren")
    page.goto("/tarrowby/instruments/")
    page.get_by_role("link", name="Check P-1").click()
    page.wait_for_url("**/check/**")
    page.wait_for_load_state("networkidle")  # its script stands between Enter and the form
    shows = page.locator("[name=found_1_shown]")

    shows.press_sequentially("0.1")
    shows.press("Enter")

    assert shows.input_value() == "0.1"
    assert "/check/" in page.url
    assert page.evaluate("document.activeElement !== document.querySelector('[name=found_1_shown]')")


def test_a_number_tapped_before_the_script_is_there_gets_the_keypad(
    open_page: Callable[..., Any], site: Site
) -> None:
    page, scripts = open_page("mirren"), list[Any]()
    page.context.route("**/js/instrument-check*.js", lambda route: scripts.append(route))
    page.goto("/tarrowby/instruments/")
    page.get_by_role("link", name="Check P-1").click()
    shows = page.locator("[name=found_1_shown]")

    shows.focus()
    assert page.locator(".key").count() == 0
    scripts[0].continue_()
    tap(page, "0.1")

    assert shows.input_value() == "0.1"
