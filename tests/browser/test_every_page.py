"""Every page a person meets: no accessibility violations, no sideways scrolling, at phone and desk width."""

import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from safetyplan.plans.editing.limit_kinds import KINDS
from tests.browser.conftest import ROOT, Site, environment
from tests.records.calculators.examples import EXAMPLES

SOAK = os.environ.get("SOAK") == "1"
pytestmark = pytest.mark.browser
PAGES = (
    "today",
    "lots",
    "lots/new",
    "week",
    "plan",
    "visit",
    "deviations",
    "deviations/new",
    "calculators",
    "people",
    "details",
    "device",
    "device/import",
)
# at the door, shared things, rounds and paper; pages of one of them are made by door_stage.py
DOOR_PAGES = (
    "receiving/",
    "receiving/milk/",
    "suppliers/",
    "suppliers/new/",
    "ingredients/",
    "ingredients/new/",
    "things/",
    "things/new/?kind=brine",
    "things/new/?kind=room",
    "paper/",
)
# the plan and its editor, an address of each screen; the draft is a revision of the demonstration's plan
PLAN_PAGES = (
    "",
    "begin/",
    "draft/",
    "draft/read/",
    "text/",
    "compare/",
    "duties/",
    "products/",
    "product-add/",
    "products/TF/",
    "products/TF/remove/",
    "products/TF/steps/",
    "products/TF/step-add/",
    "products/TF/steps/receive/",
    "products/TF/steps/receive/remove/",
    "products/TF/events/",
    "products/TF/event-add/",
    "products/TF/events/starter_added/",
    "products/TF/events/starter_added/remove/",
    "hazards/",
    "hazards/?whole=1",
    "hazards/add/?product=TF",
    "hazards/add/?product=TF&step=receive&own=1",
    "hazards/row/H1/",
    "hazards/row/H1/remove/",
    "hazards/row/H1/tree/",
    "hazards/row/H1/tree/?tree=classic",
    "controls/",
    "controls/add/?class=ccp",
    "control/CCP1/",
    "control/CCP1/remove/",
    "control/CCP1/limit/",
    *(f"control/CCP2/limit/?kind={kind}" for kind in KINDS),
    "programmes/",
    "programmes/prerequisites/add/",
    "programmes/prerequisites/PR-MILK/",
    "programmes/prerequisites/PR-MILK/remove/",
    "programmes/verifications/add/",
    "programmes/verifications/V1/",
    "programmes/verifications/V1/remove/",
    "programmes/validations/add/",
    "programmes/validations/W1/",
    "programmes/validations/W1/remove/",
    "programmes/recall/",
    "programmes/positive/",
    "profile/",
    "profile/change/",
    "profile/change/?to=us_full",
    "profile/figures/milk_temperature_most/",
    "confirm/",
)
WIDE = """() => document.documentElement.scrollWidth - document.documentElement.clientWidth"""


def violations(page: Any) -> list[str]:
    """Run axe on a page and give what it finds."""
    from axe_playwright_python.sync_playwright import Axe

    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = Axe().run(
        page, options={"runOnly": {"type": "tag", "values": tags}, "resultTypes": ["violations"]}
    )
    return [f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found.response["violations"]]


def links(page: Any) -> list[str]:
    """Give where the links of a page lead."""
    found: list[str] = page.locator("main a").evaluate_all("all => all.map(a => a.getAttribute('href'))")
    return found


def subjects(page: Any) -> list[str]:
    """Give the addresses of a lot, a deviation, a reading, a day and a capture page."""
    page.goto("/tarrowby/lots/")
    lot = page.locator("main a[href*='/lots/']:not([href$='new/'])").nth(1).get_attribute("href")
    page.goto("/tarrowby/deviations/")
    page.get_by_role("link", name="Show all").click()
    page.wait_for_load_state()
    deviation = next(href for href in links(page) if re.search(r"/deviations/[0-9a-f-]{36}/", href))
    page.goto("/tarrowby/today/")
    check = page.locator("main a[href*='/checks/']").first.get_attribute("href")
    page.goto(lot)
    reading = page.locator("main a[href*='/readings/']").first.get_attribute("href")
    page.goto("/tarrowby/week/")
    day = page.locator("main a[href*='/days/']").nth(3).get_attribute("href")
    return [lot, deviation, check, reading, day]


def results(page: Any) -> Iterator[str]:
    """Open the result of every task of every calculator, one after the other, and give its address."""
    for (calculator, task), typed in EXAMPLES.items():
        address = f"/tarrowby/calculators/{calculator}/{task.replace('_', '-')}/"
        page.goto(address)
        for name, text in typed.items():
            field = page.locator(f"[name={name}]")
            if field.evaluate("field => field.tagName") == "SELECT":
                field.select_option(text)
            else:
                field.fill(text)
        page.get_by_role("button", name="Calculate").click()
        page.get_by_role("heading", name="Working, step by step").wait_for()
        yield address


@pytest.mark.parametrize("width", [360, 1280] if SOAK else [360])
def test_every_result_of_a_calculator_passes_axe_and_fits_its_width(
    open_page: Callable[..., Any], site: Site, width: int
) -> None:
    page = open_page("mirren", width)
    faults: list[str] = []
    for number, address in enumerate(results(page)):
        if width == 360 and (SOAK or number % 3 == 0):  # the same elements at both widths and in each task
            faults += [f"{width} {address} {fault}" for fault in violations(page)]
        if page.evaluate(WIDE) > 0:
            faults.append(f"{width} {address} scrolls sideways")
    assert faults == []


@pytest.mark.parametrize("width", [360, 768, 1280] if SOAK else [360])
def test_every_page_passes_axe_and_fits_its_width(
    open_page: Callable[..., Any], site: Site, width: int
) -> None:
    maker = open_page("mirren", width)
    owner = open_page("josse", width)
    faults: list[str] = []
    addresses = [f"/tarrowby/{name}/" for name in PAGES]
    for page, visited in ((owner, [*addresses, "/tarrowby/plan/draft/"]), (maker, subjects(maker))):
        for address in visited:
            answer = page.goto(address)
            if answer.status == 403:
                continue
            faults += [f"{width} {address} {fault}" for fault in violations(page)]
            if page.evaluate(WIDE) > 0:
                faults.append(f"{width} {address} scrolls sideways")
    assert faults == []


@pytest.mark.parametrize("width", [360, 768, 1280] if SOAK else [360])
def test_every_screen_of_the_plan_passes_axe_and_fits_its_width(
    open_page: Callable[..., Any], site: Site, width: int
) -> None:
    page = open_page("josse", width)
    page.goto("/tarrowby/plan/")
    begin = page.get_by_role("button", name="Begin a revision")
    if begin.count():
        begin.click()
        page.get_by_role("heading", name="Draft of the plan").wait_for()
    faults: list[str] = []
    for address in (f"/tarrowby/plan/{part}" for part in PLAN_PAGES):
        answer = page.goto(address)
        if answer.status != 200:
            faults.append(f"{address} answers {answer.status}")
        if width == 360 or SOAK:  # the same elements at each width; the soak asks at each
            faults += [f"{width} {address} {fault}" for fault in violations(page)]
        if page.evaluate(WIDE) > 0:
            faults.append(f"{width} {address} scrolls sideways")
    assert faults == []


@pytest.mark.parametrize("width", [360, 768, 1280] if SOAK else [360])
def test_every_page_at_the_door_and_of_shared_things_passes_axe_and_fits_its_width(
    open_page: Callable[..., Any], site: Site, width: int
) -> None:
    staged = subprocess.run(
        [sys.executable, "-m", "tests.browser.door_stage"],
        env=environment(site.folder),
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    )
    page = open_page("mirren", width)
    faults: list[str] = []
    for address in (f"/tarrowby/{part}" for part in (*DOOR_PAGES, *staged.stdout.split())):
        answer = page.goto(address)
        if answer.status != 200:
            faults.append(f"{address} answers {answer.status}")
        faults += [f"{width} {address} {fault}" for fault in violations(page)]
        if page.evaluate(WIDE) > 0:
            faults.append(f"{width} {address} scrolls sideways")
    assert faults == []
