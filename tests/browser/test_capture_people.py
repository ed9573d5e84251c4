"""Taking turns on a shared device: tile and PIN, with and without the server; what is typed stays."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.going import asked, go
from tests.browser.staged import site
from tests.browser.test_capture_hands import open_check
from tests.browser.test_main_job import SAVED, SECOND_TAP, Taps, expect
from tests.browser.turns import by_password, choose, open_sheet, press, sheet, turn_to

__all__ = ["site"]  # the fixture that serves the stage

pytestmark = pytest.mark.browser
MIRREN, OTHER = "418025", "730164"
NEWEST = """async () => {
  const rows = await (await import("/static/js/outbox.js")).all();
  return rows[0] && { person: rows[0].claim.person, state: rows[0].state };
}"""
ROWS = """async () => JSON.stringify((await (await import("/static/js/store.js")).readAll("device"))
  .map((row) => ({ ...row, key: undefined })))"""


@pytest.fixture
def shared(open_page: Callable[..., Any]) -> Any:
    """A device on which two people have a PIN; the second one is at work and types a value."""
    page = open_page("mirren")
    open_check(page, "OPRP3")
    open_sheet(page)
    choose(page, "Mirren", MIRREN)
    by_password(page, "ansel")
    choose(page, "Ansel", OTHER)
    sheet(page).get_by_role("button", name="Close").click()
    return page


def session_of(page: Any, wanted: str) -> Any:
    """Give whose session the page of today is in, once it is the wanted one; a kept page has none."""
    script = "() => JSON.parse(document.getElementById('people-data')?.textContent ?? '{}').person"
    person = None
    for _ in range(40):
        person = asked(page, script)
        if person == wanted:
            break
        page.wait_for_timeout(500)
        if person is None:
            go(page, "/tarrowby/today/")
    return person


def test_a_turn_keeps_what_is_typed_and_the_next_record_is_theirs(shared: Any) -> None:
    Taps(shared).keys("3.8")
    turn_to(shared, "Mirren", MIRREN)
    expect(shared.locator("input.value")).to_have_value("3.8")
    expect(shared.locator(".capture-title")).to_contain_text("Mirren")
    shared.wait_for_timeout(SECOND_TAP)
    shared.get_by_role("button", name="Save", exact=True).click()
    expect(shared.locator("#result")).to_contain_text(SAVED)
    who = shared.evaluate("() => JSON.parse(document.getElementById('people-data').textContent).person")
    assert shared.evaluate(NEWEST) == {"person": who, "state": "received"}
    go(shared, "/tarrowby/today/")
    expect(shared.locator("[data-person-name]").first).to_contain_text("Mirren")


def test_without_the_server_the_author_changes_and_the_session_follows_later(shared: Any) -> None:
    shared.context.set_offline(True)
    Taps(shared).keys("3.7")
    turn_to(shared, "Mirren", MIRREN)
    shared.wait_for_timeout(SECOND_TAP)
    shared.get_by_role("button", name="Save", exact=True).click()
    expect(shared.get_by_text("Saved on this device").first).to_be_visible()
    who = shared.evaluate(NEWEST)
    shared.context.set_offline(False)
    go(shared, "/tarrowby/today/")
    expect(shared.locator("[data-person-name]").first).to_contain_text("Mirren")
    assert session_of(shared, who["person"]) == who["person"]


def test_five_wrong_pins_take_it_away_also_when_the_page_is_loaded_anew(shared: Any) -> None:
    open_sheet(shared)
    sheet(shared).get_by_role("button", name=re.compile("Mirren")).click()
    for left in (4, 3):
        press(shared, "000001")
        expect(sheet(shared).get_by_text(f"Tries left: {left}.")).to_be_visible()
    shared.reload()
    open_sheet(shared)
    sheet(shared).get_by_role("button", name=re.compile("Mirren")).click()
    for left in (2, 1):
        press(shared, "000001")
        expect(sheet(shared).get_by_text(f"Tries left: {left}.")).to_be_visible()
    press(shared, "000001")
    expect(sheet(shared).get_by_text("after five wrong tries")).to_be_visible()
    expect(sheet(shared).get_by_label("Password")).to_be_visible()
    sheet(shared).get_by_role("button", name="Back").click()
    expect(sheet(shared).get_by_role("button", name=re.compile("Ansel"))).to_be_visible()
    expect(sheet(shared).get_by_role("button", name=re.compile("Mirren"))).to_have_count(0)


def test_a_pin_that_is_guessed_too_easily_is_not_taken(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    open_check(page, "OPRP3")
    open_sheet(page)
    sheet(page).get_by_role("button", name=re.compile("Mirren")).click()
    for easy in ("000000", "123456", "987654", "121212", "123123"):
        press(page, easy)
        expect(sheet(page).get_by_text("guessed too easily")).to_be_visible()


def test_the_pin_can_be_typed_and_reaches_neither_the_page_below_nor_the_server(shared: Any) -> None:
    sent: list[str] = []
    shared.on("request", lambda r: sent.append(f"{r.url} {r.post_data or ''} {r.headers}"))
    open_sheet(shared)
    sheet(shared).get_by_role("button", name=re.compile("Mirren")).click()
    shared.keyboard.type(MIRREN)
    expect(sheet(shared)).to_have_count(0)
    expect(shared.locator("input.value")).to_have_value("")
    assert any("/devices/turn/" in text for text in sent)
    assert not [text for text in sent if MIRREN in text]
    assert MIRREN not in shared.evaluate(ROWS)
