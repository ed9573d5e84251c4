"""The whole device without its server: cold start in airplane mode, records, the way back."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.faults import Dairy
from tests.browser.queueing import STORED, beside, flush, made_ready, states
from tests.browser.test_main_job import expect
from tests.browser.test_outbox import at_work, dairy, record

__all__ = ["at_work", "dairy"]
pytestmark = pytest.mark.browser


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
    page.get_by_role("link", name=re.compile("OPRP3|PRP1")).first.click()
    record(page, "3.8")
    expect(page.locator("#result")).to_contain_text("Saved on this device")
    expect(page.locator("#result")).to_contain_text("Within the limit")
    page.wait_for_url("**/today/")
    expect(page.locator("#device-bar")).to_contain_text("1 not sent yet")
    page.locator(".kept-events a").first.click()
    expect(page.get_by_role("button", name="Save", exact=True)).to_be_visible()
    page.goto("/tarrowby/plan/")
    expect(page.get_by_text("The page you asked for needs the server.")).to_be_visible()

    dairy.start()
    desk = beside(page)
    flush(desk)
    assert [row["state"] for row in states(desk)] == ["received"]
    assert states(desk)[0]["uuid"] in [uuid for uuid, _author, _at in dairy.ask(STORED)]
    page.goto("/tarrowby/today/")
    expect(page.get_by_role("heading", name="Today", level=1)).to_be_visible()
