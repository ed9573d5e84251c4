"""The outbox against a network that fails: nothing lost, nothing stored twice, only a receipt counts.

The faults are those of networks in the field: a lost answer after the record was stored, a captive portal,
a sign-in page, a broken gateway, an answer cut short or falsified, an expired session, a busy server.
"""

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser import faults
from tests.browser.conftest import PASSWORD
from tests.browser.faults import Dairy, serving
from tests.browser.test_main_job import expect

pytestmark = pytest.mark.browser
RECEIVED = re.compile(r"Received, no\. \d+")
STATES = """async () => {
  const { all } = await import("/static/js/outbox.js");
  return (await all()).reverse().map(({ uuid, state, receipt, claim, refusal, label }) => ({
    uuid, state, refusal, label, sequence: receipt?.receipt.sequence ?? null,
    person: claim.person, captured_at: claim.captured_at }));
}"""
STORED = (
    "found = [[str(r.pk), str(r.author_id), r.claim['captured_at']]"
    " for r in Reading.objects.of(dairy).order_by('entry__sequence') if r.claim and r.credential_id]"
)


@pytest.fixture(scope="module")
def dairy(told: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Dairy]:
    """A copy of the demonstration, served behind the proxy."""
    folder = tmp_path_factory.mktemp("offline") / "data"
    shutil.copytree(told, folder)
    with serving(folder) as running:
        yield running


@pytest.fixture
def at_work(browser: Any, dairy: Dairy) -> Iterator[Callable[..., Any]]:
    """Open the page of today as a person, on a device of their own."""
    contexts: list[Any] = []

    def opened(person: str = "mirren", width: int = 360, height: int = 740, context: Any = None) -> Any:
        if context is None:
            context = browser.new_context(viewport={"width": width, "height": height}, base_url=dairy.url)
            context.set_default_timeout(20_000)
            contexts.append(context)
        page = context.new_page()
        page.goto("/sign-in/")
        page.get_by_label("Sign-in name").fill(person)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url("**/today/")
        return page

    yield opened
    dairy.proxy.mend()
    for context in contexts:
        context.close()


def begin(page: Any) -> None:
    """Open an additional reading of a check: it can be recorded at any time, and again."""
    page.goto("/tarrowby/today/")
    address = page.get_by_role("link", name=re.compile("OPRP3")).first.get_attribute("href")
    page.goto(re.sub(r":(\d+|extra)/$", ":extra/", address))


def record(page: Any, value: str = "3.8") -> None:
    """Type a value on the page's keypad and save it."""
    for key in value:
        page.get_by_role("button", name="Decimal mark" if key == "." else key, exact=True).click()
    page.wait_for_timeout(550)  # a tap just after a key counts as the same burst
    page.get_by_role("button", name="Save", exact=True).click()


def beside(page: Any) -> Any:
    """Open a second page of the same device that stays where it is, to look into the outbox."""
    desk = page.context.new_page()
    desk.goto("/static/icons/favicon.svg")
    return desk


def states(page: Any) -> list[dict[str, Any]]:
    """Give what the device holds, in the order in which it was made."""
    found: list[dict[str, Any]] = page.evaluate(STATES)
    return found


def flush(page: Any) -> None:
    """Send what waits, and wait until that is done."""
    page.evaluate("async () => (await import('/static/js/outbox.js')).flush({ held: true })")


FAULTS = {
    "the answer is lost after the record was stored": faults.lost,
    "a captive portal answers 200": faults.portal,
    "a sign-in page is sent to": faults.to_sign_in,
    "a gateway answers 502": faults.broken_gateway,
    "the answer is cut short": faults.truncated,
    "the receipt names another hash": faults.wrong_hash,
    "the session has expired": faults.refused(401),
    "the person may not": faults.refused(403),
    "the server is busy": faults.refused(503, **{"Retry-After": "1"}),
}


def test_a_record_stays_on_the_device_through_every_fault_and_is_stored_once(
    at_work: Callable[..., Any], dairy: Dairy
) -> None:
    desk = beside(at_work())
    shown = {}

    for why, fault in FAULTS.items():
        page = desk.context.new_page()
        begin(page)
        dairy.proxy.fail(fault)
        record(page)
        expect(page.locator("#result")).to_contain_text("Saved on this device")
        shown[why] = page.locator("#result").inner_text()
        page.close()
        kept = states(desk)[-1]
        assert kept["state"] in ("sending", "aside", "held"), why
        dairy.proxy.mend()
        desk.wait_for_timeout(1100)
        flush(desk)
        assert states(desk)[-1]["state"] == "received", why

    made = [(row["uuid"], row["captured_at"]) for row in states(desk)]
    assert "Sign in as the person" not in shown["a captive portal answers 200"]
    assert "refused with 401" in shown["the session has expired"]
    stored = dairy.ask(STORED)
    assert [(uuid, at) for uuid, _author, at in stored if uuid in dict(made)] == made
