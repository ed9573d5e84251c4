"""Going to an address while a page may be on its way somewhere by itself."""

from typing import Any


def go(page: Any, address: str) -> None:
    """Go to an address; a page that leads on by itself after a save may cut the first try short."""
    from playwright.sync_api import Error

    try:
        page.goto(address)
    except Error:
        page.wait_for_load_state()
        page.goto(address)


def asked(page: Any, script: str) -> Any:
    """Give what a script answers; None while the page leads on by itself."""
    from playwright.sync_api import Error

    try:
        return page.evaluate(script)
    except Error:
        return None
