"""Going to an address while a page may be on its way somewhere by itself."""

from typing import Any

from playwright.sync_api import Error


def go(page: Any, address: str) -> None:
    """Go to an address; a page that leads on by itself after a save may cut the first try short."""
    try:
        page.goto(address)
    except Error:
        page.wait_for_load_state()
        page.goto(address)
