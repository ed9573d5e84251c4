"""From an empty establishment to an approved plan, in a browser: every action is counted.

An action is one tap, one field filled in or one choice made. The figures typed for the acid are invented.
"""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import MANAGE, environment, free_port

SOAK = os.environ.get("SOAK") == "1"
pytestmark = pytest.mark.browser
MOST_ACTIONS = 60
OWN_PASSWORD = "a-long-password-of-our-own"
AT = re.compile(r"http://\S+/first-run/\S+")
EUROPE = "European Union and Northern Ireland"
AMERICA = "United States: full hazard analysis and preventive controls"  # the longest list of figures
# where the place's rules ask for fewer figures, the acid is written with an early and a deciding time
TIMES = {EUROPE: (("8", "5.7"), ("24", "5.3")), AMERICA: (("24", "5.3"),)}


def expect(target: Any) -> Any:
    """Expect something of a page; imported late, since the plain test run has no Playwright."""
    from playwright.sync_api import expect as of_page

    return of_page(target)


class Actions:
    """Counts what a person does."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.count = 0

    def fill(self, label: str, text: str, place: int = 0) -> None:
        """Fill in one field."""
        self.page.get_by_label(label).nth(place).fill(text)
        self.count += 1

    def choose(self, label: str, words: str) -> None:
        """Choose from a list."""
        self.page.get_by_label(label).first.select_option(label=words)
        self.count += 1

    def tap(self, role: str, words: Any) -> None:
        """Tap a link, a button, a radio button or a box."""
        self.page.get_by_role(role, name=words).first.click()
        self.count += 1

    def sees(self, words: str) -> None:
        """Wait until the page says something."""
        expect(self.page.locator("main").get_by_text(words).first).to_be_visible()


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[str]:
    """Serve an installation in which nothing is set up; give the address of its first page."""
    port = free_port()
    words = [sys.executable, "-u", MANAGE, "start", "--port", str(port)]
    server = subprocess.Popen(
        words, env=environment(tmp_path / "data"), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    assert server.stdout is not None
    try:
        yield next(found.group() for line in server.stdout if (found := AT.search(line)))
    finally:
        server.terminate()
        server.communicate(timeout=20)


@pytest.fixture
def person(browser: Any, empty: str) -> Iterator[Actions]:
    """Open the first page with a laptop."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    context.set_default_timeout(20_000)
    page = context.new_page()
    page.goto(empty)
    yield Actions(page)
    context.close()


def set_up(person: Actions) -> None:
    """Set the establishment up and sign in."""
    person.fill("Name of the establishment", "Ostervane Creamery")
    person.fill("Address", "Mill Lane 3, Ostervane")
    person.choose("Time zone", "Europe/Brussels")
    person.fill("Your name", "Tomas Quell")
    person.fill("Your initials", "TQ")
    person.fill("Sign-in name", "tomas")
    person.fill("Password", OWN_PASSWORD)
    person.fill("Password again", OWN_PASSWORD)
    person.tap("button", "Set up and sign in")


def begin(person: Actions, rules: str) -> None:
    """Begin the plan with the model for a washed rind."""
    person.tap("link", "Begin the plan")
    person.tap("radio", re.compile("^Washed rind"))
    person.fill("Name of the product", "Vane Red")
    person.choose("Whose rules apply to you?", rules)
    person.tap("button", "Make the draft")
    person.sees("The draft is there.")


def must_be_solved(person: Actions) -> int:
    """Give how many findings block the approval, as the overview says it; nothing to sign is offered then."""
    person.sees("It cannot be approved until")
    expect(person.page.get_by_role("button", name="Sign and approve")).to_have_count(0)
    said = person.page.get_by_text("It cannot be approved until").inner_text()
    found = re.search(r"the (\d+) findings", said)
    return int(found.group(1)) if found else 1


def is_refused(person: Actions, finding: str) -> None:
    """Send a signature all the same, as no button lets a person: refused, with the findings shown."""
    page = person.page
    page.evaluate(
        """([csrf, revision, password]) => {
            const form = document.createElement("form");
            form.method = "post";
            form.action = location.pathname.replace("/draft/", "/approve/");
            const typed = {csrfmiddlewaretoken: csrf, revision, password, reason: "First plan",
                           warnings_reason: "None yet", takes_effect: "now", capacity: "owner"};
            for (const [name, value] of Object.entries(typed)) {
                const field = document.createElement("input");
                field.name = name; field.value = value; form.append(field);
            }
            document.body.append(form);
            form.submit();
        }""",
        [
            page.locator("[name=csrfmiddlewaretoken]").first.get_attribute("value"),
            re.search(r"Revision (\d+)", page.locator("main").inner_text()).group(1),  # type: ignore[union-attr]
            OWN_PASSWORD,
        ],
    )
    page.wait_for_url("**/plan/approve/**")
    person.sees("It cannot be approved until")
    expect(page.get_by_role("alert").first).to_be_visible()
    assert finding in page.locator("main").inner_text()


def set_acid_limit(person: Actions, times: tuple[tuple[str, str], ...]) -> None:
    """Set the limit that the model leaves open, with its source and why it holds the hazard."""
    person.tap("link", "Go on there")
    person.sees("Nothing is filled in for you")
    person.fill("Tolerance of the instrument", "0.05")
    for place, (hours, most) in enumerate(times):
        if place:
            person.tap("button", "Add another")
        person.fill("Hours after the event", hours, place)
        person.fill("Limit at that time", most, place)
        person.fill("A reading counts up to so long before", "60", place)
    person.fill(
        "Why this limit holds the hazard", "Our ten trial makes stayed below it; cooled after the press."
    )
    person.fill("Where the figure comes from", "Trial book 2025, pages 4 to 9")
    person.choose("How you know the figure", "chosen here")
    person.tap("button", "Save this limit")
    person.sees("The limit of CCP2 is saved in the draft.")


def look_at_every_part(person: Actions) -> None:
    """Look at every part of the draft, as somebody does who works it through."""
    for part in ("Products and flow", "Hazards", "Controls", "Programmes", "Rules of the place"):
        person.tap("link", re.compile(f"^{part}$"))
        expect(person.page.get_by_role("heading", level=1)).to_have_text(part)


def confirm_figures(person: Actions) -> int:
    """Confirm every figure by itself: read its source, or name one where the plan has none to show."""
    person.tap("link", re.compile("^Confirm$"))
    confirmed = 0
    while (
        left := person.page.locator("section.confirm:not(.done) form[action*='/confirm/figure/']").count()
    ) > 0:
        source = person.page.get_by_label(re.compile("Where you read it|What it rests on")).first
        if not source.input_value():
            source.fill("Read in the text itself, printed 2026-11-20, kept in the office")
            person.count += 1
        person.tap("button", re.compile("^Confirm ?:"))
        person.sees("The figure is confirmed.")
        confirmed += 1
        assert (
            person.page.locator("section.confirm.done form[action*='/confirm/figure/']").count() == confirmed
        )
        expect(
            person.page.locator("section.confirm:not(.done) form[action*='/confirm/figure/']")
        ).to_have_count(left - 1)
    return confirmed


def sign_table_and_flow(person: Actions) -> None:
    """Sign the table of targets; walk the process, and sign that."""
    person.page.locator("#targets_password").fill(OWN_PASSWORD)
    person.count += 1
    person.tap("button", "Sign the table")
    person.sees("The table is signed.")
    person.fill("When it was walked, and with whom", "Morning make of 20 November, alone, milk to cold store")
    person.page.locator("#flow0_password").fill(OWN_PASSWORD)
    person.count += 1
    person.tap("button", "Sign that it was walked")
    person.sees("The flow is signed.")


def approve(person: Actions) -> None:
    """Sign the plan; the warnings that are left need a reason."""
    person.fill("Why the plan is made or changed", "First plan of the dairy")
    person.fill("Why the warnings are accepted", "Study and shelf-life trial are under way, due in spring")
    person.tap("radio", "the owner")
    person.fill("Your password", OWN_PASSWORD)
    person.tap("button", "Sign and approve")


@pytest.mark.parametrize("rules", [AMERICA, EUROPE] if SOAK else [AMERICA])  # the longest list
def test_a_new_user_comes_to_an_approved_plan_in_under_sixty_actions(person: Actions, rules: str) -> None:
    set_up(person)
    begin(person, rules)
    blocked = must_be_solved(person)
    is_refused(person, "No limit is set yet")
    person.page.go_back()
    set_acid_limit(person, TIMES[rules])
    look_at_every_part(person)
    confirmed = confirm_figures(person)
    sign_table_and_flow(person)
    person.tap("link", "Overview")
    approve(person)
    person.sees("Your first plan is in force.")
    expect(person.page.get_by_role("heading", level=1)).to_have_text(re.compile("^Today"))
    person.page.get_by_role("link", name="Plan", exact=True).first.click()
    person.sees("Version 1, form FSP-1")
    expect(person.page.locator("main .state").first).to_have_text("Approved")
    assert blocked == confirmed + 2  # the acid's limit is first one to set, then one to confirm
    assert person.count < MOST_ACTIONS, person.count
