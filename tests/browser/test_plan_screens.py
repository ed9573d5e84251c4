"""The plan's editor in a real browser: it works without script, and a limit shows what it would say."""

from collections.abc import Iterator
from typing import Any

import pytest

from tests.browser.conftest import PASSWORD, Site

pytestmark = pytest.mark.browser


def expect(target: Any) -> Any:
    """Expect something of a page; imported late, since the plain test run has no Playwright."""
    from playwright.sync_api import expect as of_page

    return of_page(target)


@pytest.fixture
def page(browser: Any, site: Site) -> Iterator[Any]:
    """Open the draft as the owner, on a phone whose browser runs no script."""
    context = browser.new_context(
        viewport={"width": 360, "height": 740}, base_url=site.url, java_script_enabled=False
    )
    context.set_default_timeout(20_000)
    opened = context.new_page()
    opened.goto("/sign-in/")
    opened.get_by_label("Sign-in name").fill("josse")
    opened.get_by_label("Password").fill(PASSWORD)
    opened.get_by_role("button", name="Sign in").click()
    opened.goto("/tarrowby/plan/")
    if opened.get_by_role("button", name="Begin a revision").count():
        opened.get_by_role("button", name="Begin a revision").click()
    yield opened
    context.close()


def worked(page: Any) -> Any:
    """Give the part of the screen of a limit that shows what it would say."""
    return page.locator("#result")


def test_a_limit_shows_the_result_of_a_reading_before_it_is_saved(page: Any) -> None:
    page.goto("/tarrowby/plan/control/OPRP2/limit/")
    page.get_by_label("Limit: at most (optional)", exact=True).fill("7")
    page.get_by_label("Target: at most").fill("5")

    page.get_by_role("button", name="Show what it would say").last.click()

    expect(worked(page)).to_contain_text("Limit: temperature at most 7 °C.")


def test_a_reading_that_is_tried_is_judged_by_the_limit_as_typed(page: Any) -> None:
    page.goto("/tarrowby/plan/control/OPRP2/limit/")
    page.get_by_label("Limit: at most (optional)", exact=True).fill("7")
    page.get_by_label("Target: at most").fill("5")
    worked(page).get_by_role("textbox").first.fill("7,5")

    page.get_by_role("button", name="Show what it would say").last.click()

    expect(worked(page).get_by_role("status")).to_contain_text("Outside the limit")
    expect(worked(page).get_by_role("status")).to_contain_text("7.5 °C is above the limit 7 °C, by 0.5 °C.")


def test_trying_a_limit_saves_nothing(page: Any) -> None:
    page.goto("/tarrowby/plan/control/OPRP2/limit/")
    page.get_by_label("Limit: at most (optional)", exact=True).fill("7")
    page.get_by_role("button", name="Show what it would say").last.click()

    page.goto("/tarrowby/plan/control/OPRP2/limit/")

    expect(page.get_by_label("Limit: at most (optional)", exact=True)).to_have_value("6")


def test_a_wrong_limit_is_refused_at_its_field_and_stays_typed(page: Any) -> None:
    page.goto("/tarrowby/plan/control/OPRP2/limit/")
    page.get_by_label("Limit: at most (optional)", exact=True).fill("cold")

    page.get_by_role("button", name="Save this limit").click()

    expect(page.get_by_label("Limit: at most (optional)", exact=True)).to_have_value("cold")
    expect(page.locator(".errorlist").first).to_be_visible()


def test_a_hazard_is_added_without_script(page: Any) -> None:
    page.goto("/tarrowby/plan/hazards/add/?product=TF&step=salt&own=1")
    page.get_by_label("Hazard, in words").fill("Splinters of the salting tray")
    page.get_by_role("radio", name="Physical").check()
    page.get_by_role("radio", name="It can come in at this step.").check()
    page.get_by_label("How grave").fill("Slight: a cut in the mouth")
    page.get_by_label("How likely").fill("Unlikely: the tray is new")
    page.get_by_role("group", name="Significant").get_by_role("radio", name="No").check()
    page.get_by_label("Why it is significant or not").fill("The tray is looked at each morning.")
    page.get_by_role("group", name="Does heating again remove it?").get_by_role("radio", name="No").check()

    page.get_by_role("button", name="Add the hazard").click()

    expect(page.get_by_role("main")).to_contain_text("Splinters of the salting tray")
    expect(page.get_by_role("main")).to_contain_text("The hazard is in the draft.")


def test_a_step_is_moved_without_script(page: Any) -> None:
    page.goto("/tarrowby/plan/products/TF/steps/")
    page.get_by_role("button", name="Down").nth(2).click()

    expect(page.get_by_role("main")).to_contain_text("Moved.")


def test_the_whole_draft_can_be_read_before_it_is_signed(page: Any) -> None:
    page.goto("/tarrowby/plan/draft/")
    page.get_by_role("link", name="Read the whole draft").click()

    for heading in ("Controls", "Hazard analysis", "Products and how they are made", "Recall procedure"):
        expect(page.get_by_role("heading", name=heading, exact=True)).to_be_visible()


def test_a_critical_limit_that_rests_on_nothing_blocks_the_approval(page: Any) -> None:
    page.goto("/tarrowby/plan/control/CCP1/limit/")
    page.get_by_label("Why this limit holds the hazard").fill("")
    page.get_by_role("button", name="Save this limit").click()

    page.goto("/tarrowby/plan/draft/")

    expect(page.get_by_role("main")).to_contain_text("does not say: why it holds the hazard")
    expect(page.get_by_role("button", name="Sign and approve")).to_have_count(0)
