"""Walks a day of the second invented dairy through its screens, as the day is written in the fixtures."""

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from tests.browser.clocked import OPENS, set_clock
from tests.browser.going import asked, go
from tests.browser.test_main_job import SAVED, expect, unfold
from tests.browser.turns import by_password, choose, open_sheet, turn_to
from tests.builders import a_picture

SLUG = "/ostervane"
ZONE = ZoneInfo("Europe/London")
DAY = datetime.fromisoformat(OPENS).date()
PASSWORD = "brine-and-blue-mould"  # printed by the demo command
UNSENT = """async () => (await (await import("/static/js/outbox.js")).all())
  .filter(({ state }) => state !== "received")
  .map(({ claim, state, refusal }) => [claim.kind, state, refusal])"""
SETTLED = f"async () => (await ({UNSENT})()).length === 0"
IDLE = "async () => navigator.locks.request('safetyplan-outbox', () => true)"
Step = Mapping[str, Any]


@dataclass
class Device:
    """A page of a browser, on a device of its own; people: who has a PIN on it."""

    page: Any
    person: str = ""
    pins: dict[str, str] = field(default_factory=dict)
    links: list[tuple[str, str]] = field(default_factory=list)
    under_way: set[Any] = field(default_factory=set)
    fetched: bool = False

    def __post_init__(self) -> None:
        """Follow what is asked of the server."""
        self.page.on("request", lambda request: self.under_way.add(request))
        for ends in ("requestfinished", "requestfailed"):
            self.page.on(ends, lambda request: self.ended(request))

    def ended(self, request: Any) -> None:
        """Note that a request is over, and whether the page still keeps what it brought."""
        self.under_way.discard(request)
        self.fetched = self.fetched or request.url.endswith("/bundle/")

    def settle(self) -> None:
        """Wait until nothing is under way; one that is would take a jump of the clock for a fault of it."""
        for _ in range(250):
            if not self.under_way:
                break
            self.page.wait_for_timeout(30)
        if self.fetched:
            self.fetched = False
            self.page.wait_for_timeout(300)
        if self.person:
            asked(self.page, IDLE)


@dataclass
class Walk:
    """The dairy's folder, its devices, and where everything is that the day has made so far."""

    folder: Path
    devices: dict[str, Device]
    places: dict[str, str] = field(default_factory=dict)
    seen: Callable[[str, Any], None] = lambda _name, _page: None

    def play(self, step: Step) -> None:
        """Do one step of the day on its device."""
        self.stand(step["at"], step.get("day", 0))
        device = self.devices[step["on"]]
        if step.get("by") and step["by"] != device.person:
            self.turn(device, step["by"])
        try:
            SCREENS[step["screen"]](self, device, step)
        except Exception as error:
            raise AssertionError(f"{json.dumps(dict(step))[:300]} at {device.page.url}") from error
        if step.get("look"):
            self.seen(step["look"], device.page)

    def stand(self, at: str, day: int) -> None:
        """Set the clock of the dairy and of its devices."""
        moment = datetime.combine(DAY + timedelta(days=day), time.fromisoformat(at), tzinfo=ZONE)
        if self.places.get("now") == moment.isoformat():
            return
        self.places["now"] = moment.isoformat()
        for device in self.devices.values():
            device.settle()
        set_clock(self.folder, moment)
        for device in self.devices.values():
            device.page.context.clock.set_system_time(moment)

    def turn(self, device: Device, person: str) -> None:
        """Let somebody take the turn on a shared device, by tile and PIN."""
        go(device.page, f"{SLUG}/today/")
        turn_to(device.page, person.title(), device.pins[person])
        device.person = person

    def find(self, device: Device, words: str) -> str:
        """Find where a link of Today leads by words of its text; Today is read anew where it must be."""
        for anew in (False, True):
            if anew:
                self.look(device)
            for text, href in device.links:
                if text == words or (" " in words and all(one in text for one in words.split(" .. "))):
                    return href
        raise AssertionError(f"Today has no link {words!r}")

    def look(self, device: Device) -> None:
        """Read the links of Today."""
        go(device.page, f"{SLUG}/today/")
        device.links = device.page.locator("main a").evaluate_all(
            "all => all.map(a => [a.textContent.replace(/\\s+/g, ' ').trim(), a.getAttribute('href')])"
        )

    def place(self, name: str, device: Device) -> str:
        """Give the address of something of the day, of a shared thing by its code, or of a lot on Today."""
        if name.startswith("thing:"):
            go(device.page, f"{SLUG}/things/")
            link = device.page.locator("a.thing", has_text=name.removeprefix("thing:")).first
            return str(link.get_attribute("href"))
        return self.places.get(name) or self.find(device, name)


# Filling and sending ----------------------------------------------------------------------------------


def enter(page: Any, values: list[str | None]) -> None:
    """Enter the parts of a check or event one after the other; None leaves one out."""
    for number, raw in enumerate(values):
        part = page.locator(f"#part-{number}, [name='part-{number}']").first
        part.wait_for(state="attached")
        if raw is not None:
            if part.get_attribute("type") == "radio":
                page.locator(f"[name='part-{number}'][value='{raw}']").check()
            else:
                part.fill(raw)
        if number < len(values) - 1:
            page.get_by_role("button", name="Next", exact=True).click()


def save(page: Any) -> None:
    """Tap Save and see that it was received."""
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#result")).to_contain_text(SAVED)


def chosen(select: Any, text: str) -> str:
    """Find the option that a text names, wholly or else in part."""
    listed = select.locator("option").evaluate_all("all => all.map(o => [o.textContent.trim(), o.value])")
    found = [value for said, value in listed if said == text] or [v for said, v in listed if text in said]
    return str(found[0])


def fill(page: Any, fields: Mapping[str, str]) -> None:
    """Fill the fields of a form by their names."""
    for name, text in fields.items():
        one = page.locator(f"[name='{name}']")
        kind = one.first.evaluate("f => f.type")
        if kind == "radio":
            page.locator(f"[name='{name}'][value='{text}']").check()
        elif kind == "select-one":
            one.select_option(chosen(one, text))
        else:
            one.fill(text)


def press(page: Any, button: str) -> None:
    """Send a form and wait for the page it leads to; a refusal fails the day."""
    with page.expect_response(lambda r: r.request.method == "POST") as answer:
        page.get_by_role("button", name=button, exact=True).first.click()
    status = answer.value.status
    assert status in (200, 302), f"{button}: {status} {page.locator('main').inner_text()[:600]}"
    page.wait_for_load_state()


# The screens ------------------------------------------------------------------------------------------


def sign_in(walk: Walk, device: Device, step: Step) -> None:
    """Sign in by name and password."""
    page = device.page
    page.goto("/sign-in/")
    page.get_by_label("Sign-in name").fill(step["name"])
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/today/")
    device.person = step["name"]


def pins(walk: Walk, device: Device, step: Step) -> None:
    """Let the people of a shared device choose their PINs on a page of capture; the last stays at work."""
    page = device.page
    go(page, walk.find(device, step["find"]))
    for number, (name, pin) in enumerate(step["pins"].items()):
        open_sheet(page) if number == 0 else None
        if number:
            by_password(page, name, PASSWORD)
        choose(page, name.title(), pin)
        device.pins[name] = pin
        device.person = name
    page.get_by_role("dialog").get_by_role("button", name="Close").click()


def check(walk: Walk, device: Device, step: Step) -> None:
    """Record one check, found on Today."""
    page = device.page
    address = walk.places.get(step["find"]) or walk.find(device, step["find"])
    if step.get("again"):
        address = re.sub(r"([:.])\d+/$", r"\1extra/", address)
    arrive(page, address)
    capture(page, step)


def arrive(page: Any, address: str) -> None:
    """Go to a page of capture and see that it stays: the page before may still lead on to Today."""
    from playwright.sync_api import TimeoutError as Late

    for _ in range(2):
        go(page, address)
        try:
            page.locator("#part-0, [name='part-0']").first.wait_for(state="attached", timeout=8000)
            return
        except Late:
            continue
    go(page, address)


def capture(page: Any, step: Step) -> None:
    """Enter what a page of capture asks, and save it."""
    enter(page, step["values"])
    if step.get("instrument"):
        tool = page.locator("#instrument")
        tool.select_option(chosen(tool, step["instrument"]))
    for number in range(step.get("photos", 0)):
        photo = a_picture(("white", "ivory")[number % 2], size=(900, 600))
        one = {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": photo}
        page.set_input_files("#photo", one)
        expect(page.get_by_role("img", name=f"Photo {number + 1}")).to_be_visible()
    if step.get("measured"):
        page.locator(".moment-open").click()
        page.locator("#moment-time").fill(step["measured"])
        if step.get("late"):
            page.locator("#moment-reason").fill(step["late"])
    save(page)
    if step.get("outside"):
        expect(page.get_by_text("Outside the limit").first).to_be_visible()


def series(walk: Walk, device: Device, step: Step) -> None:
    """Go round the points of a check, each saved by its own tap."""
    page, values = device.page, step["values"]
    count = step.get("partly", len(values))
    go(page, walk.find(device, step["find"]))
    for number, raw in enumerate(values, start=1):
        expect(page.locator(".series-head .step")).to_contain_text(f"{number} of {count}")
        enter(page, [raw])
        page.wait_for_timeout(520)  # a second tap within half a second counts as the first one's
        page.get_by_role("button", name="Save", exact=True).click()
        if number in step.get("outside", ()):
            expect(page.get_by_text("Outside the limit").first).to_be_visible()
            page.wait_for_timeout(520)
            page.get_by_role("link", name="Go on with the series").click()
    if "partly" not in step:
        page.wait_for_url("**/today/")
    page.wait_for_function(SETTLED)


def seen_round(walk: Walk, device: Device, step: Step) -> None:
    """Confirm what was seen and is in order."""
    go(device.page, f"{SLUG}/rounds/now/")
    expect(device.page.locator(".things li")).to_have_count(step["count"])
    save(device.page)


def instrument(walk: Walk, device: Device, step: Step) -> None:
    """Check an instrument."""
    go(device.page, walk.find(device, step["find"]))
    fill(device.page, step["fields"])
    press(device.page, "Save")


def milk(walk: Walk, device: Device, step: Step) -> None:
    """Receive a load of milk."""
    page = device.page
    go(page, f"{SLUG}/receiving/milk/")
    page.locator(".source-link", has_text=step["farm"]).click()
    page.locator("[name=volume]").wait_for()
    fill(page, step["fields"])
    press(page, "Save the receipt")
    found = re.search(r"loads?[/:]([0-9a-f-]{36})", page.url)
    assert found, page.url
    walk.places[step["name"]] = f"{SLUG}/receiving/loads/{found[1]}/"


def of_load(walk: Walk, device: Device, step: Step) -> None:
    """Record the next check of a load."""
    go(device.page, walk.places[step["load"]] + "next/")
    expect(device.page.locator(".capture-title")).to_contain_text(step["find"])
    capture(device.page, step)


def form(walk: Walk, device: Device, step: Step) -> None:
    """Fill a page's form and send it; `name` keeps the address of what was made."""
    page = device.page
    base = walk.place(step["of"], device) if step.get("of") else f"{SLUG}/"
    go(page, base + step.get("then", ""))
    if step.get("unfold"):
        unfold(page, step["unfold"])
    for lot, number in step.get("order", {}).items():
        page.locator(".lot-row", has_text=lot).locator(".place").fill(str(number))
    for words, raw in step.get("beside", {}).items():
        page.get_by_label(re.compile(re.escape(words))).first.fill(raw)
    button = page.get_by_role("button", name=step["button"], exact=True)
    fill(page.locator("form").filter(has=button).first, step.get("fields", {}))
    press(page, step["button"])
    if step.get("says"):
        expect(page.locator("main")).to_contain_text(step["says"])
    if step.get("name"):
        walk.places[step["name"]] = page.url.split("#")[0].split("?")[0]


def event(walk: Walk, device: Device, step: Step) -> None:
    """Record what happened to a lot, on the page that asks for its details."""
    go(device.page, f"{walk.place(step['lot'], device)}events/{step['event']}/")
    capture(device.page, {"values": [], **step})


def tap(walk: Walk, device: Device, step: Step) -> None:
    """Record by one tap what happened, on the page of the make."""
    page = device.page
    go(page, f"{walk.place(step['lot'], device)}make/")
    page.locator(f"[data-tap='{step['event']}']").first.click()
    expect(page.locator("#make-said")).to_contain_text(re.compile(r"received, no\. \d+"))


def of_lot(walk: Walk, device: Device, step: Step) -> None:
    """Record a check of a lot, found on the page of its make."""
    page = device.page
    go(page, f"{walk.place(step['lot'], device)}make/")
    page.locator("a.check", has_text=step["find"]).first.click()
    page.get_by_role("button", name="Save", exact=True).wait_for()
    capture(page, step)


def deviation(walk: Walk, device: Device, step: Step) -> None:
    """Open the deviation of a control from Today, and note where it is."""
    go(device.page, f"{SLUG}/deviations/")
    row = device.page.locator("main tr", has_text=step["find"]).first
    row.locator("a[href*='/deviations/']").first.click()
    device.page.wait_for_load_state()
    walk.places[step["name"]] = device.page.url.split("#")[0]


def reading(walk: Walk, device: Device, step: Step) -> None:
    """Correct a reading that is shown on the sheet of the day."""
    page = device.page
    go(page, f"{SLUG}/days/{step.get('date', DAY.isoformat())}/")
    named = re.compile(rf"^{step['find']}")
    page.locator("a[href*='/readings/']", has_text=named).nth(step.get("nth", 0)).click()
    page.get_by_role("link", name="Correct", exact=True).click()
    page.locator("#reason").fill(step["reason"])
    enter(page, step["values"])
    save(page)


def put_right(walk: Walk, device: Device, step: Step) -> None:
    """Say what was done after a prerequisite outside its limit, and measure again."""
    page = device.page
    go(page, f"{SLUG}/today/")
    page.locator("a[href$='/correction/']", has_text=step["find"]).first.click()
    fill(page, {"action_code": step["action"]})
    press(page, "Record what was done")
    page.get_by_role("link", name="Measure again").click()
    capture(page, step)


def explain(walk: Walk, device: Device, step: Step) -> None:
    """Say on the sheet of the day why a check was not made."""
    page = device.page
    go(page, f"{SLUG}/days/{DAY.isoformat()}/")
    page.get_by_role("link", name=re.compile(f"Explain why not.*{step['find']}")).first.click()
    fill(page, step["fields"])
    press(page, "Record the reason")


SCREENS: dict[str, Callable[[Walk, Device, Step], None]] = {
    "sign_in": sign_in,
    "pins": pins,
    "check": check,
    "series": series,
    "round": seen_round,
    "instrument": instrument,
    "milk": milk,
    "of_load": of_load,
    "form": form,
    "event": event,
    "tap": tap,
    "of_lot": of_lot,
    "deviation": deviation,
    "reading": reading,
    "put_right": put_right,
    "explain": explain,
}
