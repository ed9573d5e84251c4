"""People taking turns on a shared device: the sheet with tiles, PIN and password."""

import re
from typing import Any

from tests.browser.conftest import PASSWORD
from tests.browser.test_main_job import expect


def sheet(page: Any) -> Any:
    """Find the sheet on which people take turns."""
    return page.get_by_role("dialog")


def open_sheet(page: Any) -> None:
    """Open it."""
    page.get_by_role("button", name=re.compile("Change person")).click()
    expect(sheet(page)).to_be_visible()


def press(page: Any, digits: str) -> None:
    """Tap digits on the pad."""
    for digit in digits:
        sheet(page).get_by_role("button", name=digit, exact=True).click()


def choose(page: Any, name: str, pin: str) -> None:
    """Choose a PIN for the person who has just given the password."""
    sheet(page).get_by_role("button", name=re.compile(name)).click()
    press(page, pin)
    expect(sheet(page).get_by_text("The same six digits again")).to_be_visible()
    press(page, pin)
    expect(sheet(page).get_by_text("The PIN is kept on this device.")).to_be_visible()


def by_password(page: Any, name: str, password: str = PASSWORD) -> None:
    """Take the turn by name and password, on the sheet."""
    sheet(page).get_by_role("button", name=re.compile("Somebody else")).click()
    sheet(page).get_by_label("Sign-in name").fill(name)
    sheet(page).get_by_label("Password").fill(password)
    sheet(page).get_by_role("button", name="Sign in").click()
    expect(sheet(page).get_by_role("button", name=re.compile(name.title()))).to_be_visible()


def turn_to(page: Any, name: str, pin: str) -> None:
    """Take the turn by tile and PIN."""
    open_sheet(page)
    sheet(page).get_by_role("button", name=re.compile(name)).click()
    press(page, pin)
    expect(sheet(page)).to_have_count(0)
