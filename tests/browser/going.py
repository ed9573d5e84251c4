"""Going to an address while a page may be on its way somewhere by itself."""

from typing import Any

TODAY = "/today/"


def go(page: Any, address: str) -> None:
    """Go to an address; a page that leads on to Today by itself after a save may win."""
    from playwright.sync_api import Error

    for _ in range(3):
        try:
            page.goto(address)
        except Error:
            page.wait_for_load_state()
            continue
        page.wait_for_timeout(100)
        if address.endswith(TODAY) or not page.url.endswith(TODAY):
            return


def asked(page: Any, script: str) -> Any:
    """Give what a script answers; None while the page leads on by itself."""
    from playwright.sync_api import Error

    try:
        return page.evaluate(script)
    except Error:
        return None
