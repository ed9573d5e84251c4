"""Capture by hand, measured: taps and time, the size of every target, contrast, ghost taps (acceptance 1)."""

import os
import random
import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.browser import klm, measuring
from tests.browser.conftest import Site
from tests.browser.going import go
from tests.browser.staged import site
from tests.browser.test_main_job import SAVED, SECOND_TAP, Taps, due, expect

__all__ = ["site"]  # the fixture that serves the stage

pytestmark = pytest.mark.browser
SOAK = os.environ.get("SOAK") == "1"
WIDTHS = (320, 360, 768, 1024) if SOAK else (320, 1024)


def stored(site: Site) -> int:
    """Count the readings in the database."""
    words = (
        "from records.checks.models import Reading; "
        "from safetyplan.establishments.models import Establishment; "
        "print(Reading.objects.of(Establishment.objects.get(slug='tarrowby')).count())"
    )
    told = site.manage("shell", "--no-imports", "-c", words)
    return int(told.stdout.strip().splitlines()[-1])


def extra(page: Any, check: str) -> str:
    """Give the address of a further reading of a check: it can be made at any time, and again."""
    address = due(page, check).get_attribute("href")
    assert address is not None
    return re.sub(r":(\d+|extra)/$", ":extra/", address)


def open_check(page: Any, check: str) -> None:
    """Open a further reading of a check."""
    go(page, "/tarrowby/today/")
    go(page, extra(page, check))
    expect(page.get_by_role("button", name="Save", exact=True)).to_be_visible()


# Taps and time ---------------------------------------------------------------------------------------


def test_an_in_limit_check_takes_at_most_six_taps_and_eight_seconds(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    taps = Taps(page)
    taps.tap(due(page, "OPRP3"))
    taps.keys("3.8")
    taps.save()
    assert taps.count <= 6
    assert klm.seconds(taps=taps.count, thoughts=3) <= 8


def test_a_missed_limit_and_its_action_take_at_most_nine_taps(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    page.goto("/tarrowby/today/")
    address = extra(page, "OPRP3")
    page.goto("/tarrowby/today/")
    taps = Taps(page)
    taps.count += 1  # the tap on the check in the list
    page.goto(address)
    taps.keys("9.9")
    taps.save()
    page.wait_for_timeout(SECOND_TAP)
    taps.tap(page.get_by_role("link", name="Record the action"))
    taps.tap(page.get_by_role("button", name=re.compile("Do not use the milk")))
    expect(page.get_by_text("Do not use the milk").first).to_be_visible()
    assert taps.count <= 9


def test_twelve_points_take_at_most_sixty_five_taps_and_each_keeps_its_own_time(
    open_page: Callable[..., Any], site: Site
) -> None:
    page = open_page("mirren")
    before = stored(site)
    taps = Taps(page)
    taps.tap(due(page, "PRP9 Cold store: 12 points"))
    for number in range(1, 13):
        expect(page.get_by_text(f"Shelf {number}", exact=True).first).to_be_visible()
        taps.keys("6.1" if number == 5 else "3.5")
        page.wait_for_timeout(SECOND_TAP)
        taps.tap(page.get_by_role("button", name="Save", exact=True))
        if number == 5:
            expect(page.get_by_text("Outside the limit").first).to_be_visible()
            page.wait_for_timeout(SECOND_TAP)
            taps.tap(page.get_by_role("link", name="Go on with the series"))
    page.wait_for_url("**/today/")
    assert taps.count <= 65
    page.wait_for_timeout(2000)
    kept = page.evaluate(
        """async () => (await (await import("/static/js/outbox.js")).all()).slice(0, 12).map(
        ({ claim, state }) => [claim.captured_at, claim.content.slot, state])"""
    )
    assert len({at for at, _slot, _state in kept}) == 12
    assert len({slot for _at, slot, _state in kept}) == 12
    assert {state for _at, _slot, state in kept} == {"received"}
    assert stored(site) == before + 12


# Targets and contrast ----------------------------------------------------------------------------------


def number(page: Any) -> None:
    """Show a number with its keypad."""
    open_check(page, "OPRP3")


def refused(page: Any) -> None:
    """Show a value that is missing."""
    open_check(page, "OPRP3")
    page.wait_for_timeout(SECOND_TAP)
    page.get_by_role("button", name="Save", exact=True).click()


def stated_time(page: Any) -> None:
    """Show the time at which it was measured, and the reason."""
    open_check(page, "OPRP3")
    page.get_by_role("button", name=re.compile("Measured")).click()


def choice_with_photo(page: Any) -> None:
    """Show a choice that wants a photo."""
    open_check(page, "PRP2 Label")


def series(page: Any) -> None:
    """Show the points of a series."""
    go(page, "/tarrowby/today/")
    link = page.locator("a[href*='/series/']").first
    if link.count():
        link.click()
    else:
        open_check(page, "OPRP3")
    expect(page.get_by_role("button", name="Save", exact=True)).to_be_visible()


def several_parts(page: Any) -> None:
    """Show a check of several parts."""
    open_check(page, "CCP1")


def missed(page: Any) -> None:
    """Show a missed limit."""
    open_check(page, "OPRP3")
    taps = Taps(page)
    taps.keys("9.9")
    page.wait_for_timeout(SECOND_TAP)
    taps.save()


def turns(page: Any) -> None:
    """Show who may take the turn."""
    open_check(page, "OPRP3")
    page.get_by_role("button", name=re.compile("Change person")).click()
    expect(page.get_by_role("dialog")).to_be_visible()


def pin(page: Any) -> None:
    """Show the pad for a PIN."""
    turns(page)
    page.get_by_role("dialog").get_by_role("button", name=re.compile("Mirren")).click()


SCREENS = (number, refused, stated_time, choice_with_photo, series, several_parts, missed, turns, pin)


@pytest.mark.parametrize("screen", SCREENS, ids=lambda screen: screen.__name__)
def test_every_target_is_large_enough_and_apart_and_every_word_has_contrast(
    open_page: Callable[..., Any], screen: Callable[[Any], None]
) -> None:
    page = open_page("mirren")
    screen(page)
    wrong = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 740})
        places = page.evaluate(measuring.TARGETS)
        assert places
        wrong += [f"{width}: {text}" for text in measuring.too_small(places) + measuring.too_close(places)]
        faint = [c for c in page.evaluate(measuring.CONTRASTS) if c["ratio"] < 6.995]
        wrong += [f"{width}: {c['text']!r} has a contrast of {c['ratio']:.2f}" for c in faint]
        sideways = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        wrong += [f"{width}: {sideways} px to scroll sideways"] if sideways > 0 else []
    assert sorted(set(wrong)) == []


def test_save_stands_above_the_fold_of_a_small_phone(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren", 360, 740)
    number(page)
    box = page.get_by_role("button", name="Save", exact=True).bounding_box()
    assert box["y"] + box["height"] <= 740


# Ghost taps --------------------------------------------------------------------------------------------

TOUCH = """([kind, x, y, id]) => {
  const target = document.elementFromPoint(x, y) ?? document.body;
  target.dispatchEvent(new PointerEvent(kind, {
    bubbles: true, cancelable: true, clientX: x, clientY: y, pointerId: id, pointerType: "touch",
    isPrimary: id === 1 }));
}"""


def test_palms_pinches_and_slips_on_save_store_nothing(open_page: Callable[..., Any], site: Site) -> None:
    page = open_page("mirren")
    open_check(page, "OPRP3")
    before = stored(site)
    Taps(page).keys("3.8")
    page.wait_for_timeout(SECOND_TAP)
    box = page.get_by_role("button", name="Save", exact=True).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    chance = random.Random(83)
    for _ in range(100 if SOAK else 25):
        page.evaluate(TOUCH, ["pointerdown", x, y, 1])
        page.evaluate(TOUCH, ["pointerdown", x + chance.randint(-90, 90), y - chance.randint(80, 300), 2])
        page.evaluate(TOUCH, ["pointerup", x, y, 1])
        page.evaluate(TOUCH, ["pointerup", x, y - 80, 2])
        page.mouse.move(x, y - 200)
        page.mouse.down()  # a finger that slips onto Save
        page.mouse.move(x, y)
        page.mouse.up()
        page.mouse.move(x, y)
        page.mouse.down()  # and one that slips off it
        page.mouse.move(x, y - 300)
        page.mouse.up()
    assert page.locator("#capture").get_attribute("data-state") == "entering"
    assert stored(site) == before
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#result")).to_contain_text(SAVED)


def test_double_taps_store_one_record_each(open_page: Callable[..., Any], site: Site) -> None:
    page = open_page("mirren")
    before = stored(site)
    rounds = 100 if SOAK else 5
    for _ in range(rounds):
        open_check(page, "OPRP3")
        Taps(page).keys("3.8")
        page.wait_for_timeout(SECOND_TAP)
        page.get_by_role("button", name="Save", exact=True).dblclick()
        expect(page.locator("#result")).to_contain_text(SAVED)
    assert stored(site) == before + rounds
