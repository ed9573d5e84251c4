"""Plain forms when the session or the server is gone: what was typed stays, and is recorded once."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.browser import faults
from tests.browser.conftest import PASSWORD
from tests.browser.faults import Dairy
from tests.browser.queueing import made_ready
from tests.browser.test_main_job import expect
from tests.browser.test_outbox import at_work, dairy

__all__ = ["at_work", "dairy"]
pytestmark = pytest.mark.browser
COUNT = "found = Entry.objects.of(dairy).filter(kind='ingredient_lot').count()"
NEEDS = "nothing is recorded. What you typed stays on this page."


def fill(page: Any, code: str) -> None:
    """Fill in the form of an ingredient lot."""
    page.goto("/tarrowby/ingredients/new/")
    page.get_by_label("What it is").select_option("culture")
    page.get_by_label("Name", exact=True).fill("Mesophilic culture")
    page.get_by_label("Lot code").fill(code)
    page.get_by_label("Another delivery").check()
    page.get_by_label("Storage").fill("Freezer 2")


def filled(page: Any) -> list[str]:
    """Give what stands in the form."""
    kind = page.get_by_label("What it is").evaluate("select => select.value")
    texts = [page.get_by_label(name, exact=True).input_value() for name in ("Name", "Lot code")]
    ticked = page.get_by_label("Another delivery").is_checked()
    return [kind, *texts, page.get_by_label(re.compile("Storage")).input_value(), str(ticked)]


def save(page: Any) -> None:
    """Send the form."""
    page.locator("main form.door button[type=submit]").click()


def test_after_signing_in_again_the_form_is_as_it_was_sent_and_is_recorded_once(
    at_work: Callable[..., Any], dairy: Dairy, tmp_path: Path
) -> None:
    page = at_work()
    fill(page, "K 101")
    (tmp_path / "analysis.txt").write_text("pH 4.6")
    page.get_by_label("Its file").set_input_files(tmp_path / "analysis.txt")
    before = dairy.ask(COUNT)
    page.context.clear_cookies(name="sessionid")
    save(page)
    expect(page.get_by_text("You had been signed out: nothing was recorded.")).to_be_visible()
    page.get_by_label("Sign-in name").fill("mirren")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("What you typed is in the form again")).to_be_visible()
    expect(page.get_by_text("Choose it again: analysis.txt")).to_be_visible()
    assert filled(page) == ["culture", "Mesophilic culture", "K 101", "Freezer 2", "True"]
    page.get_by_label("Its file").set_input_files(tmp_path / "analysis.txt")
    save(page)
    page.wait_for_url("**/ingredients/*-*/")
    assert dairy.ask(COUNT) == before + 1
    page.goto("/tarrowby/ingredients/new/")
    expect(page.locator("#unsent")).to_have_count(0)


def test_a_form_whose_page_has_changed_since_is_not_filled_but_shown(
    at_work: Callable[..., Any], dairy: Dairy
) -> None:
    page = at_work()
    fill(page, "K 102")
    page.evaluate("""document.querySelector("form.door").insertAdjacentHTML("beforeend",
        '<input type=hidden name=line value=one><input name=shelf value="Shelf 4">')""")
    page.context.clear_cookies(name="sessionid")
    save(page)
    page.get_by_label("Sign-in name").fill("mirren")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("not everything you typed could be put back")).to_be_visible()
    expect(page.locator("#unsent dl")).to_contain_text("Shelf 4")
    page.get_by_role("button", name="Throw it away").click()
    expect(page.locator("#unsent")).to_have_count(0)


def test_a_form_sent_without_the_server_stays_and_is_recorded_once_when_it_is_back(
    at_work: Callable[..., Any], dairy: Dairy
) -> None:
    page = at_work()
    made_ready(page)
    fill(page, "K 103")
    before, written = dairy.ask(COUNT), filled(page)
    page.context.set_offline(True)
    save(page)
    expect(page.locator("[data-not-sent]")).to_contain_text(NEEDS)
    page.context.set_offline(False)
    dairy.kill()  # the network is there, the server is not: the worker finds out
    save(page)
    expect(page.locator("[data-not-sent]")).to_contain_text(NEEDS)
    assert filled(page) == written
    dairy.start()
    dairy.proxy.fail(faults.lost, times=9, path="/ingredients/new/")
    save(page)
    expect(page.locator("[data-not-sent]")).to_contain_text(NEEDS)
    dairy.proxy.mend()
    save(page)
    page.wait_for_url("**/ingredients/*-*/")
    assert dairy.ask(COUNT) == before + 1


def test_what_stood_in_folded_fields_is_seen_again_after_signing_in(at_work: Callable[..., Any]) -> None:
    page = at_work()
    page.goto("/tarrowby/things/new/?kind=brine")
    page.locator("summary", has_text="What else it is made of").click()
    page.locator("[name=what_2]").fill("Calcium chloride")
    page.context.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Record it").click()
    page.get_by_label("Sign-in name").fill("mirren")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("What you typed is in the form again")).to_be_visible()
    expect(page.locator("[name=what_2]")).to_be_visible()
    expect(page.locator("[name=what_2]")).to_have_value("Calcium chloride")
