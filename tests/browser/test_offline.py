"""The whole device without its server: cold start in airplane mode, records, the way back."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.faults import Dairy
from tests.browser.test_main_job import expect
from tests.browser.test_outbox import STORED, at_work, beside, dairy, flush, record, states

__all__ = ["at_work", "dairy"]
pytestmark = pytest.mark.browser
READY = """async () => {
  await navigator.serviceWorker.ready;
  const { read } = await import("/static/js/store.js");
  const bar = document.getElementById("device-bar");
  for (let tries = 0; tries < 100; tries += 1) {
    const names = await caches.keys();
    const bundle = await read("bundles", bar.dataset.establishment);
    if (names.length > 0 && bundle && await read("device", "clock")) return true;
    await new Promise((done) => setTimeout(done, 200));
  }
  return false;
}"""


def made_ready(page: Any) -> None:
    """Wait until the kept page and the bundle are on the device."""
    assert page.evaluate(READY)


def test_a_cold_start_without_the_server_shows_what_is_due_and_takes_records(
    at_work: Callable[..., Any], dairy: Dairy
) -> None:
    page = at_work()
    made_ready(page)
    context = page.context
    page.close()
    dairy.kill()

    page = context.new_page()
    page.goto("/tarrowby/today/")
    expect(page.get_by_role("heading", name="Without the server")).to_be_visible()
    expect(page.locator("#kept-age")).to_contain_text("Last fetched 0 min ago")
    page.get_by_role("link", name=re.compile("OPRP3")).first.click()
    record(page, "3.8")
    expect(page.locator("#result")).to_contain_text("Saved on this device")
    expect(page.locator("#result")).to_contain_text("Within the limit")
    page.wait_for_url("**/today/")
    expect(page.locator("#device-bar")).to_contain_text("1 not sent yet")
    page.locator(".kept-events a").first.click()
    expect(page.get_by_role("button", name="Save", exact=True)).to_be_visible()

    dairy.start()
    desk = beside(page)
    flush(desk)
    assert [row["state"] for row in states(desk)] == ["received"]
    assert states(desk)[0]["uuid"] in [uuid for uuid, _author, _at in dairy.ask(STORED)]
